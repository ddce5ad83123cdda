"""The nut as a mesh whose slots are carved out of the mesh of its body, without the CAD kernel.

Ten times as fast as to cut the slots out of a solid and to mesh what is left, and as good for a printer;
what goes to a CAD program is the solid. The body is its own sections joined, exact to a chord; each slot is
a U drawn along its floor. Carving is manifold3d's, whose result closes by construction.
"""

import math

import manifold3d
import numpy as np
from numpy.typing import NDArray

from nutgen.geometry.mesh import Mesh
from nutgen.model.mesh import CHORD
from nutgen.model.mill.removed import merged_slots, removed_volume, roll_span
from nutgen.model.section import Corner, corner, eased_radius, profile
from nutgen.nut.ledge import front_of
from nutgen.nut.part import Nut, Slot

Array = NDArray[np.float64]

FINE = CHORD / 4.0
"""Greatest distance between a chord and what it stands for [mm]."""

BEYOND = 0.25
"""A slot is carved this far beyond the body [mm]."""


class CarvingError(Exception):
    """The slots could not be carved out of the body; says why."""


def carved(nut: Nut) -> Mesh:
    """The nut with its slots cut, one closed mesh.

    raises : CarvingError where it does not come out as one piece, or does not lack what its slots take
    """
    body = _manifold(*body_hull(nut)) if front_of(nut) == 0.0 else _with_ledges(nut)
    parts = [body, *(_manifold(*slot_hull(nut, slot)) for slot in merged_slots(nut))]
    left = manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Subtract)
    mesh = _mesh(left)
    wanted = float(body.volume()) - (removed_volume(nut) if nut.slots else 0.0)
    if mesh.faults:
        raise CarvingError(f"the nut with its slots carved out is not sound: {'; '.join(mesh.faults)}")
    if abs(mesh.volume - wanted) > 1e-3 * wanted:
        raise CarvingError(f"the nut with its slots carved out fills {mesh.volume:.2f} of {wanted:.2f} mm3")
    return mesh


def _with_ledges(nut: Nut) -> "manifold3d.Manifold":
    """The body with the ledges of a nut setback, which only the kernel builds."""
    from nutgen.model.mesh import mesh_of
    from nutgen.model.solid import ledged_body

    whole = mesh_of(ledged_body(nut))
    return _manifold(whole.vertices, whole.triangles)


def body_hull(nut: Nut) -> tuple[Array, NDArray[np.int64]]:
    """The nut before its slots are cut: its sections from front to back, joined; vertices (n, 3), triangles (m, 3)."""
    radius = eased_radius(nut)
    pieces = profile(nut, edge_radius=radius)
    stations = [pieces[0].start]
    for piece in pieces:
        count = _spans(piece.radius, math.pi / 2.0) if piece.centre else 1
        y, inset = piece.at(np.linspace(0.0, 1.0, count + 1)[1:])
        stations += zip(y.tolist(), inset.tolist(), strict=True)
    places = np.array(stations)
    outline = _section(nut, places[:, 1], radius)[:, ::-1]  # (sections, corners, 2), clockwise from the front
    vertices = np.insert(outline, 1, 0.0, axis=2)
    vertices[:, :, 1] = places[:, 0][:, None]
    cap = np.asarray(manifold3d.triangulate([outline[0, ::-1]]), np.int64)
    cap = outline.shape[1] - 1 - cap[:, ::-1]
    return vertices.reshape(-1, 3), _swept(outline.shape[0], outline.shape[1], cap)


def _section(nut: Nut, inset: Array, radius: float) -> Array:
    """Outlines of sections, counterclockwise from the lower left corner, all with as many corners; (n, corners, 2)."""
    half, n = nut.half_length, len(inset)
    hollow = 1.0 / nut.underside.curvature if nut.underside.curvature else math.inf
    x = np.linspace(-half, half, _spans(hollow, 2.0 * half / hollow) + 1)
    foot = np.broadcast_to(np.stack([x, nut.underside.z(x)], axis=1), (n, len(x), 2))
    right, left = (corner(nut, inset, side=side, edge_radius=radius) for side in (1.0, -1.0))
    rounds = [_round(right, radius), _round(left, radius)[:, ::-1]]
    crown = _crown(nut, inset, rounds[0][:, -1, 0], rounds[1][:, 0, 0])
    return np.concatenate([foot, rounds[0], crown, rounds[1]], axis=1)


def _round(at: Corner, radius: float) -> Array:
    """The eased corner of each section from the end to the top; one point where it is sharp."""
    if radius == 0.0:
        return at.end[:, None, :]
    middle = at.end.copy()
    middle[:, 0] -= np.sign(at.end[:, 0]) * radius
    first, last = (np.arctan2(p[:, 1] - middle[:, 1], p[:, 0] - middle[:, 0]) for p in (at.end, at.touch))
    turn = (last - first + math.pi) % (2.0 * math.pi) - math.pi
    shares = np.linspace(0.0, 1.0, _spans(radius, math.pi / 2.0) + 1)
    angle = first[:, None] + turn[:, None] * shares
    return middle[:, None, :] + radius * np.stack([np.cos(angle), np.sin(angle)], axis=2)


