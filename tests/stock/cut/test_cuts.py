"""The saw cuts: marks and depths against closed forms of a round rod, areas against shapely."""

import json
from dataclasses import replace
from functools import cached_property

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.documents.cut_plan.tables import mark_tables
from nutgen.documents.words import sentence
from nutgen.errors import CannotBeMade
from nutgen.finding import note
from nutgen.jobs.record import plain
from nutgen.stock.cut.cuts import cut_plan, left_to_sand
from nutgen.stock.cut.record import plan_record
from nutgen.stock.cut.steps import cautions, holds, instructions
from nutgen.stock.cut.turns import STEP
from nutgen.stock.piece import Axis
from tests.stock.pieces_by_hand import answer, block, cylinder, frustum, laid, none, piece, shin, swept, turned

RADIUS = 20.0
ROD = piece(cylinder(RADIUS, 150.0, around=720), 150.0)
SHIN_PLACE = laid([62.0, 0.3, 9.0], turned(yaw_deg=2.0, pitch_deg=1.5, roll_deg=90.0))


def plan_of(*places, of=None, body=ROD):
    return cut_plan(body, answer(of or block(), *places))


@settings(max_examples=12)
@given(
    along=st.floats(40.0, 110.0),
    aside=st.tuples(st.floats(-5.0, 5.0), st.floats(-5.0, 5.0)),
    yaw_deg=st.floats(-8.0, 8.0),
    pitch_deg=st.floats(-8.0, 8.0),
    roll_deg=st.floats(-180.0, 180.0),
    reverse=st.booleans(),
)
def test_marks_of_a_round_rod(along, aside, yaw_deg, pitch_deg, roll_deg, reverse):
    """Where the end planes meet the rod's four lines: a point on a plane, by hand."""
    axes = turned(yaw_deg=yaw_deg, pitch_deg=pitch_deg, roll_deg=roll_deg)
    if reverse:
        axes = axes * np.array([[-1.0], [-1.0], [1.0]])
    of = block()
    plan = plan_of(laid([along, *aside], axes), of=of)
    (stretch,) = plan.stretches
    middle, length = np.array([along, *aside]), axes[0] * np.sign(axes[0, 0])
    for cut, way in ((stretch.first, -1.0), (stretch.last, 1.0)):
        point = middle + way * length * of.length / 2.0
        for mark, (side, up) in zip(cut.marks, ((0, 1), (1, 0), (0, -1), (-1, 0)), strict=True):
            there = np.array([0.0, side * RADIUS, up * RADIUS])
            assert mark == pytest.approx(((point - there) @ length) / length[0], abs=1e-3)
        assert np.array(cut.along_skin) == pytest.approx(cut.marks, abs=1e-3)  # a rod has no slope
        assert cut.area == pytest.approx(np.pi * RADIUS**2 / length[0], rel=1e-4)
        assert cut.plane.normal @ length == pytest.approx(way)
    # the kerf lies outside the block: no corner stands over any line to keep
    for cut in (stretch.first, stretch.last):
        assert cut.plane.above(plan.blocks[0].corners).max() == pytest.approx(0.0, abs=1e-6)
    for rip in stretch.cuts:
        assert rip.rip.plane.above(plan.blocks[0].corners).max() == pytest.approx(0.0, abs=1e-6)


