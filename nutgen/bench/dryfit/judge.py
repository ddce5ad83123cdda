"""The dry fit: readings in, what to file off each slot out.

Nut in its seat, strings at pitch, leaves over the frets. Each reading tells two heights that the floor
lies between; with the rounds before, that is judged: file, leave alone, too low.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.bench.dryfit.belief import Belief, FloorRange
from nutgen.bench.dryfit.filing import SlotVerdict, cut_of, in_tolerance, steps_of, verdict_of
from nutgen.bench.dryfit.fitlog import LoggedString, Round
from nutgen.bench.dryfit.hand import Hand
from nutgen.bench.dryfit.neck_first import remarks_on_neck, rod_first
from nutgen.bench.dryfit.readings import Gap, as_it_stands, at_strings, gaps_of, moved
from nutgen.bench.dryfit.slips import Doubts, Known, disagreeing, doubts, known_from, learned, meet, turned_round
from nutgen.bench.dryfit.ways_back import Raised, packing_for, raised_by
from nutgen.bench.materials import STRINGS_WHIP, NutMaterial
from nutgen.bench.remedies import LOWEST, TOLERANCE, packing_of, ways_back
from nutgen.finding import Finding, caution, note, of_string, warning
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.nut.slot import Slot
from nutgen.play.heights import Check, shop_checks
from nutgen.spec.playing import DryFit
from nutgen.spec.workshop import Tools
from nutgen.theory import Array

NEW_HAND = Hand()
UNTOLD = 0.4  # mm; so wide a range is no reading but a string that lies on its fret
NEAR = 0.10  # mm; a floor this near the height wanted is about to be finished


@dataclass(frozen=True, slots=True)
class ThenReads:
    """What a check reads once a slot is filed, the saddle left alone: between these [mm]."""

    check: Check
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class StringFit:
    """One string of a dry fit; lengths in mm.

    verdict      : "file", "leave", "low", "measure again", or "wait" for the truss rod
    floor_off    : over the height wanted, in 99 of 100 cases
    says         : the verdict with its numbers, or why the reading is in doubt
    in_tolerance_for_sure : whether it is in tolerance beyond doubt
    file_off     : at the slot, in this round
    steps        : how
    then_reads   : what the first check reads after that
    action_falls : by the filing, the saddle left alone
    readings     : what was read
    """

    number: int
    note: str
    verdict: SlotVerdict
    says: Finding
    floor_off: FloorRange
    in_tolerance_for_sure: bool
    file_off: float
    steps: tuple[Finding, ...]
    then_reads: ThenReads
    action_falls: float
    readings: tuple[Gap, ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """What a round of readings says; strings bass to treble.

    truss_rod_first : what to do there before anything else; None where nothing
    ways_back : where a slot is too low, the one that spoils least first
    raised    : what the shim among them does to every string
    remarks   : what else there is to know
    done      : whether every slot is to be left alone
    in_doubt  : whether a reading is to be taken again; such readings are no round, and nothing is filed by them
    entry     : for the log
    """

    truss_rod_first: Finding | None
    strings: tuple[StringFit, ...]
    ways_back: tuple[Finding, ...]
    raised: tuple[Raised, ...]
    remarks: tuple[Finding, ...]
    cautions: tuple[Finding, ...]
    done: bool
    in_doubt: bool
    entry: Round


@dataclass(frozen=True, slots=True, eq=False)
class _Taken:
    """A round as it was taken: the nut as the file wants it and as it stands, and what was known of each slot."""

    nut: Nut
    stands: Nut
    readings: DryFit
    tools: Tools
    known: Sequence[Known | None]
    gaps: Sequence[tuple[Gap, ...]]

    @property
    def wanted(self) -> list[float]:
        """Floors over the fret plane [mm]."""
        return [slot.floor_height for slot in self.nut.slots]


def dry_fit(
    nut: Nut,
    readings: DryFit,
    *,
    tools: Tools,
    material: NutMaterial,
    rounds: Sequence[Round],
    time: str,
    attempt: Round | None = None,
    hand: Hand = NEW_HAND,
) -> Fit:
    """Judge a round of readings.

    nut      : as the file wants it
    readings : of the nut in its seat, one a string
    rounds   : the log of these strings, oldest first
    time     : of the readings, for the log; UTC, ISO 8601
    attempt  : readings since the last round that were in doubt: what reads so again is true
    hand     : that files, as far as earlier nuts have shown it
    """
    stands = as_it_stands(nut, readings, tools)
    known, hand = known_from(rounds, [slot.floor_height for slot in nut.slots], hand, attempt=attempt)
    taken = _Taken(nut, stands, readings, tools, known, gaps_of(stands, readings, tools))
    found = _doubts(taken)
    hand, floors = _floors(taken, hand, found.strings)
    rod = rod_first(nut, readings, tools)
    wait = "fit.wait" if rod else "fit.wait-for-readings" if any(found.strings) else ""
    strings = _strings(taken, floors, found.strings, material, hand, wait=wait)
    too_low = [i for i, string in enumerate(strings) if string.verdict == "low"]
    missing = packing_for([string.floor_off.low for string in strings], too_low)
    ways = ways_back([nut.slots[i].who for i in too_low], missing, tools=tools, material=material)
    packing = packing_of(ways)
    return Fit(
        truss_rod_first=rod,
        strings=strings,
        ways_back=ways,
        raised=raised_by(stands, np.array([floor.middle for floor in floors]), packing) if packing else (),
        remarks=(*found.notes, *remarks_on_neck(nut, readings, tools), *_coarse(readings, strings)),
        cautions=(*(STRINGS_WHIP, material.in_short), *((caution("bench.thin-glue"),) if ways else ())),
        done=all(string.verdict == "leave" for string in strings),
        in_doubt=any(found.strings),
        entry=_entry(nut, readings, strings, found, time),
    )


def _floors(taken: _Taken, hand: Hand, in_doubt: Sequence[Finding | None]) -> tuple[Hand, list[Belief]]:
    """What these readings tell of the hand, and of every floor; a reading in doubt stands for itself."""
    after, slots = taken.readings.after, list(zip(taken.known, taken.gaps, taken.wanted, in_doubt, strict=True))
    sure = [() if doubt else read for _, read, _, doubt in slots]
    hand = learned(hand, taken.known, sure, taken.wanted, after=after)
    return hand, [
        (known.after(after, hand) if known and not doubt else Belief.nothing()).read(read, wanted=height)
        for known, read, height, doubt in slots
    ]


def _doubts(taken: _Taken) -> Doubts:
    gaps, strings = taken.gaps, [slot.who for slot in taken.nut.slots]

    def together(of_strings: Sequence[tuple[Gap, ...]]) -> list[FloorRange]:
        return [meet(string, wanted=height) for string, height in zip(of_strings, taken.wanted, strict=True)]

    def swapped(order: Sequence[int]) -> list[FloorRange]:
        return together(gaps_of(taken.stands, taken.readings, taken.tools, order))

    raised = taken.readings.after not in ("filing", "nothing")
    found = doubts(strings, together(gaps), [None] * len(strings) if raised else taken.known, swapped)
    notes = [one for string, read in zip(strings, gaps, strict=True) for one in disagreeing(string, read)]
    if not any(taken.known) and turned_round(
        [(string[0].passes + string[0].drags) / 2.0 for string in gaps],
        getattr(shop_checks(line_of(taken.nut)), gaps[0][0].check).tolist(),
        step=max(string[0].drags - string[0].passes for string in gaps),
    ):
        notes.append(note("dry-fit.listed-backwards"))
    return Doubts(found.strings, (*found.notes, *notes))


def _strings(
    taken: _Taken,
    floors: Sequence[Belief],
    in_doubt: Sequence[Finding | None],
    material: NutMaterial,
    hand: Hand,
    *,
    wait: str,
) -> tuple[StringFit, ...]:
    verdicts: list[SlotVerdict] = [
        "measure again" if doubt else _held(verdict_of(floor, hand), wait)
        for floor, doubt in zip(floors, in_doubt, strict=True)
    ]
    cuts = [cut_of(floor, hand) if verdict == "file" else 0.0 for floor, verdict in zip(floors, verdicts, strict=True)]
    nut, check = taken.nut, taken.gaps[0][0].check
    low, high, falls = _after_filing(taken.stands, check, floors, cuts)
    return tuple(
        StringFit(
            number=slot.number,
            note=slot.note,
            verdict=verdicts[i],
            says=in_doubt[i] or _says(verdicts[i], slot, floors[i].between(), wait),
            floor_off=floors[i].between(),
            in_tolerance_for_sure=verdicts[i] != "measure again" and in_tolerance(floors[i]),
            file_off=cuts[i],
            steps=steps_of(cuts[i], nut, slot, material, taken.tools.own_leaves),
            then_reads=ThenReads(check, float(low[i]), float(high[i])),
            action_falls=float(falls[i]),
            readings=taken.gaps[i],
        )
        for i, slot in enumerate(nut.slots)
    )


def _after_filing(
    stands: Nut, check: Check, floors: Sequence[Belief], cuts: Sequence[float]
) -> tuple[Array, Array, Array]:
    """What a check reads after the cuts, lowest and highest, and how far the action falls; the saddle left alone."""
    read = []
    for side in ("low", "high"):
        now, then = moved(stands, [getattr(floor.between(), side) for floor in floors], lowered=cuts)
        read.append(np.maximum(getattr(shop_checks(then), check), 0.0))
    return read[0], read[1], (now.clearance(12) - then.clearance(12))[:, 0]


def _held(verdict: SlotVerdict, wait: str) -> SlotVerdict:
    """What is to be filed waits for the relief, or for readings in doubt; the relief holds back every verdict."""
    return "wait" if wait == "fit.wait" or (wait and verdict == "file") else verdict


def _says(verdict: SlotVerdict, slot: Slot, floor: FloorRange, wait: str) -> Finding:
    string = slot.who
    match verdict:
        case "wait":
            return note(wait, string)
        case "low" if floor.high - floor.low > UNTOLD:
            return warning("fit.too-low-untold", string, least=-floor.high)
        case "low":
            return warning("fit.too-low", string, least=-floor.high, most=-floor.low)
        case "leave":
            return note("fit.leave", string, low=floor.low, high=floor.high)
    return note("fit.file", string, low=floor.low, high=floor.high)


def _coarse(readings: DryFit, strings: Sequence[StringFit]) -> list[Finding]:
    """What to read next with, where these readings can not promise the tolerance."""
    near = [
        string
        for string in strings
        if string.verdict in ("file", "leave")
        and abs(string.floor_off.low + string.floor_off.high) / 2.0 < NEAR
        and not string.in_tolerance_for_sure
    ]
    both = readings.sliver is not None and readings.feeler is not None
    wide = [one for one in near if not both or one.floor_off.high - one.floor_off.low > TOLERANCE + LOWEST]
    if not wide:
        return []
    code = "sliver-too" if readings.sliver is None else "feeler-too" if readings.feeler is None else "thinner-leaves"
    return [note(f"dry-fit.{code}", *(of_string(one.number, one.note) for one in wide), tolerance=TOLERANCE)]


def _entry(nut: Nut, readings: DryFit, strings: Sequence[StringFit], found: Doubts, time: str) -> Round:
    action, place = readings.action, readings.face_to_fret_1
    logged = tuple(
        LoggedString(
            number=string.number,
            note=string.note,
            gaps=string.readings,
            floor_low=round(string.floor_off.low + slot.floor_height, 4),
            floor_high=round(string.floor_off.high + slot.floor_height, 4),
            floor_wanted=round(slot.floor_height, 4),
            file_off=round(string.file_off, 4),
            verdict=string.verdict,
            doubt=doubt.code if doubt else "",
        )
        for string, slot, doubt in zip(strings, nut.slots, found.strings, strict=True)
    )
    return Round(
        time=time,
        after=readings.after,
        relief=readings.relief,
        action=None if action is None else tuple(at_strings(action, nut)),
        face_to_fret_1=None if place is None else place.values,
        strings=logged,
    )
