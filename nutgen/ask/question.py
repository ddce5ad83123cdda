"""One question, as data: what is asked, where the caliper goes, where the answer stands in the file."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from nutgen.ask import values
from nutgen.ask.drawings import Drawing

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """One question.

    key      : names the answer in a draft
    path     : where the value goes in the file
    prompt   : what is asked
    where    : where the caliper goes
    default  : what Enter alone answers, as the maker would type it
    unit     : of a bare number; empty where it has none
    read     : the value behind an answer; raises ValueError in words
    choices  : the only answers there are; empty where there are others
    may_skip : whether it may be left out of the file
    reading  : whether it is read on the instrument, so that Enter never takes the kind's: it is typed, or skipped
    """

    key: str
    path: Path
    prompt: str
    where: str
    default: str = ""
    unit: str = ""
    drawing: Drawing = ()
    read: Callable[[str], Any] = field(default=values.number)
    choices: tuple[str, ...] = ()
    may_skip: bool = False
    reading: bool = False

    @property
    def taken_by_enter(self) -> str:
        """What Enter answers."""
        return "" if self.reading else self.default


def choice(
    key: str, path: Path, prompt: str, where: str, default: str, *choices: str, drawing: Drawing = ()
) -> Question:
    """A question of few answers."""
    return Question(key, path, prompt, where, default, drawing=drawing, read=str.strip, choices=choices)
