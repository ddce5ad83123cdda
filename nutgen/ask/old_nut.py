"""What `reuse` asks at the terminal: the old nut, slot by slot from the bass end."""

from typing import Any

from nutgen.ask.checks import Answers, Faults, not_an_answer
from nutgen.ask.drawings import CENTRES, EDGES, FLOOR_OVER_SEAT, SLOT_WIDTH
from nutgen.ask.question import Question
from nutgen.ask.values import number
from nutgen.errors import SpecFaults
from nutgen.finding import refusal
from nutgen.spec.cross_playing import old_nut_faults
from nutgen.spec.playing import OldNut
from nutgen.spec.read import read_beside
from nutgen.spec.tables import Spec

HOW = "The old nut out of its seat, a caliper, the packet of strings or drills for the widths."
LISTS = ("edges", "centres", "widths", "floors")


def questions(spec: Spec, answers: Answers) -> list[Question]:
    """What is asked, in order; how places and floors are measured decides what follows."""
    places = answers.get("places", "edges")
    floors = answers.get("from", "seat floor")
    return [
        Question("rattles", ("old_nut", "rattles"), "Strings that rattle or move in their slots?",
                 "Before the nut comes out, at pitch: pluck open, push behind the nut. Numbers, 1 the treble-most; or"
                 " none; or not yet.", "not yet"),
        Question("places", (), "Measured to the edges of the slots, or to their centres?",
                 "edges: what the tips of a caliper reach. centres: by ruler or template.", "edges",
                 choices=("edges", "centres")),
        Question("from", ("old_nut", "floors_from"), "Floors from where?",
                 "seat floor: caliper over nut and slot, nut out. fret plane: straightedge on frets 1 and 2, nut in.",
                 "seat floor", choices=("seat floor", "fret plane")),
        *(one for nth, string in spec.numbered for one in _of_slot(spec, nth, string.note, places, floors)),
    ]  # fmt: skip


def _of_slot(spec: Spec, nth: int, note: str, places: str, floors: str) -> list[Question]:
    first, string = nth == len(spec.strings), f"string {nth} ({note})"
    flat = "one jaw flat on that end, " if places == "edges" else ""
    to = "the bass-side edge" if places == "edges" else "the middle"
    over = "Slot floor over the underside of the nut." if floors == "seat floor" else "Slot floor over the fret plane."
    drawn = (EDGES if places == "edges" else CENTRES, SLOT_WIDTH, FLOOR_OVER_SEAT if floors == "seat floor" else ())
    asked = (
        (places, "place", f"From the bass end of the nut to {to} of the slot, {flat}at the front face."),
        (
            "widths",
            "width",
            "The thickest gauge or drill shank that enters at the front face; where you know the thinnest that"
            f" does not, both: {'0.28 to 0.33' if spec.units == 'mm' else '0.011 to 0.013'}.",
        ),
        ("floors", "floor", f"{over} At the front face."),
    )
    return [
        Question(f"{key} {nth}", ("old_nut", key), f"{string}: {what}", where, "", spec.units,
                 drawing if first else ())
        for (key, what, where), drawing in zip(asked, drawn, strict=True)
    ]  # fmt: skip


def wrong_with_reading(spec: Spec, asked: Question, answer: str, answers: Answers) -> Faults:
    """What is wrong with an answer after those of the other slots, by the same door as the file."""
    fault = not_an_answer(asked, answer)
    key = asked.key.split()[0]
    if key == "rattles":
        most = len(spec.strings)
        known = {"none", "not yet"} | {str(number) for number in range(1, most + 1)}
        strange = [] if answer in known else [one for one in _numbers(answer) if one not in known]
        return (refusal("answer.no-such-strings", most=most),) if strange or not answer.strip(" ,") else ()
    if fault or key not in LISTS:
        return fault
    before = {name: text for name, text in answers.items() if name.startswith(f"{key} ") and name != asked.key}
    values = table_of({**before, asked.key: answer, "from": answers["from"]})
    filler = ["1 mm"] * len(values[key])
    places = {} if key in ("edges", "centres") else {"centres": [f"{place} mm" for place in range(1, len(filler) + 1)]}
    raw = {"widths": filler, "floors": filler, **places, **values}
    try:
        old, _ = read_beside(OldNut, raw, spec, at="old_nut")
    except SpecFaults as error:
        return tuple(error.findings)
    faults = old_nut_faults(old, spec.strings[: len(filler)], spec.fretboard, spec.instrument)
    about = (f"old_nut.{key}", f"old_nut.{'too_thick' if key == 'widths' else key}[")
    return tuple(one for one in faults if one.about[0].name.startswith(about))


def table_of(answers: Answers) -> dict[str, Any]:
    """The answers as [old_nut] would hold them, bass to treble as they were asked."""
    read = {key: [text for name, text in answers.items() if name.startswith(f"{key} ")] for key in LISTS}
    lists = {key: [number(text.partition(" to ")[0]) for text in texts] for key, texts in read.items()}
    refused = [text.partition(" to ")[2] for text in read["widths"]]
    if any(refused):
        lists["too_thick"] = [number(one) if one else "none" for one in refused]
    heard = answers.get("rattles", "not yet")
    rattling = [] if heard == "none" else [int(one) for one in _numbers(heard) if heard != "not yet"]
    listened = {} if heard == "not yet" else {"rattles": rattling}
    return {**{key: values for key, values in lists.items() if values}, "floors_from": answers["from"], **listened}


def _numbers(answer: str) -> list[str]:
    return answer.replace(",", " ").split()
