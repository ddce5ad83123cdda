"""Asking on the terminal, one thing at a time: default, back, quit, and a word of help.

Everything is read and written line by line, so it works on any terminal, over any connection and
with any reader of the screen.
"""

import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from nutgen.ask.questions import Question
from nutgen.documents.screen import Screen


class Back(Exception):
    """The maker wants the question before."""


class Quit(Exception):
    """The maker stops here."""


def chat() -> Screen:
    """Where a conversation is printed: on stderr, so that stdout stays for the result."""
    return Screen(sys.stderr)


def must_be_terminal(file: str, what: str, cure: str) -> None:
    """Refuse to ask where nobody can answer; raises SpecFaults with the cure."""
    if sys.stdin.isatty():
        return
    from nutgen.errors import SpecFaults
    from nutgen.findings import refusal

    raise SpecFaults(file, [refusal("file.no-terminal", command=what, instead=cure)])


def show(screen: Screen, question: Question, count: str = "") -> None:
    """The question with its drawing, before the line that takes the answer."""
    screen.say()
    screen.say(f"{count}{question.prompt}", style="bold", hang=" " * len(count))
    for line in question.drawing:
        print(line, file=screen.out)
    if question.where:
        screen.say(question.where)


def answer(screen: Screen, question: Question) -> str:
    """One answer; raises Back or Quit where the maker says so, interrupts, or closes the input."""
    unit = f"{question.unit} " if question.unit else ""
    default = f"[{question.default}] " if question.default else ""
    print(f"  {unit}{default}> ", end="", file=screen.out, flush=True)
    try:
        line = sys.stdin.readline()
    except KeyboardInterrupt:
        line = ""
    if not line:
        print(file=screen.out)
        raise Quit
    text = line.strip()
    match text.lower():
        case "back" | "b":
            raise Back
        case "quit" | "q":
            raise Quit
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

    screen, shown = chat(), -1
    at = open_now() if at is None else at
    while at < len(asked()):
        one = asked()[at]
        question = replace(one, default=answers().get(one.key, one.default))
        if at != shown:
            show(screen, question, f"{at + 1} of {len(asked())}  ")
        shown = at
        try:
            text = answer(screen, question)
        except Back:
            if at == 0:
                wrong(screen, "this is the first question; quit stops")
            at = max(0, at - 1)
            continue
        fault = take(one, text.lower() if one.choices else text)
        if fault:
            wrong(screen, fault)
        else:
            at = open_now()


def wrong(screen: Screen, words: str) -> None:
    """Say what is wrong with an answer."""
    screen.say(f"! {words}", indent="  ", hang="  ")


HOW = "Enter takes what stands in brackets; back goes to the question before; quit stops."
"""What a maker needs to know before the first question."""
