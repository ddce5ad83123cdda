"""What two keys of a piece file say about each other: faults that no single key shows."""

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from nutgen.finding import Finding, Value, of_key, refusal
from nutgen.spec.cross_playing import Check, checked, given_together
from nutgen.spec.piece import MESH_SUFFIXES, Ends, Scan, Station, is_mesh, middles
from nutgen.spec.values import DIGITS, shown

Stations = tuple[Station, ...]

CLOSEST = 1.0  # mm between two stations: nearer ones say more of the caliper than of the piece
STEEPEST = 1.0  # sideways or up over along: 45 degrees; a piece so bent is measured along another straightedge
MOST_TURN_DEG = 60.0  # between two stations: beyond it the twist could as well go the other way round
LEAST_WALL = 0.05  # mm between core and skin
WALLS_APART = 0.2  # mm that two walls across from each other leave between them at least
_ANGLES = [math.radians(3.0 * step) for step in range(120)]


def piece_faults(parts: Mapping[str, Any], *, given: frozenset[str], places: Sequence[float]) -> list[Finding]:
    """Every fault between the tables of a piece file that are whole by themselves.

    parts  : table name -> validated table; tables with faults of their own are absent
    given  : keys that the file holds, sound or not
    places : of the stations, where these can be read though the stations have other faults [mm]
    """
    stations = parts.get("stations") or None
    places = [station.at for station in stations or ()] or places
    known = {"scan": None, **parts, "given": given, "stations": stations, "places": places}
    return list(checked(known | {"no_core": parts.get("no_core") or None}, _CHECKS))


def _at(index: int, at: str, code: str, **values: Value) -> Finding:
    """A fault of one station."""
    return refusal(code, of_key(f"stations[{index}].{at}"), **values)


def _one_source(given: frozenset[str]) -> Iterator[Finding]:
    if {"stations", "scan"} <= given:
        yield given_together("scan", "[[stations]]")
    if not {"stations", "scan"} & given:
        yield refusal("stations.no-source", of_key("stations"))


def _number_of_stations(stations: Stations) -> Iterator[Finding]:
    if len(stations) == 1:
        yield refusal("stations.only-one", of_key("stations"))


def _in_order(places: Sequence[float]) -> Iterator[Finding]:
    if len(places) > 2 and all(a > b for a, b in pairwise(places)):
        yield refusal("stations.last-first", of_key("stations"))
        return
    in_metres = bool(places) and 0.005 <= places[-1] <= 2.0
    for index, (before, here) in enumerate(pairwise(places), 2):
        step = round(here - before, DIGITS)
        if step < 0.0:
            yield _at(index, "at", "stations.out-of-order", written=here, before=before)
        elif step == 0.0:
            yield _at(index, "at", "stations.same-place", written=here)
        elif step < CLOSEST:
            metres = shown(here * 1000.0) if in_metres else ""
            yield _at(index, "at", "stations.too-close", apart=step, least=CLOSEST, likely=metres)


def _middles_known(stations: Stations) -> Iterator[Finding]:
    for gap, offset in (("gap_side", "sideways"), ("gap_back", "up")):
        measured = [getattr(station, gap) is not None for station in stations]
        for index, station in enumerate(stations, 1):
            if any(measured) and not measured[index - 1]:
                yield _at(index, gap, "stations.gap-missing")
            if measured[index - 1] and offset in station.model_fields_set:
                yield given_together(f"stations[{index}].{gap}", offset)


def _bow(stations: Stations) -> Iterator[Finding]:
    if any(_middles_known(stations)):
        return
    for index, (before, here) in enumerate(pairwise(zip(stations, middles(stations), strict=True)), 2):
        along = here[0].at - before[0].at
        for axis, offset, gap in ((0, "sideways", "gap_side"), (1, "up", "gap_back")):
            moved = abs(here[1][axis] - before[1][axis])
            if along >= CLOSEST and moved > STEEPEST * along:
                key = offset if getattr(here[0], gap) is None else gap
                yield _at(index, key, "stations.too-steep", moved=moved, along=along)


def _twist(stations: Stations) -> Iterator[Finding]:
    for index, (before, here) in enumerate(pairwise(stations), 2):
        turn, last = here.turn_deg, before.turn_deg
        if abs(turn - last) > MOST_TURN_DEG:
            code = "stations.too-twisted"
            yield _at(index, "turn_deg", code, written_deg=turn, before_deg=last, most_deg=MOST_TURN_DEG)


