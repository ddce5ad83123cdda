"""What two keys of a piece file say about each other: faults that no single key shows."""

import math
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Any

from nutgen.errors import Fault
from nutgen.spec.fields import shown
from nutgen.spec.piece_tables import MESH_SUFFIXES, Ends, Scan, Station, is_mesh, middles

Stations = tuple[Station, ...]

CLOSEST = 1.0  # mm between two stations: nearer ones say more of the caliper than of the piece
STEEPEST = 1.0  # sideways or up over along: 45 degrees; a piece so bent is measured along another straightedge
MOST_TURN_DEG = 60.0  # between two stations: beyond it the twist could as well go the other way round
LEAST_WALL = 0.05  # mm between core and skin
_ANGLES = [math.radians(3.0 * step) for step in range(120)]


def piece_faults(parts: dict[str, Any], *, given: frozenset[str], places: Sequence[float]) -> list[Fault]:
    """Every fault between the tables of a piece file that are whole by themselves.

    parts  : table name -> validated table; tables with faults of their own are absent
    given  : keys that the file holds, sound or not
    places : of the stations, where these can be read though the stations have other faults [mm]
    """
    faults = list(_one_source(given))
    stations, ends, scan = parts.get("stations") or (), parts.get("ends"), parts.get("scan")
    if stations:
        for check in _STATION_CHECKS:
            faults += check(stations)
    else:
        faults += _order(places)
    if stations and ends is not None:
        faults += _ends_at_stations(stations, ends)
    if scan is not None:
        faults += _scan(scan)
        if ends is not None and ends.last_tip is not None:
            faults.append(Fault("ends.last_tip", "a scan shows its own tip; leave the key out"))
    return faults


def _one_source(given: frozenset[str]) -> Iterator[Fault]:
    if {"stations", "scan"} <= given:
        yield Fault("scan", "given together with [[stations]]; the piece is one or the other, keep one")
    if not {"stations", "scan"} & given:
        yield Fault("stations", "missing; write one [[stations]] for each place by calipers, or a [scan]")


def _number_of_stations(stations: Stations) -> Iterator[Fault]:
    if len(stations) == 1:
        yield Fault("stations", "one station alone is no piece; measure both ends at least")


def _in_order(stations: Stations) -> Iterator[Fault]:
    yield from _order([station.at for station in stations])


def _order(places: Sequence[float]) -> Iterator[Fault]:
    if len(places) > 2 and all(a > b for a, b in pairwise(places)):
        yield Fault("stations", "listed from the last end to the first; list them from the first end on")
        return
    in_metres = bool(places) and 0.005 <= places[-1] <= 2.0
    for index, (before, here) in enumerate(pairwise(places), 2):
        step = here - before
        path = f"stations[{index}].at"
        if step < 0.0:
            words = f"{shown(here)} mm comes before the {shown(before)} mm of the one above"
            yield Fault(path, f"{words}; list them from the first end on")
        elif step == 0.0:
            yield Fault(path, f"{shown(here)} mm is the place of the one above; one of the two is misread, or too many")
        elif step < CLOSEST:
            cure = f"metres? write {shown(here * 1000.0)}" if in_metres else "leave one of the two out"
            yield Fault(path, f"{shown(step)} mm from the one above; allowed is {shown(CLOSEST)} mm at least; {cure}")


def _middles_known(stations: Stations) -> Iterator[Fault]:
    for gap, offset in (("gap_side", "sideways"), ("gap_back", "up")):
        measured = [getattr(station, gap) is not None for station in stations]
        for index, station in enumerate(stations, 1):
            if any(measured) and not measured[index - 1]:
                words = "missing; it is given at other stations: measure it at each, 0 where the straightedge touches"
                yield Fault(f"stations[{index}].{gap}", words)
            if measured[index - 1] and offset in station.given:
                yield Fault(f"stations[{index}].{gap}", f"given together with {offset}; one follows from the other")


def _bow(stations: Stations) -> Iterator[Fault]:
    if any(_middles_known(stations)):
        return
    for index, (before, here) in enumerate(pairwise(zip(stations, middles(stations), strict=True)), 2):
        along = here[0].at - before[0].at
        for axis, offset, gap in ((0, "sideways", "gap_side"), (1, "up", "gap_back")):
            moved = abs(here[1][axis] - before[1][axis])
            if along >= CLOSEST and moved > STEEPEST * along:
                key = offset if getattr(here[0], gap) is None else gap
                yield Fault(
                    f"stations[{index}].{key}",
                    f"the middle moves {shown(moved)} mm over {shown(along)} mm along, more than 45 degrees;"
                    " one misread? Otherwise lay the straightedge along the run of the piece",
                )


