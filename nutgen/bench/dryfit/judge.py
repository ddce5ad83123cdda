"""The dry fit: readings in, what to file off each slot out.

Nut in its seat, strings at pitch, leaves over the frets. Each reading tells two heights that the floor
lies between; with the rounds before, that is judged: file, leave alone, too low.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from nutgen.bench.dryfit.belief import Belief
from nutgen.bench.dryfit.filing import (
    LOWEST,
    TOLERANCE,
    FilingStep,
    Verdict,
    cut_of,
    in_tolerance,
    steps_of,
    verdict_of,
)
from nutgen.bench.dryfit.fitlog import LoggedString, Round
from nutgen.bench.dryfit.neck_first import remarks_on_neck, rod_first
from nutgen.bench.dryfit.readings import Array, Gap, as_it_stands, at_strings, gaps_of, saddle_staying
from nutgen.bench.dryfit.slips import Doubts, Known, disagreeing, doubts, known_from, meet, over_wanted, turned_round
from nutgen.bench.dryfit.ways_back import WayBack, ways_back
from nutgen.bench.materials import COMMON_PRACTICE, Material, Note
from nutgen.nut.part import Nut
from nutgen.play.heights import line_of, shop_checks
from nutgen.spec.fitting import DryFit
from nutgen.spec.workshop import Tools

UNTOLD = 0.4  # mm; so wide a range is no reading but a string that lies on its fret
NEAR = 0.10  # mm; a floor this near the height wanted is about to be finished

CAUTIONS = (
    Note(
        "Strings at pitch can whip when they slip or break: goggles, face away from the nut; slacken a string before"
        " you lift it out of its slot.",
        COMMON_PRACTICE,
    ),
)


@dataclass(frozen=True, slots=True)
class StringFit:
    """One string of a dry fit; lengths in mm.

    gaps         : what was read
    low, high    : its floor over the height wanted lies between these, in 99 of 100 cases
    verdict      : "file", "leave", "low", "measure again", or "wait" for the truss rod
    sure         : whether it is in tolerance beyond doubt
    file_off     : at the slot, in this round
    steps        : how
    expect       : what the first check then reads, the saddle left alone: between these
    action_falls : by the filing, the saddle left alone
    words        : the verdict in a sentence
    """

    number: int
    note: str
    gaps: tuple[Gap, ...]
    low: float
    high: float
    verdict: Verdict
    sure: bool
    file_off: float
    steps: tuple[FilingStep, ...]
    expect: tuple[float, float]
    action_falls: float
    words: str


@dataclass(frozen=True, slots=True)
class Fit:
    """What a round of readings says; strings bass to treble.

    rod_first : what to do at the truss rod before anything else; empty where nothing
    ways_back : where a slot is too low
    remarks   : what else there is to know
    done      : whether every slot is to be left alone
    entry     : for the log
    """

    rod_first: str
    strings: tuple[StringFit, ...]
    ways_back: tuple[WayBack, ...]
    remarks: tuple[str, ...]
    cautions: tuple[Note, ...]
    done: bool
    entry: Round


def dry_fit(nut: Nut, readings: DryFit, *, tools: Tools, material: Material, rounds: Sequence[Round], time: str) -> Fit:
    """Judge a round of readings.

    nut      : as the file wants it
    readings : of the nut in its seat, one a string
    rounds   : the log of these strings, oldest first
    time     : of the readings, for the log; UTC, ISO 8601
    """
    stands = as_it_stands(nut, readings, tools)
    gaps = gaps_of(stands, readings, tools)
    known = [known_from(rounds, i, wanted=slot.floor_height) for i, slot in enumerate(nut.slots)]
    found = _doubts(nut, stands, readings, tools, gaps, known)
    floors = [
        _floor(known[i], gaps[i], after=readings.after, wanted=slot.floor_height, doubt=found.strings[i])
        for i, slot in enumerate(nut.slots)
    ]
    rod = rod_first(nut, readings, tools)
    verdicts = [_verdict(floor, doubt, rod) for floor, doubt in zip(floors, found.strings, strict=True)]
    cuts = [cut_of(floor) if verdict == "file" else 0.0 for floor, verdict in zip(floors, verdicts, strict=True)]
    low, high, falls = _after_filing(stands, gaps[0][0].check, floors, cuts)
    strings = tuple(
        StringFit(
            number=slot.number,
            note=slot.note,
            gaps=gaps[i],
            low=floors[i].between()[0],
            high=floors[i].between()[1],
            verdict=verdicts[i],
            sure=verdicts[i] != "measure again" and in_tolerance(floors[i]),
            file_off=cuts[i],
            steps=steps_of(cuts[i], nut, slot, material),
            expect=(float(low[i]), float(high[i])),
            action_falls=float(falls[i]),
            words=found.strings[i] or _words(verdicts[i], floors[i]),
        )
        for i, slot in enumerate(nut.slots)
    )
    likeliest = np.array([floor.middle for floor in floors])
    lowest = np.array([floor.between()[0] for floor in floors])
    too_low = [i for i, verdict in enumerate(verdicts) if verdict == "low"]
    return Fit(
        rod_first=rod,
        strings=strings,
        ways_back=ways_back(stands, likeliest, lowest, too_low, tools=tools, material=material),
        remarks=(*found.notes, *remarks_on_neck(nut, readings), *_coarse(readings, strings)),
        cautions=(*CAUTIONS, material.cautions[0]),
        done=all(verdict == "leave" for verdict in verdicts),
        entry=_entry(nut, readings, strings, found, time),
    )


def _floor(known: Known | None, gaps: tuple[Gap, ...], *, after: str, wanted: float, doubt: str) -> Belief:
    """What is known of a floor with these readings; a reading in doubt stands for itself."""
    before = known.after(after) if known and not doubt else Belief.nothing()
    return before.read(over_wanted(gaps, wanted=wanted))


def _doubts(
    nut: Nut,
    stands: Nut,
    readings: DryFit,
    tools: Tools,
    gaps: Sequence[tuple[Gap, ...]],
    known: Sequence[Known | None],
) -> Doubts:
    wanted = [slot.floor_height for slot in nut.slots]
    names = [f"string {slot.number} ({slot.note})" for slot in nut.slots]

    def together(of_strings: Sequence[tuple[Gap, ...]]) -> list[tuple[float, float]]:
        return [meet(string, wanted=height) for string, height in zip(of_strings, wanted, strict=True)]

    def swapped(order: Sequence[int]) -> list[tuple[float, float]]:
        return together(gaps_of(stands, readings, tools, order))

    raised = readings.after not in ("filing", "nothing")
    found = doubts(names, together(gaps), [None] * len(names) if raised else known, swapped)
    notes = [note for name, string in zip(names, gaps, strict=True) for note in disagreeing(name, string)]
    first = gaps[0][0].check
    if not any(known) and turned_round(
        [(string[0].passes + string[0].drags) / 2.0 for string in gaps],
        getattr(shop_checks(line_of(nut)), first).tolist(),
        step=max(string[0].drags - string[0].passes for string in gaps),
    ):
        notes.append("from the treble end these readings would fit the file far better: are they listed bass first?")
    return Doubts(found.strings, (*found.notes, *notes))


def _verdict(floor: Belief, doubt: str, rod: str) -> Verdict:
    if doubt:
        return "measure again"
    return "wait" if rod else verdict_of(floor)


def _after_filing(
    stands: Nut, check: str, floors: Sequence[Belief], cuts: Sequence[float]
) -> tuple[Array, Array, Array]:
    """What a check reads after the cuts, lowest and highest, and how far the action falls; the saddle left alone."""
    wanted = np.array([slot.floor_height for slot in stands.slots])
    read = []
    for side in (0, 1):
        now = line_of(stands, floor_height=wanted + np.array([floor.between()[side] for floor in floors]))
        then = saddle_staying(now, lowered=cuts)
        read.append(np.maximum(getattr(shop_checks(then), check), 0.0))
    return read[0], read[1], (now.clearance(12) - then.clearance(12))[:, 0]


def _words(verdict: Verdict, floor: Belief) -> str:
    low, high = floor.between()
    if verdict == "wait":
        return "wait for the relief"
    if verdict == "low":
        most = "perhaps far more" if high - low > UNTOLD else f"{-low:.2f} at most"
        return f"too low by {-high:.2f} mm at least, {most}: do not file; see the ways back"
    where = f"{low:+.2f} to {high:+.2f} mm from the height wanted"
    return f"{where}: leave it alone" if verdict == "leave" else where


def _coarse(readings: DryFit, strings: Sequence[StringFit]) -> list[str]:
    """What to read next with, where these readings can not promise the tolerance."""
    near = [s for s in strings if s.verdict in ("file", "leave") and abs(s.low + s.high) / 2.0 < NEAR and not s.sure]
    both = readings.sliver is not None and readings.feeler is not None
    wide = [s for s in near if not both or s.high - s.low > TOLERANCE + LOWEST]
    if not wide:
        return []
    which = ("strings " if len(wide) > 1 else "string ") + ", ".join(str(s.number) for s in wide)
    words = f"{which}: these readings are too coarse to promise {TOLERANCE} mm, so the slot is kept on the high side; "
    if readings.sliver is None:
        return [words + "read the sliver too: press at fret 3, and find the leaf that passes over fret 1"]
    if readings.feeler is None:
        return [words + "read the feeler too: the leaf that passes under the open string at fret 1"]
    return [words + "add thinner leaves to the stack: paper, or foil folded and measured by caliper (list it in tools)"]


def _entry(nut: Nut, readings: DryFit, strings: Sequence[StringFit], found: Doubts, time: str) -> Round:
    action, place = readings.action, readings.face_to_fret_1
    logged = tuple(
        LoggedString(
            number=string.number,
            note=string.note,
            gaps=string.gaps,
            floor_low=round(string.low + slot.floor_height, 4),
            floor_high=round(string.high + slot.floor_height, 4),
            floor_wanted=round(slot.floor_height, 4),
            file_off=round(string.file_off, 4),
            verdict=string.verdict,
            doubt=doubt,
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
