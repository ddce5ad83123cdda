"""What a dry fit asks at the terminal: the readings in the order in which they are taken."""

from collections.abc import Iterator, Sequence
from typing import Any, get_args

from nutgen.ask import drawings
from nutgen.ask.bench import fills
from nutgen.ask.checks import Answers, Faults, not_an_answer
from nutgen.ask.drawings import Drawing
from nutgen.ask.question import Question
from nutgen.ask.values import by_way, number
from nutgen.bench.dryfit.fitlog import Round
from nutgen.bench.dryfit.readings import next_stack
from nutgen.errors import SpecFaults
from nutgen.spec.cross_playing import leaf_faults
from nutgen.spec.playing import After, DryFit
from nutgen.spec.read import bare_units_of, read_beside
from nutgen.spec.stacks import read_gap
from nutgen.spec.tables import Spec
from nutgen.theory.readings import middle_fret

OPEN_AT_1 = (
    "  |\\________________________________ string",
    "  | |    ==  stack, on the crown",
    "  |_|____/\\________/\\_______/\\______ board",
    "  nut    1         2        3",
)
PRESSED_AT_3 = (
    "  |\\--.._                  | finger",
    "  | |    ==`--..__         v   ______ string",
    "  |_|____/\\________/\\_`--.._/\\_______ board",
    "  nut    1         2        3",
)
FACE_TO_1 = (
    "  |\\        .",
    "  | |<----->/\\   front face to the crown",
    "  |_|_______/\\_______ board",
    "  nut       1",
)
HOW = (
    "Nut in its seat, strings at pitch. Press each string down just in front of the nut, once, so that it lies on its"
    " floor. A stack passes where it slips in without lifting the string; it drags where it just does: give the"
    " thickest that passes. Where you also know the thinnest that drags, write both: 0.45 to 0.50."
)


RELIEF = by_way("string", "under_string")
"""Relief as it is answered: by straightedge, or under the thinnest string."""


def questions(spec: Spec, answers: Answers, *, again: bool) -> list[Question]:
    """What is asked, in order; what was answered decides what follows.

    again : whether the nut has been read before
    """
    units, filler = spec.units, fills(spec.tools)
    asked = [*of_the_neck(spec, "dry_fit"), _checks()]
    if again:
        after: tuple[str, ...] = get_args(After)
        asked.insert(
            0,
            Question("after", ("dry_fit", "after"), "What was done to the nut since the readings before?",
                     f"One of: {', '.join(after)}.", "filing", choices=after),
        )  # fmt: skip
    checks = answers.get("checks", "both")
    for nth, string in spec.numbered:
        first, who = string is spec.strings[0], (nth, string.note)
        if checks != "sliver":
            where = f"The thickest {filler} that passes under the open string at fret 1; 0 where none does."
            asked.append(_of_string("feeler", who, "open, over fret 1", where, units, OPEN_AT_1 if first else ()))
        if checks != "feeler":
            where = f"Press down at fret 3: the thickest {filler} that passes over fret 1; 0 where none does."
            drawing = PRESSED_AT_3 if first else ()
            asked.append(_of_string("sliver", who, "pressed at 3, over fret 1", where, units, drawing))
    where = "Caliper from the front face of the nut to the crown of fret 1, along the bass-most string. Enter skips it."
    place = ("dry_fit", "face_to_fret_1")
    asked.append(Question("face_to_fret_1", place, "Nut position", where, "", units, FACE_TO_1, may_skip=True))
    return asked


def of_the_neck(spec: Spec, table: str) -> Iterator[Question]:
    """Relief and action as they are now, for a table of the file."""
    units, fret = spec.units, middle_fret(spec.instrument.frets)
    filler = fills(spec.tools)
    yield Question(
        "relief", (table, "relief"), "Relief",
        f"Straightedge on frets 1 and the last: the thickest {filler} that passes under it half way. Or the thinnest"
        f' string pressed there, or a capo at fret 1: the gap over fret {fret}, with "string" written before it.',
        "", units, drawings.RELIEF,
    )  # fmt: skip
    over_12 = f"Open string's underside to the crown of fret 12, by ruler or by the thickest {filler} that passes."
    yield Question("action bass", (table, "action"), "Action, bass-most string", over_12, "", units, drawings.ACTION)
    if len(spec.strings) > 1:
        yield Question("action treble", (table, "action"), "Action, treble-most string", "The same there.", "", units)


