"""An answer looked at the moment it is given: by the door of the file, and against the chosen kind."""

from collections.abc import Mapping

from nutgen.ask.draft import SKIP, Draft
from nutgen.ask.file import toml_of, values_of
from nutgen.ask.question import Question
from nutgen.ask.questions import questions
from nutgen.ask.values import doubled as doubled_length
from nutgen.ask.values import number
from nutgen.errors import SpecFaults, Unreadable
from nutgen.finding import Finding, refusal, warning
from nutgen.spec.read import parse_spec
from nutgen.spec.strings import MOST_STRINGS
from nutgen.spec.values import nearest, path_of, read_length

FAR = 1.5  # times the kind's value, or its part; an answer beyond is worth a second look
TWICE = (1.7, 2.3)

Faults = tuple[Finding, ...]
Answers = Mapping[str, str]
"""What was typed, by the keys of the questions."""


def faults_of(draft: Draft, *, kind_text: str) -> list[Finding]:
    """Every fault of the file that the answers make, what is not answered taken from the kind."""
    try:
        parse_spec(toml_of(values_of(draft), kind_text=kind_text), source="")
    except SpecFaults as error:
        return list(error.findings)
    return []


def wrong_with(draft: Draft, asked: Question, *, kind_text: str) -> Faults:
    """What is wrong with the answer to a question; nothing where it passes the door.

    draft : with the answer in it
    """
    text = draft.answers.get(asked.key, "")
    if fault := not_an_answer(asked, text):
        return fault
    if not text or (text == SKIP and (asked.reading or asked.may_skip)):
        return ()
    if asked.key == "strings":
        fits = text in map(str, range(1, MOST_STRINGS + 1))
        return () if fits else (refusal("answer.no-count", least=1, most=MOST_STRINGS),)
    try:
        asked.read(text)
    except Unreadable as error:
        return (error.finding,)
    faults = [fault for fault in faults_of(draft, kind_text=kind_text) if _concerns(fault, asked)]
    if asked.read is doubled_length:
        faults = [refusal("answer.doubled", *fault.about, fault=fault) for fault in faults]
    return tuple(faults)


def not_an_answer(asked: Question, text: str) -> Faults:
    """What is wrong with an answer before it is read: nothing was given, or none of the choices."""
    if not text:
        code = "unread" if asked.reading else "nothing"
        return () if asked.may_skip and not asked.reading else (refusal(f"answer.{code}"),)
    if asked.reading and text == SKIP:
        return () if asked.default or asked.may_skip else (refusal("answer.kind-has-none"),)
    if not asked.choices or text in asked.choices:
        return ()
    return (refusal("answer.not-a-choice", allowed=asked.choices, likely=nearest(text, asked.choices)),)


def _concerns(fault: Finding, asked: Question) -> bool:
    """Whether a fault is about what was asked: the very key, one within it, or the pair of which it is a side."""
    path, asks = "".join(subject.name for subject in fault.about), path_of(asked.path)
    pair = path_of(asked.path[:-1]) if asked.path and asked.path[-1] in ("bass", "treble") else asks
    return bool(asks) and (path in (asks, pair) or path.startswith((f"{asks}.", f"{asks}[")))


def far_off(draft: Draft, asked: Question) -> Faults:
    """A second look at an answer that is far from the kind's; nothing where it is not."""
    if asked.unit != draft.units or not asked.default or asked.read is None:
        return ()
    try:
        given = read_length(number(draft.answers.get(asked.key, "")), draft.units).mm
        usual = read_length(number(asked.default), draft.units).mm
    except ValueError:
        return ()
    if usual <= 0.0 or given <= 0.0 or 1.0 / FAR <= given / usual <= FAR:
        return ()
    if asked.key.startswith("nut to fret 12") and TWICE[0] < given / usual < TWICE[1]:
        return (warning("answer.whole-scale", usual=asked.default, unit=asked.unit),)
    return (warning("answer.far-from-kind", usual=asked.default, unit=asked.unit),)


def question_of(draft: Draft, fault: Finding) -> int | None:
    """The place of the question whose answer a fault is about."""
    places = [place for place, asked in enumerate(questions(draft)) if _concerns(fault, asked)]
    return places[0] if places else None
