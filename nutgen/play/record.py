"""What `tension` says for a program: stable keys, bass to treble."""

from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from operator import attrgetter
from typing import Any

import numpy as np

from nutgen.finding import Finding
from nutgen.play.gauges import Suggestion
from nutgen.play.pull import Change, Pull

_PULLED = {
    "note": "strings.notes",
    **{name: f"strings.{name}" for name in ("gauge", "wound", "pitch_hz", "unit_mass_kg_per_m")},
    "unit_mass_basis": "strings.basis",
    **{name: name for name in ("tension_n", "error_n", "load_share", "state")},
}
"""Keys of a string, and where their values stand, one a string, in a `Pull`."""


def pull_record(pull: Pull) -> dict[str, Any]:
    """Pull of a set, [N] and the other units of the trade; `error_n` is the half width of the band."""
    count = len(pull.strings.notes)
    each = [{"number": count - i, **told_of_string(_PULLED, pull, i)} for i in range(count)]
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
            **{name: getattr(change, name) for name in ("total_n", "error_n", "direction", "relief")},
            "meaning": stop or change.meaning,
        }
    if suggestion is not None:
        record["suggestion"] = {
            "target_n": suggestion.target_n,
            "gauges": suggestion.gauge,
            **{name: getattr(suggestion, name) for name in ("tension_n", "reached", "beside", "beside_n", "total_n")},
            "range": [suggestion.low, suggestion.high],
        }
    return record


def told_of_string(keys: Mapping[str, Any], told: object, i: int) -> dict[str, Any]:
    """What stands for one string where the keys say: a path of attributes each, or keys of their own."""
    return {
        key: told_of_string(where, told, i) if isinstance(where, dict) else _entry(attrgetter(where)(told), i)
        for key, where in keys.items()
    }


def _entry(value: Any, i: int) -> Any:
    """The entry of one string: of an array, of each of several, of every field."""
    if is_dataclass(value):
        return {field.name: getattr(value, field.name)[i] for field in fields(value)}
    return value[i] if isinstance(value, np.ndarray) or np.ndim(value[0]) == 0 else [one[i] for one in value]
