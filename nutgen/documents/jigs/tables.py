"""Tables of the jigs: what is printed, how each tool is guided, how its shoe is set."""

from collections.abc import Iterator, Sequence

from nutgen.documents.blocks import Block, Column, Paragraph, Table, remark, table_of
from nutgen.documents.texts import Text, capital, phrase
from nutgen.documents.words.entry import who
from nutgen.jigs.choose import Made
from nutgen.jigs.guides import Guided, guided
from nutgen.jigs.jig import Jig
from nutgen.jigs.task import KINDS, Task


def parts_table(made: Sequence[Made]) -> Table:
    """Every part: its size, what it takes, the stages that it serves."""
    printed = [(one.jig, laid) for one in made for laid in one.parts]
    sizes = [laid.size for _, laid in printed]
    amounts = [laid.amount for _, laid in printed]
    return table_of(
        printed,
        (Column("part"), [laid.part.name for _, laid in printed]),
        *(
            (Column(way, "stock"), [size[axis] for size in sizes])
            for axis, way in enumerate(("across", "deep", "high"))
        ),
        (Column("g", "count"), [round(one.grams) for one in amounts]),
        (Column("filament, m", "count"), [round(one.filament / 1000.0, 1) or None for one in amounts]),
        (Column("min", "count"), [5 * max(1, round(one.minutes / 5.0)) for one in amounts]),
        (Column("for"), [", ".join(jig.stages) for jig, _ in printed]),
        name="parts",
    )


def tools_table(task: Task) -> Iterator[Block]:
    """Which jig guides which tool, and how its width sits in the notch."""
    found = guided(task)
    yield table_of(
        found,
        (Column("tool"), lambda one: phrase("{tool}, {width}", tool=one.tool, width=one.width)),
        (Column("notch", "setting_out"), lambda one: one.notch or None),
        (Column("play", "setting_out"), lambda one: one.notch - one.width if one.notch else None),
        (Column("cuts"), lambda one: who(one.strings)),
        (Column("stopped by steel"), lambda one: capital(one.stop)),
        name="tools",
    )
    yield remark(
        "notch: of the comb, where this tool begins a slot; play: how far it may wander there. Under tools.blades a"
        " tool stands with its width, its height from the edge to its other edge or under its back, the length that"
        " cuts, its sides (smooth or toothed) and its taper."
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
    yield table_of(
        jig.settings,
        (Column("string"), lambda one: f"{one.string.number} {one.string.name}"),
        (Column("edge to shoe", "setting_out", strong=True), "shoe"),
        name="shoe",
    )
