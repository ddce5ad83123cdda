"""What a luthier would say of a solved nut: reasons not to make it, and warnings.

Every limit here is common practice, no source, unless it says otherwise.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

from nutgen.nut.ledge import under_floor
from nutgen.nut.part import Nut, Slot
from nutgen.spec.tables import Spec

BASS_GAUGE = 0.9  # mm; thicker neighbours swing wide and want room for two fingers
BASS_GAP = 5.0
COURSE_GAP = 3.0
LEAST_WALL = 0.3  # between slots, at the ends and under a floor: thinner breaks
GOOD_FLOOR_WALL = 1.0
BREAK_DEG = (4.0, 15.0)
BURIED = (0.3, 1.05)
OVER_THE_STRING = 0.12  # mm of wall standing over a buried string before it matters
BASS_SCALE = 700.0
STEEPEST_TOP_DEG = 20.0  # across the nut; steeper is no nut, but a slip of a measurement
RELIEF = {"bass": (0.10, 0.50), "steel": (0.0, 0.40), "nylon": (0.0, 0.50)}
FIRST_FRET = {"bass": (0.30, 0.80), "steel": (0.15, 0.60), "nylon": (0.30, 0.90)}
ACTION = {"bass": (1.2, 3.2), "steel": (0.9, 2.8), "nylon": (1.5, 5.0)}


def refusals(nut: Nut) -> list[str]:
    """Why this nut cannot be made at all; empty where it can."""
    reasons = []
    half = nut.half_length
    across = _stations(-half, half, 41)
    rim = [float(nut.top_z(x, nut.thickness) - nut.underside.z(x)) for x in across]
    if not all(math.isfinite(z) for z in (*rim, float(nut.crown.z(-half)), float(nut.crown.z(half)))):
        return ["the board radius is too small for the top to reach both ends; check fretboard.radius and width"]
    if abs(nut.crown.slope_deg) > STEEPEST_TOP_DEG:
        return [
            f"the top would lean by {abs(nut.crown.slope_deg):.0f} degrees across the nut; strings that stand so close"
            " need nearly equal heights (spacing, seat.fret_plane, setup)"
        ]
    if min(rim) < 0.5:
        reasons.append(
            f"the bevel leaves {min(rim):.2f} mm at the back face; use a smaller body.bevel_deg or a wider body.land"
        )
    for slot in nut.slots:
        wall = floor_wall(nut, slot)
        if wall < LEAST_WALL:
            reasons.append(
                f"string {slot.number} ({slot.note}): {wall:.2f} mm is left under the slot; the seat is too shallow"
                " for this height, or the floor falls too steeply (seat.depth, slots.tilt_deg)"
            )
        ledge = under_floor(nut, slot)
        if ledge < LEAST_WALL:
            reasons.append(
                f"string {slot.number} ({slot.note}): the ledge of its setback would be {max(ledge, 0.0):.2f} mm thick"
                f" under the slot, over the board; {LEAST_WALL} is the least (slots.setback = 0 for this string, or"
                " a higher slot)"
            )
        if slot.break_angle_deg <= 0.0:
            reasons.append(f"string {slot.number} ({slot.note}): its tuner post lies above the slot; check post.drop")
        if slot.depth < 0.02:
            reasons.append(f"string {slot.number} ({slot.note}): the top is no higher than its floor; check body.top")
        if abs(slot.x) > half:
            reasons.append(f"string {slot.number} ({slot.note}): its slot lies beyond the end; check the spacing")
    return reasons


def floor_wall(nut: Nut, slot: Slot) -> float:
    """Least thickness between a slot's floor and the underside [mm]."""
    half = nut.half_length
    return min(
        float(slot.floor_at(y) - nut.underside.z(min(max(float(slot.x_at(y)), -half), half)))
        for y in _stations(0.0, nut.thickness, 9)
    )


def _stations(first: float, last: float, count: int) -> list[float]:
    """Places at even steps, both ends included."""
    return [first + (last - first) * i / (count - 1) for i in range(count)]


def wall_between(a: Slot, b: Slot, *, thickness: float) -> float:
    """Least thickness of the wall between neighbouring slots, along x; below 0 where they meet or cross [mm]."""
    side = math.copysign(1.0, b.x - a.x)
    apart = min(side * float(b.x_at(y) - a.x_at(y)) for y in (min(a.start_y, b.start_y), thickness))
    return apart - a.half_width_along_x - b.half_width_along_x


def end_wall(nut: Nut, slot: Slot) -> float:
    """Least thickness between a slot and the nearer end of the nut, along x [mm]."""
    farthest = max(abs(float(slot.x_at(y))) for y in (slot.start_y, nut.thickness))
    return nut.half_length - farthest - slot.half_width_along_x


def kind_of(spec: Spec) -> str:
    """Which practice a file falls under: "bass", "steel" or "nylon"."""
    if min(spec.instrument.scale_length.values) >= BASS_SCALE:
        return "bass"
    soft = sum(string.material in ("nylon", "fluorocarbon", "gut") for string in spec.strings)
    return "nylon" if 2 * soft >= len(spec.strings) else "steel"


