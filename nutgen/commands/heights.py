"""`heights`: clearances, buzz, pitch, friction and spread of the solved nut."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from nutgen.commands.common import AsJson, File, ShownIn, can_be_shown, print_json, say, solve_one, units_for

if TYPE_CHECKING:
    from nutgen.documents.words.quantities import Units
    from nutgen.nut import Nut


Sections = Annotated[
    str | None,
    typer.Option(metavar="SECTION,...", help="Sections: clearances, checks, buzz, pitch, friction, spread."),
]
Lowest = Annotated[bool, typer.Option("--lowest", help="Only the lowest floors that stay clear.")]
Force = Annotated[float | None, typer.Option(metavar="N", help="Pluck by this force, square to the board.")]
Displacement = Annotated[str | None, typer.Option(metavar="LENGTH", help="Pluck by this displacement instead.")]
FromBridge = Annotated[str | None, typer.Option(metavar="LENGTH", help="Pluck this far from the bridge.")]
Feeler = Annotated[str | None, typer.Option(metavar="LENGTH", help="Convert: feeler over fret 1, open.")]
Sliver = Annotated[str | None, typer.Option(metavar="LENGTH", help="Convert: over fret 1, pressed at 3.")]
Barre = Annotated[str | None, typer.Option(metavar="LENGTH", help="Convert: open at 1 less barred at 2.")]
Frets = Annotated[str, typer.Option(metavar="LOW-HIGH", help="Frets that setbacks share the error over.")]
Plot = Annotated[
    Path | None,
    typer.Option(metavar="FILE.svg", callback=can_be_shown, help="Draw heights there, and cents in FILE-cents.svg."),
]


def heights(
    file: File,
    units: ShownIn = None,
    only: Sections = None,
    lowest: Lowest = False,
    force: Force = None,
    height: Displacement = None,
    from_bridge: FromBridge = None,
    feeler: Feeler = None,
    sliver: Sliver = None,
    barre: Barre = None,
    frets: Frets = "1-12",
    plot: Plot = None,
    as_json: AsJson = False,
) -> None:
    """Clearance at every fret, the three shop checks, buzz, fretted pitch, friction, and how far each may be off."""
    from nutgen.commands.heights_options import chosen_frets, converted, plucked, sections
    from nutgen.nut.swing import swing_of
    from nutgen.play.played import played
    from nutgen.spec.read import spec_hash

    words = sections(only)
    spec, nut = solve_one(file)
    pluck = plucked(spec, {"force_n": force, "height": height, "from_bridge": from_bridge})
    nut = replace(nut, swing=swing_of(pluck, nut.strings))
    asked = converted({"feeler": feeler, "sliver": sliver, "barre": barre}, spec.units)
    seen = played(nut, spec.errors, spec.ways, chosen=chosen_frets(frets, nut.frets))
    if plot is not None:
        _draw(nut, spec_hash(spec), plot, units_for(spec, units))
    from nutgen.bench.materials import STRINGS_WHIP

    if as_json:
        from nutgen.jobs.record import head, plain
        from nutgen.play.heights_record import heights_record

        print_json(plain({**head(spec), **heights_record(nut, seen), "cautions": [STRINGS_WHIP]}))
        return
    from nutgen.documents.blocks import Paragraph
    from nutgen.documents.paint.text import show
    from nutgen.documents.screens.heights import converted_blocks, lowest_blocks, played_blocks

    converts = None if asked is None else converted_blocks(nut, *asked)
    document = lowest_blocks(nut, seen) if lowest else converts or played_blocks(nut, seen, words)
    show((*document, Paragraph(STRINGS_WHIP, "note")), units=units_for(spec, units))


def _draw(nut: "Nut", spec_hash: str, path: Path, units: "Units") -> None:
    from nutgen.documents.charts.play import cents_svg, heights_svg
    from nutgen.formats.stamp import Stamp
    from nutgen.jobs.atomic import write_all

    if path.suffix.lower() != ".svg":
        raise typer.BadParameter(f'--plot "{path}": the pictures are SVG; write a name that ends in .svg')
    stamp = Stamp(nut.title, spec_hash)
    beside = f"{path.stem}-cents.svg"
    write_all(path.parent, {path.name: heights_svg(nut, stamp, units), beside: cents_svg(nut, stamp, units)})
    say(f"wrote {path} and {path.with_name(beside)}")
