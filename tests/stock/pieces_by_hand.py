"""Pieces with a closed form, as triangles: swept ellipses, whole, tapered, bowed or hollow."""

from collections.abc import Callable, Sequence

import numpy as np

from nutgen.finding import note
from nutgen.geometry.mesh import Array, Mesh
from nutgen.geometry.pose import IDENTITY, Pose
from nutgen.spec.piece import Permit
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.piece import Axis, Piece

Along = Callable[[float], float]


def swept(
    stations: Sequence[float], *, wide: Along, high: Along, sideways: Along, up: Along, around: int = 180
) -> Mesh:
    """Ellipses of half widths `wide` and half heights `high` about a bowed middle, closed by flat ends."""
    turn = np.arange(around) * 2.0 * np.pi / around
    rings = [
        np.stack(
            [np.full(around, at), sideways(at) + wide(at) * np.sin(turn), up(at) + high(at) * np.cos(turn)], axis=1
        )
        for at in stations
    ]
    first, last = stations[0], stations[-1]
    middles = [[first, sideways(first), up(first)], [last, sideways(last), up(last)]]
    vertices = np.vstack([*rings, middles])
    here = np.arange(around)
    there = (here + 1) % around
    sides = []
    for ring in range(len(stations) - 1):
        a, b = ring * around + here, ring * around + there
        c, d = a + around, b + around
        sides += [np.stack([a, b, d], axis=1), np.stack([a, d, c], axis=1)]
    near, far = len(stations) * around, len(stations) * around + 1
    last_ring = (len(stations) - 1) * around
    caps = [
        np.stack([np.full(around, near), there, here], axis=1),
        np.stack([np.full(around, far), last_ring + here, last_ring + there], axis=1),
    ]
    return Mesh(vertices, np.vstack([*sides, *caps])[:, ::-1].astype(np.int64))


def none(_: float) -> float:
    return 0.0


def cylinder(radius: float, length: float, *, around: int = 180) -> Mesh:
    """A round rod along the straightedge."""
    return swept([0.0, length], wide=lambda _: radius, high=lambda _: radius, sideways=none, up=none, around=around)


def frustum(radius: float, end_radius: float, length: float, *, around: int = 180) -> Mesh:
    """A round taper along the straightedge."""

    def taper(at: float) -> float:
        return radius + (end_radius - radius) * at / length

    return swept([0.0, length], wide=taper, high=taper, sideways=none, up=none, around=around)


def piece(skin: Mesh, length: float, *, core: Mesh | None = None, axis: Axis | None = None) -> Piece:
    """A piece about a surface; its axis is the straightedge's where none is given."""
    straight = Axis(np.array([0.0, length]), np.zeros(2), np.zeros(2))
    return Piece(
        title="Shin by hand",
        material="bone",
        found_by="calipers",
        skin=skin,
        core=core,
        axis=axis or straight,
        length=length,
        ends=("cut", "cut"),
        first_end=note("first-end.stated", words="the end with the pencil cross"),
        back_line=note("back-line.stated", words="along the sharp ridge of the shin"),
        permitted=Permit(grain_deg=8.0, core_in=("underside", "back"), compact=1.0, kerf=0.8),
        to_source=IDENTITY,
    )


def shin() -> Piece:
    """An elliptic tube, tapered and bowed: 150 mm long, about 42 by 36 mm, its wall 11 to 12 mm on the thick side."""
    length = 150.0
    stations = np.linspace(0.0, length, 51)

    def bow(at: float) -> float:
        return 2.0 * np.sin(np.pi * at / length)

    def aside(at: float) -> float:
        return -0.7 * np.sin(np.pi * at / length)

    def wide(at: float) -> float:
        return 21.0 - 0.012 * at

    def high(at: float) -> float:
        return 18.0 - 0.010 * at

    skin = swept(stations, wide=wide, high=high, sideways=aside, up=bow)
    core = swept(
        stations,
        wide=lambda at: wide(at) * 0.42,
        high=lambda at: high(at) * 0.28,
        sideways=lambda at: aside(at) + 0.5,
        up=lambda at: bow(at) - 6.5,
    )
    axis = Axis(stations, np.array([aside(at) for at in stations]), np.array([bow(at) for at in stations]))
    return piece(skin, length, core=core, axis=axis)


def block(length: float = 48.0, thickness: float = 9.4, height: float = 12.6) -> Block:
    """A block with the usual allowances; what must be compact is its front edge with the slots."""
    half = np.array([length, thickness, height]) / 2.0
    outline = ((-half[1] + 1.4, 1.0), (1.5, 1.0), (1.5, half[2] - 1.6), (-half[1] + 1.4, half[2] - 1.6))
    return Block(
        length=length,
        thickness=thickness,
        height=height,
        squared=(length - 2.0, thickness - 2.0, height - 2.0),
        finished=(length - 4.0, thickness - 2.8, height - 3.2),
        to_sand={"end": 2.0, "front": 1.4, "back": 1.4, "underside": 1.2, "top": 2.0},
        to_square={"end": 1.0, "front": 1.0, "back": 1.0, "underside": 1.0, "top": 1.0},
        wane=0.0,
        regions=(Region("front edge and slot floors", "core", -half[0] + 2.0, half[0] - 2.0, outline, 0.0),),
    )


def turned(*, yaw_deg: float = 0.0, pitch_deg: float = 0.0, roll_deg: float = 0.0) -> Array:
    """Axes of a block: along the straightedge, its top up, then rolled, pitched (first end down), yawed."""
    yaw, pitch, roll = np.radians([yaw_deg, pitch_deg, roll_deg])
    about_along = np.array([[1, 0, 0], [0, np.cos(roll), -np.sin(roll)], [0, np.sin(roll), np.cos(roll)]])
    about_side = np.array([[np.cos(pitch), 0, -np.sin(pitch)], [0, 1, 0], [np.sin(pitch), 0, np.cos(pitch)]])
    about_up = np.array([[np.cos(yaw), -np.sin(yaw), 0], [np.sin(yaw), np.cos(yaw), 0], [0, 0, 1]])
    return np.asarray((about_up @ about_side @ about_along).T, float)


TIGHTEST = note("piece.tightest", against="skin", part="block", level="top", side="back", end="", along=60.0)


def laid(centre: Sequence[float], axes: Array, *, margin: float = 0.8) -> Laid:
    """A block in its place, as the search would give it; its margins are made up."""
    middle = np.array(centre, float)
    return Laid(Pose.of(middle, axes), margin, margin, margin + 0.3, TIGHTEST, middle, 1.0, 0.0, 0.0)


def answer(of: Block, *places: Laid) -> Answer:
    """The answer that these places would be."""
    along = np.linspace(26.0, 124.0, 25)
    profile = np.stack([along, 1.1 - ((along - 66.0) / 45.0) ** 2], axis=1)
    return Answer(of, places, min(place.margin for place in places), (), (), (), profile)
