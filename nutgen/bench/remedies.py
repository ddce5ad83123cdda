"""The way back from every slip: what to do about a size that has come out under."""

import math
from dataclasses import dataclass
from typing import Literal

from nutgen.bench.leaves import LeafStack, leaf_stack
from nutgen.bench.materials import Material
from nutgen.bench.sizes import Size
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools

Remedy = Literal["shim", "turn the blank", "fill", "dress", "start again"]
Verdict = Literal["go on", "stop here", "spare the rest", Remedy]

THICKEST_SHIM = 1.0
"""Packing thicker than this under or behind a nut deadens it and shows [mm]. Common practice, no source."""

SEEN_AT_FRET_1 = 2.0 ** (-1.0 / 12.0)
"""Share of a lift at the nut that shows at fret 1, the saddle left alone: 1 - x_1 / L (geometry)."""


@dataclass(frozen=True, slots=True)
class IfUnder:
    """What to do where a size is under the least that still works.

    size   : its name
    remedy : the kind of cure
    words  : the cure
    """

    size: str
    remedy: Remedy
    words: str


@dataclass(frozen=True, slots=True)
class Shim:
    """Packing under or behind the nut.

    thickness : wanted [mm]
    leaves    : feeler leaves that show it: slid in first, they prove the height before anything is glued
    sheets    : veneer or card that makes it, before sanding; empty where no sheet does [mm]
    sand_off  : what the sheets have too much [mm]
    words     : the packing in a sentence
    """

    thickness: float
    leaves: LeafStack
    sheets: tuple[float, ...]
    sand_off: float
    words: str


@dataclass(frozen=True, slots=True)
class WayBack:
    """What a measured size means for the work.

    missing : how far it is past its target; 0 where it is not [mm]
    shim    : packing, where that is the cure
    words   : what to do now
    """

    size: str
    measured: float
    verdict: Verdict
    missing: float
    shim: Shim | None
    words: str


def shim(missing: float, tools: Tools) -> Shim:
    """Packing of a thickness: the leaves that prove it and the fewest sheets that make it.

    missing : thickness wanted, 0 up to 30 [mm]
    raises  : ValueError where it is no thickness

    Sheets are all of one kind; of those that need the fewest, the one that leaves least to sand.
    """
    leaves = leaf_stack(missing, tools.feeler or tools.feeler_inch)
    counts = [(max(1, math.ceil(missing / sheet - 1e-9)), sheet) for sheet in tools.veneer]
    count, sheet = min(counts, key=lambda pair: (pair[0], pair[0] * pair[1]), default=(0, 0.0))
    sheets = (sheet,) * count if missing > 0.0 else ()
    sand_off = max(0.0, math.fsum(sheets) - missing)
    words = f"packing of {missing:.2f} mm: prove it with {leaves.words} of feeler leaves ({leaves.error:+.3f} mm)"
    if sheets:
        words += f", then make it of {len(sheets)} x {sheet:.2f} mm sheet sanded down by {sand_off:.2f} mm"
    return Shim(missing, leaves, sheets, sand_off, words)


def way_back(size: Size, measured: float, cure: IfUnder, tools: Tools) -> WayBack:
    """What to do now that a size has been measured.

    size     : of the stage in hand
    measured : by caliper or leaf [mm]
    cure     : the stage's own answer for this size
    raises   : ValueError where the measurement is no length
    """
    if not math.isfinite(measured) or measured < 0.0:
        raise ValueError(f"{size.name}: {measured} is not a measured length; write it in mm, 0 or more")
    sign = -1.0 if size.opens else 1.0
    over_target, over_least = sign * (measured - size.target), sign * (measured - size.least)
    missing = max(0.0, -over_target)
    if sign * (measured - size.stop) > 0.0:
        words = f"{over_target:.2f} mm still to go; stop and look at {size.stop:.2f} mm"
        return WayBack(size.name, measured, "go on", missing, None, words)
    if over_target >= 0.0:
        return WayBack(size.name, measured, "stop here", missing, None, f"{size.target:.2f} mm is reached: stop here")
    if over_least >= 0.0:
        words = f"{missing:.2f} mm past the size but still sound: {_spare(size)}"
        return WayBack(size.name, measured, "spare the rest", missing, None, words)
    return _cured(size, measured, missing, cure, tools)


