"""What a luthier would say of a solved nut: reasons not to make it, and warnings.

Every limit here is common practice, no source, unless it says otherwise.
"""

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from nutgen.finding import Finding, note, refusal, warning
from nutgen.nut.heights import LEAST_BEND_DEG, CrownsRead, behind_zero_fret
from nutgen.nut.part import Part
from nutgen.nut.setback import below_seat, least_shelf, shortened_board, under_floor
from nutgen.nut.slot import Slot
from nutgen.spec.tables import Setup
from nutgen.spec.values import ByKind
from nutgen.theory.frets import fret_position
from nutgen.theory.friction import STEEL_ON_BONE, dead_band_cents, total_bend_deg

BACK_BOW, RELIEF_APART = 0.05, 0.15  # mm of gaps along the neck: bowed back; off the relief read in the middle
BASS_GAUGE = 0.9  # mm; thicker neighbours swing wide and want room for two fingers
BASS_GAP = 5.0
COURSE_GAP = 3.0
WIDEST_GAP = {"bass": 15.0, "steel": 11.0, "nylon": 12.0}
LEAST_WALL = 0.3  # between slots, at the ends and under a floor: thinner breaks
LEAST_BACK = 0.5  # of the back face below the bevel
GOOD_END_WALL = 1.0
GOOD_FLOOR_WALL = 1.0
BEND_DEG = (4.0, 18.0)  # down and sideways together
BURIED = (0.3, 1.05)
BURIED_OFF = 0.2  # of the gauge, from what was asked
SEEN = 0.15  # mm of the top's height that it takes to matter, where the string is well held
WELL_BURIED = 0.5
RAISED = 1.5  # mm of every floor over the fret plane: no finger presses such strings
STEEPEST_TOP_DEG = 20.0  # across the nut; steeper is no nut, but a slip of a measurement
RELIEF = {"bass": (0.10, 0.50), "steel": (0.0, 0.40), "nylon": (0.0, 0.50)}
LEAST_RELIEF = 0.02  # mm; no leaf reads less
FIRST_FRET = {"bass": (0.30, 0.80), "steel": (0.15, 0.60), "nylon": (0.30, 0.90)}
ACTION_OFF = 0.15  # mm between measured and wanted before it is told
ACTION = {"bass": (1.2, 3.2), "steel": (0.9, 2.8), "nylon": (1.5, 5.0)}


def raised(nut: Part) -> list[Finding]:
    """The refusal of a nut that is raised for playing with a bar; empty where fingers press its strings on frets."""
    lowest = min(slot.floor_height for slot in nut.slots)
    return [refusal("nut.raised", lowest=lowest, most=RAISED)] if lowest > RAISED and nut.tops is None else []


def refusals(nut: Part) -> list[Finding]:
    """Why this nut cannot be made at all; empty where it can."""
    across = np.linspace(*nut.reach_of(nut.thickness), 41)
    rim = nut.top_z(across, nut.thickness) - nut.underside.z(across, nut.thickness)
    if not np.all(np.isfinite([*rim, *nut.crown.z(nut.reach)])):
        return [refusal("top.ends-out-of-reach")]
    if abs(nut.crown.slope_deg) > STEEPEST_TOP_DEG:
        return [refusal("top.leans", lean_deg=abs(nut.crown.slope_deg), most_deg=STEEPEST_TOP_DEG)]
    back = float(np.min(rim))
    found = [refusal("back.too-low", left=back, least=LEAST_BACK)] if back < LEAST_BACK else []
    return found + [finding for slot in nut.slots for finding in _slot_refusals(nut, slot)]


def _slot_refusals(nut: Part, slot: Slot) -> Iterator[Finding]:
    wall, shelf = nut.floor_wall(slot), under_floor(nut, slot)
    if wall < LEAST_WALL:
        yield refusal("slot.floor-breaks", slot.who, wall=wall, least=LEAST_WALL)
    if shelf < (least := least_shelf(nut.material)):
        shorter = shortened_board(nut)
        yield refusal(
            "slot.shelf-breaks",
            slot.who,
            shelf=max(shelf, 0.0),
            least=least,
            material=nut.material,
            shorter=shorter,
            thickness=nut.thickness + shorter,
        )
    if (by := below_seat(nut, slot)) > 0.0:
        yield refusal("slot.shelf-below-seat", slot.who, by=by)
    if slot.break_angle_deg <= 0.0 and slot.zero_fret is not None:
        bend = slot.zero_fret.bend_deg
        yield refusal("zero-fret.bends-past-tuner", slot.who, bend_deg=bend, most_deg=bend + slot.break_angle_deg)
    elif slot.break_angle_deg <= 0.0:
        yield refusal("slot.post-above", slot.who, angle_deg=slot.break_angle_deg)
    if slot.depth < 0.02:
        yield refusal("slot.no-depth", slot.who, depth=slot.depth)
    by = max(nut.end_x(-1, slot.start_y) - slot.x, slot.x - nut.end_x(1, slot.start_y))
    if by > 0.0:
        yield refusal("slot.beyond-end", slot.who, by=by)


