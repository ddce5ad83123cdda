"""Bends behind the nut, burial, and what is no nut for fretted strings."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.documents.words import placed, sentence
from nutgen.errors import CannotBeMade
from nutgen.finding import Finding
from nutgen.nut import Nut, solve
from nutgen.spec.read import parse_spec
from tests.nut.slips import kind_data, text_of
from tests.spec.refused import refused


def solved(kind: str, headstock: dict[str, object] | None = None, **tables: dict[str, object]) -> Nut:
    data = kind_data(kind)
    for table, values in tables.items():
        data[table].update(values)
    if headstock:
        data["headstock"] = headstock
    return solve(parse_spec(text_of(data), source="test"))


def about_bends(nut: Nut) -> list[Finding]:
    return [finding for finding in nut.findings if finding.code.startswith("string.bend-")]


class TestBend:
    @settings(max_examples=25)
    @given(down=st.floats(1.0, 25.0), aside=st.floats(-19.9, 19.9))
    def test_judged_on_the_whole_bend(self, down: float, aside: float) -> None:
        """The angle between two unit vectors in space, by their scalar product."""
        a, b = math.radians(down), math.radians(aside)
        whole = math.degrees(math.acos(math.cos(a) * math.cos(b)))
        found = about_bends(solved("bass-4", {"break_angle_deg": down, "fan_deg": aside}))
        expected = "string.bend-large" if whole >= 18.0 else "string.bend-small" if whole < 4.0 else ""
        assert {finding.code for finding in found} == ({expected} if expected else set())
        assert all(finding.value("bend_deg") == pytest.approx(whole, abs=1e-6) for finding in found)

    def test_binds_from_18_degrees_with_the_friction_it_means(self) -> None:
        # rope round a post: 600 log2(e) mu theta cents = 865.617 mu theta; 18 degrees, .1 to .3: 27.2 to 81.6
        (first, *_) = about_bends(solved("bass-4", {"break_angle_deg": 18.0}))
        assert first.value("low_cents") == pytest.approx(27.2, abs=0.05)
        assert first.value("high_cents") == pytest.approx(81.6, abs=0.05)
        words = sentence(first)
        assert "27 cents greased and 82 cents dry" in words
        assert "graphite" in words
        assert "string guide" in words
        assert about_bends(solved("bass-4", {"break_angle_deg": 17.9})) == []

    def test_a_string_guide_is_offered_under_4_degrees(self) -> None:
        (first, *_) = about_bends(solved("bass-4", {"break_angle_deg": 3.9}))
        assert "string guide" in sentence(first)
        assert about_bends(solved("bass-4", {"break_angle_deg": 3.0, "fan_deg": 4.0})) == []

    @pytest.mark.parametrize("kind", ["bass-4", "bass-5", "electric-6-slanted"])
    def test_a_floor_may_follow_its_string(self, kind: str) -> None:
        """A floor that falls as the string falls to its tuner neither lifts it behind its start nor leaves it."""
        nut = solved(kind, slots={"tilt_deg": "string"})
        for slot in nut.slots:
            assert slot.tilt_deg == pytest.approx(slot.break_angle_deg + slot.incline_deg, abs=1e-8)
        assert not [finding for finding in nut.findings if finding.code.startswith("slot.floor-too")]


class TestBurial:
    def test_one_rule_whatever_the_gauge(self) -> None:
        """148 and 149 % are judged alike: what counts is the share, of a string of .008 and of one of .105."""
        for kind in ("acoustic-12", "bass-4", "electric-6"):
            for plain in (0.8, 1.2):
                nut = solved(kind, slots={"buried": plain})
                told = {finding.strings[0] for finding in nut.findings if finding.code == "string.buried-too-much"}
                assert told == {slot.number for slot in nut.slots if slot.buried > 1.05}

    def test_off_what_was_asked_is_told_where_it_matters(self) -> None:
        """A thin string between thick ones is buried, a thick one between thin ones lies bare: one arc for all."""
        gauges = [0.046, 0.010, 0.046, 0.010, 0.046, 0.010]
        data = kind_data("electric-6")
        notes = [string["note"] for string in data["strings"]]
        data["strings"] = [
            {"note": note, "gauge": gauge, "wound": gauge > 0.02} for note, gauge in zip(notes, gauges, strict=True)
        ]
        nut = solve(parse_spec(text_of(data), source="test"))
        for slot in nut.slots:
            asked = 0.5 if slot.wound else 0.8
            codes = {one.code for one in nut.findings if one.strings == (slot.number,) and ".buried" in one.code}
            if slot.buried > 1.05:
                assert codes == {"string.buried-too-much"}
            elif abs(slot.buried - asked) > 0.2 and abs(slot.buried - asked) * slot.gauge > 0.15:
                assert codes == {"string.buried-otherwise"}
            elif abs(slot.buried - asked) < 0.2:
                assert codes == set()
        assert any(slot.buried > 1.05 for slot in nut.slots)
        classical = [one for one in solved("classical").findings if one.code == "string.buried-otherwise"]
        assert [one.strings for one in classical] == [(4,), (3,)]  # a G of nylon, thicker than the wound D beside it

    def test_what_was_asked_is_a_warning_and_what_came_out_is_a_note(self) -> None:
        for asked, severity in ((0.8, "note"), (1.4, "warning")):
            nut = solved("acoustic-12", slots={"buried": {"wound": 0.5, "plain": asked}})
            found = [one for one in nut.findings if one.code == "string.buried-too-much" and 6 in one.strings]
            assert [one.severity for one in found] == [severity]
            assert all("%" in sentence(one) for one in found)


class TestRaisedForABar:
    """A nut raised for playing with a bar is no kind yet: refused with the reason, however the file describes it."""

    @pytest.mark.parametrize(
        ("table", "values", "code"),
        [
            ("seat", {"kind": "raised"}, "seat.raised"),
            ("seat", {"kind": "lap"}, "seat.raised"),
            ("setup", {"action": 11.0}, "setup.raised"),
            ("setup", {"action": {"bass": 11.0, "treble": 10.5}}, "setup.raised"),
            ("setup", {"first_fret_clearance": 9.5}, "setup.raised"),
        ],
    )
    def test_refused_at_the_door(self, table: str, values: dict, code: str) -> None:
        data = kind_data("acoustic-6")
        data[table].update(values)
        found = refused(parse_spec, text_of(data))
        assert "bar" in next(placed(one) for one in found if one.code == code)

    def test_refused_by_the_nut(self) -> None:
        with pytest.raises(CannotBeMade, match=r"nut\.raised"):
            solved("acoustic-6", setup={"action": 8.0, "first_fret_clearance": 2.5})

    def test_a_slip_of_the_unit_is_no_such_nut(self) -> None:
        data = kind_data("acoustic-6-inches")
        data["setup"]["action"] = 2.0
        assert "setup.raised" not in [one.code for one in refused(parse_spec, text_of(data))]
