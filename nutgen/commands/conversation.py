"""Asking on the terminal, one thing at a time: default, back, quit, and a word of help.

Everything is read and written line by line, so it works on any terminal, over any connection and
with any reader of the screen.
"""

import shutil
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace

from nutgen.ask.question import Question
from nutgen.documents.blocks import Block, Paragraph, Space
from nutgen.documents.paint.text import show as paint
from nutgen.documents.words import sentence
from nutgen.errors import SpecFaults
from nutgen.finding import Finding, refusal


class Back(Exception):
    """The maker wants the question before."""


class Quit(Exception):
    """The maker stops here."""


def tell(*told: Block | str) -> None:
    """What stands between two questions: on stderr, so that stdout stays for the result."""
    paint(tuple(Paragraph(block) if isinstance(block, str) else block for block in told), out=sys.stderr)


def must_be_terminal(file: str, what: str, cure: str) -> None:
    """Refuse to ask where nobody can answer; raises SpecFaults with the cure."""
    if sys.stdin.isatty():
        return
    raise SpecFaults(file, [refusal("file.no-terminal", command=what, instead=cure)])


def show(question: Question, count: str = "") -> None:
    """The question with its drawing where the terminal is wide enough, before the line that takes the answer."""
    tell(Space(), Paragraph(f"{count}{question.prompt}", "strong", hang=len(count)))
    if max(map(len, question.drawing), default=0) <= shutil.get_terminal_size((80, 24)).columns:
        print(*question.drawing, sep="\n", end="\n" * bool(question.drawing), file=sys.stderr)
    if question.where:
        tell(question.where)


def answer(question: Question) -> str:
    """One answer; raises Back or Quit where the maker says so, interrupts, or closes the input."""
    unit = f"{question.unit} " if question.unit else ""
    default = f"[{question.default}] " if question.default else ""
    print(f"  {unit}{default}> ", end="", file=sys.stderr, flush=True)
    try:
        line = sys.stdin.readline()
    except KeyboardInterrupt:
        line = ""
    if not line:
        print(file=sys.stderr)
        raise Quit
    text = line.strip()
    match text.lower():
        case "back" | "b":
            raise Back
        case "quit" | "q":
            raise Quit
        case "skip":
            return "skip"
    return text or question.default


def converse(
    asked: Callable[[], Sequence[Question]],
    answers: Callable[[], Mapping[str, str]],
    take: Callable[[Question, str], str],
    *,
    at: int | None = None,
) -> None:
    """Ask the question at a place, then every one that is still open; raises Quit.

    asked   : the questions, as the answers so far have them
    answers : by key; `take` adds to them
    take    : checks an answer and keeps it; says what is wrong with it, nothing where it is kept
    at      : the first that is open where None
    """

    def open_now() -> int:
        return next((place for place, one in enumerate(asked()) if one.key not in answers()), len(asked()))

    shown = -1
    at = open_now() if at is None else at
    while at < len(asked()):
        one = asked()[at]
        question = replace(one, default=answers().get(one.key, one.taken_by_enter))
        if at != shown:
            show(question, f"{at + 1} of {len(asked())}  ")
        shown = at
        try:
            text = answer(question)
        except Back:
            if at == 0:
                wrong("this is the first question; quit stops")
            at = max(0, at - 1)
            continue
        fault = take(one, text.lower() if one.choices else text)
        if fault:
            wrong(fault)
        else:
            at = open_now()


def in_words(faults: Iterable[Finding], units: str) -> str:
    """What is wrong with an answer, each thing once; empty where nothing is.

    units : of the one who answers, "mm" or "in"
    """
    return "; ".join(dict.fromkeys(sentence(fault, "in" if units == "in" else "mm") for fault in faults))


def wrong(words: str) -> None:
    """Say what is wrong with an answer."""
    tell(Paragraph(f"! {words}", indent=2, hang=2))


HOW = "Enter takes what stands in brackets; skip leaves a reading out; back goes to the question before; quit stops."
"""What a maker needs to know before the first question."""