class TestStraightBlock:
    """Along the rod, off its middle: chords and arcs of a circle."""

    of = block(48.0, 9.4, 12.6)
    y, z = 3.0, -2.0

    @cached_property
    def plan(self):
        """Made anew by each test, as all plans here: what it calls is then called by the test."""
        return plan_of(laid([75.0, self.y, self.z], turned()), of=self.of)

    @cached_property
    def cuts(self):
        return {cut.rip.side: cut for cut in self.plan.stretches[0].cuts}

    def test_lines_enter_where_the_chord_does(self):
        """Front face: a line y = const; its ends lie r acos(...) from the back mark along the outline."""
        for side, at in (("front", self.y - 4.7), ("back", self.y + 4.7)):
            upper = RADIUS * np.arcsin(at / RADIUS)  # along the outline from the back mark, to the left
            lower = np.sign(at) * (np.pi * RADIUS - abs(upper))
            want = sorted((upper, lower))
            for found in self.cuts[side].entries:
                assert found == pytest.approx(want, abs=2e-3)
        for side, at in (("underside", self.z - 6.3), ("top", self.z + 6.3)):
            half = RADIUS * np.arccos(at / RADIUS)
            for found in self.cuts[side].entries:
                assert found == pytest.approx((-half, half), abs=2e-3)

    def test_order_and_what_holds_it(self):
        """The middle of 150: 50 at either end is no handle, so both cross cuts come first."""
        sides = [cut.rip.side for cut in self.plan.stretches[0].cuts]
        assert sides[0] == "back"  # of the two wide faces, the one with the thinner offcut
        assert sides[1:3] == ["underside", "top"]  # 11.7 stand over the one and 15.7 over the other: less comes first
        assert sides[3] == "front"
        assert [cut.rip.number for cut in self.plan.stretches[0].cuts] == [3, 4, 5, 6]
        assert {cut.rip.held for cut in self.cuts.values()} == {"stick"}
        assert self.plan.stretches[0].handle == pytest.approx(150.0 - 99.0 - 0.8)

    def test_depths_are_what_is_left_of_the_chord(self):
        first = self.cuts["back"]
        chord = 2.0 * np.sqrt(RADIUS**2 - (self.y + 4.7) ** 2)
        assert first.depths == pytest.approx((chord, chord), abs=2e-3)
        last = self.cuts["front"]
        assert last.depths == pytest.approx((12.6, 12.6), abs=1e-6)
        for side, at in (("underside", self.z - 6.3), ("top", self.z + 6.3)):
            half = np.sqrt(RADIUS**2 - at**2)
            assert self.cuts[side].depths == pytest.approx((half + self.y + 4.7,) * 2, abs=2e-3)

    def test_areas_are_depth_times_length(self):
        for cut in self.cuts.values():
            assert cut.length == pytest.approx(48.0)
            assert cut.area == pytest.approx(cut.depths[0] * 48.0, rel=1e-4)

    def test_saw_area_is_shapelys(self):
        disc = shapely.Point(0.0, 0.0).buffer(RADIUS, quad_segs=720)
        total = 2.0 * disc.area
        left = disc
        for cut in self.plan.stretches[0].cuts:
            at = cut.rip.plane.origin[1:]
            way = cut.rip.plane.normal[1:]
            aside = np.array([-way[1], way[0]])
            line = shapely.LineString([at - 60.0 * aside, at + 60.0 * aside])
            total += left.intersection(line).length * 48.0
            keep = shapely.Polygon(
                [at - 60 * aside, at + 60 * aside, at + 60 * aside - 90 * way, at - 60 * aside - 90 * way]
            )
            left = left.intersection(keep)
        assert self.plan.saw_area == pytest.approx(total, rel=1e-4)
        assert left.area == pytest.approx(9.4 * 12.6, rel=1e-6)


class TestHollow:
    @cached_property
    def plan(self):
        return cut_plan(shin(), answer(block(), SHIN_PLACE))

    def test_the_wall_is_opened_first(self):
        first = self.plan.stretches[0].cuts[0].rip
        assert first.opens
        core = shin().core.vertices
        beyond = first.plane.above(core[(core[:, 0] > 40.0) & (core[:, 0] < 84.0)])
        assert beyond.min() > 0.0  # all of the core goes with the first offcut
        assert not any(cut.rip.opens for cut in self.plan.stretches[0].cuts[1:])

    def test_the_rest_is_the_handle_and_cut_off_last(self):
        assert [cut.number for cut in self.plan.order] == [1, 6]
        assert self.plan.order[0] is self.plan.stretches[0].first
        behind = cut_plan(shin(), answer(block(), laid([100.0, 0.3, 9.0], turned(roll_deg=90.0))))
        assert behind.order[0].number == 1
        assert behind.order[0].marks == behind.stretches[0].last.marks

    def test_the_thick_end_is_trimmed_where_both_leave_a_handle(self):
        """A cone of 240: 66 before the block, 126 behind it, and the other way round."""
        cone = piece(frustum(20.0, 12.0, 240.0), 240.0)
        turned_round = piece(frustum(12.0, 20.0, 240.0), 240.0)
        for body, begins in ((cone, "first"), (turned_round, "last")):
            plan = plan_of(laid([90.0, 0, 0], turned()), body=body)
            assert (plan.begins, plan.stretches[0].held, plan.stretches[0].start) == (begins, "piece", begins)


