"""`heights`: clearances, buzz, pitch, friction and spread of the solved nut.

Its options are read like the file, with the same ranges and the same faults.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, cast

import typer

from nutgen.bench.materials import STRINGS_WHIP
from nutgen.commands.common import answered, say, solve_one, units_for
from nutgen.commands.options import AsJson, File, ShownIn, chosen, picture
from nutgen.documents.blocks import Document, Paragraph
from nutgen.documents.screens.heights import converted_blocks, lowest_blocks, played_blocks
from nutgen.documents.screens.lap import barred_blocks
from nutgen.documents.words import sentence
from nutgen.documents.words.quantities import Units
from nutgen.errors import Unreadable
from nutgen.formats.stamp import Stamp
from nutgen.jobs.atomic import write_all
from nutgen.nut import Nut
from nutgen.nut.swing import swing_of
from nutgen.play.friction import friction
from nutgen.play.heights import Check, not_under_bar
from nutgen.play.heights_record import barred_record, heights_record
from nutgen.play.played import played
from nutgen.spec.read import bare_units_of, overruled, spec_hash
from nutgen.spec.tables import Spec
from nutgen.spec.values import read_length

Sections = Annotated[
    str | None, typer.Option(metavar="SECTION,...", help="Sections: clearances, checks, buzz, pitch, friction, spread.")
]
Lowest = Annotated[bool, typer.Option("--lowest", help="Only the lowest floors that stay clear.")]
Force = Annotated[float | None, typer.Option(metavar="N", help="Pluck by this force, square to the board.")]
Displacement = Annotated[str | None, typer.Option(metavar="LENGTH", help="Pluck by this displacement instead.")]
FromBridge = Annotated[str | None, typer.Option(metavar="LENGTH", help="Pluck this far from the bridge.")]
Feeler = Annotated[str | None, typer.Option(metavar="LENGTH", help="Convert: feeler over fret 1, open.")]
Sliver = Annotated[str | None, typer.Option(metavar="LENGTH", help="Convert: over fret 1, pressed at 3.")]
Barre = Annotated[str | None, typer.Option(metavar="LENGTH", help="Convert: open at 1 less barred at 2.")]
Frets = Annotated[str, typer.Option(metavar="LOW-HIGH", help="Frets that setbacks share the error over.")]
Plot = Annotated[Path | None, picture("svg", "Draw heights there, and cents in FILE-cents.svg.")]


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
    words = chosen("only", [only] if only else [], SECTIONS) or SECTIONS
    spec, nut = solve_one(file)
    if spec.lap is not None:
        options = (lowest, plot, force, height, from_bridge, feeler, sliver, barre)
        _under_bar(spec, nut, units, words, options=any(options), as_json=as_json)
        return
    pluck = _plucked(spec, {"force_n": force, "height": height, "from_bridge": from_bridge})
    nut = replace(nut, swing=swing_of(pluck, nut.strings))
    asked = _converted({"feeler": feeler, "sliver": sliver, "barre": barre}, spec.units)
    seen = played(nut, spec.errors, spec.ways, chosen=_chosen_frets(frets, nut.frets))
    record = heights_record(nut, seen)
    if plot is not None:
        _draw(nut, spec_hash(spec), plot, units_for(spec, units))
    if lowest:
        blocks = lowest_blocks(nut, seen)
    else:
        blocks = converted_blocks(nut, *asked) if asked else played_blocks(nut, seen, words)
    _told(blocks, spec, units, record, as_json=as_json)


def _under_bar(
    spec: Spec, nut: Nut, units: str | None, sections: Sequence[str], *, options: bool, as_json: bool
) -> None:
    """Of a nut under a bar what is left: its string tops, and how the strings rub; options are all of frets."""
    lap, rub = spec.lap, friction(nut)
    if options or sections not in (SECTIONS, ("friction",)) or lap is None:
        not_under_bar(spec, "clearance, buzz or fretted pitch")
        return
    _told(barred_blocks(nut, lap, rub), spec, units, barred_record(nut, lap, rub), as_json=as_json)


def _told(blocks: Document, spec: Spec, units: str | None, record: dict[str, Any], *, as_json: bool) -> None:
    """The result, and what can hurt."""
    document = (*blocks, Paragraph(STRINGS_WHIP, "note"))
    answered(document, spec, units, record, {"cautions": [STRINGS_WHIP]}, as_json=as_json)


def _draw(nut: Nut, spec_hash: str, path: Path, units: Units) -> None:
    from nutgen.documents.charts.play import cents_svg, heights_svg

    stamp = Stamp(nut.title, spec_hash)
    beside = f"{path.stem}-cents.svg"
    write_all(path.parent, {path.name: heights_svg(nut, stamp, units), beside: cents_svg(nut, stamp, units)})
    say(f"wrote {path} and {path.with_name(beside)}")


SECTIONS = ("clearances", "checks", "buzz", "pitch", "friction", "spread")


def _chosen_frets(text: str, last: int) -> tuple[int, ...]:
    """Frets of a range such as "1-12", or a list such as "1,3,5"."""
    if not re.fullmatch(r"[0-9]{1,9}(-[0-9]{1,9})?(,[0-9]{1,9}(-[0-9]{1,9})?)*", text.replace(" ", "")):
        raise typer.BadParameter(f'--frets "{text}": write a range such as 1-12, or 1,3,5')
    spans = [(int(low), int(high or low)) for low, _, high in (part.partition("-") for part in text.split(","))]
    frets = tuple(fret for fret in range(1, last + 1) if any(low <= fret <= high for low, high in spans))
    if len(frets) < 2 or any(low < 1 or high > last for low, high in spans):
        raise typer.BadParameter(f'--frets "{text}": two frets or more, from 1 to {last}')
    return frets


def _plucked(spec: Spec, options: Mapping[str, object]) -> Spec:
    """The file with another pluck; raises SpecFaults as for its own [pluck]."""
    given = {key: value for key, value in options.items() if value is not None}
    if not given:
        return spec
    instead = {"force_n": None, "height": None} if {"force_n", "height"} & set(given) else {}
    return overruled(spec, {"pluck": instead | given}, bare=bare_units_of(spec), source="options")


def _converted(options: Mapping[str, str | None], units: str) -> tuple[Check, float] | None:
    """A reading of one shop check [mm]; None where none was given."""
    given = {name: text for name, text in options.items() if text is not None}
    if not given:
        return None
    if len(given) > 1:
        raise typer.BadParameter(f"{', '.join(f'--{name}' for name in given)}: convert one reading at a time")
    ((name, text),) = given.items()
    try:
        reading = read_length(text, units).mm
    except Unreadable as error:
        raise typer.BadParameter(f"--{name}: {sentence(error.finding)}") from None
    if not -1.0 <= reading <= 3.0:
        raise typer.BadParameter(f"--{name} {text}: allowed is -1 to 3 mm")
    return cast("Check", name), reading
