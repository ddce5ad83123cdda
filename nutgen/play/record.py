"""What `tension` says for a program: stable keys, bass to treble."""

from collections.abc import Sequence
from typing import Any

from nutgen.finding import Finding
from nutgen.play.gauges import Suggestion
from nutgen.play.pull import Change, Pull


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
    pull: Pull, change: Change | None, suggestion: Suggestion | None, findings: Sequence[Finding]
) -> dict[str, Any]:
    """Everything that `tension` says."""
    record = {**pull_record(pull), "findings": [*findings, *pull.assumed]}
    stop = next((one for one in findings if one.code == "pull.back-bow-stays"), None)
    if change is not None:
        record["change"] = {
            "before": pull_record(change.before),
            "by_string_n": change.by_string,
            "total_n": change.total_n,
            "error_n": change.error_n,
            "direction": change.direction,
            "relief": change.relief,
            "meaning": stop or change.meaning,
        }
    if suggestion is not None:
        record["suggestion"] = {
            "target_n": suggestion.target_n,
            "gauges": suggestion.gauge,
            "tension_n": suggestion.tension_n,
            "reached": suggestion.reached,
            "beside": suggestion.beside,
            "beside_n": suggestion.beside_n,
            "total_n": suggestion.total_n,
            "range": [suggestion.low, suggestion.high],
        }
    return record
