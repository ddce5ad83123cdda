"""The commands: parse, call, print. Result on stdout, chatter on stderr."""

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from nutgen import __version__

app = typer.Typer(
    name="nutgen",
    help="A new nut for a fretted instrument: from caliper readings to files on the bench.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

CANNOT, WRONG = 1, 2
USAGE: Any = typer.BadParameter.__mro__[2]  # the base of every slip on the command line

File = Annotated[str, typer.Argument(metavar="FILE", help="Instrument file, or the name of a kind.")]
Files = Annotated[list[str], typer.Argument(metavar="FILE...", help="Instrument files, or names of kinds.")]
AsJson = Annotated[bool, typer.Option("--json", help="One JSON object on stdout, lengths in mm.")]


def main() -> None:
    """Run a command; every expected failure ends in one clear message and no traceback."""
    try:
        app(standalone_mode=False)
    except Exception as error:
        sys.exit(_told(error))
    except KeyboardInterrupt:
        _say("stopped; files that were not finished were left as they were")
        sys.exit(CANNOT)


def _told(error: Exception) -> int:
    """Say what went wrong; the exit code."""
    from nutgen.nut import CannotBeMade
    from nutgen.spec.faults import SpecFaults

    match error:
        case SpecFaults():
            _say(str(error))
            return WRONG
        case CannotBeMade():
            _say("cannot be made:\n" + "\n".join(f"  {reason}" for reason in error.reasons))
            return CANNOT
        case typer.Exit():
            return error.exit_code
        case typer.Abort():
            _say("stopped; files that were not finished were left as they were")
            return CANNOT
        case _ if isinstance(error, USAGE):
            error.show()
            return WRONG
        case OSError():
            where = f"{error.filename}: " if error.filename else ""
            _say(f"{where}{(error.strerror or str(error)).lower()}; nothing was written")
            return CANNOT
        case _:
            raise error


def _say(text: str) -> None:
    print(text, file=sys.stderr)


def _print_json(value: Any) -> None:
    print(json.dumps(value, indent=1, ensure_ascii=False))


@app.callback(invoke_without_command=True)
def _root(
    version: Annotated[bool, typer.Option("--version", help="Show the version and stop.")] = False,
) -> None:
    if version:
        print(f"nutgen {__version__}")
        raise typer.Exit


@app.command()
def presets(as_json: AsJson = False) -> None:
    """List the instrument kinds to start from."""
    from dataclasses import asdict

    from nutgen.kinds import kinds

    if as_json:
        _print_json({"kinds": [asdict(kind) for kind in kinds()]})
        return
    from nutgen.screen import Column, Screen

    screen = Screen()
    columns = [Column("kind"), Column("what it is"), Column("scale"), Column("strings, bass to treble")]
    screen.table(columns, [(kind.name, kind.title, kind.scale, kind.strings) for kind in kinds()])


@app.command()
def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The file to write.")],
    kind: Annotated[str, typer.Option("--from", metavar="KIND", help="An instrument kind; see `nutgen presets`.")],
) -> None:
    """Write a commented instrument file to edit."""
    from nutgen.export.whole import write_all
    from nutgen.kinds import kind_path
    from nutgen.spec.faults import Fault, SpecFaults

    text = kind_path(kind).read_bytes()
    if file.exists():
        raise SpecFaults(str(file), [Fault("", "is there already and is left as it is; choose another name")])
    if not file.parent.is_dir():
        raise SpecFaults(str(file), [Fault("", f"there is no folder {file.parent}; make it first")])
    write_all(file.parent, {file.name: text})
    _say(f"wrote {file}; measure, edit, then: nutgen check {file}")


@app.command()
def check(file: File, as_json: AsJson = False) -> None:
    """Solve the nut; show the table of strings and every warning. Writes nothing."""
    from nutgen.kinds import find_file
    from nutgen.nut import solve
    from nutgen.spec.read import read_spec, spec_hash

    spec = read_spec(find_file(file))
    nut = solve(spec)
    if as_json:
        from nutgen.record import nut_record

        _print_json(nut_record(spec, nut))
        return
    from nutgen.screen import Screen
    from nutgen.tables import show_nut

    show_nut(Screen(), nut, f"{file}, {spec_hash(spec)}")


@app.command()
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
    from nutgen.kinds import find_file
    from nutgen.make import make as make_files
    from nutgen.nut import solve
    from nutgen.spec.read import read_spec

    purposes = _purposes(purpose)
    if paper.lower() not in ("a4", "letter"):
        raise typer.BadParameter(f'"{paper}" is not a paper that is known; allowed are a4 and letter')
    paths = [find_file(file) for file in files]
    names = _folder_names(paths)
    solved = _solve_all([(path, lambda path=path: read_spec(path)) for path in paths], solve)
    made = []
    for (spec, nut), name in zip(solved, names, strict=True):
        with _busy(f"making {name}"):
            made.append(make_files(spec, nut, purposes=purposes, paper=paper.lower(), folder=out / name))
    if as_json:
        _print_json({"units": "mm", "made": [{"folder": str(item.folder), **item.record} for item in made]})
        return
    from nutgen.screen import Screen
    from nutgen.tables import show_files, show_warnings

    screen = Screen()
    for item in made:
        show_files(screen, str(item.folder), item.files)
        show_warnings(screen, item.record["warnings"])


def _purposes(given: list[str] | None) -> tuple[Any, ...]:
    from nutgen.make import PURPOSES

    words = [word.strip().lower() for entry in given or [] for word in entry.split(",")]
    wrong = [word for word in words if word not in PURPOSES]
    if wrong:
        raise typer.BadParameter(f'--for "{wrong[0]}": allowed are {", ".join(PURPOSES)}')
    return tuple(purpose for purpose in PURPOSES if purpose in words) if words else PURPOSES


def _folder_names(paths: list[Path]) -> list[str]:
    """One folder a file, named after it; the same name twice would overwrite itself."""
    from nutgen.spec.faults import Fault, SpecFaults

    names = [path.stem for path in paths]
    for path, name in zip(paths, names, strict=True):
        if names.count(name) > 1:
            words = f'another file of this call would also go to the folder "{name}"; make them one by one with -o'
            raise SpecFaults(str(path), [Fault("", words)])
    return names


def _solve_all(readers: list[tuple[Path, Any]], solve: Any) -> list[tuple[Any, Any]]:
    """Read and solve every file before the first is made; the faults of all come out together."""
    from nutgen.nut import CannotBeMade
    from nutgen.spec.faults import SpecFaults

    solved, faults, reasons = [], [], []
    for path, read in readers:
        try:
            spec = read()
            solved.append((spec, solve(spec)))
        except SpecFaults as error:
            faults.append(str(error))
        except CannotBeMade as error:
            reasons += [f"{path}: {reason}" for reason in error.reasons]
    if faults:
        _say("\n".join([*faults, *reasons]))
        raise typer.Exit(WRONG)
    if reasons:
        raise CannotBeMade(reasons)
    return solved


@contextmanager
def _busy(words: str) -> Iterator[None]:
    """Show on a terminal that something is being made."""
    if not sys.stderr.isatty():
        yield
        return
    from rich.console import Console

    with Console(stderr=True).status(words):
        yield


@app.command()
def schema() -> None:
    """Print the JSON Schema of the instrument file, for editors."""
    from nutgen.spec.tables import Spec

    _print_json({"$schema": "https://json-schema.org/draft/2020-12/schema", **Spec.model_json_schema()})
