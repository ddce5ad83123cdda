"""The piece's own frame in a scan: which way is along, which way is up, where the first end lies."""

from dataclasses import dataclass

import numpy as np

from nutgen.finding import Finding, note
from nutgen.geometry.mesh import Array, Mesh
from nutgen.geometry.pose import Pose
from nutgen.geometry.slices import Slices, slices
from nutgen.stock.piece import Axis
from nutgen.stock.scan.header import MeshRefused

STEP = 2.0
"""Between sections [mm]."""

NEAR_END = 0.04
"""Share of the length from either end at which the straightedge touches the line of the middles."""

ALIKE = 0.01
"""Share by which the areas of the two ends must differ to tell them apart."""

PARALLEL = 0.2
"""Sine of the least angle between the directions along and back."""


SMOOTH = 5.0
"""Standard deviation of the weights that smooth the middles along the piece [mm]: about 10 mm count."""


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """How the piece lies in its scan.

    pose   : of the piece's frame, axes along, sideways, up, in the scan's; zero is where the first end's
             plane meets the line of the straightedge
    length : from the first end's plane to the last's [mm]
    axis   : the middle of the piece, in its own frame
    areas  : of the sections near the first and the last end [mm2]
    notes  : for the maker
    """

    pose: Pose
    length: float
    axis: Axis
    areas: tuple[float, float]
    notes: tuple[Finding, ...]

    def placed(self, mesh: Mesh) -> Mesh:
        """A mesh of the scan in the piece's frame."""
        return Mesh(self.pose.apply_inverse(mesh.vertices), mesh.triangles)


def find_frame(surface: Mesh, *, along: Array | None, back: Array | None) -> Frame:
    """Find the frame of a piece in its closed surface.

    along  : unit vector from the first end to the last; None: the line through the middles of the
             sections near both ends of its longest axis, from the thicker end on
    back   : unit vector toward the line along the back; None: z, or what is most up
    raises : MeshRefused where the two directions are nearly the same
    """
    direction, notes = _longest(surface) if along is None else (along, ())
    axes = _axes(direction, back)
    low, high, cut = _cut(surface, axes)
    length = high - low
    near = low + length * np.array([NEAR_END, 1.0 - NEAR_END])
    first = _smooth_middles(cut, near)[0]
    origin = np.array([low, *first]) @ axes
    places = np.linspace(0.0, length, max(2, int(np.ceil(length / STEP)) + 1))
    middles = _smooth_middles(cut, low + places) - first
    return Frame(
        pose=Pose.of(origin, axes),
        length=float(length),
        axis=Axis(along=places, sideways=middles[:, 0], up=middles[:, 1]),
        areas=_end_areas(cut, low, length),
        notes=notes,
    )


def _longest(surface: Mesh) -> tuple[Array, tuple[Finding, ...]]:
    """The direction of the straightedge, from the thicker end to the thinner, and a note where they are alike."""
    direction = _principal(surface)
    for _ in range(4):
        axes = _axes(direction, None)
        low, high, cut = _cut(surface, axes)
        near = low + (high - low) * np.array([NEAR_END, 1.0 - NEAR_END])
        ends = np.column_stack([near, _smooth_middles(cut, near)]) @ axes
        direction = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    low, high, cut = _cut(surface, _axes(direction, None))
    first, last = _end_areas(cut, low, high - low)
    if abs(first - last) > ALIKE * max(first, last):
        return (direction if first > last else -direction), ()
    longest = int(np.argmax(np.abs(direction)))
    return direction * np.sign(direction[longest]), (note("scan.ends-alike", axis="xyz"[longest]),)


def _principal(surface: Mesh) -> Array:
    """The axis about which the surface's area is spread the least: unit vector (3,).

    The second moments of a triangle are those of its corners and of its middle, weighted 1 : 1 : 1 : 9
    (exact; as for the mass points of a triangular plate).
    """
    corners = surface.corners
    area = surface.areas
    middle = corners.mean(axis=1)
    corners = corners - np.average(middle, axis=0, weights=area)
    middle = corners.mean(axis=1)
    second = 9.0 * np.einsum("i,ij,ik->jk", area, middle, middle)
    second += np.einsum("i,icj,ick->jk", area, corners, corners)
    return np.linalg.eigh(second)[1][:, -1]


def _axes(along: Array, back: Array | None) -> Array:
    """Rows along, sideways, up; up is the back direction made square to along."""
    lift = back
    if lift is None:
        lift = np.eye(3)[2] if abs(along[2]) < 0.87 else np.eye(3)[int(np.argmin(np.abs(along)))]
    up = lift - (lift @ along) * along
    if np.linalg.norm(up) < PARALLEL:
        raise MeshRefused("scan.back-along")
    up /= np.linalg.norm(up)
    return np.array([along, np.cross(up, along), up])


def _cut(surface: Mesh, axes: Array) -> tuple[float, float, Slices]:
    """Where the surface begins and ends along an axis, and its sections between."""
    place = surface.vertices @ axes[0]
    low, high = float(place.min()), float(place.max())
    number = int(np.clip(np.ceil((high - low) / STEP), 20, 1000))
    cut = slices(surface, axes, low + (np.arange(number) + 0.5) * (high - low) / number)
    return low, high, cut


def _end_areas(cut: Slices, low: float, length: float) -> tuple[float, float]:
    """Mean area of the sections near the first and the last end, the very ends left out [mm2]."""
    share = (cut.along - low) / length
    return tuple(  # type: ignore[return-value]
        float(np.mean(cut.area[(share > start) & (share < stop)])) for start, stop in ((0.05, 0.35), (0.65, 0.95))
    )


def _smooth_middles(cut: Slices, along: Array) -> Array:
    """The line of the sections' middles, smoothed: (n, 2) at places along the piece [mm].

    A straight line fitted about each place by least squares, its weights falling off with distance
    and with the section's area, so that the slivers at a slanting saw cut hardly count.
    """
    offset = (cut.along - along[:, np.newaxis]) / SMOOTH
    weight = np.exp(-0.5 * np.minimum(offset**2, 60.0)) * cut.area**2
    # never fewer than what lies within a third of the cut, where sections stand far apart or stop short
    weight += 1e-6 * weight.max() / (1.0 + offset**2)
    s0, s1, s2 = (np.sum(weight * offset**power, axis=1) for power in range(3))
    t0, t1 = (np.einsum("nk,kd->nd", weight * offset**power, cut.middle) for power in range(2))
    determinant = s0 * s2 - s1**2
    flat = determinant <= 1e-9 * s0 * s2
    line = (s2[:, np.newaxis] * t0 - s1[:, np.newaxis] * t1) / np.where(flat, 1.0, determinant)[:, np.newaxis]
    return np.where(flat[:, np.newaxis], t0 / s0[:, np.newaxis], line)
