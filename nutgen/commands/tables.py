"""What the commands show of a nut and of the files made from it."""

from collections.abc import Callable, Iterable, Sequence

from nutgen.documents.screen import Column, Screen
from nutgen.nut import Nut, Slot

Cell = tuple[str, Callable[[Slot], str]]


def show_nut(screen: Screen, nut: Nut, note: str) -> None:
    """The solved nut: its sizes, its strings from the bass end, its warnings."""
    screen.say(nut.title, style="bold")
    screen.say(note, style="dim")
    screen.say(
        f"Nut {nut.length:.2f} long, {nut.thickness:.2f} thick, {nut.height:.2f} high, {nut.seat_kind} seat,"
        f" strung {nut.strung}. Blank at least {nut.blank.length:.1f} x {nut.blank.thickness:.1f} x"
        f" {nut.blank.height:.1f}. All in mm unless marked."
    )
    for group in _groups(nut, screen):
        screen.say()
        screen.table(*_table(group, nut.slots))
    screen.say()
    screen.say(
        "centre: from the bass end of the board. floor: of the slot at the front face, over the fret plane;"
        " seat: the same over the seat floor. buried: share of the gauge below the top.",
        style="dim",
    )
    show_warnings(screen, nut.warnings)


def _table(group: Sequence[Cell], slots: Iterable[Slot]) -> tuple[list[Column], list[list[str]]]:
    columns = [Column(title, right=index > 0) for index, (title, _) in enumerate(group)]
    return columns, [[cell(slot) for _, cell in group] for slot in slots]


def _groups(nut: Nut, screen: Screen) -> list[list[Cell]]:
    """The columns as one table, or as two or three where the terminal is narrow."""
    name: list[Cell] = [("string", lambda s: f"{s.number} {s.note}")]
    place: list[Cell] = [
        ("gauge in", lambda s: f"{s.gauge / 25.4:.4f}"),
        ("centre", lambda s: f"{nut.from_bass_end(s):.2f}"),
        ("width", lambda s: f"{s.width:.2f}"),
    ]
    cut: list[Cell] = [
        ("floor", lambda s: f"{s.floor_height:+.2f}"),
        ("seat", lambda s: f"{s.floor_z - float(nut.underside.z(s.x)):.2f}"),
        ("depth", lambda s: f"{s.depth:.2f}"),
        ("buried", lambda s: f"{s.buried:.0%}"),
    ]
    aim: list[Cell] = [
        ("tilt", lambda s: f"{s.tilt_deg:.1f}\N{DEGREE SIGN}"),
        ("fan", lambda s: f"{s.fan_deg:+.1f}\N{DEGREE SIGN}"),
        ("fret 1", lambda s: f"{s.first_fret_clearance:.2f}"),
        ("fret 12", lambda s: f"{s.action:.2f}"),
    ]
    for groups in (
        [name + place + cut + aim],
        [name + place + cut, name + aim],
        [name + place, name + cut, name + aim],
    ):
        if all(screen.fits(*_table(group, nut.slots)) for group in groups):
            break
    return groups


def show_warnings(screen: Screen, warnings: Sequence[str]) -> None:
    """Warnings one by one, or that there are none."""
    if not warnings:
        screen.say("No warnings.")
    for warning in warnings:
        screen.say(f"! {warning}", hang="  ")


def show_files(screen: Screen, folder: str, files: Iterable[tuple[str, int]]) -> None:
    """What was written, with sizes."""
    screen.say(folder, style="bold")
    rows = [(name, size_words(size)) for name, size in files]
    screen.table([Column("file"), Column("size", right=True)], rows, indent="  ")


def size_words(size: int) -> str:
    """A file size as people say it."""
    return f"{size} B" if size < 1000 else f"{size / 1000:.1f} kB" if size < 1_000_000 else f"{size / 1e6:.1f} MB"
