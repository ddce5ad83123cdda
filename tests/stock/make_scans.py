"""Make the scans of the demo pieces: python tests/stock/make_scans.py

Two natural pieces that never lived: each is a formula of its own with lumps from a seed. The script writes
the meshes that a scanner would have made of them, and prints what calipers and a straightedge would have
read, rounded to 0.1 mm: these readings stand in the piece files. It uses nothing of nutgen.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import trimesh

Array = np.ndarray
PIECES = Path(__file__).resolve().parents[2] / "presets" / "pieces"


@dataclass(frozen=True)
class Shape:
    """A piece as formulas of the share u of its length, 0 at the first end; lengths in mm.

    half_width, half_height : of the section
    gap_back, gap_side : under a straightedge along the back and along the left side
    walls    : left, right, back, belly
    lump     : the highest and the deepest lump of the skin
    stations : how many places the calipers were put to
    turn     : how the scanner saw it: three angles [deg]
    shift    : likewise
    grid     : rings along and places around of the scan; rings of each cap
    """

    name: str
    seed: int
    length: float
    half_width: Callable[[Array], Array]
    half_height: Callable[[Array], Array]
    gap_back: Callable[[Array], Array]
    gap_side: Callable[[Array], Array]
    walls: tuple[Callable[[Array], Array], ...]
    lump: float
    stations: int
    turn: tuple[float, float, float]
    shift: tuple[float, float, float]
    grid: tuple[int, int, int]
    core_grid: tuple[int, int, int] | None


BONE = Shape(
    name="shin-bone",
    seed=417,
    length=132.0,
    half_width=lambda u: 19.4 + 2.3 * (2.0 * u - 0.85) ** 2,
    half_height=lambda u: 17.6 + 1.9 * (2.0 * u - 1.1) ** 2,
    gap_back=lambda u: 8.8 * u * (1.0 - u) * (1.0 + 0.3 * (2.0 * u - 1.0)),
    gap_side=lambda u: 0.35 * np.sin(np.pi * u),
    walls=(lambda u: 9.0 - 0.6 * u, lambda u: 8.2 + 0.5 * u, lambda u: 11.2 - 0.9 * u, lambda u: 7.4 + 0.4 * u),
    lump=0.12,
    stations=12,
    turn=(34.0, -21.0, 118.0),
    shift=(212.0, -38.5, 96.0),
    grid=(218, 200, 17),
    core_grid=(80, 100, 13),
)

ANTLER = Shape(
    name="antler-beam",
    seed=2203,
    length=150.0,
    half_width=lambda u: 17.5 - 1.9 * u,
    half_height=lambda u: 16.2 - 1.3 * u + 0.2 * np.sin(2.0 * np.pi * u),
    gap_back=lambda u: 32.0 * u * (1.0 - u) * (1.0 + 0.2 * (2.0 * u - 1.0)),
    gap_side=lambda u: 6.0 * u * (1.0 - u),
    walls=(lambda u: 5.6 + 0.0 * u,) * 4,
    lump=0.13,
    stations=11,
    turn=(-52.0, 17.0, 64.0),
    shift=(-75.0, 140.0, 31.0),
    grid=(248, 180, 16),
    core_grid=None,
)


def lumps(shape: Shape, seed: int) -> Callable[[Array, Array], Array]:
    """How far the skin stands out at a place and angle: soft bumps and hollows, as high as deep."""
    rng = np.random.default_rng(seed)
    count = 90
    place, angle = rng.uniform(-5.0, shape.length + 5.0, count), rng.uniform(0.0, 2.0 * np.pi, count)
    spread, height = rng.uniform(4.0, 9.0, count), rng.uniform(-1.0, 1.0, count)
    around = float(shape.half_width(np.array(0.5)))

    def raw(along: Array, theta: Array) -> Array:
        total = np.zeros_like(along)
        for at, to, wide, high in zip(place, angle, spread, height, strict=True):
            turn = (theta - to + np.pi) % (2.0 * np.pi) - np.pi
            total += high * np.exp(-((along - at) ** 2 + (around * turn) ** 2) / (2.0 * wide**2))
        return total

    grid = raw(*np.meshgrid(np.linspace(0.0, shape.length, 200), np.linspace(0.0, 2.0 * np.pi, 200)))
    middle = (grid.max() + grid.min()) / 2.0
    return lambda along, theta: shape.lump * (raw(along, theta) - middle) / (grid.max() - middle)


def skin(shape: Shape) -> Callable[[Array, Array], Array]:
    """Places along and angles from the back to the left, to points (..., 3): along, left, up."""
    bump = lumps(shape, shape.seed)

    def points(along: Array, theta: Array) -> Array:
        u, out = along / shape.length, bump(along, theta)
        width, height = shape.half_width(u), shape.half_height(u)
        left, up = _middle(shape, u)
        return np.stack([along, left + (width + out) * np.sin(theta), up + (height + out) * np.cos(theta)], axis=-1)

    return points


def core(shape: Shape) -> Callable[[Array, Array], Array]:
    """The inside, likewise: an ellipse that the four walls leave, with lumps of its own."""
    bump = lumps(shape, shape.seed + 1)

    def points(along: Array, theta: Array) -> Array:
        u, out = along / shape.length, bump(along, theta)
        wall_left, wall_right, wall_back, wall_belly = (wall(u) for wall in shape.walls)
        width = shape.half_width(u) - (wall_left + wall_right) / 2.0
        height = shape.half_height(u) - (wall_back + wall_belly) / 2.0
        left, up = _middle(shape, u)
        left, up = left + (wall_right - wall_left) / 2.0, up + (wall_belly - wall_back) / 2.0
        return np.stack([along, left + (width + out) * np.sin(theta), up + (height + out) * np.cos(theta)], axis=-1)

    return points


def _middle(shape: Shape, u: Array) -> tuple[Array, Array]:
    return -shape.gap_side(u) - shape.half_width(u), -shape.gap_back(u) - shape.half_height(u)


def mesh(
    shape: Shape, surface: Callable[[Array, Array], Array], grid: tuple[int, int, int], seed: int
) -> trimesh.Trimesh:
    """A closed mesh of a surface, its grid shaken as a scanner's is, in the scanner's own frame."""
    rings, count, cap = grid
    rng = np.random.default_rng(seed + 100)
    along = np.linspace(0.0, shape.length, rings)[:, None] + np.zeros((rings, count))
    along[1:-1] += rng.uniform(-0.25, 0.25, (rings - 2, count)) * shape.length / (rings - 1)
    theta = (np.arange(count) + rng.uniform(-0.25, 0.25, (rings, count))) * (2.0 * np.pi / count)
    tube = surface(along, theta)
    first, last = tube[0].mean(axis=0), tube[-1].mean(axis=0)
    shares = np.arange(1, cap)[:, None, None] / cap
    points = np.concatenate([first + shares * (tube[0] - first), tube, last + shares[::-1] * (tube[-1] - last)])
    total = len(points)
    ring, place = np.meshgrid(np.arange(total - 1), np.arange(count), indexing="ij")
    here, beside = ring * count + place, ring * count + (place + 1) % count
    faces = np.stack([here, here + count, beside + count, here, beside + count, beside], axis=-1).reshape(-1, 3)
    near, far = np.arange(count), (total - 1) * count + np.arange(count)
    first_fan = np.stack([np.full(count, total * count), near, np.roll(near, -1)], axis=1)
    last_fan = np.stack([np.full(count, total * count + 1), np.roll(far, -1), far], axis=1)
    vertices = np.concatenate([points.reshape(-1, 3), [first, last]])
    seen = vertices @ turned(shape).T + shape.shift
    return trimesh.Trimesh(np.round(seen, 3), np.concatenate([first_fan, faces, last_fan]), process=False)


def turned(shape: Shape) -> Array:
    """From the piece's frame to the scanner's: columns are along, left, up."""
    x, y, z = np.radians(shape.turn)
    about_x = np.array([[1, 0, 0], [0, np.cos(x), -np.sin(x)], [0, np.sin(x), np.cos(x)]])
    about_y = np.array([[np.cos(y), 0, np.sin(y)], [0, 1, 0], [-np.sin(y), 0, np.cos(y)]])
    about_z = np.array([[np.cos(z), -np.sin(z), 0], [np.sin(z), np.cos(z), 0], [0, 0, 1]])
    return about_z @ about_y @ about_x


def readings(shape: Shape) -> list[dict[str, float]]:
    """What calipers and a straightedge read, rounded as a maker would."""
    surface, theta = skin(shape), np.linspace(0.0, 2.0 * np.pi, 1441)[:-1]

    def section(at: float) -> Array:
        return surface(np.full_like(theta, at), theta)

    first, last = section(0.0), section(shape.length)
    edges = [(first[:, axis].max(), last[:, axis].max()) for axis in (1, 2)]
    rows = []
    for at in np.linspace(0.0, shape.length, shape.stations):
        points = section(float(at))
        left, right, back, belly = (
            points[:, 1].max(), points[:, 1].min(), points[:, 2].max(), points[:, 2].min(),
        )  # fmt: skip
        side, top = (edge[0] + (edge[1] - edge[0]) * at / shape.length for edge in edges)
        row = {"at": at, "width": left - right, "height": back - belly, "gap_back": top - back, "gap_side": side - left}
        rows.append({key: abs(round(float(value), 1)) for key, value in row.items()})
    return rows


def end_walls(shape: Shape, at: float) -> list[float]:
    """Left, right, back and belly wall, as seen on a cut."""
    theta = np.radians([90.0, 270.0, 0.0, 180.0])
    outside, inside = (surface(np.full(4, at), theta) for surface in (skin(shape), core(shape)))
    return [round(float(wall), 1) for wall in np.linalg.norm(outside - inside, axis=1)]


def scans(shape: Shape) -> dict[str, bytes]:
    """File name to bytes: binary PLY, in mm."""
    files = {f"{shape.name}.ply": mesh(shape, skin(shape), shape.grid, shape.seed)}
    if shape.core_grid is not None:
        files[f"{shape.name}-core.ply"] = mesh(shape, core(shape), shape.core_grid, shape.seed + 1)
    return {name: _plain(each.export(file_type="ply", vertex_normal=False)) for name, each in files.items()}


def _plain(content: bytes) -> bytes:
    """A PLY without the writer's remark in its head."""
    head, end, body = content.partition(b"end_header\n")
    return b"".join(line for line in head.splitlines(True) if not line.startswith(b"comment")) + end + body


def table(shape: Shape) -> str:
    """The readings as they stand in a piece file, and how the scan lies."""
    rows = readings(shape)
    lines = []
    for row in rows:
        lines += ["[[stations]]", *(f"{key} = {value}" for key, value in row.items())]
        if row in (rows[0], rows[-1]):
            names = ("left", "right", "back", "belly")
            walls = zip(names, end_walls(shape, row["at"]), strict=True)
            lines.append(f"wall = {{ {', '.join(f'{name} = {wall}' for name, wall in walls)} }}")
        lines.append("")
    along, _, back = turned(shape).T
    lines += [f"along = {np.round(along, 4).tolist()}", f"back = {np.round(back, 4).tolist()}"]
    return "\n".join(lines)


def main() -> None:
    """Write the scans beside the piece files and print the readings."""
    for shape in (BONE, ANTLER):
        for name, content in scans(shape).items():
            (PIECES / name).write_bytes(content)
            print(f"# {name}: {len(content)} bytes")
        print(table(shape), end="\n\n")


if __name__ == "__main__":
    main()
