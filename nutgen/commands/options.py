"""Arguments and options that several commands have, and how their words are looked at."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Annotated, Any, TypeVar

import typer

from nutgen.commands.common import LONGEST_NAME
from nutgen.errors import SpecFaults
from nutgen.finding import echoed, refusal, unshowable

W = TypeVar("W", bound=str)

File = Annotated[str, typer.Argument(metavar="FILE", help="Instrument file, or the name of a kind.")]
Files = Annotated[list[str], typer.Argument(metavar="FILE...", help="Instrument files, or names of kinds.")]


def can_be_shown(path: Path | None) -> Path | None:
    """A path that every file and terminal can name; typer.BadParameter where it is none."""
    if path is not None and unshowable(str(path)):
        name = echoed(str(path), LONGEST_NAME)
        raise typer.BadParameter(f'"{name}" has a letter in it that cannot be shown; choose another name')
    return path


Into = Annotated[
    Path, typer.Option("-o", "--out", metavar="DIR", callback=can_be_shown, help="Where the folder of each file goes.")
]


def picture(kind: str, words: str) -> Any:
    """An option that names a picture to write; a name that ends otherwise is refused before anything is done."""

    def looked_at(path: Path | None) -> Path | None:
        if path is not None and path.suffix.lower() != f".{kind}":
            raise SpecFaults(str(path), [refusal(f"file.not-{kind}")])
        return can_be_shown(path)

    return typer.Option(metavar=f"FILE.{kind}", callback=looked_at, help=words)


AsJson = Annotated[bool, typer.Option("--json", help="One JSON object on stdout, lengths in mm.")]


def _known_units(units: str | None) -> str | None:
    if units not in (None, "mm", "in"):
        raise typer.BadParameter(f'"{units}" is no unit for a reader; allowed are mm and in')
    return units


ShownIn = Annotated[
    str | None,
    typer.Option(
        "--units", metavar="mm|in", callback=_known_units, help="Units to show; those of the file where not said."
    ),
]


def known_paper(paper: str) -> str:
    """The name of a paper as the pages know it; typer.BadParameter where they do not."""
    if paper.lower() not in ("a4", "letter"):
        raise typer.BadParameter(f'"{paper}" is not a paper that is known; allowed are a4 and letter')
    return paper.lower()


Paper = Annotated[str, typer.Option(metavar="a4|letter", callback=known_paper, help="Paper of the pages.")]


def chosen(option: str, given: Iterable[str], allowed: Sequence[W]) -> tuple[W, ...]:
    """What an option names of some words, in their own order, several behind commas; typer.BadParameter for another."""
    words = [word.strip().lower() for entry in given for word in entry.split(",")]
    wrong = [word for word in words if word not in allowed]
    if wrong:
        raise typer.BadParameter(f'--{option} "{wrong[0]}": allowed are {", ".join(allowed)}')
    return tuple(word for word in allowed if word in words)
