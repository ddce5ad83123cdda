"""What is printed beside the nut: `coupon`, a bar that measures the printer, and `jigs`."""

from pathlib import Path
from typing import Annotated

import typer

from nutgen.commands.common import busy, print_json, refused_in, shown, solve_one, units_for
from nutgen.commands.make import with_options
from nutgen.commands.options import AsJson, File, Into, Paper, ShownIn, chosen
from nutgen.documents.blocks import Findings
from nutgen.documents.screens.files import file_blocks
from nutgen.jobs.run import Made
from nutgen.spec.presets import find_file
from nutgen.spec.tables import Spec


def coupon(
    file: File,
    units: ShownIn = None,
    string: Annotated[
        int | None, typer.Option(metavar="N", help="String to try, 1 = treble-most; the thickest where not said.")
    ] = None,
    step: Annotated[str | None, typer.Option(metavar="MM", help="From one slot to the next.")] = None,
    nozzle: Annotated[str | None, typer.Option(metavar="MM", help="Diameter of the nozzle.")] = None,
    layer: Annotated[str | None, typer.Option(metavar="MM", help="Height of a layer.")] = None,
    out: Into = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Write a small test print whose slots and stair tell what the printer adds to every side."""
    from nutgen.jobs.coupon import make_coupon

    given, nut = solve_one(file)
    printer = {"coupon_step": step, "nozzle": nozzle, "layer_height": layer}
    spec = with_options(given, printer=printer, router={})
    with refused_in(units_for(spec, units)):
        made = make_coupon(spec, nut, number=string, folder=out / find_file(file).stem)
    _told(made, spec, units, as_json=as_json)


Names = Annotated[
    list[str] | None, typer.Option("--jig", metavar="NAME,...", help="Only these; all that the nut needs else.")
]


def jigs(
    file: File,
    units: ShownIn = None,
    jig: Names = None,
    paper: Paper = "a4",
    out: Into = Path("output"),
    as_json: AsJson = False,
) -> None:
    """Write parts to print that hold the blank, guide each tool and stop it, and a page on how to use them."""
    from nutgen.jigs.jig import JIG_NAMES
    from nutgen.jobs.jigs import make_jigs

    asked = chosen("jig", jig or (), JIG_NAMES)
    spec, nut = solve_one(file)
    with busy("making jigs"), refused_in(units_for(spec, units)):
        made = make_jigs(spec, nut, asked=asked, paper=paper, folder=out / find_file(file).stem / "jigs")
    _told(made, spec, units, as_json=as_json)


def _told(made: Made, spec: Spec, units: str | None, *, as_json: bool) -> None:
    """What was written, and how it is printed and used."""
    if as_json:
        print_json({"units": "mm", "folder": str(made.folder), **made.record})
    else:
        files, found = file_blocks(str(made.folder), made.files), Findings(made.findings, none="")
        shown((*files, *made.reports[0], found), spec, units)