def remarks(nut: Nut, spec: Spec) -> Iterator[str]:
    """Warnings in plain words for what will play or make badly."""
    kind = kind_of(spec)
    yield from _neighbours(nut)
    yield from _ends(nut)
    for slot in nut.slots:
        yield from _slot(nut, slot, kind)
    low, high = RELIEF[kind]
    if not low <= nut.relief <= high:
        yield (
            f"relief {nut.relief:.2f} mm is outside practice ({low:.2f} to {high:.2f});"
            " set the truss rod before the nut"
        )
    scale = spec.instrument.scale_length
    if scale.bass != scale.treble and "perpendicular_fret" not in spec.instrument.given:
        yield (
            f"slanted nut: fret {spec.instrument.perpendicular_fret:g} is assumed to stand square to the centre line,"
            f" which slants the nut by {abs(nut.slant_deg):.2f} degrees; count and write instrument.perpendicular_fret"
        )


def _name(slot: Slot) -> str:
    return f"string {slot.number} ({slot.note})"


def _neighbours(nut: Nut) -> Iterator[str]:
    for a, b in pairwise(nut.slots):
        pair = f"strings {a.number} and {b.number} ({a.note}, {b.note})"
        gap = b.x - a.x - (a.gauge + b.gauge) / 2.0
        wall = wall_between(a, b, thickness=nut.thickness)
        if wall <= 0.0:
            yield f"{pair}: the slots break into each other by {-wall:.2f} mm; move them apart or narrow them"
        elif wall < LEAST_WALL:
            yield f"{pair}: the wall between the slots is {wall:.2f} mm and will break; {LEAST_WALL} is the least"
        elif a.course != b.course and min(a.gauge, b.gauge) >= BASS_GAUGE and gap < BASS_GAP:
            yield f"{pair}: gap {gap:.2f} mm is under {BASS_GAP:g} on a bass course; the fingers will touch both"
        elif a.course != b.course and gap < COURSE_GAP:
            yield f"{pair}: gap {gap:.2f} mm is under {COURSE_GAP:g}; the fingers will touch both"


def _ends(nut: Nut) -> Iterator[str]:
    for slot in nut.slots if len(nut.slots) == 1 else (nut.slots[0], nut.slots[-1]):
        wall = end_wall(nut, slot)
        if wall <= 0.0:
            yield f"{_name(slot)}: the slot breaks out of the end by {-wall:.2f} mm; use a larger margin or less fan"
        elif wall < 1.0:
            yield f"{_name(slot)}: {wall:.2f} mm is left between the slot and the end; it may chip"


def _slot(nut: Nut, slot: Slot, kind: str) -> Iterator[str]:
    low, high = BREAK_DEG
    bend = slot.break_angle_deg
    if bend < low:
        yield f"{_name(slot)}: break angle {bend:.1f} degrees is under {low:g}; the string may rattle in its slot"
    if bend > high:
        yield f"{_name(slot)}: break angle {bend:.1f} degrees is over {high:g}; the string will bind and cut the slot"
    low, high = BURIED
    if slot.buried < low:
        yield f"{_name(slot)}: {slot.buried:.0%} of the gauge is buried; too little, it may jump out"
    if slot.buried > high and slot.depth - slot.gauge > OVER_THE_STRING:
        yield f"{_name(slot)}: {slot.buried:.0%} of the gauge is buried; too much, the slot will choke and bind"
    board = float(nut.board_z(slot.x))
    if slot.floor_z < board:
        yield f"{_name(slot)}: the slot floor is {board - slot.floor_z:.2f} mm below the board; it will only buzz"
    elif slot.floor_height < 0.0:
        under = f"{-slot.floor_height:.2f} mm below the fret plane"
        yield f"{_name(slot)}: the slot floor is {under}; the open string will buzz"
    wall = floor_wall(nut, slot)
    if wall < GOOD_FLOOR_WALL:
        yield f"{_name(slot)}: {wall:.2f} mm is left under the slot; under {GOOD_FLOOR_WALL:g} it may crack"
    leaves = float(slot.floor_at(nut.thickness)) - float(nut.top_z(slot.x_at(nut.thickness), nut.thickness))
    if leaves > 0.0:
        yield f"{_name(slot)}: the bevel cuts below the slot floor at the back; use a smaller body.bevel_deg"
    if math.isinf(slot.roll_radius) and slot.tilt_deg < slot.incline_deg:
        yield f"{_name(slot)}: the floor falls less than the string; it starts at the back, not at the front face"
    if math.isinf(slot.roll_radius) and slot.tilt_deg > slot.break_angle_deg + slot.incline_deg + 0.05:
        yield f"{_name(slot)}: the floor falls steeper than the string; it rests on the front edge alone"
    yield from _heights(slot, kind)


def _heights(slot: Slot, kind: str) -> Iterator[str]:
    low, high = FIRST_FRET[kind]
    clearance = slot.first_fret_clearance
    if not low <= clearance <= high:
        verdict = "it may buzz open" if clearance < low else "it will be stiff and sharp in the first frets"
        outside = f"{clearance:.2f} mm is outside practice ({low:g} to {high:g})"
        yield f"{_name(slot)}: first-fret clearance {outside}; {verdict}"
    low, high = ACTION[kind]
    if not low <= slot.action <= high:
        yield f"{_name(slot)}: action {slot.action:.2f} mm is outside practice ({low:g} to {high:g})"
