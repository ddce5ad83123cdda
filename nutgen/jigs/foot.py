"""The foot of a jig that stands on the bench: a plate with what is to be known of it in raised letters."""

from collections.abc import Sequence

from nutgen.geometry.kernel import Solid
from nutgen.jigs.shapes.form import Form
from nutgen.jigs.shapes.marks import ROW, long, raised
from nutgen.jigs.task import Task

FOOT_HIGH = 3.0
"""Of the plate [mm]."""

MARGIN = 2.0
"""Around the letters [mm]."""

LEAST_LONG = sum(map(long, ("BASS", "BRIDGE", "TREBLE"))) + 2.0 * 4.0 + 2.0 * MARGIN
"""So that bass, bridge and treble stand side by side [mm]."""


def strip(form: Form, task: Task, name: str, across: tuple[float, float], front: float, high: float) -> None:
    """A strip toward the bridge with name, hash, strings, bass and treble.

    across : least and greatest x of the jig
    front  : where the strip ends toward the nut, y [mm]
    high   : of the strip [mm]
    """
    deep = 4.0 * ROW + MARGIN
    left, right = wide(across)
    form.box((left, front - deep, 0.0), (right, front + 1.0, high))
    rows = [front - MARGIN / 2.0 - (n + 1) * ROW + 0.8 for n in range(4)]
    form.marks(numbers(task, rows[0], rows[1], high))
    bass, treble = ("BASS", "TREBLE") if task.nut.strung == "right" else ("TREBLE", "BASS")
    form.marks(row([bass, "BRIDGE", treble], left, right, rows[2], high))
    form.marks(row([name, task.mark], left, right, rows[3], high))


def wide(across: tuple[float, float]) -> tuple[float, float]:
    """The span of a foot: of its jig, and wide enough for its letters [mm]."""
    middle, half = (across[0] + across[1]) / 2.0, max(across[1] - across[0], LEAST_LONG) / 2.0
    return middle - half, middle + half


def row(words: Sequence[str], left: float, right: float, y: float, z: float) -> list[Solid]:
    """Words over the whole room, from its left to its right, as much between one and the next."""
    spare = right - left - 2.0 * MARGIN - sum(long(word) for word in words)
    x, made = left + MARGIN, []
    for word in words:
        made += raised(word, (x, y), z)
        x += long(word) + spare / max(1, len(words) - 1)
    return made


def numbers(task: Task, near: float, far: float, z: float) -> list[Solid]:
    """The strings' numbers before their slots, in two rows by turns; where there is no room a number is left out."""
    made: list[Solid] = []
    ends = {near: -1e9, far: -1e9}
    for place, slot in enumerate(sorted(task.nut.slots, key=lambda slot: slot.x)):
        words, y = str(slot.number), (near, far)[place % 2]
        start = slot.x - long(words) / 2.0
        if start >= ends[y] + 0.8:
            made += raised(words, (start, y), z)
            ends[y] = start + long(words)
    return made
