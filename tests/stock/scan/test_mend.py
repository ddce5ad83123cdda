"""Scans that are mended, and scans that are not; trimesh judges the outcome."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.finding import Finding, note
from nutgen.geometry.mesh import Mesh
from nutgen.stock.scan.header import MeshRefused
from nutgen.stock.scan.mend import mend, split
from tests.stock.scans import cone
from tests.stock.test_calipers import windings


def judged(surface: Mesh) -> trimesh.Trimesh:
    """A closed mesh that faces outward, or a failure."""
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0.0
    return mesh


def refused(mesh: trimesh.Trimesh) -> Finding:
    """Why a mesh is not mended."""
    with pytest.raises(MeshRefused) as caught:
        mend(Mesh(mesh.vertices, mesh.faces))
    return caught.value.finding


def fine_cone() -> trimesh.Trimesh:
    return cone().subdivide_to_size(6.0)


def test_a_sound_mesh_passes_without_a_note() -> None:
    mesh = trimesh.creation.icosphere(subdivisions=3, radius=20.0)
    mended = mend(Mesh(mesh.vertices, mesh.faces))
    assert mended.notes == ()
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume)


def test_vertices_in_one_place_become_one() -> None:
    corners = cone().triangles.reshape(-1, 3)
    apart = corners + np.random.default_rng(1).uniform(-1e-5, 1e-5, corners.shape)
    mended = mend(Mesh(apart, np.arange(len(apart)).reshape(-1, 3)))
    assert len(mended.mesh.vertices) == len(cone().vertices)
    assert judged(mended.mesh).volume == pytest.approx(cone().volume, rel=1e-5)


def test_triangles_without_extent_or_there_twice_go() -> None:
    mesh = cone()
    needless = np.vstack([mesh.faces, mesh.faces[:5], [[7, 7, 9]]])
    mended = mend(Mesh(mesh.vertices, needless))
    assert mended.notes == (note("scan.triangles-twice", count=5),)
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume)


def test_loose_crumbs_go() -> None:
    crumb = trimesh.creation.icosphere(subdivisions=1, radius=0.6).apply_translation([40, 25, 0])
    mesh = trimesh.util.concatenate([cone(), crumb])
    mended = mend(Mesh(mesh.vertices, mesh.faces))
    (dropped,) = mended.notes
    assert (dropped.code, dropped.value("count")) == ("scan.crumbs-dropped", 1)
    assert dropped.value("lost_share") == pytest.approx(crumb.area / mesh.area)
    assert judged(mended.mesh).volume == pytest.approx(cone().volume)


def test_many_crumbs_are_no_piece() -> None:
    crumbs = [trimesh.creation.box((3, 3, 3)).apply_translation([5 * k, 30, 0]) for k in range(20)]
    mesh = trimesh.util.concatenate([cone(), *crumbs])
    why = refused(mesh)
    assert (why.code, why.value("parts")) == ("scan.loose-parts", 21)
    assert why.value("crumb_share") == pytest.approx(20 * 54.0 / mesh.area)


def test_what_faces_the_wrong_way_is_turned() -> None:
    mesh = fine_cone()
    inward = mend(Mesh(mesh.vertices, mesh.faces[:, ::-1]))
    assert inward.notes == (note("scan.faced-inward"),)
    assert judged(inward.mesh).volume == pytest.approx(mesh.volume)
    mixed = mesh.faces.copy()
    some = np.random.default_rng(2).choice(len(mixed), 40, replace=False)
    mixed[some] = mixed[some, ::-1]
    mended = mend(Mesh(mesh.vertices, mixed))
    assert mended.notes == (note("scan.triangles-turned", count=40),)
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume)


def test_small_flat_holes_are_closed() -> None:
    mesh = fine_cone()
    at_end = np.flatnonzero(np.abs(mesh.triangles_center - [80, 3, 3]).max(axis=1) < 3.0)
    side = np.flatnonzero(mesh.triangles_center[:, 0] < 60.0)[-1:]
    holed = np.delete(mesh.faces, np.r_[at_end, side], axis=0)
    mended = mend(Mesh(mesh.vertices, holed))
    (closed,) = mended.notes
    assert (closed.code, closed.value("count")) == ("scan.holes-closed", 2)
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume, rel=1e-6)


def test_an_open_end_is_refused_with_its_place() -> None:
    mesh = fine_cone()
    opened = mesh.faces[mesh.triangles_center[:, 0] < 79.999]
    why = refused(trimesh.Trimesh(mesh.vertices, opened, process=False))
    assert (why.code, why.value("openings")) == ("scan.open-mesh", 1)
    assert why.value("wide") == pytest.approx(26.0, abs=0.05)
    assert why.value("at") == pytest.approx((80.0, 0.0, 0.0), abs=0.05)


@pytest.mark.parametrize("end", [0.0, 80.0])
def test_of_several_openings_the_largest_is_told(end: float) -> None:
    """An open end and a torn side: whichever comes first in the file."""
    mesh = fine_cone()
    middles = mesh.triangles_center
    torn = np.linalg.norm(middles - [40.0, 14.5, 0.0], axis=1) < 5.0
    why = refused(
        trimesh.Trimesh(mesh.vertices, mesh.faces[~torn & (np.abs(middles[:, 0] - end) > 1e-3)], process=False)
    )
    assert (why.code, why.value("openings")) == ("scan.open-mesh", 2)
    assert why.value("at") == pytest.approx((end, 0.0, 0.0), abs=0.05)


def test_a_hole_in_a_curved_side_is_refused() -> None:
    """10 mm across on a radius of 14.5 mm bulge 0.9 mm: a flat patch would tell too little of the skin."""
    mesh = cone().subdivide_to_size(2.0)
    holed = mesh.faces[np.linalg.norm(mesh.triangles_center - [40, 14.5, 0], axis=1) > 5.0]
    why = refused(trimesh.Trimesh(mesh.vertices, holed, process=False))
    assert (why.code, why.value("openings")) == ("scan.open-mesh", 1)
    assert 10.0 <= why.value("wide") < 12.0


def test_more_than_two_triangles_on_an_edge_are_refused() -> None:
    one = trimesh.creation.box((10, 10, 30))
    mesh = trimesh.util.concatenate([one, one.copy().apply_translation([10, 10, 0])])
    why = refused(mesh)
    assert (why.code, why.value("count")) == ("scan.edges-meet", 1)
    assert why.value("at") == pytest.approx((5.0, 5.0, 0.0))


def test_two_bodies_are_refused_and_a_hollow_is_kept() -> None:
    ball = trimesh.creation.icosphere(subdivisions=3, radius=5.0)
    apart = trimesh.util.concatenate([cone(), ball.copy().apply_translation([40, 40, 0])])
    assert (refused(apart).code, refused(apart).value("bodies")) == ("scan.several-bodies", 2)
    assert np.linalg.norm(np.array(refused(apart).value("at")) - [40.0, 40.0, 0.0]) == pytest.approx(5.0, abs=0.1)
    across = trimesh.util.concatenate([cone(), ball.copy().apply_translation([40, 14, 0])])
    assert refused(across).code == "scan.several-bodies"
    within = trimesh.util.concatenate([cone(), ball.copy().apply_translation([40, 0, 0])])
    mended = mend(Mesh(within.vertices, within.faces))
    assert mended.notes == (note("scan.hollows", count=1),)
    assert judged(mended.mesh).volume == pytest.approx(cone().volume - ball.volume)


def test_a_small_hollow_of_many_triangles_is_no_crumb() -> None:
    """A bubble in a bar of twelve triangles: less than a hundredth of the area, and nearly all of the mesh."""
    bar = trimesh.creation.box((60.0, 14.0, 10.0))
    bubble = trimesh.creation.icosphere(subdivisions=3, radius=0.6).apply_translation([5.0, 1.0, 1.0])
    within = trimesh.util.concatenate([bar, bubble])
    mended = mend(Mesh(within.vertices, within.faces))
    assert mended.notes == (note("scan.hollows", count=1),)
    assert judged(mended.mesh).volume == pytest.approx(bar.volume - bubble.volume)


def test_a_tube_is_its_own_skin() -> None:
    tube = trimesh.creation.annulus(r_min=8.0, r_max=16.0, height=80.0)
    mended = mend(Mesh(tube.vertices, tube.faces))
    assert mended.notes == ()
    assert judged(mended.mesh).volume == pytest.approx(tube.volume)


def test_a_skin_that_passes_through_itself_is_refused_with_a_place_that_it_goes_round_the_wrong_way() -> None:
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=20.0)
    vertices = mesh.vertices.copy()
    vertices[vertices[:, 0] > 14.0] -= [40.0, 0.0, 0.0]
    with pytest.raises(MeshRefused, match=r"^scan\.overlaps$") as refused:
        mend(Mesh(vertices, mesh.faces))
    place = np.array([refused.value.finding.value("at")])
    assert round(float(windings(place, trimesh.Trimesh(vertices, mesh.faces))[0])) not in (0, 1)


def test_a_fold_that_crosses_the_skin_is_told_with_its_place() -> None:
    """A needle from one side of a ball that comes out of the other by 4: it counts, but for very little."""
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=20.0)
    vertices = mesh.vertices.copy()
    vertices[vertices[:, 0].argmax()] = [-24.0, 0.0, 0.0]
    (told,) = mend(Mesh(vertices, mesh.faces)).notes
    assert told.code == "scan.crosses-itself"
    x, y, z = told.value("at")  # type: ignore[misc]
    assert -24.0 < float(x) < -17.0
    assert float(np.hypot(y, z)) < 2.0


def test_a_twisted_strip_has_no_inside() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 40, endpoint=False)
    rim = [
        np.column_stack(
            [
                (30 + side * np.cos(turn / 2)) * np.cos(turn),
                (30 + side * np.cos(turn / 2)) * np.sin(turn),
                side * np.sin(turn / 2),
            ]
        )
        for side in (-8.0, 8.0)
    ]
    rows = [(k, k + 1, 40 + k) for k in range(39)] + [(k + 1, 41 + k, 40 + k) for k in range(39)]
    rows += [(39, 40, 79), (40, 0, 79)]
    with pytest.raises(MeshRefused, match=r"^scan\.one-sided$"):
        mend(Mesh(np.vstack(rim), np.array(rows)))


@settings(max_examples=12)
@given(st.integers(0, 2**32 - 1), st.floats(1.0, 9.0))
def test_splitting_keeps_the_surface_and_closes_every_edge(seed: int, longest: float) -> None:
    points = np.random.default_rng(seed).uniform(-30.0, 30.0, (12, 3))
    hull = trimesh.convex.convex_hull(points)
    found = judged(split(Mesh(hull.vertices, hull.faces), longest=longest))
    assert found.edges_unique_length.max() <= longest
    assert found.volume == pytest.approx(hull.volume, rel=1e-9)
    assert found.area == pytest.approx(hull.area, rel=1e-9)
    assert len(found.faces) < 40.0 * hull.area / longest**2 + 60 * len(hull.faces)