def _crown(nut: Nut, inset: Array, right: Array, left: Array) -> Array:
    """Points of the top between the corners, from right to left; none where it is straight."""
    count = _spans(nut.top_radius, nut.length / nut.top_radius)
    if count == 1:
        return np.empty((len(inset), 0, 2))
    shares = np.linspace(0.0, 1.0, count + 1)[1:-1]
    x = right[:, None] + (left - right)[:, None] * shares
    xc, zc = nut.crown.centre
    z = zc + np.sqrt((nut.top_radius - inset)[:, None] ** 2 - (x - xc) ** 2)
    return np.stack([x, z], axis=2)


def _spans(radius: float, turn: float) -> int:
    """Chords within FINE of an arc: one of angle a stands off by R a^2 / 8."""
    return max(1, math.ceil(turn * math.sqrt(radius / (8.0 * FINE)))) if math.isfinite(radius) else 1


def _manifold(vertices: Array, triangles: NDArray[np.int64]) -> "manifold3d.Manifold":
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.ascontiguousarray(vertices), np.ascontiguousarray(triangles, np.uint64))
    )
    if solid.status() != manifold3d.Error.NoError:
        raise CarvingError(f"a mesh of the nut is not sound: {solid.status().name}")
    return solid


def _mesh(solid: "manifold3d.Manifold") -> Mesh:
    """Back to a mesh of ours."""
    found = solid.to_mesh64()
    return Mesh(np.array(found.vert_properties, float), np.array(found.tri_verts, np.int64))


def slot_hull(nut: Nut, slot: Slot) -> tuple[Array, NDArray[np.int64]]:
    """What is taken away for one slot: sections square to its floor, joined; vertices (n, 3), triangles (m, 3)."""
    fan, tilt, r = math.radians(slot.fan_deg), math.radians(slot.tilt_deg), slot.width / 2.0
    along, side = np.array([math.sin(fan), math.cos(fan), 0.0]), np.array([math.cos(fan), -math.sin(fan), 0.0])
    up, start = np.array([0.0, 0.0, 1.0]), np.array([slot.x, slot.start_y, slot.floor_z])
    top = nut.crown.highest(nut.half_length) + BEYOND
    spread = r * abs(math.tan(fan)) + BEYOND / math.cos(fan)
    before, after = spread - slot.run(front_of(nut)), spread + slot.run(nut.thickness)
    aside, rise = _outline(r)
    if slot.rolled:
        roll = slot.roll_radius
        centre = start - roll * (math.sin(tilt) * along + math.cos(tilt) * up)
        first, last, height = roll_span(slot, before=before, after=after, rise=top - centre[2])
        count = max(1, _spans(roll + height, last - first))
        turns = np.linspace(first, last, count + 1)
        normals = np.sin(turns)[:, None] * along + np.cos(turns)[:, None] * up
        feet = centre + roll * normals
    else:
        normal = math.sin(tilt) * along + math.cos(tilt) * up
        down = math.cos(tilt) * along - math.sin(tilt) * up
        ahead = (after + r * math.sin(tilt)) / math.cos(tilt)
        height = (top - start[2] + ahead * math.sin(tilt)) / math.cos(tilt)
        behind = (before + height * math.sin(tilt)) / math.cos(tilt)
        normals = np.array([normal, normal])
        feet = start + np.array([-behind, ahead])[:, None] * down
    rise = np.where(np.isinf(rise), max(height, 2.0 * r), rise)
    sections = feet[:, None, :] + aside[None, :, None] * side + rise[None, :, None] * normals[:, None, :]
    ring = np.arange(1, len(aside) - 1)
    cap = np.stack([np.zeros_like(ring), ring, ring + 1], axis=1)  # a U is convex
    return sections.reshape(-1, 3), _swept(len(sections), len(aside), cap)


def _outline(r: float) -> tuple[Array, Array]:
    """A U across the slot, from its right upper corner down and round to the left one: aside, height over the floor.

    inf stands for the upper edge. An even number of chords has one node at the very bottom.
    """
    turns = np.linspace(math.pi / 2.0, -math.pi / 2.0, 2 * max(4, _spans(r, math.pi / 2.0)) + 1)
    aside, rise = r * np.sin(turns), r * (1.0 - np.cos(turns))
    return np.concatenate([[r], aside, [-r]]), np.concatenate([[math.inf], rise, [math.inf]])


def _swept(sections: int, corners: int, cap: NDArray[np.int64]) -> NDArray[np.int64]:
    """Triangles over sections of as many corners each, joined in order, outward.

    cap : triangles of one section, facing the way that the sections follow each other
    """
    one = np.arange(corners)
    following = np.roll(one, -1)
    sides = []
    for k in range(sections - 1):
        a, b, c, d = k * corners + one, k * corners + following, (k + 1) * corners + following, (k + 1) * corners + one
        sides += [np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)]
    return np.concatenate([cap[:, ::-1], *sides, cap + (sections - 1) * corners])
