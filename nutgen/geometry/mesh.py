"""Triangle meshes: the one type of them, and the one table of their edges."""

from dataclasses import dataclass
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np

from nutgen.errors import KernelError
from nutgen.theory import Array as Array  # whoever has a mesh has its arrays
from nutgen.theory import Flags as Flags
from nutgen.theory import Ints as Ints

if TYPE_CHECKING:
    from manifold3d import Manifold


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Mesh:
    """Triangles over shared vertices.

    Parameters
    ----------
    vertices : ndarray, (n, 3)
        Places [mm]; n below 2^31.
    triangles : ndarray of int, (m, 3)
        Rows of vertices, counter-clockwise seen from outside where the mesh is closed.
    """

    vertices: Array
    triangles: Ints

    @property
    def corners(self) -> Array:
        """Places of the corners of every triangle: (m, 3, 3) [mm]."""
        return self.vertices[self.triangles]

    @property
    def facing(self) -> Array:
        """Unit normals of the triangles: (m, 3); zero where a triangle has no area."""
        doubled = self._doubled
        size = np.linalg.norm(doubled, axis=1, keepdims=True)
        return np.divide(doubled, size, out=np.zeros_like(doubled), where=size > 0.0)

    @property
    def areas(self) -> Array:
        """Area of each triangle: (m,) [mm2]."""
        return np.linalg.norm(self._doubled, axis=1) / 2.0

    @property
    def volumes(self) -> Array:
        """Signed share of each triangle in the volume that they enclose: (m,) [mm3].

        Tetrahedra from the middle of the vertices: the divergence theorem.
        """
        a, b, c = (self.vertices - self.vertices.mean(axis=0))[self.triangles].transpose(1, 0, 2)
        return np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0

    @property
    def volume(self) -> float:
        """Enclosed volume; negative where the mesh is inside out [mm3]."""
        return float(self.volumes.sum())

    @property
    def longest_edge(self) -> float:
        """Length of the longest side of any triangle [mm]."""
        sides = np.roll(self.corners, -1, axis=1) - self.corners
        return float(np.sqrt(np.einsum("ijk,ijk->ij", sides, sides).max()))

    @property
    def edges(self) -> "Edges":
        """The table of edges, made anew at each call."""
        return edges_of(self.triangles)

    @property
    def faults(self) -> list[str]:
        """What keeps the mesh from being one closed body that faces outward; empty where nothing does."""
        edges = self.edges
        bodies, _ = bodies_of(edges)
        found = []
        if not edges.closed:
            found.append("it has edges that are not shared by exactly two triangles")
        if bodies != 1:
            found.append(f"it is in {bodies} pieces")
        if self.volume <= 0.0:
            found.append("it is inside out")
        return found

    @property
    def _doubled(self) -> Array:
        a, b, c = (self.vertices[self.triangles[:, corner]] for corner in range(3))
        return np.cross(b - a, c - a)

    def flipped(self, chosen: Flags | None = None) -> "Mesh":
        """The mesh with some triangles, or all, facing the other way."""
        if chosen is None:
            return Mesh(self.vertices, self.triangles[:, ::-1])
        return Mesh(self.vertices, np.where(chosen[:, np.newaxis], self.triangles[:, ::-1], self.triangles))

    def part(self, chosen: Flags | slice = slice(None)) -> "Mesh":
        """Some of the triangles, over the vertices that they use."""
        triangles = self.triangles[chosen]
        used = np.zeros(len(self.vertices), bool)
        used[triangles] = True
        return Mesh(self.vertices[used], (np.cumsum(used) - 1)[triangles])


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """The edges of a mesh: every use by a triangle is a row, those of one edge stand together.

    Parameters
    ----------
    low, high : ndarray of int, (e,)
        The edge's vertices, low < high, use by use.
    side : ndarray of int, (e,)
        Whose it is: three times the triangle, and which of its corners the side begins at.
    rising : ndarray of bool, (e,)
        Whether that triangle runs from low to high.
    first, count : ndarray of int, (k,)
        Where each edge's uses begin, and how many there are.
    """

    low: Ints
    high: Ints
    side: Ints
    rising: Flags
    first: Ints
    count: Ints

    @property
    def triangle(self) -> Ints:
        """Whose edge it is, use by use: (e,)."""
        return self.side // 3

    @property
    def open(self) -> Ints:
        """Rows of the edges that only one triangle has."""
        return self.first[self.count == 1]

    @property
    def pairs(self) -> tuple[Ints, Ints]:
        """Rows of the two uses of every edge that two triangles share: (p,) each."""
        one = self.first[self.count == 2]
        return one, one + 1

    @property
    def closed(self) -> bool:
        """Whether every edge is run through once each way."""
        one, other = self.pairs
        return bool((self.count == 2).all() and (self.rising[one] != self.rising[other]).all())

    def neighbours(self) -> Ints:
        """For each side of each triangle the same side of its neighbour, -1 where it has not one: (3 m,)."""
        one, other = (self.side[rows] for rows in self.pairs)
        across = np.full(len(self.side), -1)
        across[one], across[other] = other, one
        return across


