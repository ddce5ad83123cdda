"""What `reuse` shows: the old nut, judged."""

from nutgen.bench.reuse import OldSlot, Reuse
from nutgen.documents.blocks import (
    Block,
    Column,
    Document,
    Entry,
    Findings,
    Paragraph,
    Points,
    Space,
    Table,
    Title,
    remark,
)
from nutgen.documents.strings import by_string
from nutgen.documents.texts import Run, capital, phrase


def reuse_blocks(title: str, judged: Reuse) -> Document:
    """The verdict, the table of slots, what to do at each."""
    blocks: list[Block] = [
        Title(title),
        Paragraph(Run((f"Old nut: {judged.verdict}. ", capital(judged.reason), "."))),
        _table(judged),
        Space(),
    ]
    for old in judged.strings:
        said = Run((*(old.steps or ("keep",)), *filter(None, (old.remark, old.width_untold))), "; ")
        blocks.append(Paragraph(Run((f"{old.number} {old.note}: ", said)), hang=2))
    blocks += [Space()] if judged.ways else []
    for letter, way in zip("abc", judged.ways, strict=False):
        blocks.append(Paragraph(Run((f"{letter}) ", way, ".")), hang=3))
        if way.code == "fit.shim":
            blocks.append(_on_a_shim(judged))
    blocks += [Space(), remark(_READ), Findings(judged.findings, none="")]
    if judged.verdict != "keep":
        blocks.append(Points(judged.cautions, "!"))
    return tuple(blocks)


def _on_a_shim(judged: Reuse) -> Paragraph:
    down = tuple(
        phrase("{string} {down:bare}", string=f"{old.number} {old.note}", down=old.file_down_with_shim)
        for old in judged.strings
        if old.file_down_with_shim
    )
    words = (Run(("On it, file the floors down by: ", Run(down, ", "))),) if down else ("On it, no floor wants filing",)
    return Paragraph(Run((*words, ".")), indent=3)


_READ = (
    "All in {units}. off: centre from its wanted place, positive to the treble side. floor: over the fret plane, or the"
    " board under a bar. What counts as loose, off or too low is common practice."
)


def _table(judged: Reuse) -> Table:
    return by_string(
        judged.strings,
        (Column("gauge", "setting_out"), "gauge"),
        (Column("width", "setting_out"), _width),
        (Column("wanted", "setting_out"), "wanted_width"),
        (Column("off", "setting_out", sign=True), "off_position_by"),
        (Column("floor", "setting_out", sign=True), "floor_height"),
        (Column("wanted", "setting_out", sign=True), "wanted_floor_height"),
    )


def _width(old: OldSlot) -> Entry:
    """As it was read; by wires, between the thickest that enters and the next."""
    if old.slot_width_below is None:
        return old.slot_width
    return phrase("{go:bare} to {no_go:bare}", go=old.slot_width, no_go=old.slot_width_below)
