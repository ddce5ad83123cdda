"""The way back from every slip: what to do about a size past its limit, and packing that raises a nut."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from nutgen.bench.leaves import gap_stack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.sizes import Size, StageName
from nutgen.finding import Finding, Subject, remedy
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools

THICKEST_SHIM = 1.0
"""Packing thicker than this under or behind a nut deadens it and shows [mm]. Common practice, no source."""

SHIM_STEP = 0.05
"""Brass and card come in steps of this; so much too high a floor is filed [mm]. Common practice, no source."""

THINNEST_VENEER = 0.3
MOST_SANDED = 1.0 / 3.0
"""Veneer and card from this thickness up are sanded to size, by this share of a sheet at the most [mm]. Common
practice, no source."""

MANY = 2
"""Low slots; more than this are quicker raised together than filled. Common practice, no source."""

TOLERANCE = 0.05
LOWEST = 0.03
"""A floor is left alone from 0.03 mm below the height wanted to 0.05 above it [mm]. Common practice, no source."""

DRESSED = 0.1
"""Of the top, what the maker is told how far it widens the land [mm]."""


def shim(missing: float, tools: Tools) -> Finding:
    """Packing of a thickness: the stack that proves it and the fewest sheets that make it.

    missing : thickness wanted, 0 up to 30 [mm]
    returns : its values: `thickness`, what it will be, a sheet's step more than wanted at the most [mm]; the
              `stack`, slid in first, proves the height before anything is glued; the sheets, thickest first, of which
              the first `veneers` are of veneer or card, none where none of the maker's make it; `sand_off` [mm]
    raises  : ValueError where it is no thickness

    Veneer is sanded by a third of a sheet at the most; what is thinner is brass, or paper hardened with thin
    glue, and is laid as it is. Of those that need the fewest sheets, the one that leaves least to sand.
    """
    ways = [*_sanded(missing, tools.veneer), *_laid(missing, tools.veneer)] if missing > 0.0 else []
    sheets, sand_off = min(ways, key=lambda way: (len(way[0]), way[1]), default=((), 0.0))
    thickness = math.fsum(sheets) - sand_off if sheets else missing
    stack = gap_stack(thickness, tools)
    return remedy(
        "fit.shim",
        thickness=thickness,
        leaves=stack.leaves,
        stack=stack.told,
        leaves_error=stack.error,
        sheets=sheets,
        veneers=sum(sheet >= THINNEST_VENEER for sheet in sheets),
        sand_off=sand_off,
    )


def _sanded(missing: float, stock: Sequence[float]) -> Iterator[tuple[tuple[float, ...], float]]:
    """Sheets of one veneer, and what is sanded off them."""
    for sheet in stock:
        count = math.ceil(missing / sheet - 1e-9)
        sand_off = max(0.0, count * sheet - missing)
        if sheet >= THINNEST_VENEER and sand_off <= MOST_SANDED * sheet + 1e-9:
            yield (sheet,) * count, sand_off


def _laid(missing: float, stock: Sequence[float]) -> Iterator[tuple[tuple[float, ...], float]]:
    """Sheets laid on one another as they are; nothing where they come out too thick."""
    sheets: list[float] = []
    thinnest = min(stock, default=0.0)
    for sheet in sorted(stock, reverse=True):
        left = missing - math.fsum(sheets)
        steps = math.ceil(left / thinnest - 1e-9) * thinnest
        sheets += [sheet] * int(steps / sheet + 1e-9)
    if math.fsum(sheets) < missing - 1e-9:
        sheets += [thinnest] if stock else []
    if sheets and -1e-9 <= math.fsum(sheets) - missing <= SHIM_STEP:
        yield tuple(sheets), 0.0


def ways_back(
    strings: Sequence[Subject], missing: float | None, *, tools: Tools, material: NutMaterial
) -> tuple[Finding, ...]:
    """The ways back where slots are too low, the one that spoils least first: a few are filled before all are raised.

    strings : whose slots are too low; none, no way back is needed
    missing : what the whole nut would have to be raised by; None where that is too much [mm]
    """
    if not strings:
        return ()
    ways = [remedy("fit.new-nut", *strings)]
    if missing is not None:
        ways.insert(0, shim(missing, tools))
    if material.can_be_filled:
        filled = remedy("fit.fill", *strings, material=material.name)
        ways.insert(1 if len(strings) > MANY and len(ways) > 1 else 0, filled)
    return tuple(ways)


def packing_of(ways: Sequence[Finding]) -> float:
    """Thickness of the packing among ways back; 0 where there is none [mm]."""
    return next((float(str(way.value("thickness"))) for way in ways if way.code == "fit.shim"), 0.0)


def past_the_limit(sizes: Sequence[Size], stage: StageName, nut: Nut, material: NutMaterial) -> tuple[Finding, ...]:
    """What to do where a size of a stage is past its limit; each remedy once, about the kinds of size that it cures."""
    kinds: dict[Finding, dict[Subject, None]] = {}
    for size in sizes:
        kinds.setdefault(_remedy(size, stage, nut, material), {})[Subject("size", size.kind)] = None
    return tuple(replace(cure, about=tuple(about)) for cure, about in kinds.items())


def _remedy(size: Size, stage: StageName, nut: Nut, material: NutMaterial) -> Finding:
    block = stage in ("saw", "square")
    match size.kind:
        case "length":
            return remedy("remedy.too-short")
        case "thickness" | "whole thickness" if block:
            return remedy("remedy.turn-for-thickness", least=size.least, height=nut.height)
        case "thickness" | "seat thickness":
            return remedy("remedy.pack-behind" if nut.seat.kind == "channel" else "remedy.too-thin")
        case "height" if block:
            most = THICKEST_SHIM
            return remedy("remedy.turn-for-height", least=size.least, thickness=nut.thickness, thickest_shim=most)
        case "height" | "bass height" | "treble height" | "back height":
            return remedy("remedy.pack-below")
        case "whole thickness" | "start":
            return remedy("remedy.start-back")
        case "rebate" | "off the board":
            return remedy("remedy.shelf-thin")
        case "land":
            wider = DRESSED / math.tan(math.radians(nut.bevel_deg))
            return remedy("remedy.dress-top", off=DRESSED, wider=wider)
        case "width":
            return remedy("remedy.fill-wide" if material.can_be_filled else "remedy.too-wide")
        case "depth":
            return remedy("remedy.too-shallow")
        case "floor" | "clearance":
            return remedy("remedy.too-low", fill=material.can_be_filled)
