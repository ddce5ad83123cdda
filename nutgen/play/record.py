"""What the play commands say as plain values for JSON: stable keys, mm, bass to treble."""

import math
from typing import Any

import numpy as np

from nutgen import __version__
from nutgen.play.gauges import Suggestion
from nutgen.play.pull import Change, Pull
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec


def head(spec: Spec) -> dict[str, Any]:
    """What every record starts with."""
    return {"units": "mm", "title": spec.title, "hash": spec_hash(spec), "version": __version__}


def plain(value: Any) -> Any:
    """Arrays to lists, floats to a millionth, what is not known to None."""
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, float):
        return round(value, 6) + 0.0 if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    return value


def pull_record(pull: Pull) -> dict[str, Any]:
    """Pull of a set, [N] and the other units of the trade; `error_n` is the half width of the band."""
    strings = pull.strings
    count = len(strings.notes)
    each = [
        {
            "number": count - i,
            "note": strings.notes[i],
            "gauge": strings.gauge[i],
            "wound": strings.wound[i],
            "pitch_hz": strings.pitch_hz[i],
            "unit_mass_kg_per_m": strings.unit_mass_kg_per_m[i],
            "unit_mass_basis": strings.basis[i],
            "tension_n": pull.tension_n[i],
            "error_n": pull.error_n[i],
            "load_share": pull.load_share[i],
            "state": pull.state[i],
        }
        for i in range(count)
    ]
    return {"strings": each, "total_n": pull.total_n, "total_error_n": pull.total_error_n}


def tension_record(
    spec: Spec, pull: Pull, change: Change | None, suggestion: Suggestion | None, warnings: list[str]
) -> dict[str, Any]:
    """Everything that `tension` says."""
    record = {**head(spec), **pull_record(pull), "assumptions": list(pull.assumptions), "warnings": warnings}
    if change is not None:
        record["change"] = {
            "before": pull_record(change.before),
            "by_string_n": change.by_string,
            "total_n": change.total_n,
            "error_n": change.error_n,
            "direction": change.direction,
            "relief": change.relief,
            "meaning": change.meaning,
        }
    if suggestion is not None:
        record["suggestion"] = {
            "target_n": suggestion.target_n,
            "gauges": suggestion.gauge,
            "tension_n": suggestion.tension_n,
            "reached": suggestion.reached,
            "total_n": suggestion.total_n,
            "range": [suggestion.low, suggestion.high],
        }
    return plain(record)
