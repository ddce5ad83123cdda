"""Pieces of known shape, made here triangle by triangle, and a second way to measure what was laid in them."""

from dataclasses import dataclass

import numpy as np
import trimesh
from numpy.typing import NDArray

from nutgen.finding import note
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import IDENTITY
from nutgen.spec.piece import Permit
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Laid
from nutgen.stock.piece import Axis, Piece

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Rod:
    """A row of ellipses: half diameters and middles as functions of the share of the length."""

    length: float
    wide: Array
    high: Array
    sideways: Array
    up: Array

    @classmethod
    def of(cls, length, wide, high, *, sideways=0.0, up=0.0, count=161):
        """Each a number, or values at evenly spaced places."""
        return cls(
            length,
            *(
                np.interp(
                    np.linspace(0, 1, count), np.linspace(0, 1, max(2, np.size(v))), np.resize(v, max(2, np.size(v)))
                )
                for v in (wide, high, sideways, up)
            ),
        )

    @property
    def along(self) -> Array:
        return np.linspace(0.0, self.length, len(self.wide))

    def surface(self, *, around: int = 160) -> Mesh:
        """Corners on the ellipses; caps of nested rings."""
        angle = np.linspace(0.0, 2.0 * np.pi, around, endpoint=False)
        caps = np.linspace(0.0, 1.0, 18)[1:]

        def ring(index: int, share: float) -> Array:
            y = self.sideways[index] + share * self.wide[index] * np.sin(angle)
            z = self.up[index] + share * self.high[index] * np.cos(angle)
            return np.column_stack([np.full(around, self.along[index]), y, z])

        rings = [ring(0, share) for share in caps[:-1]]
        rings += [ring(index, 1.0) for index in range(len(self.wide))]
        rings += [ring(len(self.wide) - 1, share) for share in caps[-2::-1]]
        points = np.vstack(
            [*rings, [[0.0, self.sideways[0], self.up[0]]], [[self.length, self.sideways[-1], self.up[-1]]]]
        )
        faces = []
        for row in range(len(rings) - 1):
            here = row * around + np.arange(around)
            beside = row * around + (np.arange(around) + 1) % around
            faces += [
                np.column_stack([here, here + around, beside + around]),
                np.column_stack([here, beside + around, beside]),
            ]
        first, last = np.arange(around), (len(rings) - 1) * around + np.arange(around)
        faces.append(np.column_stack([np.full(around, len(points) - 2), first, np.roll(first, -1)]))
        faces.append(np.column_stack([np.full(around, len(points) - 1), np.roll(last, -1), last]))
        mesh = trimesh.Trimesh(points, np.vstack(faces), process=False)
        assert mesh.is_watertight
        if mesh.volume < 0.0:
            mesh.invert()
        return Mesh(np.array(mesh.vertices), np.array(mesh.faces, np.int64))


def piece(skin: Rod, core: Rod | None = None, *, grain_deg: float = 10.0, kerf: float = 0.8) -> Piece:
    """A piece from rods."""
    return Piece(
        title="a piece of known shape",
        material="bone",
        found_by="calipers",
        skin=skin.surface(),
        core=None if core is None else core.surface(),
        axis=Axis(skin.along, skin.sideways, skin.up),
        length=skin.length,
        ends=("cut", "cut"),
        first_end=note("first-end.cut"),
        back_line=note("back-line.back"),
        permitted=Permit(grain_deg=grain_deg, compact=0.0, kerf=kerf),
        to_source=IDENTITY,
    )


def block(length: float, thickness: float, height: float, *, compact: bool = False) -> Block:
    """A bare block; compact where no core may be anywhere in it."""
    y, z = thickness / 2.0, height / 2.0
    outline = ((-y, -z), (y, -z), (y, z), (-y, z))
    regions = [Region("block", "skin", -length / 2.0, length / 2.0, outline, 0.0)]
    if compact:
        regions.append(Region("nut", "core", -length / 2.0, length / 2.0, outline, 0.0))
    size = (length, thickness, height)
    zero = dict.fromkeys(("end", "front", "back", "underside", "top"), 0.0)
    return Block(*size, size, size, zero, zero, 0.0, tuple(regions))


def random_points(region: Region, count: int, *, seed: int = 7) -> Array:
    """Points on the faces of a box-shaped region, evenly by area, its corners and edges among them."""
    outline = np.array(region.outline)
    low = np.array([region.low, *outline.min(axis=0)])
    high = np.array([region.high, *outline.max(axis=0)])
    box = trimesh.creation.box(bounds=[low, high])
    on_faces, _ = trimesh.sample.sample_surface(box, count * 4 // 5, seed=seed)
    rng = np.random.default_rng(seed)
    edges = box.vertices[box.edges_unique]
    pick = edges[rng.integers(len(edges), size=count - len(on_faces) - 8)]
    share = rng.random((len(pick), 1))
    return np.vstack([box.vertices, on_faces, pick[:, 0] + share * (pick[:, 1] - pick[:, 0])])


def margin_by_trimesh(found: Laid, block: Block, piece: Piece, *, count: int = 5_000) -> float:
    """The margin of a laid block, over random points of it and trimesh's own distances to the piece.

    Nothing of the search is used: neither its lattice nor its points nor its nearest triangles.
    """
    least = np.inf
    for region in block.regions:
        surface = piece.skin if region.against == "skin" else piece.core
        if surface is None:
            continue
        mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
        points = random_points(region, count) @ found.pose.axes + found.pose.at
        within = np.concatenate([mesh.contains(some) for some in np.array_split(points, 40)])
        clear = within if region.against == "skin" else ~within
        from_vertex, _ = mesh.kdtree.query(points)
        if np.all(clear):
            near = np.argsort(from_vertex)[: count // 12]  # the rest cannot be the nearest by far
        else:
            astray = np.flatnonzero(~clear)
            near = astray[np.argsort(-from_vertex[astray])[: count // 12]]
        _, distance, _ = trimesh.proximity.closest_point(mesh, points[near])
        room = float(distance.min()) if np.all(clear) else -float(distance.max())
        least = min(least, room - region.keep)
    return least
