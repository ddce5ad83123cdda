"""`setup`: the whole set-up in its order."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nutgen.commands.common import (
    AsJson,
    File,
    ShownIn,
    can_be_shown,
    print_json,
    refused_in,
    say,
    solve_one,
    units_for,
)

if TYPE_CHECKING:
    from nutgen.bench.setup import SetupOrder
    from nutgen.documents.words.quantities import Units
    from nutgen.spec.tables import Spec

Plot = Annotated[
    Path | None,
    typer.Option(metavar="FILE.svg", callback=can_be_shown, help="Draw the string tops across the neck there."),
]
Strip = Annotated[
    Path | None,
    typer.Option(metavar="FILE.pdf", callback=can_be_shown, help="A fixed saddle's cut as a strip, true to size."),
]


def setup(file: File, units: ShownIn = None, plot: Plot = None, strip: Strip = None, as_json: AsJson = False) -> None:
    """The whole set-up in its order: relief, saddles, nut, readings again, pitch; the string tops under the hand."""
    from nutgen.bench.setup import before_saddle, setup_order
    from nutgen.documents.paint.text import show
    from nutgen.documents.screens.setup import setup_blocks
    from nutgen.jobs.record import head, plain
    from nutgen.play.heights import not_under_bar

    spec, nut = solve_one(file)
    not_under_bar(spec, "set-up over the frets")
    shown = units_for(spec, units)
    with refused_in(spec.units):
        order = setup_order(nut, before_saddle(spec), spec.setup, spec.saddle, spec.tuner, spec.clamped)
    _write(spec, order, shown, plot, strip)
    if as_json:
        strings = [{"number": slot.number, "note": slot.note} for slot in nut.slots]
        told = {"steps": (*order.before, order.saddle, *order.after), "strings": strings, "saddle": order.moves}
        told |= {"tops": order.tops, "clamped": order.shimmed, "tuner": order.tuner}
        print_json(plain({**head(spec), **told, "cautions": order.cautions}))
        return
    show(setup_blocks(order), units=shown)


def _write(spec: "Spec", order: "SetupOrder", units: "Units", plot: Path | None, strip: Path | None) -> None:
    """The pictures that were asked for."""
    from nutgen.formats.stamp import Stamp
    from nutgen.jobs.atomic import write_all
    from nutgen.spec.read import spec_hash

    stamp = Stamp(order.nut.title, spec_hash(spec))
    for path, ending, name in ((plot, ".svg", "plot"), (strip, ".pdf", "strip")):
        if path is not None and path.suffix.lower() != ending:
            raise typer.BadParameter(f'--{name} "{path}": write a name that ends in {ending}')
    if strip is not None and order.moves.underside is None:
        raise typer.BadParameter('--strip: for [saddle] bridge = "fixed" whose setup.action_now was read')
    if plot is not None:
        from nutgen.documents.charts.tops import tops_svg

        write_all(plot.parent, {plot.name: tops_svg(order.nut, order.tops, stamp, units)})
        say(f"wrote {plot}")
    if strip is not None:
        from nutgen.documents.paint.compose import composed
        from nutgen.documents.paint.heading import printed
        from nutgen.documents.paint.pdf import pages_pdf
        from nutgen.documents.screens.setup import strip_blocks

        drawn = strip_blocks(order, spec.saddle)
        pages = printed(stamp, "", "a4", lambda room: [(composed(drawn, room, units), 3.0)])
        write_all(strip.parent, {strip.name: pages_pdf(pages, stamp)})
        say(f"wrote {strip}")