class TestSeveral:
    of = block()

    def test_end_to_end_with_a_kerf_between_is_one_cut(self):
        plan = plan_of(laid([40.0, 0, 0], turned()), laid([40.0 + 48.0 + 0.8, 0, 0], turned()))
        assert [s.nuts for s in plan.stretches] == [(1,), (2,)]
        assert len(plan.order) == 3
        assert plan.stretches[0].last.number == plan.stretches[1].first.number
        assert plan.stretches[1].cuts[0].rip.number == 3 + len(plan.stretches[0].cuts) + 1

    def test_farther_apart_are_two_cuts(self):
        plan = plan_of(laid([40.0, 0, 0], turned()), laid([95.0, 0, 0], turned()))
        assert len(plan.order) == 4

    @pytest.mark.parametrize("start", [30.0, 62.0])
    def test_a_little_more_than_a_kerf_apart_is_sanded(self, start):
        """1.6 mm between the lines, 0.8 of it kerf: 0.8 is no slice for the saw that comes second."""
        plan = plan_of(laid([start, 0, 0], turned()), laid([start + 48.0 + 1.6, 0, 0], turned()))
        assert len(plan.order) == 4
        assert [cut.by for cut in plan.order] == ["saw", "saw", "sanding", "saw"]
        given = answer(self.of, *(laid([along, 0, 0], turned()) for along in (start, start + 49.6)))
        codes = [one.how.code for one in instructions(ROD, given, plan)]
        assert (codes.count("cut.sawn-end-how"), codes.count("cut.cross-sanded-how")) == (0, 1)
        assert ("cut.marks-straight" in codes, "cut.marks-along-skin" in codes) == (True, False)
        behind = plan.stretches[1].first if start < 50.0 else plan.stretches[0].last
        assert behind.by == "sanding"  # the rest that is longer stays whole till the last

    def test_one_cut_may_run_slant_to_the_next_line(self):
        """Lines 0.9 to 1.3 mm apart at the skin, a kerf at least at the blocks: one cut serves."""
        tilt = 0.5
        apart = 0.8 + 2.0 * 7.9 * np.radians(tilt)
        plan = plan_of(laid([40.0, 0, 0], turned()), laid([88.0 + apart, 0, 0], turned(pitch_deg=tilt)))
        assert len(plan.order) == 3

    def test_side_by_side_share_cross_cuts_and_are_parted(self):
        places = laid([60.0, -5.1, 0], turned()), laid([60.3, 5.1, 0], turned())
        plan = plan_of(*places)
        (stretch,) = plan.stretches
        assert stretch.nuts == (1, 2)
        assert stretch.last.marks[0] - stretch.first.marks[0] == pytest.approx(48.3, abs=1e-6)
        parting = stretch.cuts[0].rip
        assert parting.parts == (2,)
        assert parting.nut == 1
        told = instructions(ROD, answer(self.of, *places), plan)
        assert (2,) in [about.value("nuts") for one in told for about in dict(one.how.values).get("about", ())]
        # the kerf between them makes both faces: 10.2 apart, 9.4 thick, 0.8 kerf
        assert {(c.rip.nut, c.rip.side) for c in stretch.cuts} == {
            (1, "back"), (1, "underside"), (1, "top"), (1, "front"), (2, "underside"), (2, "top"), (2, "back"),
        }  # fmt: skip

    def test_ends_that_differ_are_cut_after(self):
        plan = plan_of(laid([60.0, -5.1, 0], turned()), laid([68.0, 5.1, 0], turned()))
        (stretch,) = plan.stretches
        assert {(c.rip.nut, c.rip.side) for c in stretch.cuts if "end" in c.rip.side} == {
            (1, "last end"),
            (2, "first end"),
        }

    def test_every_block_is_freed(self):
        """After its cuts nothing stands over any face by more than the agreed half millimetre."""
        plan = plan_of(
            *(
                laid([60.0 + dx, y, z], turned())
                for dx, y, z in ((0, -5.2, -7), (2, 5.2, -7), (0.2, -5.2, 7), (0, 5.2, 7))
            )
        )
        for solid in plan.blocks:
            made = {cut.rip.side for cut in plan.stretches[0].cuts if cut.rip.nut == solid.nut}
            bounds = [
                b
                for cut in plan.stretches[0].cuts
                if cut.rip.nut == solid.nut
                for b in (*cut.rip.before, cut.rip.plane)
            ]
            for side in ("front", "back", "underside", "top", "first end", "last end"):
                face = solid.face(side)
                nearest = min(
                    float(-b.above(face).min())
                    for b in bounds
                    if (b.above(face) <= 1e-6).all() and b.normal @ solid.plane(side).normal > 0.99
                )
                assert nearest <= 0.5 + 1e-6, (solid.nut, side, made)

    def test_three_in_a_row_are_sawn_from_the_end_that_is_trimmed(self):
        body = piece(cylinder(RADIUS, 260.0), 260.0)
        given = answer(self.of, *(laid([along, 0, 0], turned()) for along in (110.0, 165.0, 225.0)))
        plan = cut_plan(body, given)
        assert (plan.begins, [s.nuts for s in plan.stretches]) == ("last", [(1,), (2,), (3,)])
        heads = [one.head for one in instructions(body, given, plan)]
        numbers = [one.value("cut") for one in heads if "cut" in dict(one.values)]
        assert numbers == list(range(1, len(numbers) + 1))
        nuts = [one.value("nut") for one in heads if "nut" in dict(one.values)]
        assert list(dict.fromkeys(nuts)) == [3, 2, 1]
        assert [(one.value("stretch"), one.value("nuts")) for one in holds(plan)] == [(1, (1,)), (2, (2,)), (3, (3,))]

    def test_blocks_that_no_straight_cut_parts_are_refused(self):
        with pytest.raises(CannotBeMade, match=r"cut\.not-parted"):
            plan_of(laid([60.0, 0, 0], turned()), laid([60.0, 2.0, 3.0], turned()))

    def test_a_hair_less_than_a_kerf_apart_is_still_parted(self):
        """The search ends within hundredths; faces are squared by a millimetre later."""
        plan = plan_of(laid([60.0, -5.095, 0], turned()), laid([60.3, 5.095, 0], turned()))
        assert plan.stretches[0].cuts[0].rip.parts == (2,)
        assert sum(cut.rip.side in ("front", "back") for cut in plan.stretches[0].cuts) == 3

    def test_what_is_sawn_for_each_adds_up(self):
        plan = plan_of(laid([40.0, -5.1, 0], turned()), laid([40.3, 5.1, 0], turned()), laid([89.1, 0, 0], turned()))
        assert sum(plan.saw_area_of(nut) for nut in (1, 2, 3)) == pytest.approx(plan.saw_area)
        assert len(plan.order) == 3
        share = {cut.number: cut.area for cut in plan.order}
        rips = sum(cut.area for cut in plan.stretches[1].cuts)
        shared, own = (share[cut.number] for cut in (plan.stretches[1].first, plan.stretches[1].last))
        assert plan.saw_area_of(3) == pytest.approx(rips + own + shared / 3.0)