def remarks(nut: Part, asked: ByKind) -> Iterator[Finding]:
    """What will play or make badly; `asked` are the shares of each gauge that were to be buried."""
    off = max(nut.slots, key=lambda slot: abs(slot.action_now - slot.action))
    if abs(off.action_now - off.action) > ACTION_OFF:
        yield note("string.action-to-set", off.who, now=off.action_now, wanted=off.action)
    if behind_zero_fret(nut):
        yield note("zero-fret.decides", over_seat=_over_seat(nut))
    if nut.tops is not None:
        yield note("lap.decides", tops=nut.tops, over_seat=nut.tops - float(nut.seat.floor_z(0.0)))
    yield from _neighbours(nut)
    yield from _ends(nut)
    yield from _guides(nut)
    for slot in nut.slots:
        yield from _bend(slot)
        yield from _buried(slot, asked.of(wound=slot.wound))
        yield from _slot(nut, slot)
    if nut.tops is not None:
        return
    low, high = RELIEF[nut.kind]
    if 0.0 < nut.relief < LEAST_RELIEF:
        yield warning("relief.no-leaf", relief=nut.relief, likely=25.4 * nut.relief)
    elif not low <= nut.relief <= high:
        yield warning("relief.unusual", relief=nut.relief, low=low, high=high)


def _over_seat(nut: Part) -> float:
    """A straightedge along the middle of the frets over the seat's floor, at the front face behind a zero fret [mm].

    It lies on the zero fret and on fret 2; on frets 1 and 2 where the zero fret is worn lower.
    """
    both = [slot.zero_fret for slot in (nut.slots[0], nut.slots[-1]) if slot.zero_fret is not None]
    height, ahead = (sum(values) / 2.0 for values in zip(*((on.height, on.ahead) for on in both), strict=True))
    fret_2 = float(fret_position(2, scale_length=sum(nut.scale_length) / 2.0))
    plane = float(nut.seat.fret_plane_z(0.0) - nut.seat.floor_z(0.0))
    return plane + max(0.0, height) * (1.0 + ahead / fret_2)


def crowns_told(read: CrownsRead, setup: Setup) -> Iterator[Finding]:
    """What stands off the others among the crowns, how well that is known, and what was misread.

    Parameters
    ----------
    read : CrownsRead
        Of the file.
    setup : Setup
        What it says of relief and back bow.

    Yields
    ------
    Finding
        Frets to level before a nut is made, frets that sank, and what the readings leave open.
    """
    for fret, height in enumerate(read.high, 1):
        if abs(height) >= read.shown:
            code = "crowns.level" if height > 0.0 else "crowns.sunk"
            yield warning(code, fret=fret, by=abs(height), unsure=fret in read.unsure)
    if read.misread:
        yield warning("crowns.misread", fret=read.misread)
    if read.relief < -BACK_BOW and not setup.back_bow:
        yield warning("crowns.back-bow", relief=-read.relief)
    elif setup.relief_now is not None and abs(read.relief - setup.relief_now) > RELIEF_APART:
        yield warning("crowns.relief-apart", read=read.relief, now=setup.relief_now)
    if math.isfinite(read.left):
        yield note("crowns.rocker-fits", left=read.left)
    if math.isfinite(read.relief):
        bent = [over - high for over, high in zip(read.over_arc, read.high, strict=True)]
        worst = max(range(len(bent)), key=lambda i: abs(bent[i]))
        yield note("crowns.shape", relief=read.relief, fret=worst + 1, off=bent[worst])


def _neighbours(nut: Part) -> Iterator[Finding]:
    for a, b in pairwise(nut.slots):
        gap = b.x - a.x - (a.gauge + b.gauge) / 2.0
        wall = nut.wall_between(a, b)
        least = BASS_GAP if min(a.gauge, b.gauge) >= BASS_GAUGE else COURSE_GAP
        if wall <= 0.0:
            yield warning("slots.break-into-each-other", a.who, b.who, by=-wall)
        elif wall < LEAST_WALL:
            yield warning("slots.wall-breaks", a.who, b.who, wall=wall, least=LEAST_WALL)
        elif a.course != b.course and gap < least:
            code = "strings.close-on-bass" if least == BASS_GAP else "strings.close"
            yield warning(code, a.who, b.who, gap=gap, least=least)
        elif gap > WIDEST_GAP[nut.kind]:
            yield warning("strings.far", a.who, b.who, gap=gap, most=WIDEST_GAP[nut.kind])


def _ends(nut: Part) -> Iterator[Finding]:
    for slot in nut.slots if len(nut.slots) == 1 else (nut.slots[0], nut.slots[-1]):
        wall = nut.end_wall(slot)
        if wall <= 0.0:
            yield warning("slot.breaks-out-of-end", slot.who, by=-wall)
        elif wall < GOOD_END_WALL:
            yield warning("slot.end-may-chip", slot.who, wall=wall, least=GOOD_END_WALL)


