"""Readings that cannot be, held against the rounds before: a string that rose, strings swapped."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal

from nutgen.bench.dryfit.belief import Belief, FloorRange
from nutgen.bench.dryfit.fitlog import LoggedString, Round
from nutgen.bench.dryfit.hand import Hand
from nutgen.bench.dryfit.readings import Gap
from nutgen.finding import Finding, Subject, note, warning

REPEATS = 0.015  # mm; leaves, string and hand repeat a reading this well
HARDLY = 0.25  # of what was meant; a filing that took no more has hardly been done
WORTH_A_WORD = 0.04  # mm
HEAVY_HAND = 2.0  # a fresh file may take off this many times what was meant
APART = 0.04  # mm between what two checks of one string tell

Odd = Literal["", "rose", "stayed", "fell"]


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
    doubted: FloorRange | None = None
    filed: bool = False

    def after(self, work: str, hand: Hand) -> Belief:
        """Once the work is done that was to follow the last round."""
        if work == "filing" or self.filed:
            return self.floor.filed(self.told, hand)
        return self.floor if work == "nothing" else Belief.nothing()


@dataclass(frozen=True, slots=True)
class Doubts:
    """What does not go together with the rounds before.

    strings : one a string; None where there is nothing to doubt
    notes   : what is odd but may be
    """

    strings: tuple[Finding | None, ...]
    notes: tuple[Finding, ...]


Read = Sequence[Sequence[Gap]]


def known_from(
    rounds: Sequence[Round], wanted: Sequence[float], hand: Hand, *, attempt: Round | None = None
) -> tuple[list[Known | None], Hand]:
    """What a log tells of every string, None where it has not been read, and of the hand.

    rounds  : of these strings, oldest first
    wanted  : floors over the fret plane, by the file as it is now [mm]
    hand    : as it was known before these rounds
    attempt : readings in doubt that are not in the log; older logs hold such as rounds
    """
    known: list[Known | None] = [None] * len(wanted)
    for entry in rounds:
        read = [() if string.doubt else string.gaps for string in entry.strings]
        hand = learned(hand, known, read, wanted, after=entry.after)
        known = [
            _then_read(before, string, hand, after=entry.after, wanted=height)
            for before, string, height in zip(known, entry.strings, wanted, strict=True)
        ]
    for index, string in enumerate(attempt.strings if attempt else ()):
        before = known[index]
        if before and string.doubt:
            known[index] = replace(before, doubted=meet(string.gaps, wanted=wanted[index]))
    return known, hand


def hand_of(nuts: Sequence[Sequence[Round]]) -> Hand:
    """What the logs of nuts tell of the hand that filed them, oldest first."""
    hand = Hand()
    for rounds in nuts:
        _, hand = known_from(rounds, [string.floor_wanted for string in rounds[-1].strings], hand)
    return hand


def _then_read(known: Known | None, string: LoggedString, hand: Hand, *, after: str, wanted: float) -> Known | None:
    if string.doubt:
        return known and replace(
            known, doubted=meet(string.gaps, wanted=wanted), filed=after == "filing" or known.filed
        )
    before = known.after(after, hand) if known else Belief.nothing()
    return Known(before.read(string.gaps, wanted=wanted), string.file_off)


def learned(hand: Hand, known: Sequence[Known | None], read: Read, wanted: Sequence[float], *, after: str) -> Hand:
    """The hand, once these readings show what its last filing took off.

    read : every string's checks; none where they are in doubt
    """
    filed = []
    for before, gaps, height in zip(known, read, wanted, strict=True):
        if before and gaps and before.told > 0.0 and (after == "filing" or (before.filed and after == "nothing")):
            now = Belief.nothing().read(gaps, wanted=height)
            filed.append((before.told, before.floor.mean - now.mean, before.floor.variance + now.variance))
    return hand.learned(filed) if filed else hand


def meet(gaps: Sequence[Gap], *, wanted: float) -> FloorRange:
    """What all checks of a string tell together, over the height wanted [mm]."""
    low, high = max(gap.floor_low for gap in gaps), min(gap.floor_high for gap in gaps)
    return FloorRange(min(low, high) - wanted, max(low, high) - wanted)


def doubts(
    strings: Sequence[Subject],
    now: Sequence[FloorRange],
    known: Sequence[Known | None],
    swapped: Callable[[Sequence[int]], Sequence[FloorRange]],
) -> Doubts:
    """Hold readings against the log.

    strings : bass to treble
    now     : their floors as read
    known   : of each before; None where nothing is, or where the floor was raised since
    swapped : floors if the readings stood in another order, by the places they were read from

    A floor that is filed falls, by what it was told to, give or take; it never rises. A reading that
    says so and is then repeated is taken as true: something else has changed.
    """
    odd = [_odd(floor, base) for floor, base in zip(now, known, strict=True)]
    found: list[Finding | None] = [None] * len(strings)
    notes = []
    for index, (string, floor, base) in enumerate(zip(strings, now, known, strict=True)):
        match odd[index]:
            case "rose" if base and not _repeated(floor, base):
                found[index] = warning("dry-fit.rose", string, by=floor.low - base.floor.between().high)
            case "rose":
                notes.append(note("dry-fit.rose-twice", string))
            case "stayed":
                notes.append(note("dry-fit.stayed", string))
            case "fell" if base:
                notes.append(_fell(string, floor, base))
    order = _order(odd, known, swapped) if any(found) else None
    if order is None:
        return Doubts(tuple(found), tuple(notes))
    moved = [index for index, place in enumerate(order) if place != index]
    others = [strings[index] for index in moved]
    for index in moved:
        found[index] = _misplaced(others if len(moved) == 2 else [strings[index]], found[index])
    return Doubts(tuple(found), tuple(one for one in notes if one.about[0] not in others))


def _misplaced(strings: Sequence[Subject], otherwise: Finding | None) -> Finding:
    code = "dry-fit.swapped" if len(strings) == 2 else "dry-fit.turned-round"
    return warning(code, *strings, **({"if_not": otherwise} if otherwise else {}))


def _odd(floor: FloorRange, base: Known | None) -> Odd:
    if base is None:
        return ""
    before = base.floor.between()
    if floor.low > before.high + REPEATS:
        return "rose"
    if floor.high < before.low - HEAVY_HAND * base.told - REPEATS:
        return "fell"
    stayed = base.told >= WORTH_A_WORD and floor.low > base.floor.middle - HARDLY * base.told
    return "stayed" if stayed else ""


def _repeated(floor: FloorRange, base: Known) -> bool:
    last = base.doubted
    return last is not None and floor.low <= last.high + REPEATS and floor.high >= last.low - REPEATS


def _order(
    odd: Sequence[Odd], known: Sequence[Known | None], swapped: Callable[[Sequence[int]], Sequence[FloorRange]]
) -> list[int] | None:
    """The one order of strings in which nothing is odd: two swapped, or all turned round."""
    plain = list(range(len(odd)))
    pairs = [pair for pair in combinations(plain, 2) if "rose" in (odd[pair[0]], odd[pair[1]])]
    orders = [[{a: b, b: a}.get(place, place) for place in plain] for a, b in pairs]
    if plain[::-1] not in orders:
        orders.append(plain[::-1])
    fits = [o for o in orders if not {"rose", "fell"} & set(map(_odd, swapped(o), known))]
    return fits[0] if len(fits) == 1 else None


def _fell(string: Subject, floor: FloorRange, base: Known) -> Finding:
    by = base.floor.between().low - floor.high
    if base.told == 0.0:
        return note("dry-fit.fell-unfiled", string, by=by)
    return note("dry-fit.fell-too-far", string, by=by - base.told)


def turned_round(read: Sequence[float], wanted: Sequence[float], *, step: float) -> bool:
    """Whether first readings fit the gaps wanted far better from the treble end [mm]."""
    if len(read) < 3 or max(wanted) - min(wanted) < step:
        return False
    as_read = max(abs(r - w) for r, w in zip(read, wanted, strict=True))
    turned = max(abs(r - w) for r, w in zip(reversed(read), wanted, strict=True))
    return turned <= step < as_read


def disagreeing(string: Subject, gaps: Sequence[Gap]) -> list[Finding]:
    """Where the checks of one string tell floors that can not be one."""
    apart = max(gap.floor_low for gap in gaps) - min(gap.floor_high for gap in gaps)
    if apart < APART:
        return []
    return [warning("dry-fit.checks-disagree", string, checks=tuple(gap.check for gap in gaps), apart=apart)]
