"""Scans that are mended, and scans that are not; trimesh judges the outcome."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.geometry.mesh import Mesh
from nutgen.stock.scan.header import Refused
from nutgen.stock.scan.mend import mend
from nutgen.stock.scan.split import split
from tests.stock.scans import cone


def judged(surface: Mesh) -> trimesh.Trimesh:
    """A closed mesh that faces outward, or a failure."""
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.volume > 0.0
    return mesh


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
    assert mended.notes == ("5 triangles were there twice and dropped.",)
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume)


def test_loose_crumbs_go() -> None:
    crumb = trimesh.creation.icosphere(subdivisions=1, radius=0.6).apply_translation([40, 25, 0])
    mesh = trimesh.util.concatenate([cone(), crumb])
    mended = mend(Mesh(mesh.vertices, mesh.faces))
    assert mended.notes == ("1 loose crumb was dropped: 0.049 % of the area.",)
    assert judged(mended.mesh).volume == pytest.approx(cone().volume)


def test_many_crumbs_are_no_piece() -> None:
    crumbs = [trimesh.creation.box((3, 3, 3)).apply_translation([5 * k, 30, 0]) for k in range(20)]
    mesh = trimesh.util.concatenate([cone(), *crumbs])
    with pytest.raises(Refused, match=r"21 loose parts; 11 % of its area is in crumbs, at most 5 %"):
        mend(Mesh(mesh.vertices, mesh.faces))


def test_what_faces_the_wrong_way_is_turned() -> None:
    mesh = fine_cone()
    inward = mend(Mesh(mesh.vertices, mesh.faces[:, ::-1]))
    assert inward.notes == ("The skin faced inward and was turned.",)
    assert judged(inward.mesh).volume == pytest.approx(mesh.volume)
    mixed = mesh.faces.copy()
    some = np.random.default_rng(2).choice(len(mixed), 40, replace=False)
    mixed[some] = mixed[some, ::-1]
    mended = mend(Mesh(mesh.vertices, mixed))
    assert mended.notes == ("40 triangles were turned that faced the wrong way.",)
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume)


def test_small_flat_holes_are_closed() -> None:
    mesh = fine_cone()
    at_end = np.flatnonzero(np.abs(mesh.triangles_center - [80, 3, 3]).max(axis=1) < 3.0)
    side = np.flatnonzero(mesh.triangles_center[:, 0] < 60.0)[-1:]
    holed = np.delete(mesh.faces, np.r_[at_end, side], axis=0)
    mended = mend(Mesh(mesh.vertices, holed))
    assert len(mended.notes) == 1
    assert mended.notes[0].startswith("2 small holes were closed by flat patches, the widest")
    assert judged(mended.mesh).volume == pytest.approx(mesh.volume, rel=1e-6)


def test_an_open_end_is_refused_with_its_place() -> None:
    mesh = fine_cone()
    opened = mesh.faces[mesh.triangles_center[:, 0] < 79.999]
    words = r"1 opening, the largest 26\.0 mm wide near x 80\.0, y -?0\.0, z -?0\.0 mm of the scan"
    with pytest.raises(Refused, match=words):
        mend(Mesh(mesh.vertices, opened))


def test_a_hole_in_a_curved_side_is_refused() -> None:
    """10 mm across on a radius of 14.5 mm bulge 0.9 mm: a flat patch would tell too little of the skin."""
    mesh = cone().subdivide_to_size(2.0)
    holed = mesh.faces[np.linalg.norm(mesh.triangles_center - [40, 14.5, 0], axis=1) > 5.0]
    with pytest.raises(Refused, match=r"1 opening, the largest 1[01]\.\d mm wide"):
        mend(Mesh(mesh.vertices, holed))


def test_more_than_two_triangles_on_an_edge_are_refused() -> None:
    one = trimesh.creation.box((10, 10, 30))
    mesh = trimesh.util.concatenate([one, one.copy().apply_translation([10, 10, 0])])
    with pytest.raises(Refused, match=r"1 edge where more than two triangles meet, first near x 5\.0, y 5\.0, z 0\.0"):
        mend(Mesh(mesh.vertices, mesh.faces))


def test_two_bodies_are_refused_and_a_hollow_is_kept() -> None:
    ball = trimesh.creation.icosphere(subdivisions=3, radius=5.0)
    apart = trimesh.util.concatenate([cone(), ball.copy().apply_translation([40, 40, 0])])
    with pytest.raises(Refused, match="holds 2 bodies, one near"):
        mend(Mesh(apart.vertices, apart.faces))
    across = trimesh.util.concatenate([cone(), ball.copy().apply_translation([40, 14, 0])])
    with pytest.raises(Refused, match="holds 2 bodies"):
        mend(Mesh(across.vertices, across.faces))
    within = trimesh.util.concatenate([cone(), ball.copy().apply_translation([40, 0, 0])])
    mended = mend(Mesh(within.vertices, within.faces))
    assert mended.notes == ("A closed hollow inside the scan counts as skin: the blank keeps out of it.",)
    assert judged(mended.mesh).volume == pytest.approx(cone().volume - ball.volume)


def test_a_tube_is_its_own_skin() -> None:
    tube = trimesh.creation.annulus(r_min=8.0, r_max=16.0, height=80.0)
    mended = mend(Mesh(tube.vertices, tube.faces))
    assert mended.notes == ()
    assert judged(mended.mesh).volume == pytest.approx(tube.volume)


def test_a_skin_that_passes_through_itself_is_refused() -> None:
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=20.0)
    vertices = mesh.vertices.copy()
    vertices[vertices[:, 0] > 14.0] -= [40.0, 0.0, 0.0]
    with pytest.raises(Refused, match="overlaps itself"):
        mend(Mesh(vertices, mesh.faces))


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
    with pytest.raises(Refused, match="only one side"):
        mend(Mesh(np.vstack(rim), np.array(rows)))


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(1.0, 9.0))
def test_splitting_keeps_the_surface_and_closes_every_edge(seed: int, longest: float) -> None:
    points = np.random.default_rng(seed).uniform(-30.0, 30.0, (12, 3))
    hull = trimesh.convex.convex_hull(points)
    found = judged(split(Mesh(hull.vertices, hull.faces), longest=longest))
    assert found.edges_unique_length.max() <= longest
    assert found.volume == pytest.approx(hull.volume, rel=1e-9)
    assert found.area == pytest.approx(hull.area, rel=1e-9)
    assert len(found.faces) < 40.0 * hull.area / longest**2 + 60 * len(hull.faces)
