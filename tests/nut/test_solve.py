"""The solved nut against geometry worked out another way."""

import math
import re

import numpy as np
import pytest

from nutgen.documents.words import sentence
from nutgen.errors import CannotBeMade
from nutgen.nut import Nut, solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_spec
from tests.kinds import text_of
from tests.nut.test_doubts import lies_beyond_its_limit


def nut_from(kind: str, *changes: tuple[str, str]) -> Nut:
    text = kind_path(kind).read_text("utf-8")
    for old, new in changes:
        assert re.search(old, text), old
        text = re.sub(old, new, text, count=1)
    return solve(parse_spec(text, source=kind))


@pytest.mark.parametrize("kind", kind_names())
def test_every_kind_is_solved_without_a_warning(kind: str) -> None:
    assert [finding for finding in nut_from(kind).findings if finding.severity == "warning"] == []


@pytest.mark.parametrize("kind", kind_names())
def test_heights_meet_the_targets_in_space(kind: str) -> None:
    """Lay each string out as points in space over crowns on an arc, and measure under it."""
    nut = nut_from(kind)
    for slot in nut.slots:
        frets = slot.scale_length * (1 - 2 ** (-np.arange(nut.frets + 1) / 12))
        half, middle = (frets[-1] - frets[1]) / 2, (frets[-1] + frets[1]) / 2
        arc = lambda u, h=half, m=middle: nut.relief * ((u - m) ** 2 / h**2 - 1)  # noqa: E731
        plane = np.poly1d(np.polyfit(frets[1:3], arc(frets[1:3]), 1))
        start = slot.zero_fret.height if slot.zero_fret else slot.floor_z - slot.fret_plane_z
        saddle = arc(frets[12]) + slot.action + (arc(frets[12]) + slot.action - plane(0) - start)
        string = np.interp(frets, [0, slot.scale_length], [plane(0) + start, saddle])
        assert string[1] - arc(frets[1]) == pytest.approx(slot.first_fret_clearance, abs=2e-4)  # parabola for arc
        assert string[12] - arc(frets[12]) == pytest.approx(slot.action, abs=1e-9)


def test_left_is_the_mirror_of_right() -> None:
    right, left = nut_from("electric-6"), nut_from("electric-6-left")
    assert [s.x for s in left.slots] == pytest.approx([-s.x for s in right.slots])
    assert [s.fan_deg for s in left.slots] == pytest.approx([-s.fan_deg for s in right.slots])
    assert [left.from_bass_end(s) for s in left.slots] == pytest.approx([right.from_bass_end(s) for s in right.slots])
    x = np.linspace(-20, 20, 9)
    assert left.crown.z(x) == pytest.approx(right.crown.z(-x))


def test_the_seat_is_mirrored_with_its_plane_and_its_slant() -> None:
    plane = ("depth = 3.2", "depth = 3.2\nfret_plane = { bass = 4.1, middle = 4.6, treble = 3.9 }")
    right, left = (
        nut_from("electric-6-slanted", plane, (r'strung = "right"', f'strung = "{side}"')).seat
        for side in ("right", "left")
    )
    assert left.edges == pytest.approx((-right.edges[1], -right.edges[0]))
    assert left.slant_deg == pytest.approx(-right.slant_deg)
    x = np.linspace(-20.0, 20.0, 9)
    for height in ("board_z", "floor_z", "fret_plane_z"):
        assert getattr(left, height)(x) == pytest.approx(getattr(right, height)(-x))


def test_lengths_are_the_same_on_every_machine() -> None:
    """To 1e-9, far from the last digit, in which libraries of mathematics differ."""
    for slot in nut_from("electric-6-slanted").slots:
        read = (slot.x, slot.floor_z, slot.bend_deg, slot.incline_deg)
        assert read == tuple(round(value, 9) for value in read)


def test_slots_aim_at_their_tuner_posts() -> None:
    nut = nut_from("bass-5")
    posts = [(42.0, -24.0, 5.5), (78.0, -14.5, 10.5), (114.0, -5.0, 15.0), (150.0, 4.5, 19.5), (92.0, 22.0, 12.5)]
    for slot, (y, x, drop) in zip(nut.slots, posts, strict=True):
        assert float(slot.x_at(y)) == pytest.approx(x, abs=1e-9)
        down = math.degrees(math.atan((slot.floor_z + drop) / math.hypot(y, x - slot.x)))
        assert slot.break_angle_deg == pytest.approx(down - slot.incline_deg, abs=3e-9)  # rounded to 1e-9
        assert slot.tilt_deg == pytest.approx(max(3.0, slot.break_angle_deg / 2))


