"""`make`: the files on the bench."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nutgen.commands.common import AsJson, Files, print_json, solve_all

if TYPE_CHECKING:
    from nutgen.make import Purpose


def make(
    files: Files,
    purpose: Annotated[
        list[str] | None,
        typer.Option("--for", metavar="trace|print|mill", help="What the files are for; all three where not said."),
    ] = None,
    out: Annotated[Path, typer.Option("-o", "--out", metavar="DIR", help="Where the folder of each nut goes.")] = Path(
        "output"
    ),
    paper: Annotated[str, typer.Option(metavar="a4|letter", help="Paper of the template.")] = "a4",
    as_json: AsJson = False,
) -> None:
    """Write the files: template, solid, mesh, picture. Each is read back before it counts as made."""
    from nutgen.make import make as make_files

    purposes = _purposes(purpose)
    if paper.lower() not in ("a4", "letter"):
        raise typer.BadParameter(f'"{paper}" is not a paper that is known; allowed are a4 and letter')
    made = []
    for name, (spec, nut) in solve_all(files).items():
        with _busy(f"making {name}"):
            made.append(make_files(spec, nut, purposes=purposes, paper=paper.lower(), folder=out / name))
    if as_json:
        print_json({"units": "mm", "made": [{"folder": str(item.folder), **item.record} for item in made]})
        return
    from nutgen.commands.tables import show_files, show_warnings
    from nutgen.screen import Screen

    screen = Screen()
    for item in made:
        show_files(screen, str(item.folder), item.files)
        show_warnings(screen, item.record["warnings"])


def _purposes(given: list[str] | None) -> "tuple[Purpose, ...]":
    from nutgen.make import PURPOSES

    words = [word.strip().lower() for entry in given or [] for word in entry.split(",")]
    wrong = [word for word in words if word not in PURPOSES]
    if wrong:
        raise typer.BadParameter(f'--for "{wrong[0]}": allowed are {", ".join(PURPOSES)}')
    return tuple(purpose for purpose in PURPOSES if purpose in words) if words else PURPOSES


@contextmanager
def _busy(words: str) -> Iterator[None]:
    """Show on a terminal that something is being made."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(words):
        yield
