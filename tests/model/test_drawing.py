"""The views of a nut against shapes built another way."""

import math
from collections import Counter
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from shapely import LineString, Point, Polygon, STRtree, box
from shapely.affinity import scale
from shapely.ops import unary_union

from nutgen.errors import CannotBeMade
from nutgen.geometry.fit import TOLERANCE
from nutgen.geometry.lines import Arc, Chain, Line
from nutgen.model.drawing import LAYERS, STROKES, draw
from nutgen.model.front import front_outline
from nutgen.model.views import slot_plan
from nutgen.nut import solve
from nutgen.nut.edges import SHARP, eased_radius
from nutgen.nut.seat import Underside
from nutgen.spec.read import parse_spec, read_spec
from nutgen.theory.crown import Crown
from tests.kinds import text_of
from tests.model.faces import PRESETS, body, dense, gap, heading
from tests.model.nuts import nut, nuts, slot
from tests.specs import solved, specs

FINE = 1e-4  # mm


class TestFrontOutline:
    @pytest.mark.slow
    @settings(max_examples=60)
    @given(nuts())
    def test_is_the_face_without_its_slots(self, one):
        try:
            parts = front_outline(one)
        except CannotBeMade:
            assert body(one).difference(unary_union([gap(s) for s in one.slots])).geom_type == "MultiPolygon"
            return
        for a, b in pairwise([*parts, parts[0]]):
            assert a.end == b.start
        drawn = Polygon(dense(parts))
        assert drawn.is_valid, "the outline crosses itself"
        wanted = body(one).difference(unary_union([gap(s) for s in one.slots]))
        length = drawn.length
        assert drawn.symmetric_difference(wanted).area < 2.0 * TOLERANCE * length
        assert Chain("", parts).area == pytest.approx(wanted.area, abs=2.0 * TOLERANCE * length)

    @settings(max_examples=5, suppress_health_check=[HealthCheck.too_slow])
    @given(specs())
    def test_of_any_file_that_solves(self, text):
        one = solved(text)
        drawn = Polygon(dense(front_outline(one)))
        wanted = body(one).difference(unary_union([gap(s) for s in one.slots]))
        assert drawn.is_valid
        assert drawn.symmetric_difference(wanted).area < 2.0 * TOLERANCE * drawn.length

    def test_closed_form_flat(self):
        # a rectangle, less two corners of (1 - pi/4) r^2, less a slot of straight walls and half a disc
        one = nut(edge_radius=0.8, slots=(slot(width=1.0, floor_z=0.5, tilt_deg=0.0),))
        area = 40.0 * 5.0 - 2.0 * (1.0 - math.pi / 4.0) * 0.64 - (1.0 * 1.0 + math.pi / 8.0)
        assert Chain("", front_outline(one)).area == pytest.approx(area, abs=1e-9)

    def test_closed_form_round(self):
        # under an arc of radius R over a chord c lies R^2 asin(c / 2R) - c/2 sqrt(R^2 - c^2/4)
        radius, half = 100.0, 20.0
        one = nut(crown=Crown(2.0, 0.0, 1.0 / radius), edge_radius=0.0)
        rise = radius - math.sqrt(radius**2 - half**2)
        segment = radius**2 * math.asin(half / radius) - half * math.sqrt(radius**2 - half**2)
        assert Chain("", front_outline(one)).area == pytest.approx(40.0 * (5.0 - rise) + segment, abs=1e-9)

    def test_arched_seat(self):
        one = nut(underside=Underside(-3.0, 1.0 / 100.0), edge_radius=0.0)
        rise = 100.0 - math.sqrt(100.0**2 - 20.0**2)
        segment = 100.0**2 * math.asin(0.2) - 20.0 * math.sqrt(100.0**2 - 20.0**2)
        assert Chain("", front_outline(one)).area == pytest.approx(40.0 * (5.0 + rise) - segment, abs=1e-9)

    def test_neighbours_that_run_into_each_other_leave_a_fin(self):
        one = nut(slots=(slot(x=-0.5, width=1.1, tilt_deg=0.0), slot(x=0.5, width=1.1, tilt_deg=0.0, floor_z=1.0)))
        parts = front_outline(one)
        assert Polygon(dense(parts)).is_valid
        fin = Polygon(dense(parts)).intersection(LineString([(0.0, -9.0), (0.0, 9.0)])).bounds[3]
        # at x = 0 the deeper, right-hand slot is 0.5 off its centre: 1.0 + 0.55 - sqrt(0.55^2 - 0.5^2)
        assert fin == pytest.approx(1.55 - math.sqrt(0.55**2 - 0.5**2), abs=1e-4)

    @pytest.mark.parametrize("x", [19.9, -20.4])
    def test_slot_that_runs_out_of_the_end(self, x):
        parts = front_outline(nut(slots=(slot(x=x, width=1.1, tilt_deg=0.0, floor_z=1.0),)))
        assert Polygon(dense(parts)).is_valid
        end = [part.end[1] for part in parts if abs(abs(part.end[0]) - 20.0) < 1e-9 and part.end[0] * x > 0.0]
        assert max(end) < 1.6

    def test_slot_through_the_seat_is_refused_in_words(self):
        with pytest.raises(CannotBeMade, match=r"solid\.cut-in-two"):
            draw(nut(slots=(slot(floor_z=-3.5),)))


