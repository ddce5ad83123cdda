"""Readings that cannot be, held against the rounds before: a string that rose, strings swapped."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

from nutgen.bench.dryfit.belief import Belief
from nutgen.bench.dryfit.fitlog import Round
from nutgen.bench.dryfit.readings import Gap

REPEATS = 0.015  # mm; leaves, string and hand repeat a reading this well
HARDLY = 0.25  # of what was meant; a filing that took no more has hardly been done
WORTH_A_WORD = 0.04  # mm
HEAVY_HAND = 2.0  # a fresh file may take off this many times what was meant
APART = 0.04  # mm between what two checks of one string tell

Between = tuple[float, float]
"""A floor lies between these, over the height wanted [mm]."""


@dataclass(frozen=True, slots=True)
class Known:
    """What the log tells of one string.

    floor   : after the last reading that was not in doubt, before what was then to be filed
    told    : what was to be filed off after it [mm]
    doubted : the last reading, where it was in doubt
    filed   : whether the filing has been done since, by what that reading came after
    """

    floor: Belief
    told: float
    doubted: Between | None = None
    filed: bool = False

    def after(self, work: str) -> Belief:
        """Once the work is done that was to follow the last round."""
        if work == "filing" or self.filed:
            return self.floor.filed(self.told)
        return self.floor if work == "nothing" else Belief.nothing()


@dataclass(frozen=True, slots=True)
class Doubts:
    """What does not go together with the rounds before.

    strings : in words, one a string; empty where there is nothing to doubt
    notes   : what is odd but may be
    """

    strings: tuple[str, ...]
    notes: tuple[str, ...]


def known_from(rounds: Sequence[Round], index: int, *, wanted: float) -> Known | None:
    """What a log tells of one string; None where it has not been read.

    index  : its place from the bass
    wanted : its floor over the fret plane, by the file as it is now [mm]
    """
    known: Known | None = None
    for entry in rounds:
        string = entry.strings[index]
        if string.doubt:
            filed = entry.after == "filing"
            known = known and Known(known.floor, known.told, meet(string.gaps, wanted=wanted), filed or known.filed)
            continue
        before = known.after(entry.after) if known else Belief.nothing()
        known = Known(before.read(over_wanted(string.gaps, wanted=wanted)), string.file_off)
    return known


def over_wanted(gaps: Sequence[Gap], *, wanted: float) -> list[Between]:
    """What each check tells of a floor, over the height wanted [mm]."""
    return [(gap.floor_low - wanted, gap.floor_high - wanted) for gap in gaps]


def meet(gaps: Sequence[Gap], *, wanted: float) -> Between:
    """What all checks of a string tell together, over the height wanted [mm]."""
    low, high = max(gap.floor_low for gap in gaps), min(gap.floor_high for gap in gaps)
    return min(low, high) - wanted, max(low, high) - wanted


def doubts(
    names: Sequence[str],
    now: Sequence[Between],
    known: Sequence[Known | None],
    swapped: Callable[[Sequence[int]], Sequence[Between]],
) -> Doubts:
    """Hold readings against the log.

    names   : of the strings, bass to treble
    now     : their floors as read
    known   : of each before; None where nothing is, or where the floor was raised since
    swapped : floors if the readings stood in another order, by the places they were read from

    A floor that is filed falls, by what it was told to, give or take; it never rises. A reading that
    says so and is then repeated is taken as true: something else has changed.
    """
    odd = [_odd(floor, base) for floor, base in zip(now, known, strict=True)]
    words, notes = [], []
    for name, kind, floor, base in zip(names, odd, now, known, strict=True):
        twice = kind == "rose" and base is not None and _repeated(floor, base)
        words.append(_rose_words(floor, base) if kind == "rose" and base and not twice else "")
        if twice:
            notes.append(f"{name}: higher than it was, and read so twice: taken as true")
        if kind == "stayed":
            notes.append(f"{name}: has hardly come down since the round before: filed since, and read at fret 1?")
        if kind == "fell" and base:
            notes.append(f"{name}: {_fell_words(floor, base)}")
    order = _order(odd, known, swapped) if any(words) else None
    if order is None:
        return Doubts(tuple(words), tuple(notes))
    moved = [index for index, place in enumerate(order) if place != index]
    pair = " and ".join(names[index] for index in moved)
    what = "the readings were listed treble to bass" if len(moved) > 2 else f"the readings of {pair} are swapped"
    told = [f"it looks as if {what}" + (f"; if not, {word}" if word else "") for word in words]
    words = [told[index] if index in moved else word for index, word in enumerate(words)]
    kept = [note for note in notes if not any(note.startswith(names[index]) for index in moved)]
    return Doubts(tuple(words), tuple(kept))


def _odd(floor: Between, base: Known | None) -> str:
    if base is None:
        return ""
    lowest, highest = base.floor.between()
    if floor[0] > highest + REPEATS:
        return "rose"
    if floor[1] < lowest - HEAVY_HAND * base.told - REPEATS:
        return "fell"
    stayed = base.told >= WORTH_A_WORD and floor[0] > base.floor.middle - HARDLY * base.told
    return "stayed" if stayed else ""


def _repeated(floor: Between, base: Known) -> bool:
    last = base.doubted
    return last is not None and floor[0] <= last[1] + REPEATS and floor[1] >= last[0] - REPEATS


def _order(
    odd: Sequence[str], known: Sequence[Known | None], swapped: Callable[[Sequence[int]], Sequence[Between]]
) -> list[int] | None:
    """The one order of strings in which nothing is odd: two swapped, or all turned round."""
    plain = list(range(len(odd)))
    orders = [_exchanged(plain, a, b) for a, b in combinations(plain, 2) if {odd[a], odd[b]} & {"rose"}]
    if plain[::-1] not in orders:
        orders.append(plain[::-1])
    fits = [o for o in orders if not {"rose", "fell"} & set(map(_odd, swapped(o), known))]
    return fits[0] if len(fits) == 1 else None


def _exchanged(order: Sequence[int], a: int, b: int) -> list[int]:
    other = list(order)
    other[a], other[b] = other[b], other[a]
    return other


def _rose_words(floor: Between, base: Known) -> str:
    by = floor[0] - base.floor.between()[1]
    return (
        f"it has risen by {by:.2f} mm at least, and filing can not raise a floor: is the string down in its slot, the"
        ' nut on its seat, no dust below? if it was filled or shimmed, say after = "fill" or "shim"'
    )


def _fell_words(floor: Between, base: Known) -> str:
    by = base.floor.between()[0] - floor[1]
    if base.told == 0.0:
        return f"{by:.2f} mm lower at least than before, with nothing to be filed: worn, or one of the two misread"
    return f"fell {by - base.told:.2f} mm more at least than was to be filed: a heavy hand, or a misread leaf"


def turned_round(read: Sequence[float], wanted: Sequence[float], *, step: float) -> bool:
    """Whether first readings fit the gaps wanted far better from the treble end [mm]."""
    if len(read) < 3 or max(wanted) - min(wanted) < step:
        return False
    as_read = max(abs(r - w) for r, w in zip(read, wanted, strict=True))
    turned = max(abs(r - w) for r, w in zip(reversed(read), wanted, strict=True))
    return turned <= step < as_read


def disagreeing(name: str, gaps: Sequence[Gap]) -> list[str]:
    """Where the checks of one string tell floors that can not be one."""
    apart = max(gap.floor_low for gap in gaps) - min(gap.floor_high for gap in gaps)
    if apart < APART:
        return []
    checks = " and ".join(gap.check for gap in gaps)
    return [
        f"{name}: {checks} tell floors {apart:.2f} mm apart: pressed down firmly at fret 3? a high fret among the first"
        " three? action and relief as they are now?"
    ]