def edges_of(triangles: Ints) -> Edges:
    """The edges of triangles (m, 3) over fewer than 2^31 vertices."""
    start, stop = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    key = np.minimum(start, stop) << 32 | np.maximum(start, stop)
    side = np.argsort(key, kind="stable")
    key = key[side]
    first = np.flatnonzero(np.r_[True, key[1:] != key[:-1]]) if len(key) else np.empty(0, np.int64)
    return Edges(
        low=key >> 32,
        high=key & 0xFFFFFFFF,
        side=side,
        rising=(start < stop)[side],
        first=first,
        count=np.diff(np.r_[first, len(key)]),
    )


def components(pairs: tuple[Ints, Ints], count: int) -> tuple[int, Ints]:
    """How many groups there are of `count` things joined by pairs, and which one each belongs to: (count,)."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    graph = coo_array((np.ones(len(pairs[0]), np.int8), pairs), shape=(count, count))
    number, label = connected_components(graph, directed=False)
    return int(number), label.astype(np.int64)


def bodies_of(edges: Edges) -> tuple[int, Ints]:
    """How many bodies there are and which one each triangle belongs to: joined by edges."""
    joined = np.ones(len(edges.side), bool)
    joined[edges.first] = False
    later = np.flatnonzero(joined)
    return components((edges.triangle[later - 1], edges.triangle[later]), len(edges.side) // 3)


def to_agree(edges: Edges) -> Flags | None:
    """Which triangles to flip so that neighbours agree.

    Parameters
    ----------
    edges : Edges
        None of them with more than two uses.

    Returns
    -------
    ndarray of bool, (m,), or None
        None where no choice agrees (a Moebius strip).

    Notes
    -----
    Each triangle stands twice in a graph, as it is and flipped;
    neighbours that agree join like with like, others crosswise. What is connected agrees.
    """
    triangles = len(edges.side) // 3
    rows, others = edges.pairs
    one, other = edges.triangle[rows], edges.triangle[others]
    cross = edges.rising[rows] == edges.rising[others]
    if not cross.any():
        return np.zeros(triangles, bool)
    ends = np.r_[other, other + triangles] + np.r_[cross, np.zeros(len(cross), bool)] * triangles
    ends[len(cross) :] -= cross * triangles
    _, label = components((np.r_[one, one + triangles], ends), 2 * triangles)
    as_is, over = label[:triangles], label[triangles:]
    if np.any(as_is == over):
        return None
    # two sheets a body; take the one that flips fewer of its triangles
    sheet = np.minimum(as_is, over)
    choice = as_is != sheet
    bodies = np.bincount(sheet, minlength=sheet.max() + 1)
    flipped = np.bincount(sheet, weights=choice, minlength=len(bodies))
    return np.where((flipped * 2 > bodies)[sheet], ~choice, choice)


def welded(mesh: Mesh, same: float, *, about: Array | float = 0.0) -> tuple[Mesh, Flags]:
    """The mesh with vertices in one cell of a lattice made one.

    Parameters
    ----------
    mesh : Mesh
        With vertices of their own for neighbouring triangles.
    same : float
        Size of a cell [mm].
    about : array_like, (3,)
        A middle of a cell [mm].

    Returns
    -------
    mesh : Mesh
        Each place is that of its first vertex; the order is that of x, y, z. Triangles that
        thereby lose a corner are left out.
    kept : ndarray of bool, (m,)
        Which of the triangles are still there.
    """
    cell = np.round((mesh.vertices - about) / same).astype(np.int64)
    cell -= cell.min(axis=0)
    spans = cell.max(axis=0) + 1
    if np.prod(spans.astype(float)) < 2.0**62:  # one number for each cell sorts much faster than three
        key = (cell[:, 0] * spans[1] + cell[:, 1]) * spans[2] + cell[:, 2]
        _, first, number = np.unique(key, return_index=True, return_inverse=True)
    else:
        _, first, number = np.unique(cell, axis=0, return_index=True, return_inverse=True)
    triangles = number.reshape(-1)[mesh.triangles]
    a, b, c = triangles.T
    kept = (a != b) & (b != c) & (c != a)
    return Mesh(mesh.vertices[first], triangles[kept]), kept


def in_single_precision(mesh: Mesh) -> Mesh:
    """The mesh as STL and slicers hold it: vertices in single precision, those that fall together made one.

    Parameters
    ----------
    mesh : Mesh
        One closed body.

    Returns
    -------
    Mesh
        The same, its vertices numbers of single precision.

    Raises
    ------
    KernelError
        Where it is then no longer one closed body.
    """
    single, _ = welded(Mesh(mesh.vertices.astype("<f4").astype(np.float64), mesh.triangles), 1e-9)
    if single.faults:
        raise KernelError("the mesh, rounded to the single precision of its file", *single.faults)
    return single


_KNOWN: WeakKeyDictionary[Mesh, "Manifold"] = WeakKeyDictionary()  # a mesh that is let go takes its solid along


def manifold_of(mesh: Mesh) -> "Manifold":
    """A closed mesh for manifold3d.

    Parameters
    ----------
    mesh : Mesh
        Closed, facing outward.

    Returns
    -------
    Manifold
        The same to the last digit.

    Raises
    ------
    ValueError
        Where the mesh is open.
    """
    from manifold3d import Error, Manifold, Mesh64

    if mesh not in _KNOWN:  # skin and core of a piece are sliced a hundred times and more
        solid = Manifold(Mesh64(np.ascontiguousarray(mesh.vertices, np.float64), mesh.triangles.astype(np.uint64)))
        if solid.status() != Error.NoError:
            raise ValueError("the mesh has a hole or a torn edge")
        _KNOWN[mesh] = solid
    return _KNOWN[mesh]


def mesh_of_manifold(solid: "Manifold") -> Mesh:
    """What manifold3d made, as a mesh."""
    made = solid.to_mesh64()
    return Mesh(np.array(made.vert_properties, np.float64)[:, :3], np.array(made.tri_verts, np.int64))


def lean(mesh: Mesh, within: float) -> Mesh:
    """A closed mesh with fewer triangles and no slivers: edges are collapsed where the surface stays near.

    Parameters
    ----------
    mesh : Mesh
        Closed, facing outward.
    within : float
        Greatest distance between the two surfaces [mm].

    Returns
    -------
    Mesh
        Over some of the same vertices; the same mesh where a thin spot would part.

    Raises
    ------
    ValueError
        Where the mesh is open.
    """
    fewer = (mesh_of_manifold(manifold_of(mesh).simplify(within * share)) for share in (1.0, 0.3, 0.1))
    return next((one for one in fewer if not one.faults), mesh)
