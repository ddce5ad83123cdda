"""The judgement of the old nut as plain values for JSON."""

from typing import Any

from nutgen import __version__
from nutgen.bench.reuse import OldSlot, Reuse
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec


def reuse_record(spec: Spec, judged: Reuse) -> dict[str, Any]:
    """Everything that `reuse` says; lengths in mm, strings bass to treble."""
    return {
        "units": "mm",
        "title": spec.title,
        "hash": spec_hash(spec),
        "version": __version__,
        "verdict": judged.verdict,
        "reason": judged.reason,
        "shim": round(judged.shim, 6),
        "strings": [_slot(old, judged.shim) for old in judged.slots],
        "findings": judged.assumed,
    }


def _slot(old: OldSlot, shim: float) -> dict[str, Any]:
    lengths = {
        "gauge": old.slot.gauge,
        "slot_width": old.width,
        "wanted_width": old.slot.width,
        "widen_to": old.widen_to,
        "too_wide_by": old.too_wide_by,
        "off_position_by": old.off,
        "floor_height": old.floor_height,
        "wanted_floor_height": old.slot.floor_height,
        "too_low_by": old.too_low_by,
        "file_down_with_shim": old.lower_by + shim,
    }
    return {
        "number": old.slot.number,
        "note": old.slot.note,
        **{key: None if value is None else round(value, 6) + 0.0 for key, value in lengths.items()},
        "misplaced": old.misplaced,
        "steps": list(old.steps) or ["keep"],
        "remark": old.remark,
    }