def _twist(stations: Stations) -> Iterator[Fault]:
    for index, (before, here) in enumerate(pairwise(stations), 2):
        if abs(here.turn_deg - before.turn_deg) > MOST_TURN_DEG:
            yield Fault(
                f"stations[{index}].turn_deg",
                f"{shown(here.turn_deg)} after {shown(before.turn_deg)} deg; allowed is {shown(MOST_TURN_DEG)} deg"
                " from one station to the next; measure one between",
            )


def _cores(stations: Stations) -> Iterator[Fault]:
    for index, station in enumerate(stations, 1):
        at = f"stations[{index}]"
        if station.wall is not None and station.core is not None:
            yield Fault(f"{at}.core", "given together with wall; one follows from the other, keep one")
        else:
            yield from _core_inside(station, at)


def _core_inside(station: Station, at: str) -> Iterator[Fault]:
    wall = station.wall
    if wall is not None:
        sides = (
            (wall.left + wall.right, "left and right", station.width, "width"),
            (wall.back + wall.belly, "back and belly", station.height, "height"),
        )
        met = [(both, names, size, key) for both, names, size, key in sides if both > size - 0.2]
        for both, names, size, key in met:
            words = f"{names} together are {shown(both)} mm of a {key} of {shown(size)} mm; the walls meet there"
            yield Fault(
                f"{at}.wall", f"{words}; measure one wall each, or leave wall out where it is compact throughout"
            )
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
        yield Fault(
            f"{at}.{'core' if wall is None else 'wall'}",
            f"a core {shown(core.width)} x {shown(core.height)} mm, its middle {shown(core.sideways)} to the left and"
            f" {shown(core.up)} up, comes out through a skin of {shown(station.width)} x {shown(station.height)} mm;"
            " measure again, from the section's middle",
        )


def _ends_at_stations(stations: Stations, ends: Ends) -> Iterator[Fault]:
    first, last = stations[0], stations[-1]
    if ends.first == "cut" and first.at > 0.0:
        yield Fault(
            "stations[1].at",
            f"{shown(first.at)} mm, but distances count from the first end: measure the cut itself, at = 0",
        )
    if ends.first == "closed" and first.at < CLOSEST:
        yield Fault(
            "stations[1].at",
            f"{shown(first.at)} mm, but the first end is closed and its tip lies at 0;"
            f" allowed is {shown(CLOSEST)} mm at least",
        )
    if ends.last_tip is None:
        return
    if ends.last == "cut":
        yield Fault("ends.last_tip", 'given, but the last end is "cut"; leave it out, or write last = "closed"')
    elif ends.last_tip < last.at + CLOSEST:
        yield Fault(
            "ends.last_tip",
            f"{shown(ends.last_tip)} mm is not beyond the last station at {shown(last.at)} mm;"
            f" allowed is {shown(last.at + CLOSEST)} at least",
        )


def _scan(scan: Scan) -> Iterator[Fault]:
    for key in ("file", "core"):
        name = getattr(scan, key)
        if name is not None and not is_mesh(name):
            yield Fault(
                f"scan.{key}", f'"{name[:40]}" is not a mesh by its name; allowed are {", ".join(MESH_SUFFIXES)}'
            )
    if scan.core is not None and scan.wall is not None:
        yield Fault("scan.wall", "given together with core; one follows from the other, keep one")
    if scan.core is not None and scan.core == scan.file:
        yield Fault("scan.core", "is the same file as the skin; a core has a mesh of its own")
    if scan.along is not None and scan.back is not None:
        cosine = sum(a * b for a, b in zip(scan.along, scan.back, strict=True))
        if abs(cosine) > math.cos(math.radians(10.0)):
            yield Fault("scan.back", "runs along the piece like scan.along; point it square to that, out of the back")
    if scan.check is None:
        return
    across = [key for key in ("width", "height") if getattr(scan.check, key) is not None]
    if not across and scan.check.length is None:
        yield Fault("scan.check", "holds no reading; write { at = , width = }, { at = , height = } or { length = }")
    if across and scan.check.at is None:
        yield Fault("scan.check.at", f"missing; write where {across[0]} was taken")


_STATION_CHECKS: tuple[Callable[[Stations], Iterator[Fault]], ...] = (
    _number_of_stations,
    _in_order,
    _middles_known,
    _bow,
    _twist,
    _cores,
)