class TestRunsOut:
    """A cone from 40 to 4 mm across in 120: the top's plane leaves it before the block's last end."""

    body = piece(frustum(20.0, 2.0, 120.0, around=720), 120.0)
    of = block(48.0, 2.0, 2.0)
    given = answer(of, laid([85.0, 0.0, 8.0], turned(), margin=0.0))

    @cached_property
    def plan(self):
        return cut_plan(self.body, replace(self.given))

    def cut(self, side):
        (found,) = (cut for cut in self.plan.stretches[0].cuts if cut.rip.side == side)
        return found

    def test_the_line_ends_where_the_cone_is_as_high_as_the_face(self):
        top = self.cut("top")
        assert top.entries[1] is None
        assert top.entries[0] is not None
        assert top.reach == pytest.approx((61.0, (20.0 - 9.0) * 120.0 / 18.0), abs=0.02)
        assert top.length == pytest.approx(top.reach[1] - top.reach[0], abs=1e-6)
        assert top.depths[1] == 0.0

    def test_area_is_that_between_the_hyperbola_and_the_first_cut(self):
        """Of width 2 sqrt(r(x)^2 - 9^2) at x, by the trapezoid rule; less what the cuts before took off."""
        top = self.cut("top")
        x = np.linspace(61.0, top.reach[1], 20001)
        wide = 2.0 * np.sqrt(np.maximum((20.0 - 0.15 * x) ** 2 - 81.0, 0.0))
        for plane in top.rip.before[2:]:
            if abs(plane.normal[1]) > 0.99:
                assert plane.normal[1] * plane.origin[1] == pytest.approx(1.0)
        taken = {round(float(plane.normal[1])) for plane in top.rip.before[2:]}
        half = wide / 2.0
        left = sum(np.minimum(half, 1.0) if side in taken else half for side in (-1, 1))
        assert top.area == pytest.approx(((left[1:] + left[:-1]) * np.diff(x)).sum() / 2.0, rel=2e-3)

    def test_words_and_record_say_so(self):
        told = instructions(self.body, self.given, self.plan)
        how = [one.how for one in told if one.head.code == "cut.rip-sanded"]
        (out,) = (one for cut in how if cut.value("side") == "top" for one in cut.value("runs_out"))
        assert (out.value("end"), out.value("at_end")) == ("last", False)
        assert out.value("at") == pytest.approx(self.cut("top").reach[1])
        assert f"The line ends on the skin, {self.cut('top').reach[1]:.1f} mm from the first end" in sentence(out)
        record = plan_record(self.body, self.given, self.plan)
        (top,) = (one for one in record["stretches"][0]["rip_cuts"] if one["face"] == "top")
        assert top["from_back_mark_to_the_left"]["last"] is None
        rows = next(table for table in (doc[1] for doc in mark_tables(self.plan)) if table.name == "rips").rows
        assert [None in row for row in rows].count(True) >= 1

    def test_a_line_that_runs_to_the_very_end_of_the_piece_is_told_so(self):
        (stretch,), (first, *_, last) = self.plan.stretches, map(float, self.plan.along.along)
        to_the_end = tuple(replace(cut, reach=(cut.reach[0], last)) for cut in stretch.cuts)
        plan = replace(self.plan, stretches=(replace(stretch, cuts=to_the_end),))
        assert self.told(plan) == {("last", True)}
        from_the_start = tuple(replace(cut, entries=(None, None), reach=(first, 60.0)) for cut in stretch.cuts)
        plan = replace(self.plan, stretches=(replace(stretch, cuts=from_the_start),))
        assert self.told(plan) == {("first", True), ("last", False)}

    def told(self, plan):
        """Ends on the skin, and whether they are ends of the piece."""
        steps = instructions(self.body, self.given, plan)
        out = [one for step in steps for one in dict(step.how.values).get("runs_out", ())]
        return {(one.value("end"), one.value("at_end")) for one in out}