def test_rolled_floor_runs_from_the_string_to_the_tuner_line() -> None:
    nut = nut_from("bass-5", ('floor = "straight"', 'floor = "rolled"'))
    for slot, post in zip(nut.slots, parse_spec(kind_path("bass-5").read_text(), source="x").strings, strict=True):
        y = np.linspace(0.0, nut.thickness, 4001)
        z = slot.floor_at(y)
        run = y / math.cos(math.radians(slot.fan_deg))
        slope = np.gradient(z, run)
        assert slope[1] == pytest.approx(-math.tan(math.radians(slot.incline_deg)), abs=2e-4)
        assert post.post is not None
        reach = math.hypot(post.post.y, post.post.x - slot.x) - run[-1]
        assert slope[-2] == pytest.approx((-post.post.drop - z[-1]) / reach, abs=2e-4)
        assert z.argmax() == 0
        circle = np.polyfit(run, z, 2)  # an arc has one sign of bend all along
        assert circle[0] < 0.0


def test_slanted_nut_starts_each_string_on_its_own_scale() -> None:
    """In plan, about the square fret, every string's start lies one scale's distance away."""
    changes = {f"strings.{index}.post": None for index in range(6)} | {"fretboard.width_at_12": None}
    nut = solve(
        parse_spec(text_of("electric-6-slanted", {**changes, "headstock": {"break_angle_deg": 9.0}}), source="x")
    )
    slant = math.radians(nut.slant_deg)
    for slot in nut.slots:
        # headstock direction of the neck in the nut's frame is (-sin, cos); fret 7 line is square to it
        along = -slot.x * math.sin(slant)
        seventh = slot.scale_length * (1 - 2 ** (-7 / 12))
        first = nut.slots[0]
        expected = (seventh - first.scale_length * (1 - 2 ** (-7 / 12))) + -first.x * math.sin(slant)
        assert along == pytest.approx(expected, abs=1e-9)
        assert slot.fan_deg == pytest.approx(-nut.slant_deg)
        assert slot.bend_deg == pytest.approx(0.0, abs=1e-12)


def test_a_ruler_along_the_neck_reads_less_than_the_strings() -> None:
    along = [
        nut_from("electric-6-slanted", ('scale_along = "strings"', f'scale_along = "{way}"'))
        for way in ("strings", "neck")
    ]
    for string, neck in zip(*(nut.slots for nut in along), strict=True):
        splay = math.radians(neck.line_deg + along[1].slant_deg)
        assert abs(splay) > 1e-3
        assert neck.scale_length * math.cos(splay) == pytest.approx(string.scale_length, abs=2e-3)


def test_fret_plane_measured_from_the_seat_replaces_the_fret_height() -> None:
    direct = nut_from("electric-6")
    half = direct.right.x
    # the plane over the flat seat floor at the edge
    edge = (
        float(direct.seat.board_z(half)) + float(direct.seat.fret_height) + 3.0
    )  # plane over the flat seat floor at the edge
    measured = nut_from("electric-6", (r"depth = 3.0", f"depth = 3.0\nfret_plane = {edge!r}"))
    assert [s.floor_z for s in measured.slots] == pytest.approx([s.floor_z for s in direct.slots], abs=1e-9)
    tilted = nut_from(
        "electric-6", (r"depth = 3.0", f"depth = 3.0\nfret_plane = {{ bass = {edge + 0.2}, treble = {edge - 0.2} }}")
    )
    moved = [t.floor_z - d.floor_z for t, d in zip(tilted.slots, direct.slots, strict=True)]
    assert moved == pytest.approx([-0.2 * s.x / half for s in direct.slots], abs=1e-9)


@pytest.mark.parametrize("kind", ["electric-6", "electric-6-slanted", "electric-6-left"])
def test_with_three_heights_of_the_fret_plane_hardly_any_other_height_counts(kind: str) -> None:
    """The true neck is a cylinder; what is read of it is wrong, but for the fret plane at edges and centre line."""
    nut = nut_from(kind)
    board, slant = float(np.asarray(nut.seat.fret_height)), math.radians(nut.slant_deg)
    radius = nut.board_radius * math.cos(slant) ** 2
    deep = float(np.asarray(nut.seat.depth))

    def plane(x: float) -> float:
        return deep + board + math.sqrt(radius**2 - (x * math.cos(slant)) ** 2) - radius

    ends = (nut.left.x, nut.right.x) if nut.strung == "right" else (nut.right.x, nut.left.x)
    read = dict(zip(("bass", "middle", "treble"), map(plane, (ends[0], 0.0, ends[1])), strict=True))
    off = {}
    for names in (("bass", "middle", "treble"), ("bass", "treble")):
        heights = ", ".join(f"{name} = {read[name]!r}" for name in names)
        wrong = nut_from(
            kind,
            (r"\ndepth = \S+", f"\ndepth = {deep + 0.3}\nfret_plane = {{ {heights} }}"),
            (r"\nfret_height = \S+", f"\nfret_height = {board - 0.3}"),
            (r"\nradius = \S+", f"\nradius = {radius * 1.15}"),
        )
        off[names] = max(
            abs(wrong.floor_over_seat(cut) - right.floor_height - plane(right.face_x))
            for cut, right in zip(wrong.slots, nut.slots, strict=True)
        )
    by_three, by_two = off.values()
    assert by_three < 0.005
    assert by_two > 0.05


