"""A piece from caliper readings against closed forms, and its surfaces against trimesh and scipy."""

import math
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator
from scipy.spatial import cKDTree

from nutgen.errors import SpecFaults
from nutgen.geometry.mesh import Mesh
from nutgen.spec.piece import PieceSpec
from nutgen.spec.read import parse_piece
from nutgen.stock.calipers import piece_from_calipers
from nutgen.stock.tube import SAG, tube

Rows = list[dict[str, object]]


def spec_of(rows: Rows, *, ends: str = "") -> PieceSpec:
    def shown(value: object) -> str:
        if isinstance(value, dict):
            return "{ " + ", ".join(f"{key} = {number}" for key, number in value.items()) + " }"
        return f"{value}"

    text = "\n".join("[[stations]]\n" + "\n".join(f"{key} = {shown(row[key])}" for key in row) for row in rows)
    return parse_piece(f'title = "x"\n{text}\n[ends]\n{ends}\n', source="x")


def solid(surface: Mesh) -> trimesh.Trimesh:
    """As trimesh reads it; watertight, outward, no sliver without area."""
    mesh = trimesh.Trimesh(surface.vertices, surface.triangles, process=False, validate=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.is_volume
    assert mesh.area_faces.min() > 0.0
    return mesh


def windings(points: np.ndarray, mesh: trimesh.Trimesh) -> np.ndarray:
    """How often a closed surface goes round each point: 1 inside, 0 outside.

    Source: Van Oosterom, A., Strackee, J., The solid angle of a plane triangle, IEEE Trans. Biomed. Eng. 30 (1983).
    """
    a, b, c = (mesh.triangles[None, :, corner] - points[:, None] for corner in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=2) for v in (a, b, c))
    dot = lambda u, v: np.einsum("ijk,ijk->ij", u, v)  # noqa: E731
    top = dot(a, np.cross(b, c))
    bottom = la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb
    return np.asarray(np.arctan2(top, bottom).sum(axis=1) / (2.0 * np.pi))


def rod(width: float, height: float, length: float, **more: object) -> Rows:
    return [{"at": at, "width": width, "height": height, **more} for at in (0.0, length)]


class TestClosedForms:
    """Volumes and areas. Source: Bronshtein, Semendyayev, Musiol, Muehlig, Handbook of Mathematics, ch. 3.3, solids."""

    def close(self, spec: PieceSpec, volume: float) -> None:
        """Chords lie inside a convex solid, by 0.01 mm at most: so does the volume, by that times the skin."""
        mesh = solid(piece_from_calipers(spec).skin)
        assert volume - 0.01 * mesh.area < mesh.volume < volume

    @pytest.mark.parametrize(
        ("width", "height", "length"), [(31.0, 27.5, 118.0), (8.0, 4.0, 20.0), (120.0, 60.0, 300.0)]
    )
    def test_elliptic_cylinder(self, width: float, height: float, length: float) -> None:
        self.close(spec_of(rod(width, height, length)), math.pi / 4.0 * width * height * length)

    def test_cone_frustum(self) -> None:
        rows: Rows = [{"at": 0, "width": 40, "height": 40}, {"at": 130, "width": 24, "height": 24}]
        self.close(spec_of(rows), math.pi * 130.0 / 12.0 * (40.0**2 + 40.0 * 24.0 + 24.0**2))

    def test_half_ellipsoid_on_a_cylinder(self) -> None:
        spec = spec_of(rod(36.0, 30.0, 80.0), ends='last = "closed"\nlast_tip = 105.0')
        self.close(spec, math.pi * 18.0 * 15.0 * 80.0 + 2.0 / 3.0 * math.pi * 18.0 * 15.0 * 25.0)

    def test_both_ends_closed(self) -> None:
        rows: Rows = [{"at": at, "width": 36, "height": 30} for at in (12, 90)]
        spec = spec_of(rows, ends='first = "closed"\nlast = "closed"')
        self.close(spec, math.pi * 18.0 * 15.0 * (78.0 + 2.0 / 3.0 * (12.0 + 15.0)))
        piece = piece_from_calipers(spec)
        assert piece.length == pytest.approx(105.0)
        assert piece.skin.vertices[:, 0].min() == pytest.approx(0.0, abs=1e-12)

    def test_a_bow_moves_sections_and_keeps_the_volume(self) -> None:
        """Cavalieri's principle: sections square to the straightedge may slide."""
        rows = [
            {"at": at, "width": 30, "height": 26, "up": up, "sideways": -up} for at, up in ((0, 0), (60, 4), (120, 0))
        ]
        volume = math.pi / 4.0 * 30.0 * 26.0 * 120.0
        assert solid(piece_from_calipers(spec_of(rows)).skin).volume == pytest.approx(volume, rel=1e-3)

    def test_core_of_a_tube(self) -> None:
        spec = spec_of(rod(40.0, 34.0, 90.0, wall="{ left = 5, right = 9, back = 8, belly = 4 }"))
        core = piece_from_calipers(spec).core
        assert core is not None
        mesh = solid(core)
        assert mesh.volume == pytest.approx(math.pi / 4.0 * 26.0 * 22.0 * 90.0, rel=1e-3)
        wanted = [[0.0, -20.0 + 9.0, -17.0 + 4.0], [90.0, 20.0 - 5.0, 17.0 - 8.0]]
        assert np.allclose(mesh.bounds, wanted, atol=0.005)


