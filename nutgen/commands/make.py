"""`make`: the files on the bench."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from nutgen.commands.common import AsJson, Files, busy, known_paper, print_json, solve_all

if TYPE_CHECKING:
    from nutgen.jobs.make import Purpose
    from nutgen.spec.tables import Spec

PRINTER, ROUTER = "The printer, where the file should be overruled", "The router, where the file should be overruled"


def make(
    files: Files,
    purpose: Annotated[
        list[str] | None,
        typer.Option(
            "--for", metavar="trace|print|mill|wall", help="What the files are for; all of it where not said."
        ),
    ] = None,
    out: Annotated[Path, typer.Option("-o", "--out", metavar="DIR", help="Where the folder of each nut goes.")] = Path(
        "output"
    ),
    paper: Annotated[str, typer.Option(metavar="a4|letter", help="Paper of the template.")] = "a4",
    nozzle: Annotated[
        str | None, typer.Option(metavar="MM", help="Diameter of the nozzle.", rich_help_panel=PRINTER)
    ] = None,
    layer: Annotated[str | None, typer.Option(metavar="MM", help="Height of a layer.", rich_help_panel=PRINTER)] = None,
    per_side: Annotated[
        str | None,
        typer.Option(metavar="MM", help="Added to every side; negative where prints are fat.", rich_help_panel=PRINTER),
    ] = None,
    material: Annotated[
        str | None, typer.Option(metavar="NAME", help="PLA, PETG, ABS, nylon or resin.", rich_help_panel=PRINTER)
    ] = None,
    cutter: Annotated[
        list[str] | None,
        typer.Option(metavar="'MM END'", help="A cutter, like '1 ball'; once for each.", rich_help_panel=ROUTER),
    ] = None,
    stock_thickness: Annotated[
        str | None, typer.Option(metavar="MM", help="Of the stock, front to back.", rich_help_panel=ROUTER)
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write the files: template, solid, print, router. Each is read back before it counts as made."""
    from nutgen.jobs.make import make as make_files

    purposes = _purposes(purpose)
    paper = known_paper(paper)
    printer = {"nozzle": nozzle, "layer_height": layer, "xy_per_side": per_side, "material": material}
    router = {"cutters": cutter or None, "stock_thickness": stock_thickness}
    made = []
    for name, (given, nut) in solve_all(files).items():
        spec = with_options(given, printer=printer, router=router)
        asked = [one for one in purposes if purpose or one in {"print", "mill"} - spec.assumed]
        with busy(f"making {name}"):
            made.append(make_files(spec, nut, purposes=purposes, paper=paper, folder=out / name, asked=asked))
    if as_json:
        print_json({"units": "mm", "made": [{"folder": str(item.folder), **item.record} for item in made]})
        return
    from nutgen.commands.tables import show_files, show_findings
    from nutgen.documents.screen import Screen

    screen = Screen()
    for item in made:
        show_files(screen, str(item.folder), item.files)
        screen.say("Every file was read back and is as solved; what was found stands in nut.json.", style="dim")
        for report in item.reports if purpose else ():
            screen.say()
            report(screen)
        if item.reports and not purpose:
            told = " and ".join(name for name, _ in item.files if name in ("print.txt", "mill.txt"))
            screen.say(f"How to set up the machines, and what is left for the file: {told}.")
        show_left(screen, item.record["allowances"])
        screen.say()
        show_findings(screen, item.findings)


def show_left(screen: Any, allowances: dict[str, float]) -> None:
    """What the rough part has over the final one, face by face; nothing where there is none."""
    if not any(allowances.values()):
        return
    words = {"top": "on the top", "back": "on the back face", "ends": "on each end", "floors": "in each slot"}
    left = ", ".join(f"{allowances[face]:.2f} {where}" for face, where in words.items() if allowances[face])
    screen.say()
    screen.say(
        f"Left for your hands, in mm: {left}. Solid, print and router files have it on; the paper template is of"
        " the final nut."
    )


def with_options(spec: "Spec", *, printer: dict[str, Any], router: dict[str, Any]) -> "Spec":
    """A file's printer and router with what the command line says instead; bare numbers there are mm.

    raises : SpecFaults with every fault of the options
    """
    from nutgen.spec.read import overruled

    options = {"print": printer, "mill": router}
    given = {table: {key: value for key, value in keys.items() if value is not None} for table, keys in options.items()}
    return overruled(spec, {table: keys for table, keys in given.items() if keys})


def _purposes(given: list[str] | None) -> "tuple[Purpose, ...]":
    from nutgen.jobs.make import PURPOSES

    words = [word.strip().lower() for entry in given or [] for word in entry.split(",")]
    wrong = [word for word in words if word not in PURPOSES]
    if wrong:
        raise typer.BadParameter(f'--for "{wrong[0]}": allowed are {", ".join(PURPOSES)}')
    return tuple(purpose for purpose in PURPOSES if purpose in words) if words else PURPOSES