def test_surface_nut_stands_on_the_board() -> None:
    nut = nut_from(
        "electric-6", ('kind = "channel"', 'kind = "surface"'), (r"depth = 3.0 .*\n", "\n"), ("8.0  ", "6.0  ")
    )
    x = np.linspace(nut.left.x, nut.right.x, 11)
    assert nut.underside.z(x) == pytest.approx(nut.seat.board_z(x))
    assert nut.seat.kind == "surface"
    assert "seat.plane-not-measured" not in [finding.code for finding in nut.findings]


def test_floor_height_given_directly_is_kept() -> None:
    floors = [0.30, 0.28, 0.26, 0.2, 0.18, 0.16]
    nut = nut_from("electric-6", (r"first_fret_clearance = \{.*\}", f"floor_height = {floors}"))
    assert [s.floor_height for s in nut.slots] == pytest.approx(floors)


def test_rough_part_carries_its_allowances_and_the_final_one_does_not() -> None:
    nut = nut_from("electric-6", (r"\[body\]", "[body]\ntop = 0.5\nback = 0.3\nends = 0.8\nfloors = 0.2"))
    rough = nut.rough()
    assert rough.length - nut.length == pytest.approx(1.6)
    assert rough.thickness - nut.thickness == pytest.approx(0.3)
    assert rough.height > nut.height + 0.45
    for a, b in zip(rough.slots, nut.slots, strict=True):
        assert a.floor_z - b.floor_z == pytest.approx(0.2)
        assert a.depth - b.depth == pytest.approx(0.3)
        assert a.buried * a.gauge == pytest.approx(a.depth)
    assert rough.rough() == rough


class TestWarnings:
    @pytest.mark.parametrize(
        ("kind", "changes", "code"),
        [
            ("bass-4", [("width = 41.5", "width = 28.0")], "strings.close-on-bass"),
            (
                "acoustic-12",
                [("course_gap = 1.8", "course_gap = 0.4"), ("wound = 0.10, plain = 0.05", "wound = 0.2, plain = 0.2")],
                "slots.wall-breaks",
            ),
            (
                "acoustic-12",
                [("course_gap = 1.8", "course_gap = 0.4"), ("wound = 0.10, plain = 0.05", "wound = 0.5, plain = 0.5")],
                "slots.break-into-each-other",
            ),
            ("electric-6", [(r"margin = \{ bass = 3.2", "margin = { bass = 0.5")], "slot.end-may-chip"),
            (
                "electric-6",
                [
                    (r"margin = \{ bass = 3.2", "margin = { bass = 0.5"),
                    (r"break_angle_deg = 8.0", "fan_deg = -20.0\nbreak_angle_deg = 8.0"),
                ],
                "slot.breaks-out-of-end",
            ),
            ("electric-6", [("break_angle_deg = 8.0", "break_angle_deg = 3.0")], "string.bend-small"),
            ("electric-6", [("break_angle_deg = 8.0", "break_angle_deg = 18.0")], "string.bend-large"),
            ("electric-6", [("wound = 0.5, plain = 0.8", "wound = 0.2, plain = 0.2")], "string.buried-too-little"),
            ("electric-6", [("wound = 0.5, plain = 0.8", "wound = 1.4, plain = 1.4")], "string.buried-too-much"),
            ("electric-6", [(r"first_fret_clearance = \{.*\}", "floor_height = -0.2")], "slot.floor-below-fret-plane"),
            (
                "electric-6",
                [
                    (r"first_fret_clearance = \{.*\}", "floor_height = -0.8"),
                    ("fret_height = 1.05", "fret_height = 0.5"),
                ],
                "slot.floor-below-board",
            ),
            (
                "electric-6",
                [
                    ("depth = 3.0", "depth = 0.7"),
                    ("fret_height = 1.05", "fret_height = 0.6"),
                    ("bevel_deg = 8.0", "bevel_deg = 2"),
                ],
                "slot.floor-may-crack",
            ),
            ("electric-6", [(r"\[slots\]", "[slots]\ntilt_deg = 12.0")], "slot.floor-too-steep"),
            ("electric-6", [("relief = 0.2", "relief = 0.9")], "relief.unusual"),
            ("electric-6", [("bass = 0.45, treble = 0.3", "bass = 1.2, treble = 0.1")], "string.first-fret-high"),
            ("electric-6", [("bass = 0.45, treble = 0.3", "bass = 1.2, treble = 0.1")], "string.first-fret-low"),
            ("electric-6", [("bass = 1.8, treble = 1.5", "bass = 5.0, treble = 0.5")], "string.action-unusual"),
            ("electric-6", [("bevel_deg = 8.0", "bevel_deg = 35")], "slot.bevel-below-floor"),
            ("electric-6-slanted", [("perpendicular_fret = 7", "")], "slant.square-fret-assumed"),
        ],
    )
    def test_every_code_comes_up(self, kind: str, changes: list[tuple[str, str]], code: str) -> None:
        found = [finding for finding in nut_from(kind, *changes).findings if finding.code == code]
        assert found
        assert all(sentence(finding) and finding.severity in ("warning", "assumption") for finding in found)
        assert len(found[0].strings) == {"slots": 2, "strings": 2, "slot": 1, "string": 1}.get(
            code.partition(".")[0], 0
        )
        lies_beyond_its_limit(found[0])

    def test_values_are_what_was_measured(self) -> None:
        changes = ("relief = 0.2", "relief = 0.9"), ("bass = 1.8, treble = 1.5", "bass = 5.0, treble = 0.5")
        nut = nut_from("electric-6", *changes)
        by_code = {finding.code: finding for finding in reversed(nut.findings)}
        assert by_code["relief.unusual"].value("relief") == 0.9
        assert by_code["string.action-unusual"].strings == (6,)
        assert by_code["string.action-unusual"].value("action") == pytest.approx(5.0, abs=1e-9)