def _cores(stations: Stations) -> Iterator[Finding]:
    for index, station in enumerate(stations, 1):
        if station.wall is not None and station.core is not None:
            yield given_together(f"stations[{index}].core", "wall")
        else:
            yield from _core_inside(station, index)


def _core_inside(station: Station, index: int) -> Iterator[Finding]:
    wall, size = station.wall, (station.width, station.height)
    if wall is not None:
        sides = (
            ("left and right", wall.left + wall.right, "width", station.width),
            ("back and belly", wall.back + wall.belly, "height", station.height),
        )
        met = [side for side in sides if side[1] > side[3] - WALLS_APART]
        for names, both, key, of in met:
            yield _at(index, "wall", "stations.walls-meet", sides=names, both=both, key=key, size=of)
        if met:
            return
    core = station.core_in_section()
    if core is None:
        return
    half_width, half_height = station.width / 2.0 - LEAST_WALL, station.height / 2.0 - LEAST_WALL
    outside = any(
        ((core.sideways + core.width / 2.0 * math.cos(angle)) / half_width) ** 2
        + ((core.up + core.height / 2.0 * math.sin(angle)) / half_height) ** 2
        > 1.0
        for angle in _ANGLES
    )
    if outside:
        place, key = (core.sideways, core.up), "core" if wall is None else "wall"
        yield _at(index, key, "stations.core-outside", core=(core.width, core.height), middle=place, skin=size)


def _ends_at_stations(stations: Stations, ends: Ends) -> Iterator[Finding]:
    first, last = stations[0].at, stations[-1].at
    least = round(last + CLOSEST, DIGITS)
    if ends.first == "cut" and first > 0.0:
        yield _at(1, "at", "stations.first-is-not-the-cut", written=first)
    if ends.first == "closed" and first < CLOSEST:
        yield _at(1, "at", "stations.first-is-the-tip", written=first, least=CLOSEST)
    if ends.last_tip is None:
        return
    if ends.last == "cut":
        yield refusal("ends.tip-of-cut", of_key("ends.last_tip"))
    elif ends.last_tip < least:
        path = of_key("ends.last_tip")
        yield refusal("ends.tip-not-beyond", path, written=ends.last_tip, last=last, least=least)


def _no_core(no_core: bool, stations: Stations | None, scan: Scan | None) -> Iterator[Finding]:
    """A core that is measured and said not to be there."""
    for index, station in enumerate(stations or (), 1):
        if station.core_in_section() is not None:
            yield given_together(f"stations[{index}].{'core' if station.wall is None else 'wall'}", "no_core")
    if scan is not None and (scan.core is not None or scan.wall is not None):
        yield given_together(f"scan.{'core' if scan.wall is None else 'wall'}", "no_core")


def _tip_of_scan(scan: Scan, ends: Ends) -> Iterator[Finding]:
    if ends.last_tip is not None:
        yield refusal("ends.tip-of-scan", of_key("ends.last_tip"))


def _scan(scan: Scan) -> Iterator[Finding]:
    for key in ("file", "core"):
        name = getattr(scan, key)
        if name is not None and not is_mesh(name):
            yield refusal("scan.not-a-mesh", of_key(f"scan.{key}"), written=f'"{name[:40]}"', allowed=MESH_SUFFIXES)
    if scan.core is not None and scan.wall is not None:
        yield given_together("scan.wall", "core")
    if scan.core is not None and scan.core == scan.file:
        yield refusal("scan.core-is-skin", of_key("scan.core"))
    if scan.along is not None and scan.back is not None:
        cosine = sum(a * b for a, b in zip(scan.along, scan.back, strict=True))
        if abs(cosine) > math.cos(math.radians(10.0)):
            yield refusal("scan.back-runs-along", of_key("scan.back"))
    if scan.check is None:
        return
    across = [key for key in ("width", "height") if getattr(scan.check, key) is not None]
    if not across and scan.check.length is None:
        yield refusal("scan.check-says-nothing", of_key("scan.check"))
    if across and scan.check.at is None:
        yield refusal("scan.check-without-place", of_key("scan.check.at"), key=across[0])


_CHECKS: tuple[Check, ...] = (
    *(_one_source, _number_of_stations, _in_order, _middles_known, _bow, _twist, _cores),
    *(_ends_at_stations, _no_core, _scan, _tip_of_scan),
)
