"""Readings of a file that contradict one another, or that hardly any instrument has: each with the likelier slip.

Every one is a warning: the maker's instrument may be the odd one. Limits are common practice, no source.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np

from nutgen.finding import Finding, assumption, note, of_key, warning
from nutgen.nut.doubted_strings import doubted_strings
from nutgen.nut.part import Part
from nutgen.nut.seat import SeatHeights
from nutgen.nut.slot import Slot
from nutgen.spec.playing import OldNut
from nutgen.spec.strings import AnyString
from nutgen.spec.tables import Setup, Spacing, Spec
from nutgen.spec.values import Across, Post
from nutgen.theory import Array
from nutgen.theory.frets import fret_position
from nutgen.theory.heights import crown_drop
from nutgen.theory.uncertainty import WITHIN_95, WITHIN_99

APART = 0.15 - 1e-9  # mm between two readings of one quantity from which it is told
AGREE = 0.10  # mm within which a slip set right makes two readings agree
ANGLES_APART_DEG = 3.0
SURE = WITHIN_99 / WITHIN_95  # of a half-width that holds 95 %: holds 99 of 100
ENDS_APART = 1.9  # bass over treble, and neighbour over neighbour, of the heights wanted
FARTHEST_IN = 8.0  # mm from the board's edge to the outer string
TURNED_ASIDE_DEG = 25.0  # sideways to a post, or at a guide that holds aside; no headstock has it
LIKELY_ASIDE_DEG = 15.0
OLD_FLOORS = (-0.3, 0.9)  # mm of an old nut's floors over the fret plane, in the middle
LEAST_FLOOR = 0.04  # mm over the fret plane: less is gone with one stroke of the file
RADII = (184.0, 241.0, 305.0, 356.0, 406.0, 508.0)
"""Board radii of the usual gauges, 7 1/4 to 20 in [mm]."""

DEPTH = {"channel": (2.0, 5.0), "ledge": (2.6, 6.5)}
THICKNESS = {"channel": (2.8, 6.6), "ledge": (3.5, 8.0), "surface": (3.0, 7.0)}
FRET_HEIGHT = (0.7, 1.6)
TOPS = (5.0, 15.0)
WIDENS = 1.45  # the board, from the nut to fret 12, at most
CLEARANCE = (0.02, 0.25)
FEWEST_FRETS = {"bass": 16, "steel": 14, "nylon": 12}


def doubts(spec: Spec, nut: Part) -> Iterator[Finding]:
    """What in a file is doubtful.

    Parameters
    ----------
    spec : Spec
        The readings.
    nut : Part
        As solved from them, strung right-handed.

    Yields
    ------
    Finding
        Warnings; their `slips` are findings of their own, likeliest first, empty where none sets it right.
    """
    yield from _plane(spec, nut.seat)
    yield from _unusual(spec)
    if nut.frets < FEWEST_FRETS[nut.kind]:
        about = of_key("instrument.frets")
        yield warning("frets.few", about, frets=nut.frets, least=FEWEST_FRETS[nut.kind], likely=2 * nut.frets)
    yield from _wanted(spec.setup, nut)
    yield from _action(spec)
    yield from _scale(spec)
    yield from _margins(spec.spacing, spec.old_nut, nut)
    if spec.old_nut is not None:
        yield from _old_nut(spec.old_nut, spec.before.strings if spec.before else (), nut)
    yield from _angles(spec, nut)
    yield from doubted_strings(spec.strings, nut)


def _slip(name: str, path: str, likely: float) -> Finding:
    """How a reading may have gone wrong, and what it would be then [mm]."""
    return note(f"slip.{name}", of_key(path), likely=likely)


def _plane(spec: Spec, seat: SeatHeights) -> Iterator[Finding]:
    """The fret plane as measured over the seat, against seat depth, fret height and radius."""
    if seat.fret_plane is None:
        if seat.kind != "surface" and spec.zero_fret is None and spec.lap is None:
            middle, edge = (float(seat.fret_plane_z(x) - seat.floor_z(x)) for x in (0.0, seat.edges[1]))
            yield assumption("seat.plane-not-measured", middle=middle, edge=edge)
        return
    miss = _miss(seat)
    worst = int(np.argmax(np.abs(miss)))
    rests_on = {"seat.depth", "seat.fret_plane", "fretboard.radius", "fretboard.fret_height"}
    if abs(miss[worst]) < _may_differ(spec, seat.read_at[worst]) or rests_on & set(spec.not_measured):
        return
    if any((way.key, way.name) == ("seat.fret_plane", "trial") for way in spec.ways):
        about = map(of_key, ("seat.depth", "fretboard.radius", "fretboard.fret_height"))
        yield note("seat.readings-set-aside", *about, apart=abs(float(miss[worst])))
        return
    tried = sorted(
        (
            (float(np.max(np.abs(_miss(other)))), index, found)
            for index, (found, other) in enumerate(_seat_slips(spec, seat))
        )
    )
    enough = min(tried[0][0] + 0.03, AGREE)
    read = float(np.asarray(seat.fret_plane[min(worst, len(seat.fret_plane) - 1)]))
    yield warning(
        "seat.readings-disagree",
        of_key("seat.fret_plane"),
        read=read,
        due=read - float(miss[worst]),
        apart=abs(float(miss[worst])),
        slips=tuple(found for left, _, found in tried if left <= enough)[:2],
    )


def _may_differ(spec: Spec, x: float) -> float:
    """From how far apart at x the readings of the seat are told; where some were read without gauges, beyond what their
    errors leave in 99 of 100 [mm]."""
    if not {way.key.partition(".")[0] for way in spec.ways} & {"seat", "fretboard"}:
        return APART
    errors, arch = spec.errors, float(crown_drop(x, radius=spec.fretboard.radius))
    return max(APART, SURE * math.hypot(errors.fret_plane, errors.depth, errors.fret_height, errors.radius * arch))


def _miss(seat: SeatHeights) -> Array:
    """How much higher the fret plane was read than the other readings say, where it was read [mm]."""
    at = np.array(seat.read_at)
    return seat.fret_plane_z(at) - replace(seat, fret_plane=None).fret_plane_z(at)


def _seat_slips(spec: Spec, seat: SeatHeights) -> Iterator[tuple[Finding, SeatHeights]]:
    """Slips of each reading of the seat, and the seat with it set right."""
    depth, high, radius = spec.seat.depth, spec.fretboard.fret_height, spec.fretboard.radius
    arches = [float(seat.floor_z(x) - seat.floor_z(0.0) - seat.board_z(x)) for x in seat.read_at]
    if spec.seat.kind != "surface":
        for name, right in (*_twice(depth), ("at-edge", depth + arches[-1]), ("to-frets", depth - high)):
            yield _slip(name, "seat.depth", right), replace(seat, depth=right)
    for name, right in _twice(high):
        yield _slip(name, "fretboard.fret_height", right), replace(seat, fret_height=right)
    for name, right in _twice(spec.seat.floor):
        if math.isfinite(right) and right > spec.fretboard.width:
            stretch = float(np.asarray(seat.floor_radius)) / spec.seat.floor
            yield _slip(name, "seat.floor", right), replace(seat, floor_radius=right * stretch)
    plane = tuple(float(np.asarray(height)) for height in seat.fret_plane or ())
    each = range(len(plane))
    for name, by, more, sagging in (
        ("doubled", 0.5, 0.0, 0.0),
        ("halved", 2.0, 0.0, 0.0),
        ("from-board", 1.0, high, 0.0),
        ("on-centre-line", 1.0, 0.0, 1.0),
    ):
        meant = [height * by + more - sagging * arch for height, arch in zip(plane, arches, strict=False)]
        for places in dict.fromkeys((tuple(each), *((one,) for one in each))):
            moved = tuple(meant[place] if place in places else plane[place] for place in each)
            yield _slip(name, "seat.fret_plane", moved[places[0]]), replace(seat, fret_plane=moved)
    stretch = float(np.asarray(seat.board_radius)) / radius if math.isfinite(radius) else 1.0
    gauges = () if any(way.key == "fretboard.radius" for way in spec.ways) else RADII
    for name, right in (*_twice(radius), *(("other-radius", one) for one in gauges)):
        if math.isfinite(right) and right > spec.fretboard.width:
            yield _slip(name, "fretboard.radius", right), replace(seat, board_radius=right * stretch)


def _twice(read: float) -> tuple[tuple[str, float], tuple[str, float]]:
    """What a reading may have been meant to be that was doubled, or halved."""
    return ("doubled", read / 2.0), ("halved", read * 2.0)


def _unusual(spec: Spec) -> Iterator[Finding]:
    """Readings that stand alone, against what instruments have."""
    seat, board, clearance = spec.seat, spec.fretboard, spec.slots.clearance
    alone = {
        "seat.depth": (seat.depth, DEPTH.get(seat.kind, (0.0, 0.0))),
        "seat.thickness": (seat.thickness, THICKNESS[seat.kind]),
    }
    if spec.lap is None:
        alone["fretboard.fret_height"] = board.fret_height, FRET_HEIGHT
    else:
        tops = spec.lap.tops
        alone |= {"lap.tops": (tops, TOPS), "lap.tops_at_12": (spec.lap.tops_at_12, (tops - 0.5, tops + 4.0))}
    if board.width_at_12 is not None:
        alone["fretboard.width_at_12"] = board.width_at_12, (board.width, WIDENS * board.width)
    for path, (read, (low, high)) in alone.items():
        if not low <= read <= high:
            name, likely = ("halved", read * 2.0) if read < low else ("doubled", read / 2.0)
            slips = (_slip(name, path, likely),) if low <= likely <= high else ()
            yield warning("reading.unusual", of_key(path), read=read, low=low, high=high, slips=slips)
    if math.isfinite(seat.floor) and seat.kind != "surface":
        half = board.width / 2.0
        apart = abs(float(crown_drop(half, radius=seat.floor) - crown_drop(half, radius=board.radius)))
        if apart >= APART:
            about = of_key("seat.floor")
            yield warning("seat.floor-unlike-board", about, read=seat.floor, board=board.radius, apart=apart)
    for sort, read in (("wound", clearance.wound), ("plain", clearance.plain)):
        if any(string.wound is (sort == "wound") for string in spec.strings):
            if read < CLEARANCE[0]:
                yield warning("slots.clearance-grips", of_key(f"slots.clearance.{sort}"), read=read, least=CLEARANCE[0])
            elif read > CLEARANCE[1]:
                yield warning("slots.clearance-wide", of_key(f"slots.clearance.{sort}"), read=read, most=CLEARANCE[1])


def _wanted(setup: Setup, nut: Part) -> Iterator[Finding]:
    """Heights that rise from bass to treble, leap from one to the next, or leave the file nothing to take off."""
    for key in ("action", "action_now", "first_fret_clearance", "floor_height"):
        value, path = getattr(setup, key), of_key(f"setup.{key}")
        if not isinstance(value, Across) or len(value.values) < 2:
            continue
        if value.treble > 1.02 * max(value.bass, 0.0) + 0.005:
            yield warning("setup.rises-to-treble", path, bass=value.bass, treble=value.treble)
        for a, b in pairwise(value.values):
            if min(a, b) > 0.0 and max(a, b) > ENDS_APART * min(a, b):
                yield warning("setup.ends-apart", path, one=a, other=b)
    if setup.first_fret_clearance != "lowest":
        for slot in nut.slots:
            if 0.0 <= slot.floor_height < LEAST_FLOOR and slot.zero_fret is None:
                yield warning("slot.floor-near-fret-plane", slot.who, by=slot.floor_height, least=LEAST_FLOOR)


def _action(spec: Spec) -> Iterator[Finding]:
    """Action as measured for the nut, and for the dry fit."""
    seen, now = spec.dry_fit.action if spec.dry_fit else None, spec.setup.action_now
    if seen is not None and now is not None:
        apart = max(abs(seen.bass - now.bass), abs(seen.treble - now.treble))
        if apart >= APART:
            yield warning("dry-fit.action-disagrees", of_key("setup.action_now"), apart=apart)


def _scale(spec: Spec) -> Iterator[Finding]:
    """Scale length against the distance to fret 1, and bass against treble."""
    scale, dry_fit = spec.instrument.scale_length, spec.dry_fit
    if scale.bass < scale.treble:
        yield warning("slant.treble-longer", of_key("instrument.scale_length"), bass=scale.bass, treble=scale.treble)
    if dry_fit is None or dry_fit.face_to_fret_1 is None:
        return
    read, per_mm = dry_fit.face_to_fret_1.bass, float(fret_position(1, scale_length=1.0))
    due = scale.bass * per_mm
    if abs(read - due) >= APART:
        path = "instrument.scale_length"
        likely = {"doubled": scale.bass / 2.0, "not-doubled": scale.bass * 2.0}
        slips = tuple(_slip(name, path, to) for name, to in likely.items() if abs(to * per_mm - read) < 0.03 * read)
        about = of_key("dry_fit.face_to_fret_1")
        yield warning("scale.fret-1-disagrees", about, read=read, due=due, apart=abs(read - due), slips=slips)


def _margins(spacing: Spacing, old: OldNut | None, nut: Part) -> Iterator[Finding]:
    """Centres as measured against margins and the board's width."""
    ends = (("bass", nut.slots[0]), ("treble", nut.slots[-1]))
    for side, slot in ends:
        edge = nut.seat.edges[side == "treble"]
        due = abs(edge - slot.face_x) - slot.gauge / 2.0 / math.cos(math.radians(slot.line_deg))
        read = getattr(spacing.margin, side) if spacing.margin else due
        if spacing.rule == "measured" and abs(read - due) >= APART:
            to_centre = abs(read - due - slot.gauge / 2.0) < AGREE
            slips = (_slip("to-centre", f"spacing.margin.{side}", due),) if to_centre else ()
            about = of_key(f"spacing.margin.{side}")
            yield warning("spacing.margin-disagrees", about, read=read, due=due, apart=abs(read - due), slips=slips)
        if due > FARTHEST_IN:
            yield warning("string.far-in", slot.who, margin=due, most=FARTHEST_IN)
    if spacing.rule == "measured" and old is not None:
        apart = [abs(a - b) for a, b in zip(spacing.measured or (), nut.old_centres(old), strict=True)]
        if max(apart) >= APART:
            yield warning("old-nut.centres-disagree", of_key("old_nut.centres"), apart=max(apart))


