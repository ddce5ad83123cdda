"""What a trial asks at the terminal: first with the nut in its seat, then with it in the hand."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from nutgen.ask.bench import fills
from nutgen.ask.checks import Answers, Faults, not_an_answer
from nutgen.ask.dry_fit import OPEN_AT_1, neck_of, of_the_neck
from nutgen.ask.question import Question
from nutgen.ask.values import default_length, number
from nutgen.bench.dryfit.trial import PLACES, TrialFit
from nutgen.errors import SpecFaults
from nutgen.spec.cross_playing import trial_faults
from nutgen.spec.playing import Trial
from nutgen.spec.read import read_beside
from nutgen.spec.strings import String
from nutgen.spec.tables import Spec
from nutgen.spec.ways import Way

HOW = (
    "The trial nut in its seat, its slots filed until it plays, strings at pitch. All of it on one day: plastic gives"
    " way under the strings. Press each string down just in front of the nut, once, so that it lies on its floor."
)
OVER_WIRE = (
    "        |  jaw",
    "     ===|=========",
    "     oooooooo  wire, its end flush with the front",
    "     |''--..__",
    "     |        |  back",
    "     |________|",
    "     ===|=========",
    "        |  jaw, flat on the underside",
)


def questions(spec: Spec, answers: Answers) -> list[Question]:
    """What is asked, in order; a string without a clearance is not asked for its floor."""
    return [*of_the_neck(spec, "trial"), *_clearances(spec), *_floors(answers, spec)]


def _clearances(spec: Spec) -> Iterator[Question]:
    for nth, string in spec.numbered:
        yield Question(
            f"clearances {nth}", ("trial", "clearances"),
            f"string {nth} ({string.note}): open, over fret 1",
            f"The thickest {fills(spec.tools)} that passes; where you know the thinnest that drags, both: 0.45 to 0.50."
            " Enter skips a string that does not play yet.",
            "", spec.units, OPEN_AT_1 if string is spec.strings[0] else (), may_skip=True,
        )  # fmt: skip


def _floors(answers: Answers, spec: Spec) -> Iterator[Question]:
    told = [one for one in spec.numbered if answers.get(f"clearances {one[0]}", "to come")]
    for nth, string in told:
        who, is_first = f"string {nth} ({string.note})", nth == told[0][0]
        first = "Slacken the strings, all of them, and take the nut out. " if is_first else ""
        yield Question(
            f"wires {nth}", ("trial", "wires"), f"{who}: gauge of a wire for its slot",
            f"{first}A wire that lies on the floor, such as an offcut of the string itself. Where it does not stand out"
            " of the top, sand the top down first.",
            default_length(string.gauge, written_in="mm", units=spec.gauge_units), spec.gauge_units,
        )  # fmt: skip
        yield Question(
            f"over_wires {nth}", ("trial", "over_wires"), f"{who}: caliper from the underside over that wire",
            "The tips of the jaws reach over the nut from the front, flat on the underside, and touch nothing but wire"
            " above. Take it three times, and write the middle one.",
            "", spec.units, OVER_WIRE if is_first else (),
        )  # fmt: skip


def wrong_with_reading(spec: Spec, asked: Question, answer: str, answers: Answers) -> Faults:
    """What is wrong with an answer, after that of its wire, by the same door as the file."""
    fault = not_an_answer(asked, answer)
    if fault or not answer:
        return fault
    key, _, string = asked.key.partition(" ")
    wire = f"wires {string}"
    filler = {"relief": "0 mm", "action": "1 mm", "clearances": ["1 mm"], "over_wires": ["30 mm"], "wires": ["1 mm"]}
    known = {wire: answers[wire]} if wire in answers else {}
    table = filler | table_of({**known, asked.key: answer})
    try:
        trial, _ = readings_from(table, spec=spec)
    except SpecFaults as error:
        return tuple(error.findings)
    faults = trial_faults(trial, spec.strings[:1])
    return tuple(one for one in faults if one.about[0].name.startswith(f"trial.{key}"))


def readings_from(table: Mapping[str, Any], *, spec: Spec) -> tuple[Trial, tuple[Way, ...]]:
    """The readings through the door of the file, and their ways; raises SpecFaults where they do not pass it."""
    return read_beside(Trial, table, spec, at="trial")


def table_of(answers: Answers, strings: Sequence[String] = ()) -> dict[str, Any]:
    """Answers as [trial] would hold them, strings bass to treble; "none" where a string was skipped.

    strings : that the lists are of; only those answered where not given
    """
    raw = neck_of(answers)
    for key in ("clearances", "over_wires", "wires"):
        asked = (
            [f"{key} {nth}" for nth in range(len(strings), 0, -1)]
            if strings
            else [one for one in answers if one.startswith(key)]
        )
        given = [answers.get(one, "") for one in asked]
        if not any(given):
            continue
        pairs = [text.partition(" to ")[::2] for text in given]
        raw[key] = [number(first) if first else "none" for first, _ in pairs]
        if any(drags for _, drags in pairs):
            raw["drags"] = [number(drags) if drags else "none" for _, drags in pairs]
    if strings and "wires" in raw:
        gauges = [f"{string.gauge:.6g} mm" for string in strings]
        raw["wires"] = [gauge if wire == "none" else wire for wire, gauge in zip(raw["wires"], gauges, strict=True)]
    return raw


def changed(raw: Mapping[str, Any], fit: TrialFit, *, units: str) -> dict[str, dict[str, Any]]:
    """The tables of a file that a trial changes, as they then stand.

    raw   : the file as it stands
    units : of its bare lengths
    """

    def written(mm: float) -> Any:
        return number(default_length(mm, written_in="mm", units=units))

    heights = [written(height) for height in fit.plane]
    plane = dict(zip(PLACES[len(heights)], heights, strict=True)) if len(heights) > 1 else heights[0]
    seat = {**raw["seat"], "fret_plane": {"trial": plane, "within": written(fit.error)}}
    errors = {key: value for key, value in raw.get("errors", {}).items() if key != "fret_plane"}
    return {"seat": seat} | ({"errors": errors} if errors != raw.get("errors", {}) else {})
