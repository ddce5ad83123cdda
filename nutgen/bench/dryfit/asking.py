"""What a dry fit asks at the terminal: the readings in the order in which they are taken."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from nutgen.bench.dryfit.readings import next_stack
from nutgen.errors import Fault
from nutgen.nut.part import Nut
from nutgen.spec.cross_fitting import leaf_faults
from nutgen.spec.fields import Reading
from nutgen.spec.fitting import DryFit
from nutgen.spec.values import read_length
from nutgen.spec.workshop import Tools

OPEN_AT_1 = (
    "  |\\________________________________ string",
    "  | |    ==  leaf, on the crown",
    "  |_|____/\\________/\\_______/\\______ board",
    "  nut    1         2        3",
)
PRESSED_AT_3 = (
    "  |\\--.._                  | finger",
    "  | |    ==`--..__         v   ______ string",
    "  |_|____/\\________/\\_`--.._/\\_______ board",
    "  nut    1         2        3",
)
UNDER_STRAIGHTEDGE = (
    "  ============================== straightedge",
    "  /\\   ..      == leaf      ..  /\\",
    "  fret 1      half way    last fret",
)
OVER_12 = (
    "  ____________________________________ string",
    "                 ==  leaf or ruler",
    "  _____/\\________/\\________/\\_________ board",
    "       11        12        13",
)
FACE_TO_1 = (
    "  |\\        .",
    "  | |<----->/\\   front face to the crown",
    "  |_|_______/\\_______ board",
    "  nut       1",
)
HOW = (
    "Nut in its seat, strings at pitch. Press each string down just in front of the nut, once, so that it lies on its"
    " floor. A leaf passes where it slips in without lifting the string; it drags where it just does. Stack leaves;"
    " give the thickest that passes. Where you also know the thinnest that drags, write both: 0.45 to 0.50."
)


@dataclass(frozen=True, slots=True)
class Ask:
    """One reading that is asked for.

    key     : of the table of the file
    place   : of a string, 0 = bass-most; None for what is asked once
    may_skip : whether no answer is an answer
    """

    key: str
    place: int | None
    prompt: str
    where: str
    drawing: tuple[str, ...] = ()
    default: str = ""
    may_skip: bool = False


def questions(nut: Nut, answers: Mapping[tuple[str, int | None], str], *, again: bool) -> list[Ask]:
    """What is asked, in order; what was answered decides what follows.

    again : whether the nut has been read before
    """
    asks = []
    if again:
        asks.append(
            Ask("after", None, "What was done to the nut since the readings before?",
                "One of: filing, nothing, fill, shim, new nut.", default="filing")
        )  # fmt: skip
    asks += [
        Ask("relief", None, "Relief",
            "Straightedge on frets 1 and the last; the thickest leaf that passes under it half way.",
            UNDER_STRAIGHTEDGE),
        Ask("action bass", None, "Action, bass-most string",
            "Open string's underside to the crown of fret 12.", OVER_12),
    ]  # fmt: skip
    if len(nut.slots) > 1:
        asks.append(Ask("action treble", None, "Action, treble-most string", "The same there."))
    asks.append(
        Ask("checks", None, "Which checks?",
            "feeler: under the open string at fret 1. sliver: over fret 1, pressed at fret 3. Both together tell"
            " twice as much.", default="both")
    )  # fmt: skip
    asked = answers.get(("checks", None), "both")
    for index, slot in enumerate(nut.slots):
        name = f"string {slot.number} ({slot.note})"
        first = index == 0
        if asked != "sliver":
            where = "The thickest leaf or stack that passes under the open string at fret 1; 0 where none does."
            asks.append(Ask("feeler", index, f"{name}: open, over fret 1", where, OPEN_AT_1 if first else ()))
        if asked != "feeler":
            where = "Press down at fret 3: the thickest leaf or stack that passes over fret 1; 0 where none does."
            asks.append(
                Ask("sliver", index, f"{name}: pressed at 3, over fret 1", where, PRESSED_AT_3 if first else ())
            )
    where = "Caliper from the front face of the nut to the crown of fret 1, along the bass-most string. Enter skips it."
    asks.append(Ask("face_to_fret_1", None, "Nut position", where, FACE_TO_1, may_skip=True))
    return asks


def fault_in(ask: Ask, answer: str, *, units: str, tools: Tools) -> str:
    """What is wrong with an answer, by the same door as the file; empty where nothing is."""
    if not answer:
        return "" if ask.may_skip else "nothing was given; write the reading"
    if ask.key == "checks":
        return "" if answer in ("feeler", "sliver", "both") else "write feeler, sliver or both"
    raw = _raw(ask.key, [answer])
    table, faults = DryFit.read(raw, Reading(units=units), ())
    if table is not None:
        faults = [*leaf_faults(table, tools)]
    return "; ".join(_words(fault) for fault in faults)


def _words(fault: Fault) -> str:
    return fault.words.removeprefix("entry 1: ")


def readings_from(answers: Mapping[tuple[str, int | None], str], nut: Nut, *, units: str, tools: Tools) -> DryFit:
    """The answers through the door of the file; raises ValueError where they do not pass it."""
    table, faults = DryFit.read(_table(answers, nut, units=units, tools=tools), Reading(units=units), ())
    if table is None:
        raise ValueError("; ".join(map(str, faults)))
    return table


def _table(answers: Mapping[tuple[str, int | None], str], nut: Nut, *, units: str, tools: Tools) -> dict[str, Any]:
    raw: dict[str, Any] = {}
    bass, treble = answers.get(("action bass", None)), answers.get(("action treble", None))
    if bass:
        raw["action"] = {"bass": _number(bass), "treble": _number(treble or bass)}
    for key in ("relief", "face_to_fret_1", "after"):
        if answers.get((key, None)):
            raw |= _raw(key, [answers[key, None]])
    for key in ("feeler", "sliver"):
        if (key, 0) in answers:
            given = [answers[key, index] for index in range(len(nut.slots))]
            if any(" to " in text for text in given):
                given = [text if " to " in text else f"{text} to {_next(text, units, tools)} mm" for text in given]
            raw |= _raw(key, given)
    return raw


def _next(passes: str, units: str, tools: Tools) -> float:
    return round(next_stack(read_length(_number(passes), units).mm, tools), 6)


def _raw(key: str, answers: list[str]) -> dict[str, Any]:
    """Answers to one key, as they would stand in the file."""
    match key:
        case "after":
            return {"after": answers[0]}
        case "relief" | "face_to_fret_1":
            return {key: _number(answers[0])}
        case "action bass" | "action treble":
            return {"action": _number(answers[0])}
    parts = [answer.partition(" to ") for answer in answers]
    raw: dict[str, Any] = {key: [_number(passes) for passes, _, _ in parts]}
    if all(drags for _, _, drags in parts):
        raw[f"{key}_drags"] = [_number(drags) for _, _, drags in parts]
    return raw


def _number(text: str) -> float | str:
    """A bare number where it is one, else the text with its unit."""
    try:
        return float(text)
    except ValueError:
        return text.strip()