class TestSlantAtAFlatEnd:
    """A block in the wall, 5 degrees off, so near the end that its own plane leaves the piece before the axis."""

    of = block(48.0, 4.0, 8.0)
    given = answer(of, laid([24.9, 0.0, 14.0], turned(pitch_deg=-5.0)))

    @cached_property
    def plan(self):
        return plan_of(*self.given.laid, of=self.of)

    def test_the_sawn_end_serves_and_the_block_is_cut_to_length_later(self):
        first, corners = self.plan.stretches[0].first, self.plan.blocks[0].corners
        assert first.by == "sawn end"
        codes = [one.how.code for one in instructions(ROD, self.given, self.plan)]
        assert (codes.count("cut.sawn-end-how"), codes.count("cut.cross-sanded-how")) == (1, 0)
        assert first.marks == pytest.approx((0.01,) * 4, abs=1e-9)
        assert first.plane.above(corners).max() <= 1e-6
        (end,) = (cut.rip for cut in self.plan.stretches[0].cuts if "end" in cut.rip.side)
        assert (end.side, end.length) == ("first end", self.of.length)
        assert self.plan.stretches[0].cuts[-1].rip is end
        assert np.ptp(self.plan.stretches[0].last.marks) > 1.0


class TestThin:
    @pytest.mark.parametrize(
        ("over", "kerf", "by_"), [(1.95, 0.8, "sanding"), (2.05, 0.8, "saw"), (2.5, 2.3, "sanding")]
    )
    def test_too_little_for_a_rip_is_filed(self, over, kerf, by_):
        """A rod hardly thicker than the block: less than 2 mm over the front, or than kerf and slice."""
        rod = piece(cylinder(8.0, 90.0, around=1440), 90.0)
        rod = replace(rod, permitted=rod.permitted.model_copy(update={"kerf": kerf}))
        plan = plan_of(laid([45.0, 0.0, 0.0], turned()), of=block(48.0, 2.0 * (8.0 - over), 6.0), body=rod)
        by = {cut.rip.side: (cut.rip.by, cut.rip.over) for cut in plan.stretches[0].cuts}
        assert by["front"] == (by_, pytest.approx(over, abs=1e-3))
        if by_ == "saw":
            return
        assert by["top"][0] == "saw"
        names = {row[0].partition(" ")[2] for row in mark_tables(plan)[-1][1].rows}
        assert {"front, sand", "top"} <= names
        sanded = [c for c in plan.stretches[0].cuts if c.rip.by == "sanding"]
        assert sanded
        whole = sum(c.area for c in plan.order) + sum(c.area for c in plan.stretches[0].cuts)
        assert plan.saw_area == pytest.approx(whole - sum(c.area for c in sanded))

    def test_an_end_that_is_nearly_flush(self):
        plan = plan_of(laid([24.9, 0, 0], turned()))
        assert plan.stretches[0].first.by == "sawn end"
        assert plan.stretches[0].last.by == "saw"

    @pytest.mark.parametrize(("over", "by_"), [(0.6, "sanding"), (4.0, "saw")])
    def test_what_stands_over_at_a_closed_end(self, over, by_):
        """No slice for a saw is sanded off, where the end itself is no face to rip from."""
        body = replace(ROD, ends=("cut", "closed"))
        plan = plan_of(laid([150.0 - over - 24.0, 0, 0], turned()), body=body)
        assert plan.stretches[0].last.by == by_

    def test_a_thin_slice_over_a_sawn_end_is_not_cut_off_the_whole_piece(self):
        """Two millimetres over: only the freed block is cut to length; an end that is not flat is cut as before."""
        plan = plan_of(laid([26.1, 0, 0], turned()))
        assert [cut.by for cut in plan.order] == ["sawn end", "saw"]
        (end,) = (cut for cut in plan.stretches[0].cuts if cut.rip.side == "first end")
        assert (end.rip.by, end.area) == ("saw", pytest.approx(9.4 * 12.6))
        eased = swept(
            [0.0, 1.0, 150.0],
            wide=lambda at: RADIUS * min(1.0, 0.9 + 0.1 * at),
            high=lambda at: RADIUS * min(1.0, 0.9 + 0.1 * at),
            sideways=none,
            up=none,
        )
        assert plan_of(laid([26.0, 0, 0], turned()), body=piece(eased, 150.0)).stretches[0].first.by == "saw"