readings = st.lists(
    st.tuples(
        *(
            st.floats(low, high).map(lambda number: round(number, 3))
            for low, high in ((8, 40), (18, 60), (18, 60), (-3, 3), (-3, 3), (-15, 15))
        )
    ),
    min_size=2,
    max_size=6,
)


def rows_of(read: list[tuple[float, ...]], **more: object) -> Rows:
    at = np.concatenate([[0.0], np.cumsum([row[0] for row in read[1:]])])
    keys = ("width", "height", "sideways", "up", "turn_deg")
    return [{"at": float(x), **dict(zip(keys, row[1:], strict=True)), **more} for x, row in zip(at, read, strict=True)]


class TestSmoothSkin:
    @pytest.mark.slow
    @settings(max_examples=20)
    @given(readings)
    def test_corners_lie_on_it_and_chords_within_a_hundredth(self, read: list[tuple[float, ...]]) -> None:
        """The skin as an equation, its readings run by scipy's own monotone cubic, each by itself."""
        rows = rows_of(read)
        skin = piece_from_calipers(spec_of(rows)).skin
        solid(skin)
        at = np.array([row["at"] for row in rows], dtype=float)
        through = {key: PchipInterpolator(at, [row[key] for row in rows]) for key in rows[0] if key != "at"}

        def away(points: np.ndarray) -> np.ndarray:
            """Distance from the skin by first order: across, over the slope along."""
            step = np.array([1e-5, 0.0, 0.0])
            slope = (out(points + step) - out(points - step)) / 2e-5
            return np.abs(out(points)) / np.sqrt(1.0 + slope**2)

        def out(points: np.ndarray) -> np.ndarray:
            """How far points are outside the ellipse of their own place, by first order."""
            x = points[:, 0]
            turn = np.radians(through["turn_deg"](x))
            y, z = points[:, 1] - through["sideways"](x), points[:, 2] - through["up"](x)
            left, back = y * np.cos(turn) - z * np.sin(turn), y * np.sin(turn) + z * np.cos(turn)
            a, b = through["width"](x) / 2.0, through["height"](x) / 2.0
            reach = np.sqrt((left / a) ** 2 + (back / b) ** 2)
            slope = np.sqrt((left / a**2) ** 2 + (back / b**2) ** 2) / np.maximum(reach, 1e-9)
            return (reach - 1.0) / np.maximum(slope, 1e-9)

        corners = skin.vertices[skin.triangles]
        on_tube = (np.abs(out(corners.reshape(-1, 3))) < 1e-9).reshape(-1, 3).all(axis=1)
        flat = np.isin(corners[:, :, 0], (0.0, at[-1])).all(axis=1)
        assert (on_tube | flat).all()
        tube = corners[on_tube & ~flat]
        assert len(tube) > 500
        inside = np.concatenate([tube.mean(axis=1), *((tube[:, i] + tube[:, i - 1]) / 2.0 for i in range(3))])
        assert away(inside).max() < 0.01

    @settings(max_examples=20)
    @given(readings)
    def test_no_diameter_leaves_the_two_readings_beside_it(self, read: list[tuple[float, ...]]) -> None:
        rows = [row | {"sideways": 0.0, "up": 0.0, "turn_deg": 0.0} for row in rows_of(read)]
        vertices = piece_from_calipers(spec_of(rows)).skin.vertices
        for before, after in pairwise(rows):
            between = vertices[(vertices[:, 0] > before["at"] + 1e-9) & (vertices[:, 0] < after["at"] - 1e-9)]
            _, ring = np.unique(between[:, 0], return_inverse=True)
            for column, key in ((1, "width"), (2, "height")):
                most = np.zeros(ring.max() + 1)
                np.maximum.at(most, ring, np.abs(between[:, column]))
                low, high = sorted(float(row[key]) / 2.0 for row in (before, after))
                assert most.min() > low - 1e-9
                assert most.max() < high + 1e-9

    @settings(max_examples=15)
    @given(readings, st.sampled_from(["cut", "closed"]))
    def test_cells_are_small_and_few(self, read: list[tuple[float, ...]], last: str) -> None:
        mesh = solid(piece_from_calipers(spec_of(rows_of(read), ends=f'last = "{last}"')).skin)
        assert mesh.edges_unique_length.max() < 2.5
        assert len(mesh.faces) < 400_000

    def test_a_shin_of_usual_size(self) -> None:
        rows = rows_of([(0, 44, 40, 0, 0, 0), (60, 39, 36, 1, -2, 4), (60, 46, 38, 0, 0, 8)])
        mesh = solid(piece_from_calipers(spec_of(rows)).skin)
        assert mesh.edges_unique_length.max() < 2.0
        assert 20_000 <= len(mesh.faces) <= 80_000

    def test_a_turn_to_the_left_is_positive(self) -> None:
        """Seen from the first end the back line is at +up and left is +sideways."""
        piece = piece_from_calipers(spec_of(rod(20.0, 40.0, 50.0, turn_deg=30.0)))
        rim = piece.skin.vertices[piece.skin.vertices[:, 0] == 0.0]
        upper = rim[rim[:, 2] > 0.0]
        furthest = upper[np.argmax(np.hypot(upper[:, 1], upper[:, 2]))]
        assert np.allclose(furthest, [0.0, 20.0 * 0.5, 20.0 * math.sqrt(3.0) / 2.0], atol=0.02)

    @pytest.mark.parametrize("next_to_nothing", [2.3e-308, 1e-17, 1e-12])
    def test_readings_that_differ_by_next_to_nothing(self, next_to_nothing: float) -> None:
        rows = rows_of([(20, 30, 26, 0, 0, 0)] * 4)
        rows[3] |= {"up": next_to_nothing, "turn_deg": next_to_nothing}
        assert solid(piece_from_calipers(spec_of(rows)).skin).volume > 0.0

    def test_axis_runs_through_the_middles(self) -> None:
        rows: Rows = [{"at": at, "width": 30, "height": 26, "up": up} for at, up in ((0, 0), (60, 4), (120, 1))]
        axis = piece_from_calipers(spec_of(rows)).axis
        assert np.allclose(axis.at(60.0), [60.0, 0.0, 4.0], atol=1e-9)
        assert np.allclose(axis.at(120.0), [120.0, 0.0, 1.0], atol=1e-9)
        assert axis.direction(20.0, span=10.0)[2] > 0.0 > axis.direction(100.0, span=10.0)[2]
        whole = np.array([120.0, 0.0, 1.0])
        assert axis.direction(500.0, span=10.0) == pytest.approx(whole / np.linalg.norm(whole))  # beyond its ends