def _bend(slot: Slot) -> Iterator[Finding]:
    """The whole bend behind the nut, and what it can hide of the pitch."""
    down, aside = (min(max(bend, -90.0), 90.0) for bend in (slot.break_angle_deg, slot.bend_deg))
    bend = float(total_bend_deg(down_deg=down, sideways_deg=aside))
    parts = {"bend_deg": bend, "down_deg": down, "sideways_deg": aside}
    least, most = BEND_DEG
    if bend < least:
        yield warning("string.bend-small", slot.who, **parts, least_deg=least)
    if bend >= most:
        low, high = (float(dead_band_cents(friction=friction, bend_deg=bend)) for friction in STEEL_ON_BONE)
        yield warning("string.bend-large", slot.who, **parts, most_deg=most, low_cents=low, high_cents=high)


def _guides(nut: Part) -> Iterator[Finding]:
    """Strings that a guide does not touch, and how low it has to be for the break angle that is wanted."""
    told: set[int] = set()
    for slot, guide in ((slot, slot.guide) for slot in nut.slots if slot.guide):
        if not guide.bend_deg:
            yield warning("guide.not-touched", slot.who, number=guide.number, drop=guide.drop)
        if guide.wanted_drop is not None and guide.wanted_deg is not None and guide.number not in told:
            told.add(guide.number)
            under = [one.break_angle_deg for one in nut.slots if one.guide and one.guide.number == guide.number]
            values = {"wanted_deg": guide.wanted_deg, "wanted": guide.wanted_drop, "drop": guide.drop}
            yield note("guide.height", number=guide.number, **values, low_deg=min(under), high_deg=max(under))


def _buried(slot: Slot, asked: float) -> Iterator[Finding]:
    """One rule for every kind and gauge; where the one arc of the top cannot do what was asked, that is a note."""
    low, high = BURIED
    shares = {"buried_share": slot.buried, "asked_share": asked}
    if slot.buried < low:
        yield warning("string.buried-too-little", slot.who, **shares, least_share=low)
    elif slot.buried > high:
        told = warning if asked > high else note
        yield told("string.buried-too-much", slot.who, **shares, most_share=high)
    elif abs(off := slot.buried - asked) > BURIED_OFF and (
        abs(off) * slot.gauge >= SEEN or slot.buried < min(asked, WELL_BURIED)
    ):
        yield note("string.buried-otherwise", slot.who, **shares, well_share=WELL_BURIED)


def _slot(nut: Part, slot: Slot) -> Iterator[Finding]:
    board = float(nut.seat.board_z(slot.face_x))
    if slot.floor_z < board:
        yield warning("slot.floor-below-board", slot.who, by=board - slot.floor_z)
    elif slot.sounds_from < 0.0 and slot.zero_fret is None:
        yield warning("slot.floor-below-fret-plane", slot.who, by=-slot.floor_height)
    wall = nut.floor_wall(slot)
    if wall < GOOD_FLOOR_WALL:
        yield warning("slot.floor-may-crack", slot.who, wall=wall, least=GOOD_FLOOR_WALL)
    y = nut.thickness
    open_by = float(slot.floor_at(y)) - float(nut.top_z(slot.x_at(y), y))
    if open_by > 0.0:
        yield warning("slot.bevel-below-floor", slot.who, by=open_by)
    if not slot.rolled and slot.tilt_deg < slot.incline_deg:
        yield warning("slot.floor-too-flat", slot.who, tilt_deg=slot.tilt_deg, string_deg=slot.incline_deg)
    falls = slot.break_angle_deg + slot.incline_deg
    if not slot.rolled and slot.tilt_deg > falls + 0.05:
        yield warning("slot.floor-too-steep", slot.who, tilt_deg=slot.tilt_deg, string_deg=falls)
    if slot.zero_fret is not None and slot.zero_fret.bend_deg < LEAST_BEND_DEG - 1e-9:
        yield warning("zero-fret.bend-small", slot.who, bend_deg=slot.zero_fret.bend_deg, least_deg=LEAST_BEND_DEG)
    if nut.tops is None:
        yield from _heights(slot, nut.kind)


def _heights(slot: Slot, kind: str) -> Iterator[Finding]:
    low, high = FIRST_FRET[kind]
    clearance = slot.first_fret_clearance
    if slot.zero_fret is not None:
        low = 0.0  # fretted notes clear the next fret by no more
    if not low <= clearance <= high:
        code = "string.first-fret-low" if clearance < low else "string.first-fret-high"
        yield warning(code, slot.who, clearance=clearance, low=low, high=high)
    low, high = ACTION[kind]
    if not low <= slot.action <= high:
        yield warning("string.action-unusual", slot.who, action=slot.action, low=low, high=high)