class TestLengthwise:
    def test_the_piece_is_looked_at_every_few_millimetres_with_its_core(self):
        along = cut_plan(shin(), answer(block(), SHIN_PLACE)).along
        assert np.diff(along.along).max() <= STEP + 1e-9
        assert np.isfinite(along.core).all()
        assert (along.core[:, 0] > along.skin[:, 0] + 5.0).all()
        wide, high = 42.0 - 0.024 * along.along, 36.0 - 0.020 * along.along  # as `shin` is swept
        assert along.skin[:, 1] - along.skin[:, 0] == pytest.approx(wide, abs=0.03)
        assert along.skin[:, 3] - along.skin[:, 2] == pytest.approx(high, abs=0.03)
        back, left, belly, right = along.lines
        assert back[:, 2] - belly[:, 2] == pytest.approx(high, abs=0.03)
        assert right[:, 1] - left[:, 1] == pytest.approx(np.sign(right[0, 1] - left[0, 1]) * wide, abs=0.03)

    def test_beside_a_tip_that_lies_beside_the_axis_it_goes_on(self):
        """A cone whose tip is 12 aside: its first sections do not go round the axis."""
        lean = frustum(0.5, 20.0, 150.0)
        lean.vertices[:, 1] += np.where(lean.vertices[:, 0] < 1.0, 12.0, 0.0)
        body = replace(piece(lean, 150.0), ends=("closed", "cut"))
        along = cut_plan(body, answer(block(48.0, 4.0, 4.0), laid([110.0, 0, 0], turned()))).along.along
        assert along[0] > 4.0
        assert along[-1] > 149.0

    def test_a_cut_near_one_end_only_is_no_cut(self):
        """Beside the first end, far from the last: its end serves, though the other end is far."""
        plan = plan_of(laid([24.3, 0, 0], turned(pitch_deg=0.5)))
        assert plan.stretches[0].first.by == "sawn end"
        assert plan.stretches[0].last.by == "saw"


