"""Readings that contradict one another: told with the likelier slip, never refused, and silent where they agree."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nutgen.documents.words import sentence
from nutgen.finding import Finding
from nutgen.nut import solve
from nutgen.spec.read import parse_spec
from tests.nut.slips import kind_data, text_of

EDGE = 241.0 - math.sqrt(241.0**2 - 20.75**2)  # how far a 9 1/2 in board falls from the middle of bass-4 to its edge


def found(data: dict, code: str = "") -> list[Finding]:
    """Warnings of a file, which must not be refused; what they are about is there."""
    spec = parse_spec(text_of(data), source="test")
    nut = solve(spec)
    assert all(sentence(one, units) for one in nut.findings for units in ("mm", "in"))
    for one in nut.findings:
        told = [one, *dict(one.values).get("slips", ())]
        for about in (subject for finding in told for subject in finding.about if subject.kind == "key"):
            named(spec, about.name)
        if one.severity == "warning":
            lies_beyond_its_limit(one)
    return [one for one in nut.findings if one.severity == "warning" and one.code.startswith(code)]


def named(spec: Any, path: str) -> None:
    """Look up what a path names, `strings[2].post.x`; AttributeError where there is no such thing."""
    for part in path.split("."):
        name, _, place = part.partition("[")
        spec = getattr(spec, name)
        spec = spec[int(place[:-1]) - 1] if place else spec


def lies_beyond_its_limit(finding: Finding) -> None:
    """What was measured is the first value of a finding; a limit beside it is one that it does not keep."""
    (_, read), *limits = finding.values or (("", None),)
    for name, limit in limits:
        if name.startswith(("least", "most")):
            assert (read < limit) == name.startswith("least"), name
    if {"low", "high"} <= dict(limits).keys():
        assert not dict(limits)["low"] <= read <= dict(limits)["high"]


def with_values(kind: str, **values: object) -> dict:
    """A kind with other values: seat__depth=3.0."""
    data = kind_data(kind, straightedge="seat__fret_plane" in values)
    for path, value in values.items():
        table, key = path.split("__")
        data.setdefault(table, {})[key] = value
    return data


def with_string(kind: str, index: int, **values: object) -> dict:
    data = kind_data(kind)
    data["strings"][index].update(values)
    return data


def slips(finding: Finding) -> list[tuple[str, str, float]]:
    """Code, key and what was meant of each slip that would explain it."""
    told = finding.value("slips")
    assert isinstance(told, tuple)
    return [(one.code, one.about[0].name, one.value("likely")) for one in told]  # type: ignore[union-attr]


class TestFretPlane:
    TRUE = 3.2 + 1.05 - EDGE

    @pytest.mark.parametrize(("off", "told"), [(0.0, 0), (0.14, 0), (-0.14, 0), (0.16, 1), (-0.2, 1)])
    def test_told_from_fifteen_hundredths_apart(self, off: float, told: int) -> None:
        told_now = found(with_values("bass-4", seat__fret_plane=self.TRUE + off), "seat.readings-disagree")
        assert len(told_now) == told
        assert all(one.value("apart") == pytest.approx(abs(off), abs=1e-6) for one in told_now)

    def test_one_side_alone(self) -> None:
        plane = {"bass": self.TRUE, "treble": self.TRUE - 0.3}
        (one,) = found(with_values("bass-4", seat__fret_plane=plane), "seat.readings-disagree")
        assert (one.value("read"), one.value("due")) == pytest.approx((self.TRUE - 0.3, self.TRUE))

    def test_the_centre_line_alone(self) -> None:
        plane = {"bass": self.TRUE, "middle": 4.25 / 2.0, "treble": self.TRUE}
        (one,) = found(with_values("bass-4", seat__fret_plane=plane), "seat.readings-disagree")
        assert (one.value("read"), one.value("due")) == pytest.approx((4.25 / 2.0, 4.25))
        assert slips(one) == [("slip.halved", "seat.fret_plane", pytest.approx(4.25))]

    @pytest.mark.parametrize(
        ("changes", "slip"),
        [
            ({"seat__depth": 6.4}, ("slip.doubled", "seat.depth", 3.2)),
            ({"seat__depth": 3.2 - EDGE}, ("slip.at-edge", "seat.depth", 3.2)),
            ({"fretboard__fret_height": 2.1}, ("slip.doubled", "fretboard.fret_height", 1.05)),
            ({"seat__floor": 482.0, "seat__fret_plane": 4.25}, ("slip.doubled", "seat.floor", 241.0)),
            ({"fretboard__radius": 305.0}, ("slip.other-radius", "fretboard.radius", 241.0)),
            ({"seat__fret_plane": TRUE - 1.05}, ("slip.from-board", "seat.fret_plane", TRUE)),
            ({"seat__fret_plane": TRUE + EDGE}, ("slip.on-centre-line", "seat.fret_plane", TRUE)),
            ({"seat__fret_plane": {"bass": TRUE, "treble": 2 * TRUE}}, ("slip.doubled", "seat.fret_plane", TRUE)),
            ({"seat__fret_plane": {"bass": TRUE / 2, "treble": TRUE}}, ("slip.halved", "seat.fret_plane", TRUE)),
            ({"seat__fret_plane": 2 * TRUE}, ("slip.doubled", "seat.fret_plane", TRUE)),
            ({"seat__depth": 1.6}, ("slip.halved", "seat.depth", 3.2)),
            ({"seat__depth": 3.2 + 1.05}, ("slip.to-frets", "seat.depth", 3.2)),
            ({"fretboard__fret_height": 0.525}, ("slip.halved", "fretboard.fret_height", 1.05)),
            ({"seat__floor": 120.5, "seat__fret_plane": 4.25}, ("slip.halved", "seat.floor", 241.0)),
            ({"fretboard__radius": 482.0}, ("slip.doubled", "fretboard.radius", 241.0)),
            ({"fretboard__radius": 120.5}, ("slip.halved", "fretboard.radius", 241.0)),
        ],
    )
    def test_the_likelier_slip_is_named(self, changes: dict, slip: tuple[str, str, float]) -> None:
        data = with_values("bass-4", **({"seat__fret_plane": self.TRUE} | changes))
        (one,) = found(data, "seat.readings-disagree")
        named = slips(one)
        assert slip[:2] in [each[:2] for each in named]
        (likely,) = (each[2] for each in named if each[:2] == slip[:2])
        assert likely == pytest.approx(slip[2], abs=0.02)

    def test_not_measured_is_told_with_what_to_check(self) -> None:
        nut = solve(parse_spec(text_of(kind_data("bass-4")), source="test"))
        (one,) = (finding for finding in nut.findings if finding.code == "seat.plane-not-measured")
        assert (one.value("edge"), one.value("middle")) == pytest.approx((self.TRUE, 4.25))

    @settings(max_examples=25)
    @given(
        depth=st.floats(2.1, 4.9),
        high=st.floats(0.75, 1.5),
        radius=st.floats(150.0, 900.0),
        off=st.floats(-0.149, 0.149),
    )
    def test_agreeing_readings_are_silent(self, depth: float, high: float, radius: float, off: float) -> None:
        plane = depth + high - (radius - math.sqrt(radius**2 - 20.75**2)) + off
        changes = {"seat__depth": depth, "fretboard__fret_height": high, "fretboard__radius": radius}
        assert found(with_values("bass-4", seat__fret_plane=plane, **changes), "seat.") == []


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (with_values("bass-4", fretboard__fret_height=2.1), "reading.unusual"),
        (with_values("bass-4", seat__depth=6.4), "reading.unusual"),
        (with_values("acoustic-6", seat__thickness=3.0), "reading.unusual"),
        (with_values("electric-6", slots__clearance=0.0), "slots.clearance-grips"),
        (with_values("electric-6", slots__clearance=0.4), "slots.clearance-wide"),
        (with_values("electric-6", setup__relief=0.008), "relief.no-leaf"),
        (with_values("bass-4", setup__action={"bass": 1.9, "treble": 2.3}), "setup.rises-to-treble"),
        (with_values("bass-4", setup__action={"bass": 3.0, "treble": 1.3}), "setup.ends-apart"),
        (with_values("bass-4", setup__first_fret_clearance=0.28), "slot.floor-near-fret-plane"),
        (with_values("acoustic-6", instrument__scale_length=324.0), "set.pull-unlikely"),
        (with_values("bass-4", instrument__scale_length=431.8), "set.pull-unlikely"),
        (with_values("classical", instrument__scale_length=325.0), "set.slack"),
        (with_values("bass-6", instrument__frets=12), "frets.few"),
        (with_values("bass-4", seat__floor=482.0), "seat.floor-unlike-board"),
        (with_values("electric-6-slanted", fretboard__width_at_12=70.0), "reading.unusual"),
        (
            with_values("electric-6-slanted", instrument__scale_length={"bass": 647.7, "treble": 673.1}),
            "slant.treble-longer",
        ),
        (with_values("electric-6", fretboard__width=75.0), "strings.far"),
        (with_values("banjo-5", fretboard__width=63.6), "spacing.margin-disagrees"),
        (with_values("bass-4-fifths", seat__depth=4.9), "old-nut.floors-disagree"),
        (with_values("bass-5", headstock__break_angle_deg=14.0), "headstock.posts-disagree"),
        (with_string("bass-4", 0, wound=False, gauge=0.130), "string.plain-so-thick"),
        (with_string("classical", 5, gauge=0.046), "string.plain-so-thick"),
        (with_string("electric-6", 5, wound=True), "string.wound-so-thin"),
        (with_string("electric-6", 0, gauge=0.023), "string.pull-unlikely"),
        (with_string("electric-6", 3, note="G4"), "string.pull-unlikely"),
        (with_string("electric-6", 4, gauge=0.021), "strings.gauges-crossed"),
        (with_string("bass-4", 0, unit_mass="0.00098 lb/in"), "string.mass-disagrees"),
        (with_string("bass-4", 0, core=0.040, wraps=[0.025, 0.025]), "string.build-disagrees"),
        (with_string("bass-5", 1, post={"y": 14.5, "x": -78.0, "drop": 3.0}), "string.post-aside"),
    ],
)
def test_every_doubt_comes_up_and_refuses_nothing(data: dict, code: str) -> None:
    assert found(data, code)


@pytest.mark.parametrize(
    ("kind", "path", "read", "slip"),
    [
        ("bass-4", "seat__depth", 6.4, ("slip.doubled", 3.2)),
        ("acoustic-6", "seat__thickness", 3.0, ("slip.halved", 6.0)),
        ("electric-6", "fretboard__fret_height", 0.5, ("slip.halved", 1.0)),
        ("bass-4", "fretboard__fret_height", 1.7, ("slip.doubled", 0.85)),
    ],
)
def test_an_unusual_reading_is_set_right(kind: str, path: str, read: float, slip: tuple[str, float]) -> None:
    (one,) = found(with_values(kind, **{path: read}), "reading.unusual")
    assert slips(one) == [(slip[0], path.replace("__", "."), pytest.approx(slip[1]))]
    assert one.value("read") == read


def test_a_seat_floor_unlike_the_board_by_its_drop() -> None:
    (one,) = found(with_values("bass-4", seat__floor=482.0), "seat.floor-unlike-board")
    assert one.value("apart") == pytest.approx(EDGE - (482.0 - math.sqrt(482.0**2 - 20.75**2)))


@pytest.mark.parametrize(("read", "code", "limit"), [(0.01, "grips", 0.02), (0.3, "wide", 0.25)])
def test_a_clearance_beyond_what_a_string_runs_in(read: float, code: str, limit: float) -> None:
    told = found(with_values("electric-6", slots__clearance=read), f"slots.clearance-{code}")
    assert [one.about[0].name for one in told] == ["slots.clearance.wound", "slots.clearance.plain"]
    assert [value for one in told for _, value in one.values] == [read, limit] * 2


def test_a_margin_read_to_the_strings_centre() -> None:
    # a .023, its centre 3.7 from the end: 3.7 - 0.292 to its edge
    (one,) = found(with_values("banjo-5", spacing__margin={"bass": 3.7, "treble": 3.2}), "spacing.margin-disagrees")
    assert slips(one) == [("slip.to-centre", "spacing.margin.bass", pytest.approx(3.408, abs=5e-4))]


def test_centres_of_the_old_nut_against_those_measured() -> None:
    measured = {"rule": "measured", "measured": [4.7, 16.3, 27.5, 37.8]}  # the old nut's, but for 27.3
    (one,) = found(kind_data("bass-4-fifths") | {"spacing": measured}, "old-nut.centres-disagree")
    assert one.value("apart") == pytest.approx(0.2)


def test_an_old_slot_narrower_than_the_string_it_held() -> None:
    data = kind_data("bass-4-fifths")
    assert found(data, "old-nut.slot-too-narrow") == []
    data["old_nut"]["widths"][1] = 1.9
    (one,) = found(data, "old-nut.slot-too-narrow")
    assert (one.about[0].name, one.value("apart")) == ("old_nut.widths[2]", pytest.approx(0.085 * 25.4 - 1.9))


def test_a_plain_130_asks_whether_it_is_wound() -> None:
    (one,) = found(with_string("bass-4", 0, wound=False, gauge=0.130), "string.plain-so-thick")
    assert "wound" in sentence(one)
    assert one.value("most") == pytest.approx(0.026 * 25.4, abs=0.005)


def test_mass_and_build_are_told_by_what_they_would_make() -> None:
    # .010 in of plain steel weighs .00002215 lb/in (J. D'Addario & Company, chart 13934); twice that, by the root of 2
    assert found(with_string("electric-6", 5, unit_mass="0.00002215 lb/in"), "string.mass-disagrees") == []
    (mass,) = found(with_string("electric-6", 5, unit_mass="0.00004430 lb/in"), "string.mass-disagrees")
    assert mass.value("likely") == pytest.approx(0.254 * math.sqrt(2.0), rel=0.01)
    # by hand: a core of .040 in, girt by a circle of .0441 where it is a hexagon, under two wraps of .025
    for shape, due in (("round", 0.140), ("hex", 0.04411 + 0.1)):
        string = with_string("bass-4", 0, core=0.040, core_shape=shape, wraps=[0.025, 0.025])
        (build,) = found(string, "string.build-disagrees")
        assert build.value("due") == pytest.approx(25.4 * due, abs=0.001)


@pytest.mark.parametrize(
    ("kind", "by", "slip"), [("electric-6", 0.5, "slip.not-doubled"), ("ukulele-soprano", 2.0, "slip.doubled")]
)
def test_fret_1_tells_a_scale_that_was_halved_or_doubled(kind: str, by: float, slip: str) -> None:
    data = kind_data(kind)
    scale = data["instrument"]["scale_length"]
    data["instrument"]["scale_length"] = scale * by
    data["dry_fit"] = {"feeler": [0.4] * len(data["strings"]), "face_to_fret_1": scale / 17.817}
    (one,) = found(data, "scale.fret-1-disagrees")
    assert slips(one) == [(slip, "instrument.scale_length", pytest.approx(scale))]


def test_the_action_now_is_read_twice() -> None:
    data = kind_data("electric-6")
    data["setup"]["action_now"] = 1.6
    for action, told in ((1.74, 0), (1.76, 1)):
        data["dry_fit"] = {"feeler": [0.4] * 6, "action": action}
        assert len(found(data, "dry-fit.action-disagrees")) == told


@pytest.mark.parametrize(
    ("index", "read", "slip"),
    [
        (0, {"x": 22.0}, ("slip.other-side", "strings[1].post.x", -22.0)),
        (0, {"x": -24.0 - 23.5}, ("slip.doubled", "strings[1].post.x", -23.75)),
        (0, {"x": 24.0 + 23.5}, ("slip.from-treble-edge", "strings[1].post.x", -24.0)),
        (4, {"x": 22.0 + 23.5, "y": 40.0}, ("slip.from-bass-edge", "strings[5].post.x", 22.0)),
        (1, {"x": -78.0, "y": 14.5}, ("slip.swapped", "strings[2].post.x", -14.5)),
        (4, {"x": 92.0, "y": 22.0}, ("slip.swapped", "strings[5].post.x", 22.0)),
        (4, {"x": 27.0, "y": 15.0}, ("slip.halved", "strings[5].post.y", 30.0)),
    ],
)
def test_a_post_misread_is_named(index: int, read: dict, slip: tuple[str, str, float]) -> None:
    """Of a bass 47 mm wide, its edges 23.5 from the middle."""
    post = kind_data("bass-5")["strings"][index]["post"] | read
    (one,) = found(with_string("bass-5", index, post=post), "string.post-aside")
    assert slip in slips(one)