def _spare(size: Size) -> str:
    if size.opens:
        return "leave the walls alone from here on"
    return "the later stages have that much less to take off; leave out the coarser papers"


def _cured(size: Size, measured: float, missing: float, cure: IfUnder, tools: Tools) -> WayBack:
    if cure.remedy != "shim":
        return WayBack(size.name, measured, cure.remedy, missing, None, f"{missing:.2f} mm past: {cure.words}")
    thickness = missing / SEEN_AT_FRET_1 if size.name.endswith("clearance at fret 1") else missing
    if thickness > THICKEST_SHIM:
        words = f"{thickness:.2f} mm of packing is more than {THICKEST_SHIM:g} mm: start again with a new blank"
        return WayBack(size.name, measured, "start again", missing, None, words)
    packing = shim(thickness, tools)
    return WayBack(size.name, measured, "shim", missing, packing, f"{cure.words}; {packing.words}")


def if_under(size: Size, stage: str, nut: Nut, material: Material) -> IfUnder:
    """A stage's cure for one of its sizes."""
    kind = size.name.split(": ")[-1]
    block = stage in ("saw", "square")
    if kind == "length":
        words = "start again: a short nut lets the outer string slip off; keep the piece for a narrower board"
        return IfUnder(size.name, "start again", words)
    if kind == "thickness":
        return _thin(size, nut, block=block)
    if kind.startswith("height"):
        return _low(size, nut, block=block)
    return _in_slot(size, kind, nut, material)


def _thin(size: Size, nut: Nut, *, block: bool) -> IfUnder:
    if block:
        words = (
            f"turn the blank a quarter, so that its height becomes the thickness, where that measures"
            f" {size.least:.2f} mm and more and the other way {nut.height:.2f} mm; else start again"
        )
        return IfUnder(size.name, "turn the blank", words)
    if nut.seat_kind == "channel":
        words = "pack it behind, between back face and headstock, never in front: the scale starts at the front face"
        return IfUnder(size.name, "shim", words)
    return IfUnder(
        size.name, "start again", "start again: the land no longer fits on the nut; a ledge can not be packed"
    )


def _low(size: Size, nut: Nut, *, block: bool) -> IfUnder:
    if block:
        words = (
            f"turn the blank a quarter, so that its thickness becomes the height, where that measures"
            f" {size.least:.2f} mm and more and the other way {nut.thickness:.2f} mm; else pack it from below, up to"
            f" {THICKEST_SHIM:g} mm, or start again"
        )
        return IfUnder(size.name, "turn the blank", words)
    words = "pack the whole nut from below, end to end, so that it stays level"
    return IfUnder(size.name, "shim", words)


def _in_slot(size: Size, kind: str, nut: Nut, material: Material) -> IfUnder:
    if kind == "land":
        wider = 0.1 / math.tan(math.radians(nut.bevel_deg))
        words = f"dress the top and leave the bevel alone: each 0.10 mm off the top widens the land by {wider:.2f} mm"
        return IfUnder(size.name, "dress", words)
    filled = "fill the slot with dust of the same material and thin glue, in two goes, and file it again"
    if kind == "width":
        if material.name == "brass":
            return IfUnder(
                size.name, "start again", "start again: metal cannot be filled; or fit the next thicker string"
            )
        return IfUnder(size.name, "fill", f"{filled}; or fit the next thicker string")
    one = "" if material.name == "brass" else f"; where only one slot is low, {filled}"
    deeper = "pack the whole nut from below by what is missing and file the other slots down by the same"
    if kind == "depth":
        deeper = "the string lies too shallow: pack the whole nut from below and file every slot down by the same"
        one = ""
    return IfUnder(size.name, "shim", deeper + one)
