"""What `dryfit --trial` shows: the fret plane by every string, the new floors, and what changes in the file."""

from nutgen.bench.dryfit.trial import PLACES, TrialFit
from nutgen.documents.blocks import Column, Document, Entry, Findings, Paragraph, Space, Table, Title, remark
from nutgen.documents.strings import by_string
from nutgen.documents.texts import Cell, phrase

_READ = (
    "All in {units}. floor: of the trial nut, over its underside, the wire taken off. plane: fret plane over the seat's"
    " floor, by that string alone. off fit: from the one plane through all strings. now, new: floor over the underside,"
    " as the file has it and by the trial; within: how far off that may be, 95 times in 100."
)


def trial_blocks(title: str, fit: TrialFit) -> Document:
    """String by string, then key by key, as it stands and as it will."""
    telling = sum(string.plane_read is not None for string in fit.strings)
    return (
        Title(title),
        Paragraph(
            phrase(
                "Trial nut: the fret plane, by {telling} of {strings} strings.",
                telling=telling,
                strings=len(fit.strings),
            )
        ),
        _floors(fit),
        _keys(fit),
        Space(),
        remark(_READ),
        Findings(fit.findings, none=""),
    )


def _floors(fit: TrialFit) -> Table:
    return by_string(
        fit.strings,
        (Column("floor", "setting_out"), "floor_read"),
        (Column("clearance", "setting_out"), "clearance"),
        (Column("plane", "setting_out"), "plane_read"),
        (Column("off fit", "setting_out", sign=True), "off_fit"),
        (Column("now", "setting_out"), "floor_was"),
        (Column("new", "setting_out"), "floor"),
        (Column("within", "setting_out"), "within"),
        name="floors",
    )


def _keys(fit: TrialFit) -> Table:
    before = _by_place(fit.plane_was)
    after = _by_place(fit.plane)
    places = [place for place in ("", *PLACES[3]) if place in before or place in after]
    rows: list[tuple[Entry, ...]] = [
        (f"seat.fret_plane{'.' * bool(place)}{place}", before.get(place), after.get(place)) for place in places
    ]
    rows.append(("may be off by", Cell(fit.error_was, "fine"), Cell(fit.error, "fine")))
    return Table(
        (Column("key"), Column("now", "setting_out"), Column("new", "setting_out", strong=True)),
        tuple(rows),
        name="keys",
    )


def _by_place(plane: tuple[float, ...]) -> dict[str, float]:
    return dict(zip(PLACES[len(plane)], plane, strict=True)) if plane else {}
