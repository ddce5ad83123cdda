"""The answer as a program reads it: every key, and each value against what was laid and where."""

from dataclasses import replace

import numpy as np
import pytest

from nutgen.finding import note, refusal
from nutgen.geometry.pose import Pose
from nutgen.stock.cut.cuts import cut_plan
from nutgen.stock.cut.record import answer_record, plan_record
from nutgen.stock.laid import Largest
from tests.stock.pieces_by_hand import answer, block, cylinder, frustum, laid, piece, shin, turned

SOURCE = Pose.of([100.0, 50.0, -7.0], [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
"""A scan whose second axis runs along the piece."""


def in_scan(points):
    """By hand: along the piece is the scan's y, sideways its -x."""
    along, sideways, up = np.asarray(points, float).T
    return np.stack([100.0 - sideways, 50.0 + along, up - 7.0], axis=-1)


class TestAnswer:
    def told(self, *places, plan=True, **more):
        body = replace(shin(), to_source=SOURCE, ends=("cut", "closed"))
        found = replace(answer(block(), *places), **more)
        return body, found, answer_record(body, found, cut_plan(body, found) if plan else None, count=2)

    def test_every_key_and_what_it_says(self):
        places = (
            laid([62.0, 0.3, 9.0], turned(roll_deg=90.0)),
            laid([112.0, 0.2, 8.0], turned(roll_deg=90.0), margin=0.5),
        )
        body, found, record = self.told(*places)
        assert set(record) == {
            "fits", "answer", "reasons", "count", "margin", "skin_margin", "core_margin", "short", "unseen", "largest",
            "piece", "permitted", "block", "laid", "cuts", "notes", "profile",
        }  # fmt: skip
        assert (record["fits"], record["count"], record["margin"], record["largest"]) == (True, 2, 0.5, ())
        assert (record["skin_margin"], record["core_margin"]) == (0.5, pytest.approx(0.8))
        assert (record["short"], record["unseen"], record["notes"]) == ((), (), ())
        assert (record["answer"].code, record["answer"].value("nuts")) == ("piece.yields", 2)
        assert record["reasons"] == (places[1].tightest,)
        assert record["piece"] == {
            "material": "bone", "found_by": "calipers", "length": 150.0, "ends": ("cut", "closed"),
            "first_end": body.first_end, "back_line": body.back_line, "to_source": record["piece"]["to_source"],
        }  # fmt: skip
        assert record["piece"]["to_source"] == pytest.approx(SOURCE.matrix)
        assert record["permitted"] == dict(body.permitted)
        sizes = record["block"]
        assert set(sizes) == {"size", "squared", "finished", "to_square", "to_sand"}
        assert (sizes["size"], sizes["squared"], sizes["finished"]) == (
            (48.0, 9.4, 12.6), (46.0, 7.4, 10.6), (44.0, pytest.approx(6.6), pytest.approx(9.4)),
        )  # fmt: skip
        assert sizes["to_sand"]["front"] == 1.4
        assert sizes["to_square"]["front"] == 1.0
        assert [[row["along"], row["margin"]] for row in record["profile"]] == found.profile.tolist()

    def test_where_each_block_lies_in_the_frame_of_the_scan(self):
        axes = turned(yaw_deg=2.0, roll_deg=90.0)
        place = replace(laid([62.0, 0.3, 9.0], axes), tightest_at=np.array([60.0, 1.0, 2.0]), waste=70.0, saw_area=5.0)
        body, found, record = self.told(place)
        (row,) = record["laid"]
        assert set(row) == {
            "number", "size", "centre", "length_axis", "thickness_axis", "height_axis", "to_source", "along", "margin",
            "skin_margin", "core_margin", "tightest", "tightest_at", "grain_deg", "waste", "saw_area",
        }  # fmt: skip
        assert (row["number"], row["size"], row["along"]) == (1, (48.0, 9.4, 12.6), 62.0)
        assert row["centre"] == pytest.approx(in_scan([62.0, 0.3, 9.0]))
        for name, axis in zip(("length_axis", "thickness_axis", "height_axis"), axes, strict=True):
            assert row[name] == pytest.approx(in_scan(axis) - in_scan([0.0, 0.0, 0.0]))
        corner = np.array([24.0, -4.7, 6.3])
        assert row["to_source"] @ [*corner, 1.0] == pytest.approx([*in_scan(corner @ axes + [62.0, 0.3, 9.0]), 1.0])
        assert row["tightest_at"] == pytest.approx(in_scan([60.0, 1.0, 2.0]))
        assert (row["margin"], row["skin_margin"], row["core_margin"]) == (0.8, 0.8, 1.1)
        assert (row["grain_deg"], row["waste"], row["tightest"]) == (1.0, 70.0, place.tightest)
        # one block: all that is sawn is sawn for it
        assert row["saw_area"] == pytest.approx(record["cuts"]["saw_area"])
        assert answer_record(body, found, None, count=1)["laid"][0]["saw_area"] == 5.0

    def test_a_no(self):
        short = (refusal("piece.beyond-grain", off_deg=9.0, most_deg=8.0),)
        smaller = Largest("lower", (48.0, 9.4, 12.0), (44.0, 6.6, 8.8), note("x"))
        place = replace(laid([62.0, 0.3, 9.0], turned()), core_margin=None)
        _, _, record = self.told(place, plan=False, short=short, largest=(smaller,), margin=-0.2)
        assert (record["fits"], record["cuts"], record["core_margin"]) == (False, None, None)
        assert (record["short"], record["reasons"], record["largest"]) == (short, short, (smaller,))
        assert record["answer"].code == "piece.short"


def test_the_plan_of_a_rod_by_hand():
    """A rod of 40 across and 240 long, a block of 48 x 9.4 x 12.6 from 36 to 84; the rest behind it is the handle."""
    rod = piece(frustum(20.0, 19.999, 240.0, around=720), 240.0)
    found = answer(block(), laid([60.0, 0.0, 0.0], turned()))
    plan = cut_plan(rod, found)
    record = plan_record(rod, found, plan)
    assert set(record) == {
        "kerf", "begins_at", "held_by", "saw_area", "cross_cuts", "stretches", "to_square", "to_sand", "steps",
        "cautions",
    }  # fmt: skip
    assert (record["kerf"], record["begins_at"]) == (0.8, "first end")
    assert record["to_sand"] == found.block.to_sand
    assert record["to_square"] == found.block.to_square
    first, last = record["cross_cuts"]
    for cut, number, at, toward in ((first, 1, 36.0, "first end"), (last, 6, 84.0, "last end")):
        assert set(cut) == {"cut", "by", "marks", "along_skin", "waste_toward", "depth", "area", "girth"}
        assert (cut["cut"], cut["by"], cut["waste_toward"]) == (number, "saw", toward)
        assert cut["marks"] == dict.fromkeys(("back", "left", "belly", "right"), pytest.approx(at))
        assert cut["along_skin"] == dict.fromkeys(("back", "left", "belly", "right"), pytest.approx(at, abs=0.01))
        assert cut["area"] == pytest.approx(np.pi * 400.0, rel=1e-3)
        assert cut["girth"] == pytest.approx(np.pi * 40.0, rel=1e-3)
        assert cut["depth"] == pytest.approx(40.0, rel=1e-3)
    (stretch,) = record["stretches"]
    assert (stretch["stretch"], stretch["nuts"], stretch["first_cut"], stretch["last_cut"]) == (1, (1,), 1, 6)
    assert (stretch["rips_start_at"], stretch["held_by"]) == ("first end", "piece")
    assert stretch["held_length"] == pytest.approx(240.0 - 84.0 - 0.8)
    assert [rip["cut"] for rip in stretch["rip_cuts"]] == [2, 3, 4, 5]
    faces = {rip["face"]: rip for rip in stretch["rip_cuts"]}
    assert set(faces) == {"front", "back", "underside", "top"}
    for face, out in (("front", 4.7), ("back", 4.7), ("underside", 6.3), ("top", 6.3)):
        rip = faces[face]
        assert set(rip) == {
            "cut", "nut", "face", "by", "from_back_mark_to_the_left", "reach", "held_by", "stands_over",
            "from_other_end", "depths", "length", "area",
        }  # fmt: skip
        assert (rip["nut"], rip["by"], rip["held_by"], rip["from_other_end"]) == (1, "saw", "piece", None)
        assert rip["stands_over"] == pytest.approx(20.0 - out, abs=0.01)
        assert rip["reach"] == pytest.approx((36.0, 84.0))
        assert rip["length"] == pytest.approx(48.0)
        assert rip["area"] == pytest.approx(48.0 * np.mean(rip["depths"]), rel=1e-3)
        marks = rip["from_back_mark_to_the_left"]
        assert set(marks) == {"first", "last"}
        assert marks["first"] == pytest.approx(marks["last"], abs=0.05)
    half = 20.0 * np.arccos(6.3 / 20.0)
    assert faces["top"]["from_back_mark_to_the_left"]["first"] == pytest.approx((-half, half), abs=0.01)


def test_a_block_that_is_cut_to_length_later():
    """Between two that end elsewhere: a cut across the stretch has no line on its faces, and tells the length."""
    rod = piece(cylinder(20.0, 150.0), 150.0)
    found = answer(block(), laid([60.0, -5.1, 0], turned()), laid([68.0, 5.1, 0], turned()))
    record = plan_record(rod, found, cut_plan(rod, found))
    across = [rip for rip in record["stretches"][0]["rip_cuts"] if "end" in rip["face"]]
    assert [(rip["nut"], rip["face"]) for rip in across] == [(1, "last end"), (2, "first end")]
    assert all(rip["from_back_mark_to_the_left"] is None and rip["from_other_end"] == 48.0 for rip in across)
    assert record["stretches"][0]["held_by"] == "stick"
