"""A table of slips: each reading of every kind misread in the usual ways is told, or does no harm."""

import pytest

from nutgen.spec.presets import kind_names
from tests.cases import cases
from tests.kinds import without
from tests.nut.slips import Outcome, Slip, table

QUICK = [("bass-4", True), ("electric-6", False)]

MIRRORED = ("electric-6-left", False)
"""What electric-6 is, strung left: its readings are those of electric-6."""

FRETTED = without("lap")
"""Under a bar a straightedge lies on no frets."""

READ_ONCE = ("fretboard.radius", "seat.depth", "fretboard.fret_height", "seat")
"""Silent without a second reading: nothing else in the file bears depth, radius or fret height out. Every such file
is told what a straightedge over frets 1 and 2 must read (`seat.plane-not-measured`; behind a zero fret
`zero-fret.decides`, under a bar `lap.decides`), and with that reading in the file all are told."""

SMALL = {
    ("setup.relief", "doubled"): "a bow as necks have it; it costs 0.05 at most",
    ("fretboard.radius", "the next flatter gauge"): "under 0.15 apart at the edges, where readings may differ",
    ("fretboard.radius", "the next rounder gauge"): "under 0.15 apart at the edges, where readings may differ",
}
"""Silent with a second reading too, each with its reason."""


def listed(slip: Slip, *, straightedge: bool) -> bool:
    return (slip.place, slip.how) in SMALL or (not straightedge and slip.place in READ_ONCE)


@pytest.mark.parametrize(
    ("kind", "straightedge"),
    cases(
        *QUICK,
        slow=[
            (kind, by)
            for kind in kind_names()
            for by in (False, True)
            if (kind, by) not in (*QUICK, MIRRORED) and not (by and kind not in FRETTED)
        ],
    ),
)
def test_every_slip_is_told_or_harmless(kind: str, straightedge: bool) -> None:
    silent: list[tuple[Slip, Outcome]] = []
    counts = {"told": 0, "harmless": 0}
    for slip, came in table(kind, straightedge=straightedge):
        counts["told"] += bool(came.told)
        counts["harmless"] += not came.told and came.harmless
        if not came.told and not came.harmless and not listed(slip, straightedge=straightedge):
            silent.append((slip, came))
    assert silent == []
    assert counts["told"] > 20, counts
