"""The saddle: how far each string goes up or down there, on what kind of bridge, and where along the string.

A reading over fret 12 with a capo at fret 1 tells the saddle alone; an open one tells the nut that is in as well.
Heights at the saddle are heights above the chord of the neck as it will be, see `theory.heights.Neck`.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from nutgen.finding import Finding, assumption, note, of_key, warning
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.nut.places import string_shares
from nutgen.play.pitch import SADDLE_FRET, pitches
from nutgen.spec.playing import Saddle
from nutgen.spec.tables import Setup
from nutgen.spec.values import Across
from nutgen.theory import Array, Ints
from nutgen.theory.bridge import eighth_turns, flat_cut
from nutgen.theory.heights import Neck, StringLine

LEAST_BREAK_DEG = 5.0
"""Break over the saddle below which a string may rattle or jump sideways. Common practice, no source."""

POSTS_MISS = 0.15
"""What two posts may miss a string's height at the saddle by before it is told. Common practice, no source [mm]."""

FLOORS_LEFT = 0.25
"""What is left in a slot, to show what it does at fret 12 [mm]."""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class SaddleMoves:
    """The saddle of every string, bass to treble; readings are over fret 12, in mm.

    Parameters
    ----------
    x : ndarray
        Strings at the bridge, across the neck from its centre line.
    capo_now, capo_relief, capo_wanted : ndarray
        With a capo at fret 1: now, once the relief is as wanted, once the saddle is; nan for now where it was not read.
    move : ndarray
        Up where positive; nan where the action was not read.
    eighths : ndarray of int, or None
        Of a turn, where there is a thread and each saddle has its own screws.
    posts : (float, float), or None
        What the bass and the treble post go up.
    post_eighths : tuple of int, or None
        The same in eighths of a turn.
    underside : (float, float), or None
        What comes off below the outer strings of a fixed saddle; below 0 it is packed.
    left : ndarray
        What two posts leave each string too high; what is sanded off the crest of a fixed saddle besides.
    break_now_deg, break_deg : ndarray, or None
        Bend over the saddle, now and then, where the anchor is known.
    from_12 : ndarray
        Fret 12 to the crest along the string, where fret 12 is in tune; nan where no saddle tunes it.
    unfiled_adds : float
        What 0.25 left in a slot adds to the open string over fret 12.
    findings : tuple of Finding
        What will not do, and what was taken for granted.
    """

    x: Array
    capo_now: Array
    capo_relief: Array
    capo_wanted: Array
    move: Array
    eighths: Ints | None = None
    posts: tuple[float, float] | None = None
    post_eighths: tuple[int, ...] | None = None
    underside: tuple[float, float] | None = None
    left: Array
    break_now_deg: Array | None
    break_deg: Array | None
    from_12: Array
    unfiled_adds: float
    findings: tuple[Finding, ...] = ()


def across_at(nut: Nut, saddle: Saddle, u: Array) -> Array:
    """Where strings stand across the neck at a distance from the front face, one a string [mm].

    u : shape (strings,)
    """
    far, x = (np.array([getattr(slot, name) for slot in nut.slots]) for name in ("scale_length", "face_x"))
    turn = np.radians([slot.line_deg for slot in nut.slots])
    level = np.zeros(len(x))
    face = nut.in_neck.apply(np.stack([x, level, level], axis=1))[:, 0]
    ends = nut.in_neck.apply(np.stack([x - far * np.sin(turn), -far * np.cos(turn), level], axis=1))[:, 0]
    if saddle.spread is not None and len(ends) > 1:
        share = np.array(string_shares(x.tolist()))
        ends = ends.mean() + (share - 0.5) * np.copysign(saddle.spread, ends[-1] - ends[0])
    return np.asarray(face + (ends - face) * u / far)


def saddle_moves(nut: Nut, setup: Setup, saddle: Saddle) -> SaddleMoves:
    """How the saddles have to move, from the readings of a file to what the nut was solved for."""
    line, notes = line_of(nut), pitches(nut)
    neck = line.neck
    setback = np.where(notes.tunable, np.nan_to_num(notes.saddle), 0.0)
    at = np.asarray(neck.scale_length) + setback[:, np.newaxis]
    wanted = line.height(at)
    now, found = strings_now(nut, setup, neck)
    one, one_now = ((on.fret(1), on.crown(on.fret(1))) for on in (neck, now.neck))
    relief = nut.relief if setup.relief_now is None else setup.relief_now
    then = now.neck.body_height(at, now.height(at), relief=nut.relief)
    move = (wanted - then)[:, 0]
    x = across_at(nut, saddle, at[:, 0])
    start = np.asarray(neck.start)
    break_now_deg, break_deg = _breaks(saddle, move, now.slope[:, 0], line.slope[:, 0])
    moves = SaddleMoves(
        x=x,
        capo_now=now.neck.action_between(one_now, (at, now.height(at)))[:, 0],
        capo_relief=neck.action_between(one, (at, then))[:, 0],
        capo_wanted=neck.action_between(one, (at, wanted))[:, 0],
        move=move,
        left=np.zeros(len(move)),
        break_now_deg=break_now_deg,
        break_deg=break_deg,
        from_12=np.where(notes.tunable, (at - neck.fret(SADDLE_FRET))[:, 0], np.nan),
        unfiled_adds=FLOORS_LEFT * float(np.mean((at - neck.fret(12)) / (at - start))),
    )
    moves = _on_bridge(moves, saddle)
    if relief != nut.relief:
        found = (*found, assumption("saddle.body-keeps-line"))
    return replace(moves, findings=(*_remarks(nut, saddle, moves), *found))


