"""Plane sections against closed forms, and against other libraries' sections and areas."""

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe

from nutgen.geometry.mesh import Mesh
from nutgen.geometry.slices import area, girth, kept, outline, plane_facing, section
from nutgen.stock.piece import square_to_straightedge
from tests.stock.pieces_by_hand import cylinder, none, shin, swept

UP = np.array([0.0, 0.0, 1.0])


def ellipse_girth(a: float, b: float) -> float:
    """4 a E(e), the complete elliptic integral of the second kind. Source: DLMF 19.9.9."""
    return float(4.0 * a * ellipe(1.0 - (b / a) ** 2))


class TestClosedForms:
    @pytest.mark.parametrize("tilt_deg", [0.0, 5.0, 30.0])
    def test_an_oblique_cut_of_a_round_rod_is_an_ellipse(self, tilt_deg):
        """Half axes r and r / cos: any textbook of descriptive geometry."""
        radius, tilt = 12.0, np.radians(tilt_deg)
        plane = plane_facing(
            np.array([50.0, 1.0, 2.0]), np.array([np.cos(tilt), 0.6 * np.sin(tilt), 0.8 * np.sin(tilt)]), up=UP
        )
        (loop,) = section(cylinder(radius, 100.0, around=2000), plane)
        assert area(loop) == pytest.approx(np.pi * radius**2 / np.cos(tilt), rel=1e-5)
        assert girth(loop) == pytest.approx(ellipse_girth(radius / np.cos(tilt), radius), rel=1e-5)

    def test_of_an_elliptic_rod(self):
        rod = swept([0.0, 80.0], wide=lambda _: 15.0, high=lambda _: 9.0, sideways=none, up=none, around=2000)
        (loop,) = section(rod, square_to_straightedge(33.0))
        assert area(loop) == pytest.approx(np.pi * 15.0 * 9.0, rel=1e-5)
        assert girth(loop) == pytest.approx(ellipse_girth(15.0, 9.0), rel=1e-5)
        assert np.ptp(loop, axis=0) == pytest.approx([30.0, 18.0], abs=1e-3)

    def test_left_is_left_when_seen_from_the_first_end(self):
        rod = swept([0.0, 80.0], wide=lambda _: 5.0, high=lambda _: 5.0, sideways=lambda _: 20.0, up=lambda _: 7.0)
        (loop,) = section(rod, square_to_straightedge(40.0))
        assert loop.mean(axis=0) == pytest.approx([-20.0, 7.0])

    def test_a_hole_runs_the_other_way(self):
        outside, inside = cylinder(12.0, 60.0, around=720), cylinder(5.0, 60.0, around=720)
        count = len(outside.vertices)
        tube = Mesh(
            np.vstack([outside.vertices, inside.vertices]),
            np.vstack([outside.triangles, inside.triangles[:, ::-1] + count]),
        )
        around, hole = section(tube, square_to_straightedge(30.0))
        assert area(around) == pytest.approx(np.pi * 144.0, rel=1e-4)
        assert area(hole) == pytest.approx(-np.pi * 25.0, rel=1e-4)

    def test_through_corners(self):
        """A plane that runs through corners and along edges still gives one whole outline."""
        rod = swept(
            np.linspace(0.0, 60.0, 13), wide=lambda _: 8.0, high=lambda _: 8.0, sideways=none, up=none, around=360
        )
        for plane in (
            square_to_straightedge(30.0),
            plane_facing(np.array([30.0, 0, 0]), np.array([1.0, 0, 1.0]), up=UP),
        ):
            (loop,) = section(rod, plane)
            cos = abs(plane.normal[0])
            assert area(loop) == pytest.approx(np.pi * 64.0 / cos, rel=1e-3)

    def test_misses(self):
        assert section(cylinder(5.0, 60.0), square_to_straightedge(61.0)) == ()
        assert outline(cylinder(5.0, 60.0), square_to_straightedge(-1.0)) is None

    def test_an_open_surface_is_refused(self):
        whole = cylinder(5.0, 60.0)
        torn = Mesh(whole.vertices, whole.triangles[1:])
        with pytest.raises(ValueError, match="hole or a torn edge"):
            section(torn, square_to_straightedge(30.0))


@settings(max_examples=60)
@given(
    along=st.floats(5.0, 145.0),
    normal=st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(
        lambda n: np.linalg.norm(n) > 0.2 and abs(n[2]) < 0.9 * np.linalg.norm(n)
    ),
    core=st.booleans(),
)
def test_is_as_long_as_another_library_says(along, normal, core):
    """trimesh's own mesh_plane gives loose segments: the same in all, and all on the loops."""
    body = shin()
    surface = body.core if core else body.skin
    plane = plane_facing(np.array([along, 0.3, -6.0]), np.array(normal), up=UP)
    loops = section(surface, plane)
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False)
    segments = trimesh.intersections.mesh_plane(mesh, plane.normal, plane.origin)
    length = float(np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum()) if len(segments) else 0.0
    assert sum(map(girth, loops)) == pytest.approx(length, abs=1e-6)
    for loop in loops:
        assert np.abs(plane.above(plane.to_space(loop))).max() < 1e-9
        assert area(loop) == pytest.approx(shapely.Polygon(loop).area, rel=1e-9, abs=1e-9)  # and counter-clockwise


@settings(max_examples=80)
@given(
    radii=st.lists(st.floats(2.0, 20.0), min_size=4, max_size=24),
    turn_deg=st.floats(0.0, 360.0),
    distance=st.floats(-15.0, 15.0),
)
def test_what_is_kept_of_an_outline(radii, turn_deg, distance):
    """Against shapely's intersection with a half plane."""
    flat = square_to_straightedge(10.0)
    angles = np.arange(len(radii)) * 2.0 * np.pi / len(radii)
    star = np.array(radii)[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    way = np.array([np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))])
    cut = plane_facing(
        flat.to_space((way * distance)[None])[0], flat.to_space(way[None])[0] - flat.origin, up=np.array([1.0, 0, 0])
    )
    left = kept(flat.to_space(star), cut)
    aside = np.array([-way[1], way[0]])
    corners = [way * distance + aside * s * 100.0 - way * d for s, d in ((1, 0), (-1, 0), (-1, 200), (1, 200))]
    want = shapely.Polygon(star).buffer(0).intersection(shapely.Polygon(corners)).area
    found = area(flat.to_plane(left)) if len(left) >= 3 else 0.0
    assert found == pytest.approx(want, abs=1e-6)


def test_a_polygon_in_the_plane_itself_stays_whole():
    """Rounding puts its corners on either side by 1e-9; none may be cut off for that."""
    flat = plane_facing(np.array([20.0, 1.0, 2.0]), np.array([1.0, 0.2, 0.1]), up=UP)
    loop = outline(cylinder(12.0, 60.0, around=360), flat)
    assert np.array_equal(kept(loop, flat), loop)
    assert np.array_equal(kept(loop, flat.turned_over()), loop)