def _old_nut(old: OldNut, held: Sequence[AnyString], nut: Part) -> Iterator[Finding]:
    """An old nut's floors against the fret plane, its slots against the strings they held."""
    if old.floors_from == "seat floor" and nut.tops is None:
        x = nut.old_centres(old) + nut.seat.edges[0]
        over = np.array(old.floors) - (nut.seat.fret_plane_z(x) - nut.seat.floor_z(x))
        middle, (low, high) = median(over.tolist()), OLD_FLOORS
        if not low <= middle <= high:
            yield warning("old-nut.floors-disagree", of_key("old_nut.floors"), middle=middle, low=low, high=high)
    if len(held) == len(old.widths):
        apart = [string.gauge - width for string, width in zip(held, old.widths, strict=True)]
        if max(apart) >= APART:
            place = apart.index(max(apart)) + 1
            yield warning("old-nut.slot-too-narrow", of_key(f"old_nut.widths[{place}]"), apart=max(apart))


def _angles(spec: Spec, nut: Part) -> Iterator[Finding]:
    """Tuner posts and guides against the angles given beside them, and against what a headstock can have."""
    for index, (slot, string) in enumerate(zip(nut.slots, spec.strings, strict=True)):
        if string.post is None:
            continue
        on = slot.guide
        if on is not None and on.bend_deg > TURNED_ASIDE_DEG and spec.guides[on.number - 1].x is not None:
            yield warning("guide.aside", slot.who, number=on.number, bend_deg=on.bend_deg)
        elif abs(slot.bend_deg) > TURNED_ASIDE_DEG:
            path = f"strings[{index + 1}].post"
            slips = tuple(_post_slips(path, string.post, slot, nut))
            yield warning("string.post-aside", slot.who, sideways_deg=slot.bend_deg, slips=slips[:2])
        for key, seen in (("break_angle_deg", slot.break_angle_deg), ("fan_deg", slot.bend_deg)):
            given = getattr(spec.headstock, key)
            if given is None:
                continue
            wanted = given.at([share / max(len(nut.slots) - 1, 1) for share in range(len(nut.slots))])[index]
            if abs(wanted - seen) > ANGLES_APART_DEG:
                about = of_key(f"headstock.{key}")
                yield warning("headstock.posts-disagree", slot.who, about, read_deg=wanted, due_deg=seen)


def _post_slips(path: str, post: Post, slot: Slot, nut: Part) -> Iterator[Finding]:
    """Readings of a post that would leave the string an ordinary bend sideways, the least bend first."""
    slant, (left, right) = math.radians(nut.slant_deg), nut.seat.edges
    x, y = slot.face_x * math.cos(slant), -slot.face_x * math.sin(slant)  # in the neck
    places = (
        ("other-side", "x", -post.x, post.y),
        ("from-bass-edge", "x", post.x + left, post.y),
        ("from-treble-edge", "x", right - post.x, post.y),
        ("swapped", "x", post.y, abs(post.x)),
        ("swapped", "x", -post.y, abs(post.x)),
        ("halved", "y", post.x, 2.0 * post.y),
        ("doubled", "x", post.x / 2.0, post.y),
    )
    turned = [
        (
            abs(math.degrees(math.atan2(across - x, along - y))),
            _slip(name, f"{path}.{key}", across if key == "x" else along),
        )
        for name, key, across, along in places
    ]
    yield from (slip for bend, slip in sorted(turned, key=lambda one: one[0]) if bend < LIKELY_ASIDE_DEG)
