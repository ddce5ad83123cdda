"""What a reading that was not taken may cost: the nut made anew from other plausible values of it."""

import math
from collections.abc import Callable, Iterator
from dataclasses import astuple, replace
from typing import Any

import numpy as np

from nutgen.errors import CannotBeMade, SpecFaults
from nutgen.finding import Finding, of_key, warning
from nutgen.nut.edges import blank_of
from nutgen.nut.part import Part
from nutgen.spec.read import overruled
from nutgen.spec.tables import MEASURED_KEYS, Spec
from nutgen.spec.values import Across
from nutgen.theory import Array

SHARES_OF_THE_WAY = (1.0, 0.5, 0.25, 0.125)
"""How far a value is moved toward the end of its range: the first that gives a nut. Common practice, no source."""


def unmeasured(spec: Spec, nut: Part, made: Callable[[Spec], Part]) -> Iterator[Finding]:
    """What each reading of `spec.not_measured` may cost.

    Parameters
    ----------
    spec : Spec
        The file.
    nut : Part
        As made from it, strung right-handed.
    made : callable
        Makes one from another file, strung right-handed too.

    Yields
    ------
    Finding
        A warning each, of all posts together: how far slot floors, blank and places of slots move at most while the
        reading goes over its range [mm], and the ends of that range as far as they give a nut.
    """
    posts = tuple(path for path in spec.not_measured if path.startswith("strings["))
    single = [(path,) for path in spec.not_measured if path not in posts]
    for paths in [*single, *([posts] if posts else ())]:
        who, rule = tuple(map(of_key, paths)), MEASURED_KEYS["strings.post" if paths is posts else paths[0]]
        reached = [found for path in paths for found in _reached(spec, path, made)]
        if not reached:
            yield warning("reading.not-measured-unknown", *who)
            continue
        moved = zip(*(_moved(nut, other) for _, other in reached), strict=True)
        tried = {} if paths is posts else {f"tried{'_deg' * paths[0].endswith('_deg')}": tuple(at for at, _ in reached)}
        values = dict(zip(("floors", "blank", "places"), map(max, moved), strict=True))
        yield warning("reading.not-measured", *who, **values, **tried, is_share=isinstance(rule, float))


def _reached(spec: Spec, path: str, made: Callable[[Spec], Part]) -> Iterator[tuple[Any, Part]]:
    """Either end of a reading's range, or as near to it as gives a nut, with the nut."""
    for end in range(6 if path.startswith("strings[") else 2):
        for share in SHARES_OF_THE_WAY:
            value, changes = _change(spec, path, end, share)
            try:
                yield value, made(overruled(spec, changes))
                break
            except (SpecFaults, CannotBeMade):
                continue


def _change(spec: Spec, path: str, end: int, share: float) -> tuple[Any, dict[str, Any]]:
    """A reading at a share of the way to an end of its range: as it is told, and as it goes to the door."""
    table, _, key = path.partition(".")
    if table.startswith("strings["):
        return _change_of_post(spec, int(table[len("strings[") : -1]) - 1, end, share)
    now, rule = getattr(getattr(spec, table), key), MEASURED_KEYS[path]
    if isinstance(rule, float):
        value = _toward(now, 1.0 - rule * share if end == 0 else 1.0 + rule * share, 1.0, times=True)
    elif isinstance(now, str):
        value = rule[end]
    else:
        value = _toward(now, rule[end], share)
    return _told(value), {table: {key: "flat" if value == math.inf else value}}


def _change_of_post(spec: Spec, index: int, end: int, share: float) -> tuple[Any, dict[str, Any]]:
    """One of its three lengths more or less, by a share of the range."""
    string, side, rule = spec.strings[index], ("y", "x", "drop")[end // 2], MEASURED_KEYS["strings.post"]
    assert string.post is not None
    assert isinstance(rule, float)
    value = getattr(string.post, side) * (1.0 + (rule if end % 2 else -rule) * share)
    moved = string.model_copy(update={"post": replace(string.post, **{side: value})})
    return value, {"strings": (*spec.strings[:index], moved, *spec.strings[index + 1 :])}


def _toward(now: Any, end: Any, share: float, *, times: bool = False) -> Any:
    """A value moved toward one end of its range, or `end` times itself; a radius that may be flat by its curvature."""
    if isinstance(now, tuple):
        return tuple(_toward(one, end, share, times=times) for one in now)
    if isinstance(now, Across):
        return replace(now, values=_toward(now.values, end, share, times=times))
    if times:
        return now * end
    if isinstance(now, int):
        return round(now + (end - now) * share)
    if math.inf in (now, end):
        curved = 1.0 / now + (1.0 / end - 1.0 / now) * share
        return 1.0 / curved if curved else math.inf
    return now + (end - now) * share


def _told(value: Any) -> Any:
    if value == math.inf:
        return "flat"
    return value.bass if isinstance(value, Across) else value[0] if isinstance(value, tuple) else value


def _moved(nut: Part, other: Part) -> tuple[float, float, float]:
    """How far floors over the seat, the blank's sizes and places of slots differ at most, front face and back [mm]."""
    floors, places = (np.max(np.abs(a - b)) for a, b in zip(_ends_of(nut), _ends_of(other), strict=True))
    sizes = np.subtract(astuple(blank_of(other)), astuple(blank_of(nut)))
    return float(floors), float(np.max(np.abs(sizes))), float(places)


def _ends_of(nut: Part) -> tuple[Array, Array]:
    """Floors over the seat and places from the bass end, at the front face and where each slot leaves the back."""
    slots, run = nut.slots, nut.thickness
    floors = np.array([nut.floor_over_seat(slot) for slot in slots])
    places = np.array([nut.from_bass_end(slot) for slot in slots])
    falls, turns = (np.tan(np.radians([getattr(slot, key) for slot in slots])) for key in ("tilt_deg", "fan_deg"))
    return np.array([floors, floors - run * falls]), np.array([places, places + run * turns])