@pytest.mark.parametrize("halves", [(12.0, 3.0), (3.0, 12.0)])
def test_rings_stay_near_their_ellipse_whichever_way_it_is_wide(halves: tuple[float, float]) -> None:
    """A chord over a step of the angle lies no farther from the ellipse than its half diameter by 1 - cos(step / 2)."""
    ellipses = np.array([[0.0, 0.0, *halves, 0.0]] * 2)
    mesh = tube(np.array([0.0, 1.0]), ellipses, tips=(False, False), cell=50.0)
    rim = mesh.vertices[mesh.vertices[:, 0] == 0.0, 1:] / halves
    around = rim[np.isclose(np.linalg.norm(rim, axis=1), 1.0)]
    angle = np.sort(np.arctan2(around[:, 1], around[:, 0]))
    assert 12.0 * (1.0 - np.cos(np.diff(angle).max() / 2.0)) <= SAG


class TestCore:
    @pytest.mark.slow
    @settings(max_examples=10)
    @given(readings, st.floats(2.0, 7.0), st.sampled_from(["cut", "closed"]))
    def test_lies_inside_the_skin(self, read: list[tuple[float, ...]], wall: float, last: str) -> None:
        piece = piece_from_calipers(spec_of(rows_of(read, wall=wall), ends=f'last = "{last}"'))
        assert piece.core is not None
        core, skin = solid(piece.core), solid(piece.skin)
        assert core.volume < skin.volume
        at = core.vertices[:: len(core.vertices) // 8]
        inner = at[(at[:, 0] > 0.01) & (at[:, 0] < piece.length - 0.01)]
        assert np.allclose(windings(inner, skin), 1.0, atol=1e-6)
        rim_or_tube = skin.vertices[(skin.vertices[:, 0] > 0.0) & (skin.vertices[:, 0] < piece.length)]
        # square to the straightedge; square to a skin that slants steeply it is less
        assert cKDTree(rim_or_tube).query(inner)[0].min() > 0.2 * wall

    def test_an_even_wall_is_kept(self) -> None:
        """Of a round rod the wall is the wall, everywhere and square to the skin."""
        piece = piece_from_calipers(spec_of(rod(36.0, 36.0, 80.0, wall=6.0), ends='last = "closed"'))
        assert piece.core is not None
        skin = solid(piece.skin)
        some = piece.core.vertices[piece.core.vertices[:, 0] > 10.0][::40]
        away = cKDTree(skin.vertices).query(some)[0]
        on_side = np.hypot(some[:, 1], some[:, 2]) > 11.9
        assert np.abs(away[on_side] - 6.0).max() < 0.06
        assert piece.core.vertices[:, 0].max() == pytest.approx(98.0 - 6.0)

    def test_walls_seen_at_the_cuts_run_on_between(self) -> None:
        rows: Rows = [{"at": at, "width": 40, "height": 36} for at in (0, 30, 60, 120)]
        rows[0]["wall"], rows[-1]["wall"] = 6.0, "{ left = 9, right = 8, back = 7, belly = 6 }"
        piece = piece_from_calipers(spec_of(rows))
        assert piece.core is not None
        middle = piece.core.vertices[np.isclose(piece.core.vertices[:, 0], 60.0)]
        low, high = middle[:, 1:].min(axis=0), middle[:, 1:].max(axis=0)
        assert np.allclose([*low, *high], [-20.0 + 7.0, -18.0 + 6.0, 20.0 - 7.5, 18.0 - 6.5], atol=0.01)

    def test_one_look_at_the_wall_serves_for_all(self) -> None:
        rows = rod(40.0, 36.0, 100.0)
        rows[0]["core"] = "{ width = 20, height = 18, sideways = 2, up = -1 }"
        core = piece_from_calipers(spec_of(rows)).core
        assert core is not None
        assert np.allclose(solid(core).bounds, [[0, -8, -10], [100, 12, 8]], atol=0.005)

    def test_a_tip_is_a_point_without_cells_that_have_no_extent(self) -> None:
        """Closed at either end, skin and core: every triangle has an area, and the tips lie where they are said."""
        piece = piece_from_calipers(spec_of(rod(36.0, 30.0, 80.0, wall=6.0), ends='last = "closed"\nlast_tip = 105.0'))
        for surface in (piece.skin, piece.core):
            assert surface is not None
            assert solid(surface).area_faces.min() > 1e-6
        assert piece.skin.vertices[:, 0].max() == 105.0

    def test_a_core_that_leaves_the_skin_behind_the_last_but_one_station_is_refused(self) -> None:
        """The same fall, between the last two of three."""
        rows: Rows = [
            {"at": at, "width": width, "height": 60, "core": f"{{ width = 10, height = 10, sideways = {sideways} }}"}
            for at, width, sideways in ((0, 20, -4.5), (40, 20, 4.5), (80, 60, 24.0))
        ]
        with pytest.raises(SpecFaults, match=r"piece\.core-crosses-skin \(along ([4-7]\d)") as caught:
            piece_from_calipers(spec_of(rows))
        assert caught.value.findings[0].about == ()

    def test_none_where_nobody_saw_one(self) -> None:
        assert piece_from_calipers(spec_of(rod(40.0, 36.0, 100.0))).core is None

    def test_a_core_that_crosses_the_skin_between_two_stations_is_refused(self) -> None:
        """The skin falls early and levels off, the core goes on across: sound at each station, not between."""
        rows: Rows = [
            {"at": at, "width": width, "height": 60, "core": f"{{ width = 10, height = 10, sideways = {sideways} }}"}
            for at, width, sideways in ((0, 60, 24.0), (40, 20, 4.5), (80, 20, -4.5))
        ]
        with pytest.raises(SpecFaults, match=r"piece\.core-crosses-skin "):
            piece_from_calipers(spec_of(rows))
