"""What a program reads: stable keys, mm, the words of the trade; findings with their sentences."""

import hashlib
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np

from nutgen import __version__
from nutgen.bench.materials import MATERIALS, STRINGS_WHIP
from nutgen.documents.words import sentence
from nutgen.finding import Finding
from nutgen.nut import Nut, Slot
from nutgen.nut.setback import fronts, rebate
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec


def nut_record(spec: Spec, nut: Nut, *, volume: float | None = None) -> dict[str, Any]:
    """Every number of a solved nut.

    volume  : of the solid as made, allowances included, where one was made [mm^3]
    returns : values for json.dumps; lengths in mm, strings bass to treble
    """
    material, (bass, treble) = MATERIALS[nut.material], nut.bass_and_treble
    sizes = {
        **own_values(nut),
        "length": nut.length,
        "height": nut.height,
        "seat_kind": nut.seat.kind,
        "top_radius": nut.top_radius,
        "top_z": nut.crown.z0,
        "top_slope_deg": nut.crown.slope_deg,
        "underside_z": nut.underside.z0,
        "in_neck": nut.in_neck.matrix,
        "ends": {"bass": bass, "treble": treble},
        "extent": nut.extent,
    }
    if volume is not None:
        sizes["volume"] = volume
    return plain(
        {
            **head(spec),
            "nut": sizes,
            "allowances": nut.allowances,
            "blank": nut.blank,
            "shelf": _shelf_record(nut) if nut.shelves.alone else None,
            "strings": [_slot_record(nut, slot) for slot in nut.slots],
            "findings": nut.findings,
            "cautions": (*material.cautions, material.in_short, STRINGS_WHIP),
        }
    )


def _shelf_record(nut: Nut) -> dict[str, Any]:
    return {"off_the_board": nut.shelves.clear, "rebate": rebate(nut), "fronts": fronts(nut)}


_OF_FRETS = ("first_fret_clearance", "action", "action_now")
"""What is told of strings that are pressed on frets alone."""


def _slot_record(nut: Nut, slot: Slot) -> dict[str, Any]:
    """Numbers of a slot, with what they come to on this nut; width and depth say whose they are."""
    values = own_values(slot, width="slot_width", depth="slot_depth")
    return {
        **{key: value for key, value in values.items() if nut.tops is None or key not in _OF_FRETS},
        "from_bass_end": nut.from_bass_end(slot),
        "floor_above_seat": nut.floor_over_seat(slot),
        "floor": "rolled" if slot.rolled else "straight",
        "end_tilt_deg": slot.tilt_at(nut.thickness),
        **{name: on for name in ("zero_fret", "guide") if (on := getattr(slot, name))},
    }


def own_values(one: Nut | Slot, **names: str) -> dict[str, Any]:
    """Every number and word that it carries itself, so that a new one is told without more.

    names : of those that a program reads under another
    """
    values = {field.name: getattr(one, field.name) for field in fields(one)}
    return {names.get(name, name): value for name, value in values.items() if isinstance(value, int | float | str)}


def head(spec: Spec) -> dict[str, Any]:
    """What every record starts with."""
    return {"units": "mm", "title": spec.title, "hash": spec_hash(spec), "version": __version__}


def plain(value: Any) -> Any:
    """Anything as plain values for JSON.

    Floats to a millionth, far below any file or string, what is not known as null, arrays as lists, dataclasses
    by field, findings with their sentence in mm.
    """
    if isinstance(value, Finding):
        return {
            "code": value.code,
            "severity": value.severity,
            "about": plain(value.about),
            "values": plain(dict(value.values)),
            "sentence": sentence(value),
        }
    if isinstance(value, float):
        return round(value, 6) + 0.0 if math.isfinite(value) else None
    if isinstance(value, np.ndarray | np.generic):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    return value


def digest(content: bytes) -> dict[str, Any]:
    """Size and SHA-256 of a file's content."""
    return {"bytes": len(content), "sha256": hashlib.sha256(content).hexdigest()}
