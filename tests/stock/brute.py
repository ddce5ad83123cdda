"""A plain, long search for the best place of a block: no part of it is the project's.

Random poses, the promising ones handed to Nelder and Mead's simplex, which knows nothing of walls or
gradients. Distances are to points strewn over the surfaces by trimesh, and their tangent planes.
"""

from dataclasses import dataclass

import numpy as np
import trimesh
from scipy.optimize import minimize
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from nutgen.finding import note
from nutgen.geometry.mesh import Mesh
from nutgen.geometry.pose import Pose
from nutgen.stock.block import Block, Region
from nutgen.stock.laid import Laid
from nutgen.stock.piece import Piece


@dataclass(frozen=True)
class Strewn:
    """A surface as points and normals; positive outside."""

    tree: cKDTree
    points: np.ndarray
    normals: np.ndarray

    @classmethod
    def over(cls, surface: Mesh, count: int) -> "Strewn":
        mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
        points, face = trimesh.sample.sample_surface(mesh, count, seed=3)
        points = np.asarray(points)
        return cls(cKDTree(points, balanced_tree=False, compact_nodes=False), points, mesh.face_normals[face])

    def signed(self, places: np.ndarray) -> np.ndarray:
        _, index = self.tree.query(places)
        return np.einsum("...j,...j->...", places - self.points[index], self.normals[index])


def lattice(region: Region, step: float) -> np.ndarray:
    """Points over the six faces of a box, and within one that keeps away from a core."""
    outline = np.array(region.outline)
    low, high = np.array([region.low, *outline.min(axis=0)]), np.array([region.high, *outline.max(axis=0)])
    axes = [np.linspace(a, b, max(2, int(np.ceil((b - a) / step)) + 1)) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    return grid if region.against == "core" else grid[np.any((grid == low) | (grid == high), axis=1)]


class Search:
    """The search in one piece."""

    def __init__(self, piece: Piece, block: Block, *, strewn: int = 25_000) -> None:
        self.piece, self.block = piece, block
        surfaces = {"skin": piece.skin, "core": piece.core}
        self.regions = [region for region in block.regions if surfaces[region.against] is not None]
        self.walls = {name: Strewn.over(s, strewn) for name, s in surfaces.items() if s is not None}
        self.points = {id(region): lattice(region, 4.0) for region in self.regions}
        self.most = np.radians(piece.permitted.grain_deg)

    def grain(self, along: float) -> np.ndarray:
        return self.piece.axis.direction(along, span=self.block.length)

    def pose(self, six: np.ndarray) -> Pose:
        """Middle; roll about the grain; pitch and yaw against it."""
        grain = self.grain(six[0])
        side = np.array([-grain[1], grain[0], 0.0]) / np.hypot(grain[0], grain[1])  # level, to its left
        axes = np.array([grain, side, np.cross(grain, side)])
        turn = Rotation.from_euler("xyz", six[3:]).as_matrix()
        return Pose.of(six[:3], turn.T @ axes)

    def margin(self, pose: Pose) -> float:
        least = np.inf
        for region in self.regions:
            points = self.points[id(region)] @ pose.axes + pose.at
            side = -1.0 if region.against == "skin" else 1.0
            least = min(least, float((side * self.walls[region.against].signed(points)).min()) - region.keep)
        return least

    def worth(self, six: np.ndarray) -> float:
        pose = self.pose(six)
        off = np.arccos(np.clip(pose.axes[0] @ self.grain(six[0]), -1.0, 1.0))
        return self.margin(pose) - 100.0 * max(0.0, off - self.most)

    def run(self, *, seed: int, tries: int, climbs: int) -> tuple[float, Pose]:
        """The best margin that was found, and its pose."""
        rng = np.random.default_rng(seed)
        six = self._random(rng, tries)
        worths = np.array([self.worth(one) for one in six])
        best, best_six = -np.inf, six[0]
        for start in six[np.argsort(-worths)[:climbs]]:
            for size in (1.0, 0.2):
                simplex = start + np.vstack([np.zeros(6), np.diag(size * np.array([3.0, 1.0, 1.0, 0.3, 0.05, 0.05]))])
                found = minimize(
                    lambda one: -self.worth(one),
                    start,
                    method="Nelder-Mead",
                    options={"initial_simplex": simplex, "maxfev": 180, "xatol": 1e-3, "fatol": 1e-3},
                )
                start = found.x
            if -found.fun > best:
                best, best_six = -float(found.fun), found.x
        return best, self.pose(best_six)

    def _random(self, rng: np.random.Generator, count: int) -> np.ndarray:
        """Poses whose middles lie inside the piece, screened by their corners alone."""
        low, high = self.piece.skin.vertices.min(axis=0), self.piece.skin.vertices.max(axis=0)
        middles = rng.uniform(low, high, size=(60 * count, 3))
        middles = middles[self.walls["skin"].signed(middles) < -1.0][: 12 * count]
        six = np.column_stack(
            [middles, rng.uniform(-np.pi, np.pi, len(middles)), rng.normal(0, 0.03, (len(middles), 2))]
        )
        corners = (np.array(np.meshgrid(*[[-0.5, 0.5]] * 3)).reshape(3, -1).T) * self.block.size
        poses = [self.pose(one) for one in six]
        places = np.array([corners @ pose.axes + pose.at for pose in poses])
        promise = np.minimum(-self.walls["skin"].signed(places), 1.0).mean(axis=1)
        return six[np.argsort(-promise)[:count]]


def as_laid(pose: Pose) -> Laid:
    """A pose as the other checks take it."""
    return Laid(pose, 0.0, 0.0, None, note("piece.tightest"), pose.at, 0.0, 0.0, 0.0)
