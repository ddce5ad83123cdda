"""The way back from every slip: what to do about a size past its limit, and packing that raises a nut."""

import math
from collections.abc import Sequence
from dataclasses import replace

from nutgen.bench.leaves import leaf_stack
from nutgen.bench.materials import NutMaterial
from nutgen.bench.sizes import Size, StageName
from nutgen.finding import Finding, Subject, remedy
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools

THICKEST_SHIM = 1.0
"""Packing thicker than this under or behind a nut deadens it and shows [mm]. Common practice, no source."""

TOLERANCE = 0.05
LOWEST = 0.03
"""A floor is left alone from 0.03 mm below the height wanted to 0.05 above it [mm]. Common practice, no source."""

DRESSED = 0.1
"""Of the top, what the maker is told how far it widens the land [mm]."""


def shim(missing: float, tools: Tools) -> Finding:
    """Packing of a thickness: the leaves that prove it and the fewest sheets that make it.

    missing : thickness wanted, 0 up to 30 [mm]
    returns : its values: the leaves, slid in first, prove the height before anything is glued; the sheets are of
              veneer or card before sanding, none where no sheet makes it, and are sanded down by `sand_off` [mm]
    raises  : ValueError where it is no thickness

    Sheets are all of one kind; of those that need the fewest, the one that leaves least to sand.
    """
    leaves = leaf_stack(missing, tools.feeler or tools.feeler_inch)
    counts = [(max(1, math.ceil(missing / sheet - 1e-9)), sheet) for sheet in tools.veneer]
    count, sheet = min(counts, key=lambda pair: (pair[0], pair[0] * pair[1]), default=(0, 0.0))
    sheets = (sheet,) * count if missing > 0.0 else ()
    return remedy(
        "fit.shim",
        thickness=missing,
        leaves=leaves.leaves,
        leaves_in="mm" if tools.feeler else "in",
        leaves_error=leaves.error,
        sheets=sheets,
        sand_off=max(0.0, math.fsum(sheets) - missing),
    )


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
        case "thickness" if block:
            return remedy("remedy.turn-for-thickness", least=size.least, height=nut.height)
        case "thickness":
            return remedy("remedy.pack-behind" if nut.seat_kind == "channel" else "remedy.too-thin")
        case "height" if block:
            most = THICKEST_SHIM
            return remedy("remedy.turn-for-height", least=size.least, thickness=nut.thickness, thickest_shim=most)
        case "height" | "bass height" | "treble height" | "back height":
            return remedy("remedy.pack-below")
        case "land":
            wider = DRESSED / math.tan(math.radians(nut.bevel_deg))
            return remedy("remedy.dress-top", off=DRESSED, wider=wider)
        case "width":
            return remedy("remedy.fill-wide" if material.can_be_filled else "remedy.too-wide")
        case "depth":
            return remedy("remedy.too-shallow")
        case "floor" | "clearance":
            return remedy("remedy.too-low", fill=material.can_be_filled)
