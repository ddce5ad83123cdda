"""What `reuse` shows: the old nut, judged."""

from nutgen.bench.reuse import Reuse
from nutgen.documents.blocks import (
    Block,
    Column,
    Document,
    Findings,
    Paragraph,
    Run,
    Space,
    Table,
    Title,
    capital,
    phrase,
)


def reuse_blocks(title: str, judged: Reuse) -> Document:
    """The verdict, the table of slots, what to do at each."""
    blocks: list[Block] = [
        Title(title),
        Paragraph(Run((f"Old nut: {judged.verdict}. ", capital(judged.reason), "."))),
        Space(),
        _table(judged),
        Space(),
    ]
    for old in judged.strings:
        said = Run((*(old.steps or ("keep",)), *([old.remark] if old.remark else [])), "; ")
        blocks.append(Paragraph(Run((f"{old.number} {old.note}: ", said)), hang=2))
    if judged.verdict == "shim and file":
        down = Run(
            tuple(
                phrase("{string} {down:bare}", string=f"{old.number} {old.note}", down=old.file_down_with_shim)
                for old in judged.strings
            ),
            ", ",
        )
        on_shim = phrase("On a shim of {shim:bare}, file the floors down by: ", shim=judged.shim)
        blocks.append(Paragraph(Run((on_shim, down)), hang=2))
    blocks += [Space(), Paragraph(phrase(_READ), "note"), Findings(judged.findings, none="")]
    if judged.verdict != "keep":
        dust = "Bone and antler dust: work wet or with extraction, and wear a fitted mask."
        blocks.append(Paragraph(dust, "note"))
    return tuple(blocks)


_READ = (
    "All in {units}. off: centre from its wanted place, positive to the treble side. floor: over the fret plane. What"
    " counts as loose, off or too low is common practice."
)


def _table(judged: Reuse) -> Table:
    columns = (
        Column("string"),
        *(Column(name, "setting_out") for name in ("gauge", "width", "wanted")),
        *(Column(name, "setting_out", sign=True) for name in ("off", "floor", "wanted")),
    )
    rows = tuple(
        (
            f"{old.number} {old.note}",
            old.gauge,
            old.slot_width,
            old.wanted_width,
            old.off_position_by,
            old.floor_height,
            old.wanted_floor_height,
        )
        for old in judged.strings
    )
    return Table(columns, rows)
