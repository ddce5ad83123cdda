"""`setup`: the whole set-up in its order."""

from pathlib import Path
from typing import Annotated

import typer

from nutgen.bench.setup import SetupOrder, before_saddle, setup_order
from nutgen.commands.common import answered, refused_in, solve_one, units_for, written
from nutgen.commands.options import AsJson, File, ShownIn, picture
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp
from nutgen.play.heights import not_under_bar
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec

Plot = Annotated[Path | None, picture("svg", "Draw the string tops across the neck there.")]
Strip = Annotated[Path | None, picture("pdf", "A fixed saddle's cut as a strip, true to size.")]


def setup(file: File, units: ShownIn = None, plot: Plot = None, strip: Strip = None, as_json: AsJson = False) -> None:
    """The whole set-up in its order: relief, saddles, nut, readings again, pitch; the string tops under the hand."""
    from nutgen.documents.screens.setup import setup_blocks

    spec, nut = solve_one(file)
    not_under_bar(spec, "set-up over the frets")
    with refused_in(spec.units):
        order = setup_order(nut, before_saddle(spec), spec.setup, spec.saddle, spec.tuner, spec.clamped)
    _write(spec, order, units_for(spec, units), plot, strip)
    strings = [{"number": slot.number, "note": slot.note} for slot in nut.slots]
    told = {"steps": (*order.before, order.saddle, *order.after), "strings": strings, "saddle": order.moves}
    told |= {"tops": order.tops, "proud_now": order.proud_now, "clamped": order.shimmed, "tuner": order.tuner}
    told |= {"cautions": order.cautions}
    answered(setup_blocks(order), spec, units, told, as_json=as_json)


def _write(spec: Spec, order: SetupOrder, units: Units, plot: Path | None, strip: Path | None) -> None:
    """The pictures that were asked for."""
    stamp = Stamp(order.nut.title, spec_hash(spec))
    if strip is not None and order.moves.underside is None:
        raise typer.BadParameter('--strip: for [saddle] bridge = "fixed" whose setup.action_now was read')
    if plot is not None:
        from nutgen.documents.charts.tops import tops_svg

        written(plot, tops_svg(order.nut, order.tops, stamp, units))
    if strip is not None:
        from nutgen.documents.paint.compose import composed
        from nutgen.documents.paint.heading import printed
        from nutgen.documents.paint.pdf import pages_pdf
        from nutgen.documents.screens.setup import strip_blocks

        drawn = strip_blocks(order, spec.saddle)
        pages = printed(stamp, "", "a4", lambda room: [(composed(drawn, room, units), 3.0)])
        written(strip, pages_pdf(pages, stamp))
