"""What the log tells of wear: clearances of one nut at one relief, over the months."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

import numpy as np

from nutgen.bench.dryfit.fitlog import Entry, Reading, Round
from nutgen.finding import Finding, note, warning
from nutgen.nut.part import Nut
from nutgen.play.buzz import buzz

LEAST_READINGS, LEAST_DAYS, LEAST_DROP = 3, 182, 0.1
"""Before a rate of wear is named: readings, days from the first to the last, and how far it has come down [mm]. Common
practice, no source."""

SAME_RELIEF = 0.05
"""Within which a relief is the same: it moves the clearance over fret 1 by less than a leaf. Common practice [mm]."""

YEAR = 365.25


def of_this_nut(nut: Nut, entries: Sequence[Entry]) -> list[Reading]:
    """Readings of the same strings at the relief of the last one, since a slot was last filed; oldest first."""
    notes = tuple(slot.note for slot in nut.slots)
    filed = max((place for place, one in enumerate(entries) if isinstance(one, Round)), default=-1)
    read = [one for one in entries[filed + 1 :] if isinstance(one, Reading) and one.notes == notes]
    return sorted(
        (one for one in read if abs(one.relief - read[-1].relief) <= SAME_RELIEF), key=lambda one: _time(one.read)
    )


def wear_told(nut: Nut, entries: Sequence[Entry]) -> Iterator[Finding]:
    """How fast each slot wears, and when it will buzz; or why that cannot be told yet; nothing under a bar."""
    if nut.tops is not None:
        return
    read = of_this_nut(nut, entries)
    days = np.array([(_time(one.read) - _time(read[0].read)) / timedelta(days=1) for one in read])
    if len(read) < LEAST_READINGS or days[-1] < LEAST_DAYS:
        span = float(days[-1]) if read else 0.0
        yield note("wear.too-early", count=len(read), span=round(span), least=LEAST_READINGS, least_span=LEAST_DAYS)
        return
    lowest, worn = buzz(nut).lowest_clearance, False
    for index, slot in enumerate(nut.slots):
        over = np.array([one.clearance[index] for one in read])
        drop = float(over[0] - over[-1])
        if drop <= LEAST_DROP:
            continue
        per_day, at_start = np.polyfit(days, over, 1)
        left = (lowest[index] - at_start) / per_day if per_day < 0.0 else math.nan
        until = ""
        if math.isfinite(left) and left < 100.0 * YEAR:
            until = (_time(read[0].read) + timedelta(days=float(left))).date().isoformat()
        worn = True
        values = {"drop": drop, "months": round(days[-1] / YEAR * 12.0), "in_a_year": -float(per_day) * YEAR}
        yield warning("wear.rate", slot.who, **values, until=until, lowest=float(lowest[index]))
    if not worn:
        yield note("wear.none", most=LEAST_DROP)
    yield note("wear.frets-hide")


def _time(text: str) -> datetime:
    return datetime.fromisoformat(text)