class TestWords:
    body = shin()
    given = answer(block(), SHIN_PLACE)

    @cached_property
    def plan(self):
        return cut_plan(self.body, replace(self.given))

    def test_steps_come_in_order(self):
        told = instructions(self.body, self.given, self.plan)
        text = "\n".join(f"{sentence(one.head)} {sentence(one.how)}" for one in told)
        cuts = [one.head.value("cut") for one in told if "cut" in dict(one.head.values)]
        assert cuts == [1, 2, 3, 4, 5, 6]
        for needed in ("the end with the pencil cross", "along the sharp ridge of the shin", "V-block", "0.80 mm kerf"):
            assert needed in text
        assert told[-1].how == note("cut.measure-how", blocks=1, length=48.0, thickness=9.4, height=12.6)

    def test_cautions(self):
        text = " ".join(map(sentence, cautions(self.body)))
        for needed in ("dust", "wet", "mask", "V-block", "fingers", "eye protection", "clean, dry", "local rules"):
            assert needed in text
        brass = " ".join(map(sentence, cautions(replace(self.body, material="brass"))))
        assert "lead" in brass
        assert "bone" not in brass

    def test_record_is_json(self):
        record = json.loads(json.dumps(plain(plan_record(self.body, self.given, self.plan)), allow_nan=False))
        assert record["cross_cuts"][0]["marks"]["back"] == pytest.approx(self.plan.order[0].marks[0], abs=1e-3)
        cuts = record["stretches"][0]["rip_cuts"]
        assert cuts[0]["face"] == "front"
        assert cuts[0]["from_back_mark_to_the_left"]["first"][0] < 0.0
        assert record["to_sand"]["top"] == 2.0

    def test_left_to_sand_adds_up(self):
        of = block()
        for face, (square, later) in left_to_sand(of).items():
            assert square + later == pytest.approx(of.to_sand[face])

    def test_a_closed_end_has_no_skin_to_measure_along(self):
        plan = cut_plan(replace(self.body, ends=("closed", "cut")), self.given)
        assert plan.order[0].along_skin is None

    def test_an_axis_outside_is_refused(self):
        aside = replace(self.body, axis=Axis(np.array([0.0, 150.0]), np.full(2, 80.0), np.zeros(2)))
        with pytest.raises(CannotBeMade, match=r"cut\.skin-too-short"):
            cut_plan(aside, self.given)