def strings_now(nut: Nut, setup: Setup, neck: Neck) -> tuple[StringLine, tuple[Finding, ...]]:
    """The strings as they were read, over the neck as it is, and what was taken for granted; nan where unread."""
    shares = string_shares([slot.face_x for slot in nut.slots])

    def column(value: Across) -> Array:
        return np.array([value.at(shares)]).T

    worn = neck if setup.relief_now is None else replace(neck, relief=setup.relief_now)
    if setup.action_now is None:
        nothing = np.full((len(shares), 1), np.nan)
        return worn.barred_string(nothing), (note("saddle.action-not-read", of_key("setup.action_now")),)
    action = column(setup.action_now)
    if setup.action_read == "capo 1":
        return worn.barred_string(action), ()
    if setup.clearance_now is not None:
        return worn.string_by_targets(first_fret_clearance=column(setup.clearance_now), action=action), ()
    floors = np.array([[slot.sounds_from] for slot in nut.slots])
    return worn.string_by_floor(floor_height=floors, action=action), (assumption("saddle.floors-assumed"),)


def _breaks(saddle: Saddle, move: Array, slope_now: Array, slope: Array) -> tuple[Array | None, Array | None]:
    """Bend over the saddle, now and then; None where the anchor is not known [deg]."""
    if saddle.anchor is None:
        return None, None
    now, then = (np.arctan2(saddle.anchor.drop + up, saddle.anchor.y) for up in (0.0, move))
    return np.degrees(now + np.arctan(slope_now)), np.degrees(then + np.arctan(slope))


def _on_bridge(moves: SaddleMoves, saddle: Saddle) -> SaddleMoves:
    """The moves as this kind of bridge can make them."""
    if not np.all(np.isfinite(moves.move)):
        return moves
    match saddle.bridge:
        case "each":
            turned = None if saddle.thread is None else eighth_turns(moves.move, pitch=saddle.thread)
            return replace(moves, eighths=turned)
        case "two posts":
            return _on_posts(moves, saddle)
        case _:
            order = np.sign(moves.x[-1] - moves.x[0]) or 1.0
            along = (moves.x - moves.x[0]) * order
            offset, slope = flat_cut(-moves.move, at=along)
            under = offset + slope * along
            return replace(moves, underside=(float(under[0]), float(under[-1])), left=-moves.move - under)


def _on_posts(moves: SaddleMoves, saddle: Saddle) -> SaddleMoves:
    """Two posts carry all saddles: their line with the least squares, in whole eighths where there is a thread."""
    posts, shares = on_two(moves.x - (moves.x[0] + moves.x[-1]) / 2.0, moves.move, apart=saddle.posts or 0.0)
    turned = None if saddle.thread is None else eighth_turns(posts, pitch=saddle.thread)
    return replace(
        moves,
        posts=(float(posts[0]), float(posts[1])),
        post_eighths=None if turned is None else tuple(turned.tolist()),
        left=shares @ posts - moves.move,
    )


def on_two(x: Array, move: Array, *, apart: float) -> tuple[Array, Array]:
    """How far two supports go, bass side first, that carry all strings on one line: the one with the least squares.

    x, move : of each string across from the middle between them, and wanted, shape (strings,) [mm]
    returns : shape (2,) [mm], and what of either each string goes along with, shape (strings, 2)
    """
    along = x * (np.sign(x[-1] - x[0]) or 1.0)
    shares = 0.5 + np.stack([-along, along], axis=1) / apart
    return np.asarray(np.linalg.lstsq(shares, move, rcond=None)[0]), shares


def _remarks(nut: Nut, saddle: Saddle, moves: SaddleMoves) -> Iterator[Finding]:
    for i, slot in enumerate(nut.slots):
        if moves.break_deg is not None and np.isfinite(moves.break_deg[i]) and moves.break_deg[i] < LEAST_BREAK_DEG:
            bend = float(moves.break_deg[i])
            yield warning("saddle.break-shallow", slot.who, break_deg=bend, least_deg=LEAST_BREAK_DEG)
        if saddle.bridge == "two posts" and abs(moves.left[i]) > POSTS_MISS:
            yield warning("saddle.posts-leave", slot.who, by=float(moves.left[i]))
    if moves.underside is not None and min(moves.underside) < 0.0:
        yield warning("saddle.too-low", pack=-min(moves.underside))
