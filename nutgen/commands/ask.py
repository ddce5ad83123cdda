"""`new --ask`: the measurements one by one at the terminal, and the file they make."""

import contextlib
import tomllib
from dataclasses import dataclass
from pathlib import Path

import typer

from nutgen.ask.checks import far_off, faults_of, question_of, wrong_with
from nutgen.ask.draft import SKIP, Draft, answers_from
from nutgen.ask.file import toml_of, values_of
from nutgen.ask.question import Question
from nutgen.ask.questions import in_units, questions
from nutgen.ask.values import number
from nutgen.commands.common import CANNOT
from nutgen.commands.conversation import (
    HOW,
    Back,
    Quit,
    answer,
    converse,
    in_words,
    must_be_terminal,
    show,
    tell,
    wrong,
)
from nutgen.documents.blocks import Column, Paragraph, Space, Table, Title
from nutgen.documents.words import placed, sentence
from nutgen.documents.words.quantities import Units
from nutgen.errors import CannotBeMade, SpecFaults, Unreadable
from nutgen.finding import refusal
from nutgen.jobs.atomic import write_all
from nutgen.nut import solve
from nutgen.spec.presets import kind_path, kinds
from nutgen.spec.read import parse_spec, read_text

USUAL = "electric-6"
BEFORE = (
    "Have a ruler, a caliper, the packet of strings and feeler leaves at hand, or paper and cards where there are none;"
    " the strings on and at pitch. What you do not measure is never taken for measured: write skip. A string"
    " can whip when it breaks or slips: keep your face away from it."
)


@dataclass(slots=True)
class _Talk:
    """The state of a conversation: where the file goes, and the draft beside it."""

    file: Path
    kind_text: str
    draft: Draft

    @property
    def draft_path(self) -> Path:
        return draft_path(self.file)

    def keep(self, draft: Draft) -> None:
        """Take an answer, and put it on the disk at once."""
        self.draft = draft
        write_all(self.file.parent, {self.draft_path.name: draft.to_json().encode()})


def draft_path(file: Path) -> Path:
    """Where the answers are kept until the file is written: mine.toml has mine.toml.draft beside it."""
    return file.with_name(f"{file.name}.draft")


def ask(file: Path, kind: str | None) -> None:
    """Ask for a new instrument file; ends with the file written and checked, or with a draft to go on from.

    file   : to be written; neither it nor its folder is touched before the first answer
    kind   : whose values are the defaults; asked for where None
    raises : SpecFaults where there is no terminal, or a draft of another kind; typer.Exit on quit
    """
    must_be_terminal(str(file), "new --ask", f"nutgen new {file} --from KIND writes a file to edit")
    tell(BEFORE, Paragraph(HOW, "note"))
    try:
        talk = _begun(file, kind)
        _ask_all(talk)
    except Quit:
        where = draft_path(file)
        kept = f"; your answers are in {where}: the same command goes on from there" if where.exists() else ""
        tell(f"stopped{kept}")
        raise typer.Exit(CANNOT) from None
    text = toml_of(values_of(talk.draft), kind_text=talk.kind_text)
    write_all(file.parent, {file.name: text.encode()})
    with contextlib.suppress(OSError):
        talk.draft_path.unlink()
    tell(Space(), f"wrote {file}; this is nutgen check {file}:", Space())


def _begun(file: Path, kind: str | None) -> _Talk:
    """A conversation from its beginning, or from where a draft left it."""
    path = draft_path(file)
    answers: dict[str, str] = {}
    if path.exists():
        try:
            begun, answers = answers_from(read_text(path, what="draft"))
        except Unreadable as error:
            raise SpecFaults(str(path), [error.finding]) from None
        if kind not in (None, begun):
            raise SpecFaults(str(path), [refusal("file.draft-of-another-kind", kind=begun)])
        kind = begun
        tell(f"Going on from {path}, with {len(answers)} answers; delete it to start anew.")
    name = kind or _kind()
    text = kind_path(name).read_text("utf-8")
    return _Talk(file, text, Draft(name, tomllib.loads(text), answers))


def _kind() -> str:
    """Ask which kind comes nearest; raises Quit."""
    columns = (Column("kind"), Column("what it is"), Column("strings, bass to treble"))
    tell(Space(), Table(columns, tuple((one.name, one.title, one.strings) for one in kinds())))
    question = Question(
        "kind", (), "Which kind comes nearest?", "Its values are what Enter answers from here on.", default=USUAL
    )
    show(question)
    while True:
        try:
            given = answer(question)
            return kind_path(given).stem
        except Back:
            wrong("this is the first question")
        except SpecFaults as error:
            wrong("; ".join(map(sentence, error.findings)))


def _ask_all(talk: _Talk) -> None:
    """Every open question, then the review, until the maker writes the file; raises Quit."""
    at: int | None = None
    while True:
        converse(
            lambda: questions(talk.draft), lambda: talk.draft.answers, lambda one, text: _take(talk, one, text), at=at
        )
        at = _review(talk)
        if at is None:
            return


def _take(talk: _Talk, asked: Question, text: str) -> str:
    """Check an answer, and keep it where nothing is wrong with it."""
    other = asked.key == "units" and text in asked.choices and text != talk.draft.units
    tried = in_units(talk.draft, text) if other else talk.draft.with_answer(asked.key, text)
    fault = wrong_with(tried, asked, kind_text=talk.kind_text)
    if fault:
        return in_words(fault, tried.units)
    if far := far_off(tried, asked):
        wrong(in_words(far, tried.units))
    talk.keep(tried)
    return ""


def _review(talk: _Talk) -> int | None:
    """Show all answers and what the whole file says; the question to go back to, or None to write it."""
    asked = questions(talk.draft)
    rows = tuple((str(place), one.key, _told(talk, one)) for place, one in enumerate(asked, start=1))
    columns = (Column("", right=True), Column("asked"), Column("answer"))
    tell(Space(), Title("Your answers", 2), Table(columns, rows))
    units: Units = "in" if talk.draft.units == "in" else "mm"
    faults = [placed(fault, units) for fault in faults_of(talk.draft, kind_text=talk.kind_text)] or _cannot(talk)
    for fault in faults:
        wrong(fault)
    known = [question_of(talk.draft, fault) for fault in faults_of(talk.draft, kind_text=talk.kind_text)]
    first = next((place + 1 for place in known if place is not None), 1)
    question = Question(
        "review",
        (),
        "Not yet a nut: which answer is to change?" if faults else f"Write {talk.file}?",
        "The number of an answer goes back to it" + ("." if faults else "; yes writes the file."),
        default=str(first) if faults else "yes",
    )
    show(question)
    while True:
        try:
            text = answer(question).lower()
        except Back:
            return len(asked) - 1
        if text in ("yes", "y") and not faults:
            return None
        if text in map(str, range(1, len(asked) + 1)):
            return int(text) - 1
        wrong(f"write {'' if faults else 'yes, or '}a number from 1 to {len(asked)}, back, or quit")


def _told(talk: _Talk, asked: Question) -> str:
    text = talk.draft.answers.get(asked.key, "")
    if asked.reading and text == SKIP:
        return f"{asked.default}, not measured" if asked.default and not asked.may_skip else "-"
    bare = not isinstance(number(text), str)
    return (f"{text} {asked.unit}".strip() if bare else text) or "-"


def _cannot(talk: _Talk) -> list[str]:
    """Why the nut could not be made; empty where it could."""
    try:
        solve(parse_spec(toml_of(values_of(talk.draft), kind_text=talk.kind_text), source=""))
    except CannotBeMade as error:
        return [sentence(reason) for reason in error.findings]
    return []
