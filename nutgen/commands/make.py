"""`make`: the files on the bench."""

from pathlib import Path
from typing import Annotated, Any

import typer

from nutgen.bench.dryfit.fitlog import Making, log_path
from nutgen.bench.materials import MATERIALS
from nutgen.commands.common import added_to_log, busy, now, print_json, refused_in, shown, solve_all, units_for
from nutgen.commands.options import AsJson, Files, Into, Paper, ShownIn, chosen
from nutgen.documents.blocks import Block, Document, Findings, Paragraph, Space
from nutgen.documents.screens.files import file_blocks
from nutgen.documents.texts import Run, phrase
from nutgen.jobs.make import PURPOSES, Order, Purpose
from nutgen.jobs.make import make as make_files
from nutgen.jobs.run import Made
from nutgen.nut.part import Allowances, Nut
from nutgen.spec.presets import FOLDER
from nutgen.spec.read import overruled, read_text, spec_hash
from nutgen.spec.tables import Spec

PRINTER, ROUTER = "The printer, where the file should be overruled", "The router, where the file should be overruled"


Purposes = Annotated[
    list[str] | None,
    typer.Option("--for", metavar="trace|print|mill|wall", help="What the files are for; all of it where not said."),
]
Nozzle = Annotated[str | None, typer.Option(metavar="MM", help="Diameter of the nozzle.", rich_help_panel=PRINTER)]
Layer = Annotated[str | None, typer.Option(metavar="MM", help="Height of a layer.", rich_help_panel=PRINTER)]
PerSide = Annotated[
    str | None,
    typer.Option(metavar="MM", help="Added to every side; negative where prints are fat.", rich_help_panel=PRINTER),
]
Material = Annotated[
    str | None, typer.Option(metavar="NAME", help="PLA, PETG, ABS, nylon or resin.", rich_help_panel=PRINTER)
]
Cutters = Annotated[
    list[str] | None,
    typer.Option(metavar="'MM END'", help="A cutter, like '1 ball'; once for each.", rich_help_panel=ROUTER),
]
Thickness = Annotated[
    str | None, typer.Option(metavar="MM", help="Of the stock, front to back.", rich_help_panel=ROUTER)
]


def make(
    files: Files,
    units: ShownIn = None,
    purpose: Purposes = None,
    out: Into = Path("output"),
    paper: Paper = "a4",
    nozzle: Nozzle = None,
    layer: Layer = None,
    per_side: PerSide = None,
    material: Material = None,
    cutter: Cutters = None,
    stock_thickness: Thickness = None,
    as_json: AsJson = False,
) -> None:
    """Write the files: template, solid, print, router. Each is read back before it counts as made."""
    purposes = chosen("for", purpose or (), PURPOSES) or PURPOSES
    printer = {"nozzle": nozzle, "layer_height": layer, "per_side": per_side, "material": material}
    router = {"cutters": cutter or None, "stock_thickness": stock_thickness}
    orders, made = [], []
    for name, (given, nut) in solve_all(files).items():
        spec = with_options(given, printer=printer, router=router)
        asked = [one for one in purposes if purpose or one in {"print", "mill"} - spec.assumed]
        orders.append(Order(spec, nut, out / name, asked))
    making = make_files(orders, purposes=purposes, paper=paper)
    for file, order in zip(files, orders, strict=True):
        if order.nut.unmeasured and not as_json:
            shown((Findings(order.nut.unmeasured),), order.spec, units)
        with busy(f"making {order.folder.name}"), refused_in(units_for(order.spec, units)):
            made.append(next(making))
        _logged(Path(file), order.spec, purposes)
    if as_json:
        print_json({"units": "mm", "made": [{"folder": str(item.folder), **item.record} for item in made]})
        return
    for order, item in zip(orders, made, strict=True):
        shown(_made_blocks(order.nut, item, told_at_once=bool(purpose)), order.spec, units)


def _logged(file: Path, spec: Spec, purposes: tuple[Purpose, ...]) -> None:
    """Add to the log of the instrument what was made of its file; a kind of ours has none."""
    if not file.is_file() or file.resolve().parent == FOLDER.resolve():
        return
    made = Making(now(), spec_hash(spec), purposes, read_text(file))
    added_to_log(log_path(file), made, "the files are made, but not in the log")


def _made_blocks(nut: Nut, made: Made, *, told_at_once: bool) -> Document:
    """What was written, and what to know to use it.

    told_at_once : how to set up the machines is for the screen; else it stands in files of its own
    """
    blocks: list[Block] = [
        *file_blocks(str(made.folder), made.files),
        Paragraph("Every file was read back and is as solved; what was found stands in nut.json.", "note"),
    ]
    if told_at_once:
        blocks += [block for report in made.reports for block in report]
    elif made.reports:
        told = " and ".join(name for name, _ in made.files if name in ("print.txt", "mill.txt"))
        blocks.append(Paragraph(f"How to set up the machines, and what is left for the file: {told}."))
    others = tuple(one for one in nut.findings if one not in nut.unmeasured)  # these were told before
    care = Paragraph(MATERIALS[nut.material].in_short, "note")
    return *blocks, *_left_blocks(nut.allowances), Space(), care, Findings((*others, *made.findings))


def _left_blocks(allowances: Allowances) -> Document:
    """What the rough part has over the final one, face by face; nothing where there is none."""
    faces = {"top": "on the top", "back": "on the back face", "ends": "on each end", "floors": "in each slot"}
    left = {where: getattr(allowances, face) for face, where in faces.items()}
    parts = tuple(phrase(f"{{left:bare}} {where}", left=value) for where, value in left.items() if value)
    if not parts:
        return ()
    after = ". Solid, print and router files have it on; the paper template is of the final nut."
    return Space(), Paragraph(Run((phrase("Left for your hands, in {units}: "), Run(parts, ", "), after)))


def with_options(spec: Spec, *, printer: dict[str, Any], router: dict[str, Any]) -> Spec:
    """A file's printer and router with what the command line says instead; bare numbers there are mm.

    raises : SpecFaults with every fault of the options
    """
    options = {"print": printer, "mill": router}
    given = {table: {key: value for key, value in keys.items() if value is not None} for table, keys in options.items()}
    return overruled(spec, given)