class TestRefusals:
    @pytest.mark.parametrize(
        ("kind", "changes", "code"),
        [
            ("bass-4", [("width = 41.5", "width = 14.0")], "strings.no-room"),
            (
                "electric-6",
                [("depth = 3.0", "depth = 0.5"), (r"\[slots\]", "[slots]\ntilt_deg = 25.0")],
                "slot.floor-breaks",
            ),
            (
                "electric-6",
                [("bevel_deg = 8.0", "bevel_deg = 40"), ("thickness = 3.4", "thickness = 9")],
                "back.too-low",
            ),
            ("bass-5", [("drop = 5.5", "drop = -4.0")], "slot.post-above"),
            (
                "bass-5",
                [("drop = 5.5", "drop = -4.0"), ('floor = "straight"', 'floor = "rolled"')],
                "slot.nothing-to-roll-to",
            ),
            # the final slot of a .010 is 0.2 deep
            ("electric-6", [(r"\[body\]", "[body]\nfloors = 0.25")], "slot.no-depth"),
            ("electric-6-slanted", [("treble = 647.7", "treble = 500.0")], "slant.scales-do-not-fit"),
        ],
    )
    def test_says_why_and_what_to_change(self, kind: str, changes: list[tuple[str, str]], code: str) -> None:
        with pytest.raises(CannotBeMade) as caught:
            nut_from(kind, *changes)
        (told, *_) = [finding for finding in caught.value.findings if finding.code == code]
        assert bool(told.strings) == code.startswith("slot")
        assert bool(told.about) == (code != "back.too-low")


def test_slots_that_cross_behind_the_face_are_told() -> None:
    changes = [
        (r"break_angle_deg = 8.0", "break_angle_deg = 8.0\nfan_deg = [0, 20, -20, 0, 0, 0]"),
        ("width = 42.0", "width = 24.0"),
        ("thickness = 3.4", "thickness = 12.0"),
        ("bevel_deg = 8.0", "bevel_deg = 1.0"),
        ("depth = 3.0", "depth = 6.0"),
    ]
    for strung in ("right", "left"):
        nut = nut_from("electric-6", *changes, ('strung = "right"', f'strung = "{strung}"'))
        assert "slots.break-into-each-other" in [finding.code for finding in nut.findings]


def test_a_leaning_top_is_no_nut() -> None:
    with pytest.raises(CannotBeMade, match=r"top\.leans"):
        nut_from("electric-6", (r"depth = 3.0", "depth = 3.0\nfret_plane = { bass = 3.0, treble = 19.0 }"))


def test_a_floor_flatter_than_its_string_is_told() -> None:
    nut = nut_from("ukulele-soprano", (r"\[slots\]", "[slots]\ntilt_deg = 0.5"), (r"bass = 2.3", "bass = 5.0"))
    told = [finding for finding in nut.findings if finding.code == "slot.floor-too-flat"]
    assert told
    assert all(one.value("tilt_deg") == 0.5 < one.value("string_deg") for one in told)