def _checks() -> Question:
    return Question("checks", (), "Which checks?",
                   "feeler: under the open string at fret 1. sliver: over fret 1, pressed at fret 3. Both together tell"
                   " twice as much.", "both", choices=("feeler", "sliver", "both"))  # fmt: skip


def _of_string(check: str, who: tuple[int, str], what: str, where: str, units: str, drawing: Drawing) -> Question:
    nth, note = who
    prompt = f"string {nth} ({note}): {what}"
    return Question(f"{check} {nth}", ("dry_fit", check), prompt, where, "", units, drawing)


def as_before(last: Round, but_for: set[int]) -> dict[str, str]:
    """Answers of readings that were in doubt, but for some strings; the work before them is still the same."""
    checks = {gap.check for gap in last.strings[0].gaps}
    action = last.action or ()
    return {
        "after": last.after,
        "checks": "both" if {"feeler", "sliver"} <= checks else next(iter(checks)),
        "relief": _mm(last.relief),
        "action bass": _mm(*action[:1]),
        "action treble": _mm(*action[-1:]),
        "face_to_fret_1": _mm(*(last.face_to_fret_1 or ())[:1]),
    } | {
        f"{gap.check} {string.number}": f"{gap.passes} mm to {gap.drags} mm"
        for string in last.strings
        if string.number not in but_for
        for gap in string.gaps
    }


def _mm(value: float | None = None) -> str:
    return "" if value is None else f"{value} mm"


def wrong_with_reading(spec: Spec, asked: Question, answer: str, _answers: Answers) -> Faults:
    """What is wrong with an answer, by the same door as the file."""
    fault = not_an_answer(asked, answer)
    if fault or not answer:
        return fault
    try:
        table, _ = read_beside(DryFit, table_of({asked.key: answer}, spec), spec, at="dry_fit")
    except SpecFaults as error:
        return tuple(error.findings)
    return tuple(leaf_faults(table, spec.tools))


def table_of(answers: Answers, spec: Spec) -> dict[str, Any]:
    """Answers as [dry_fit] would hold them; strings bass to treble, as they were asked."""
    raw = neck_of(answers) | {key: number(answers[key]) for key in ("face_to_fret_1", "after") if answers.get(key)}
    for check in ("feeler", "sliver"):
        given = [text for key, text in answers.items() if key.startswith(f"{check} ")]
        if given:
            raw |= _leaves(check, given, spec)
    return raw


def neck_of(answers: Answers) -> dict[str, Any]:
    """Relief and action as they were answered."""
    raw: dict[str, Any] = {"relief": RELIEF(answers["relief"])} if answers.get("relief") else {}
    bass, treble = answers.get("action bass"), answers.get("action treble")
    if bass or treble:
        raw["action"] = {"bass": number(bass or treble or ""), "treble": number(treble or bass or "")}
    return raw


def _leaves(check: str, given: Sequence[str], spec: Spec) -> dict[str, Any]:
    """One check of every string; where one tells what drags, that of the others is the next stack."""
    pairs = [text.partition(" to ")[::2] for text in given]
    raw: dict[str, Any] = {check: [number(passes) for passes, _ in pairs]}
    if any(drags for _, drags in pairs):
        bare = bare_units_of(spec)
        read = [(read_gap(number(passes), bare, spec.units).mm, drags) for passes, drags in pairs]
        raw[f"{check}_drags"] = [
            number(drags) if drags else f"{round(next_stack(passes, spec.tools), 6)} mm" for passes, drags in read
        ]
    return raw