class TestViews:
    @pytest.mark.parametrize("path", PRESETS, ids=lambda path: path.stem)
    def test_presets(self, path):
        one = solve(read_spec(path))
        drawing = draw(one)
        (blank,), (outline,) = drawing.front.on("front-blank"), drawing.front.on("front-outline")
        assert blank.box[1] == pytest.approx(one.lowest_z)
        assert blank.box[3] - blank.box[1] == pytest.approx(one.blank.height)
        assert box(*blank.box).buffer(1e-9).contains(box(*outline.box))
        assert outline.box[2] - outline.box[0] == pytest.approx(one.length)
        planes = [LineString(dense(plane.parts)) for plane in drawing.front.on("fret-plane")]
        assert len(planes) == (one.tops is None)  # under a bar there is none
        assert all(plane.distance(Point(s.x, s.fret_plane_z)) < 2.0 * FINE for plane in planes for s in one.slots)
        centres = sorted(chain.box[0] for chain in drawing.front.on("slot-centres"))
        assert centres == pytest.approx(sorted(float(s.x_at(0.0)) for s in one.slots))

    @settings(max_examples=80)
    @given(nuts(most_slots=3))
    def test_end_view_is_the_shadow_of_the_body(self, one):
        try:
            (outline,) = draw(one).end.on("end-outline")
        except CannotBeMade:
            return
        shadow = Polygon(dense(outline.parts))
        assert shadow.is_valid
        assert outline.closed
        y = np.linspace(0.0, one.thickness, 41)
        radius = eased_radius(one)
        inner = np.linspace(one.left.x + radius, one.right.x - radius, 401)
        if one.crown.curvature:
            inner = np.append(inner, np.clip(one.crown.centre[0], inner[0], inner[-1]))
        roof = np.array([one.top_z(inner, level).max() for level in y])
        drawn = np.array([shadow.intersection(LineString([(v, -60), (v, 60)])).bounds[3] for v in y])
        sharp = y < one.thickness - 2.0 * radius
        # an eased corner hides at most what it takes off a tilted top
        hidden = radius * 0.1 + 1e-6
        left_out = SHARP if one.bevel_fall < SHARP else 0.0
        assert np.all(drawn[sharp] <= roof[sharp] + radius * 0.06 + left_out + 1e-6)
        assert np.all(drawn[sharp] >= roof[sharp] - hidden)
        assert shadow.bounds[0] == 0.0
        assert shadow.bounds[1] == pytest.approx(one.lowest_z)
        assert shadow.bounds[2] == pytest.approx(one.thickness)

    def test_end_view_eases_the_back_edge(self):
        one = nut(edge_radius=0.6, crown=Crown(2.0, 0.0, 1.0 / 150.0), slots=(slot(),))
        (outline,) = draw(one).end.on("end-outline")
        arcs = [part for part in outline.parts if isinstance(part, Arc)]
        assert len(arcs) == 1
        assert arcs[0].radius == pytest.approx(0.6)
        slope = heading(arcs[0], at_end=False)
        assert math.degrees(math.atan2(-slope[1], slope[0])) == pytest.approx(one.bevel_deg)

    def test_left_is_the_mirror_of_right(self):
        right, left = (
            solve(parse_spec(text_of("bass-4-fifths", {"instrument.strung": strung}), source=strung))
            for strung in ("right", "left")
        )
        views = [Polygon(dense(draw(one).front.on("front-outline")[0].parts)) for one in (right, left)]
        mirrored = scale(views[1], -1.0, 1.0, origin=(0.0, 0.0))
        assert views[0].symmetric_difference(mirrored).area < 2.0 * TOLERANCE * views[0].length
        assert draw(left).end.title == "End, seen from the bass end, bridge to the left"
        assert draw(right).end.title == "End, seen from the treble end, bridge to the left"

    def test_slots_from_above_keep_to_the_nut(self):
        one = nut(slots=(slot(x=19.0, fan_deg=20.0, width=1.2), slot(x=0.0, fan_deg=-10.0, width=2.0)))
        outer, inner = (Polygon(slot_plan(one, each, start=0.0)) for each in one.slots)
        rectangle = box(-20.0, 0.0, 20.0, 5.0)
        strip = LineString([(19.0 - 20.0 * math.tan(math.radians(20.0)), -20.0), (19.0, 0.0)])
        far = (19.0 + 20.0 * math.tan(math.radians(20.0)), 20.0)
        strip = LineString([*strip.coords[:1], far]).buffer(0.6, cap_style="flat")
        assert outer.symmetric_difference(strip.intersection(rectangle)).area < 1e-9
        assert inner.area == pytest.approx(5.0 * 2.0 / math.cos(math.radians(10.0)))

    @pytest.mark.parametrize("kind", ["bass-4", "classical", "acoustic-12"])
    def test_no_line_lies_on_another(self, kind):
        """A laser that runs all layers goes nowhere twice; overlaps are found by shapely."""
        for view in draw(solve(parse_spec(text_of(kind, {"body.ends": 0.5}), source=kind))):
            lines = [LineString([p.start, p.end]) for c in view.chains for p in c.parts if isinstance(p, Line)]
            tree = STRtree([line.buffer(1e-6, cap_style="flat") for line in lines])
            for i, j in tree.query(lines, predicate="intersects").T:
                if i < j:
                    assert lines[i].intersection(lines[j].buffer(1e-6, cap_style="flat")).length < 2e-3

    def test_centre_lines_from_above_end_with_the_blank(self):
        one = nut(slots=(slot(x=19.0, fan_deg=40.0), slot(x=-19.9, fan_deg=60.0), slot(x=0.0, fan_deg=5.0)))
        right, left, middle = (chain.parts[0] for chain in draw(one).top.on("top-centres"))
        for line, x, fan in ((right, 19.0, 40.0), (left, -19.9, 60.0), (middle, 0.0, 5.0)):
            for at, y in (line.start, line.end):
                assert at - x == pytest.approx(y * math.tan(math.radians(fan)))
                assert abs(at) <= 21.0 + 1e-9
        assert right.end[0] == pytest.approx(21.0)
        assert left.start[0] == pytest.approx(-21.0)
        assert middle.start[1] == pytest.approx(-middle.end[1] + 5.0)

    def test_rough_nut_can_be_drawn(self):
        path = next(path for path in PRESETS if path.stem == "bass-4-fifths")
        one = solve(read_spec(path))
        assert draw(one.rough()).front.on("front-outline")[0].closed


class TestLayers:
    @pytest.mark.parametrize("path", PRESETS, ids=lambda path: path.stem)
    def test_every_line_is_on_a_known_layer(self, path):
        for view in draw(solve(read_spec(path))):
            for chain in view.chains:
                assert chain.layer in STROKES

    def test_front_view_reads_without_colour(self):
        front = [layer for layer in LAYERS if layer.name.split("-")[0] not in ("top", "end")]
        # edges are drawn like floors, and a floor is a short tick
        front = [layer for layer in front if layer.name not in ("front-shelves", "front-ends")]
        strokes = Counter((layer.stroke.width, layer.stroke.pattern) for layer in front)
        assert set(strokes.values()) == {1}

    def test_widths_are_of_the_series(self):
        # ISO 128-2: line widths step by the root of 2, 0.13 0.18 0.25 0.35 ... mm; wide to narrow is 2 to 1
        assert {layer.stroke.width for layer in LAYERS} == {0.13, 0.25}
