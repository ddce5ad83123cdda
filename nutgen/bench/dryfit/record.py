"""A dry fit as plain values for JSON."""

from dataclasses import asdict
from typing import Any

from nutgen import __version__
from nutgen.bench.dryfit.judge import Fit, StringFit
from nutgen.bench.dryfit.ways_back import WayBack
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec


def fit_record(spec: Spec, fit: Fit, *, number: int) -> dict[str, Any]:
    """Everything that a dry fit says; lengths in mm, strings bass to treble.

    number : of the round, 1 for the first of these strings
    """
    return {
        "units": "mm",
        "title": spec.title,
        "hash": spec_hash(spec),
        "version": __version__,
        "round": number,
        "time": fit.entry.time,
        "done": fit.done,
        "truss_rod_first": fit.rod_first or None,
        "strings": [_string(string) for string in fit.strings],
        "ways_back": [_way(way) for way in fit.ways_back],
        "remarks": list(fit.remarks),
        "cautions": [asdict(note) for note in fit.cautions],
    }


def _string(string: StringFit) -> dict[str, Any]:
    return {
        "number": string.number,
        "note": string.note,
        "verdict": string.verdict,
        "words": string.words,
        "floor_off": {"low": string.low, "high": string.high},
        "in_tolerance_for_sure": string.sure,
        "file_off": string.file_off,
        "steps": [asdict(step) for step in string.steps],
        "then_reads": {"check": string.gaps[0].check, "low": string.expect[0], "high": string.expect[1]},
        "action_falls": string.action_falls,
        "readings": [asdict(gap) for gap in string.gaps],
    }


def _way(way: WayBack) -> dict[str, Any]:
    record: dict[str, Any] = {"way": way.way, "words": way.words}
    if way.packing is not None:
        record["thickness"] = way.packing.thickness
        record["strings"] = [
            {
                "number": raised.number,
                "note": raised.note,
                "first_fret_clearance": raised.clearance,
                "first_fret_clearance_now": raised.clearance_now,
                "file_off": raised.file_off,
            }
            for raised in way.raised
        ]
    return record
