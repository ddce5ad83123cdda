"""A closed surface over a row of ellipses that stand square to one line."""

import numpy as np

from nutgen.geometry.mesh import Array, Ints, Mesh

SAG = 0.004  # mm; between an ellipse and its chords


def tube(along: Array, ellipses: Array, *, tips: tuple[bool, bool], cell: float) -> Mesh:
    """A closed surface through a row of ellipses.

    along    : (n,) where each stands, rising [mm]
    ellipses : (n, 5) middle sideways and up, half width, half height [mm], turn to the left [rad]
    tips     : whether the first and the last are shrunk to a point; otherwise a flat cap closes them
    cell     : longest side of a cell around and of the caps [mm]
    returns  : triangles counter-clockwise from outside; every corner lies on an ellipse or in a cap
    """
    step = step_around(float(ellipses[:, 2:4].max()), cell=cell)
    count = 8 * int(np.ceil(2.0 * np.pi / step / 8.0))
    inner = slice(1 if tips[0] else 0, len(along) - (1 if tips[1] else 0))
    first = _cap(along[0], ellipses[0], count, tip=tips[0], cell=cell)[::-1]
    last = _cap(along[-1], ellipses[-1], count, tip=tips[1], cell=cell)
    rings = np.concatenate([first, _rings(along[inner], ellipses[inner], count), last])
    middles = [[end, *ellipse[:2]] for end, ellipse in ((along[0], ellipses[0]), (along[-1], ellipses[-1]))]
    return Mesh(np.concatenate([rings.reshape(-1, 3), middles]), _triangles(len(rings), count))


def step_around(half_diameter: float, *, cell: float) -> float:
    """From one corner of a ring to the next, as the angle of its ellipse: chord and cell small enough [rad]."""
    return min(cell / half_diameter, float(np.sqrt(8.0 * SAG / half_diameter)))


def _rings(along: Array, ellipses: Array, count: int) -> Array:
    """Points on ellipses, from the back to the left round: (rings, count, 3)."""
    angle = np.arange(count) * (2.0 * np.pi / count)
    side, up, half_width, half_height, turn = (column[:, None] for column in ellipses.T)
    across, upward = half_width * np.sin(angle), half_height * np.cos(angle)
    return np.stack(
        [
            np.broadcast_to(along[:, None], across.shape),
            side + across * np.cos(turn) + upward * np.sin(turn),
            up + upward * np.cos(turn) - across * np.sin(turn),
        ],
        axis=2,
    )


def _cap(end: float, ellipse: Array, count: int, *, tip: bool, cell: float) -> Array:
    """The rings that fill a flat end, from its rim inward; none where it comes to a tip."""
    shrinking = int(np.ceil(float(ellipse[2:4].max()) / cell))
    shares = np.arange(shrinking - 1, 0, -1) / shrinking if not tip else np.empty(0)
    ellipses = np.tile(ellipse, (len(shares), 1))
    ellipses[:, 2:4] *= shares[:, None]
    return _rings(np.full(len(shares), end), ellipses, count)


def _triangles(rings: int, count: int) -> Ints:
    """Two to a cell of the tube, and the fans about the two last vertices, which close it."""
    ring, place = np.meshgrid(np.arange(rings - 1), np.arange(count), indexing="ij")
    here, beside = ring * count + place, ring * count + (place + 1) % count
    tube = np.stack([here, here + count, beside + count, here, beside + count, beside], axis=2).reshape(-1, 3)
    around = np.arange(count)
    after, end = (around + 1) % count, (rings - 1) * count
    middle = np.full(count, rings * count)
    first = np.stack([middle, around, after], axis=1)
    last = np.stack([middle + 1, end + after, end + around], axis=1)
    return np.concatenate([first, tube, last]).astype(np.int64)
