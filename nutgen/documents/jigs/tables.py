"""Tables of the jigs: what is printed, how each tool is guided, how its shoe is set."""

from collections.abc import Iterator, Sequence

from nutgen.documents.blocks import Block, Column, Paragraph, Table
from nutgen.documents.texts import Text, capital, phrase
from nutgen.documents.words.entry import who
from nutgen.jigs.choose import Made
from nutgen.jigs.guides import Guided, guided
from nutgen.jigs.jig import Jig
from nutgen.jigs.task import KINDS, Task


def parts_table(made: Sequence[Made]) -> Table:
    """Every part: its size, what it takes, the stages that it serves."""
    columns = (
        Column("part"),
        Column("across", "stock"),
        Column("deep", "stock"),
        Column("high", "stock"),
        Column("g", "count"),
        Column("filament, m", "count"),
        Column("min", "count"),
        Column("for"),
    )
    rows = tuple(
        (
            laid.part.name,
            *laid.size,
            round(laid.amount.grams),
            round(laid.amount.filament / 1000.0, 1) or None,
            5 * max(1, round(laid.amount.minutes / 5.0)),
            ", ".join(one.jig.stages),
        )
        for one in made
        for laid in one.parts
    )
    return Table(columns, rows, "parts")


def tools_table(task: Task) -> Iterator[Block]:
    """Which jig guides which tool, and how its width sits in the notch."""
    found = guided(task)
    rows = tuple(
        (
            phrase("{tool}, {width}", tool=one.tool, width=one.width),
            one.notch or None,
            one.notch - one.width if one.notch else None,
            who(one.strings),
            capital(one.stop),
        )
        for one in found
    )
    yield Table(
        (
            Column("tool"),
            Column("notch", "setting_out"),
            Column("play", "setting_out"),
            Column("cuts"),
            Column("stopped by steel"),
        ),
        rows,
        "tools",
    )
    yield Paragraph(
        "notch: of the comb, where this tool begins a slot; play: how far it may wander there. Under tools.blades a"
        " tool stands with its width, its height from the edge to its other edge or under its back, the length that"
        " cuts, its sides (smooth or toothed) and its taper.",
        "note",
    )
    yield from _to_list(found)


def _to_list(found: Sequence[Guided]) -> Iterator[Block]:
    """What to write into the file for tools that it does not describe yet."""
    unknown = [one for one in found if one.stop.code == "jig.blade-unknown"]
    bare = {KINDS[one.tool]: one.width for one in unknown}
    lines = [
        phrase(
            '{{ tool = "{kind}", width = "{width:leaf}", height = , length = , sides = "smooth" }},',
            kind=kind,
            width=width,
        )
        for kind, width in bare.items()
    ]
    if lines:
        yield Paragraph("Those that you have, write into the file, one line each, as they are by caliper:")
        around: tuple[Text, ...] = "[tools]", "blades = [", *lines, "]"
        yield from (Paragraph(line, indent=2) for line in around)


def settings_table(jig: Jig) -> Iterator[Block]:
    """The shoe, string by string."""
    if not jig.settings:
        return
    columns = (Column("string"), Column("edge to shoe", "setting_out", strong=True))
    rows = tuple((f"{one.string.number} {one.string.name}", one.shoe) for one in jig.settings)
    yield Table(columns, rows, "shoe")
