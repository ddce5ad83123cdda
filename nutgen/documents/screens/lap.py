"""What `heights` shows of a nut under a bar: the one plane of its string tops, and friction."""

from nutgen.documents.blocks import Column, Document, Findings, Space, Title, remark
from nutgen.documents.screens.heights import friction_blocks
from nutgen.documents.strings import by_string
from nutgen.nut import Nut
from nutgen.play.friction import Friction
from nutgen.spec.strings import Lap


def barred_blocks(nut: Nut, lap: Lap, rub: Friction) -> Document:
    """Tops and floors, what does not apply, and how the strings rub."""
    sizes = (
        (Column("gauge", "fine"), "gauge"),
        (Column("floor", "setting_out"), "floor_height"),
        (Column("seat", "setting_out"), nut.floor_over_seat),
    )
    words = (
        "Every string's top is {tops:bare} over the board at the nut and {then:bare} at the mark of fret 12: floor,"
        " over the board, is that less the gauge; seat: the same over the seat floor. All in {units} unless marked."
    )
    return (
        Title(nut.title),
        remark(words, tops=lap.tops, then=lap.tops_at_12),
        by_string(nut.slots, *sizes),
        *friction_blocks(nut, rub),
        Space(),
        Findings(nut.findings),
    )
