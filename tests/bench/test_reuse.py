"""The old nut, slot by slot: what may stay, what a file cures, and what a shim saves."""

import itertools
import math

import pytest
import shapely

from nutgen.bench.reuse import OldSlot, Reuse, old_floor_heights, reuse
from nutgen.nut import Nut, solve
from nutgen.nut.heights import lowest_of
from nutgen.spec.playing import OldNut
from nutgen.spec.tables import Spec
from nutgen.spec.workshop import Tools
from tests.kinds import text_of
from tests.play.files import KINDS, changed, solved
from tests.specs import spec_of

TOOLS = Tools()
FIRM = "[pluck]\nforce_n = 1.8\nfrom_bridge = 100"


def same_as(nut: Nut, *, floors_from: str = "fret plane", **change: tuple[float, ...]) -> OldNut:
    """An old nut that is just what is wanted, but for the changes: added slot by slot, bass first."""
    centres = [nut.from_bass_end(slot) for slot in nut.slots]
    widths = [slot.width for slot in nut.slots]
    floors = [slot.floor_height for slot in nut.slots]
    if floors_from == "seat floor":
        floors = [slot.floor_z - float(nut.underside.z(slot.x)) for slot in nut.slots]
    lists = {"centres": centres, "widths": widths, "floors": floors}
    moved = {
        key: tuple(v + d for v, d in zip(values, change.get(key, (0.0,) * len(values)), strict=True))
        for key, values in lists.items()
    }
    return OldNut(floors_from=floors_from, **moved)


def judged(spec: Spec, **change: tuple[float, ...]) -> Reuse:
    nut = solve(spec)
    return reuse(nut, same_as(nut, **change), TOOLS)


def codes(old: OldSlot) -> list[str]:
    """What is to be done at a slot."""
    return [step.code for step in old.steps]


def remark_of(old: OldSlot) -> str:
    assert old.remark is not None
    return old.remark.code


@pytest.mark.parametrize("floors_from", ["fret plane", "seat floor"])
@pytest.mark.parametrize("kind", KINDS)
def test_the_wanted_nut_itself_is_kept(kind: str, floors_from: str) -> None:
    _spec, nut = solved(kind)
    got = reuse(nut, same_as(nut, floors_from=floors_from), TOOLS)
    assert got.verdict == "keep"
    assert got.shim == 0.0
    assert all(
        old.steps == () and abs(old.off_position_by) < 3e-9 and old.file_down_with_shim == 0.0 for old in got.strings
    )


def test_seat_floor_readings_by_hand() -> None:
    """Fret plane over the seat: depth plus fret height less the drop of the board there."""
    spec, nut = solved("bass-4-fifths")
    old = spec.old_nut
    assert old is not None
    radius = spec.fretboard.radius
    for slot, floor, height in zip(nut.slots, old.floors, old_floor_heights(nut, old), strict=True):
        drop = radius - math.sqrt(radius**2 - slot.x**2)
        assert height == pytest.approx(floor - (3.2 + 1.05 - drop), abs=1e-9)


def test_left_strung_reads_from_its_own_bass_end() -> None:
    right, left = (reuse(nut, same_as(nut), TOOLS) for spec, nut in map(solved, ("electric-6", "electric-6-left")))
    assert [old.off_position_by for old in right.strings] == pytest.approx(
        [old.off_position_by for old in left.strings], abs=1e-9
    )


@pytest.mark.parametrize("strung", ["right", "left"])
def test_a_caliper_on_a_slanted_nut_lies_flat_on_its_end(strung: str) -> None:
    """Slots drawn as strips in plan: what a jaw on the bass end and a tip in each strip read, by shapely."""
    nut = solve(spec_of(text_of("electric-6-slanted", {"instrument.strung": strung})))
    bass, away = (nut.left, -1.0) if strung == "right" else (nut.right, 1.0)
    end = shapely.LineString([(bass.x + y * bass.per_y, y) for y in (-100.0, 100.0)])
    face, edges = shapely.LineString([(-200.0, 0.0), (200.0, 0.0)]), []
    for slot in nut.slots:
        middle = shapely.LineString([(float(slot.x_at(y)), y) for y in (-20.0, 20.0)])
        met = middle.buffer(slot.width / 2.0, cap_style="flat").intersection(face)
        near = min(met.coords, key=lambda at: -away * at[0])
        edges.append(shapely.Point(near).distance(end))
    wanted = same_as(nut)
    got = reuse(
        nut, OldNut(edges=tuple(edges), widths=wanted.widths, floors=wanted.floors, floors_from="fret plane"), TOOLS
    )
    assert [old.off_position_by for old in got.strings] == pytest.approx([0.0] * 6, abs=1e-6)
    along_face = [centre - width / 2.0 for centre, width in zip(wanted.centres or (), wanted.widths, strict=True)]
    assert along_face[-1] - edges[-1] > 0.5  # read along the face instead, the last slot would count as misplaced


class TestSlots:
    SPEC = changed("bass-4", FIRM)

    def test_narrow_slot_is_widened(self) -> None:
        got = judged(self.SPEC, widths=(-0.3, 0.0, 0.0, 0.0))
        assert got.verdict == "file"
        assert got.strings[0].widen_to == got.strings[0].wanted_width
        assert codes(got.strings[0]) == ["old-slot.widen"]

    def test_widening_can_move_a_centre_by_half_of_what_it_takes_off(self) -> None:
        # 0.8 off, 0.5 is felt: widening by 1.0 moves the centre by up to 0.5, by 0.4 only 0.2
        near, far = (judged(self.SPEC, widths=(-w, 0, 0, 0), centres=(0.8, 0, 0, 0)) for w in (1.0, 0.4))
        assert not near.strings[0].misplaced
        assert near.strings[0].steps[0].value("toward") == "bass"
        assert far.strings[0].misplaced

    def test_wide_slot_rattles_and_no_shim_helps(self) -> None:
        nut = solve(self.SPEC)
        read = same_as(nut, widths=(0.0, 0.0, 0.0, 0.5)).model_copy(update={"rattles": (1,)})
        got = reuse(nut, read, TOOLS)
        old = got.strings[3]
        assert got.verdict == "new nut"
        assert old.too_wide_by == pytest.approx(old.wanted_width + 0.5 - (old.gauge + 0.25))
        assert codes(old) == ["old-slot.too-wide"]
        assert got.reason.code == "old-nut.slots-lost"
        assert got.reason.value("too_wide") == ("1 G2",)

    def test_a_thick_string_may_have_a_tenth_of_itself(self) -> None:
        """Thinner ones a quarter of a millimetre: common practice, no source."""
        nut = solve(changed("bass-4-fifths", FIRM))
        thick = nut.slots[0]
        assert thick.gauge > 2.5
        room = 1.1 * thick.gauge - thick.width
        within, beyond = (
            reuse(nut, same_as(nut, widths=(room + by, 0.0, 0.0, 0.0)).model_copy(update={"rattles": (4,)}), TOOLS)
            for by in (-0.02, 0.02)
        )
        assert within.strings[0].too_wide_by == 0.0
        assert beyond.strings[0].too_wide_by == pytest.approx(0.02)

    def test_a_wide_slot_is_listened_to_first(self) -> None:
        """A wide round slot with a good break angle often plays: common practice, no source."""
        nut = solve(self.SPEC)
        old = same_as(nut, widths=(0.0, 0.0, 0.0, 0.5), floors=(0.0, 0.2, 0.0, 0.0))

        def heard(*rattles: int) -> Reuse:
            return reuse(nut, old.model_copy(update={"rattles": rattles}), TOOLS)

        unheard = reuse(nut, old, TOOLS)
        assert (unheard.verdict, unheard.reason.code, unheard.reason.strings) == (
            "listen first",
            "old-nut.listen",
            (1,),
        )
        assert codes(unheard.strings[3]) == ["old-slot.listen"]
        assert heard().verdict == heard(2).verdict == "file"
        assert remark_of(heard().strings[3]) == "old-slot.wide-but-quiet"
        assert remark_of(heard(2).strings[2]) == "old-slot.rattles-otherwise"
        assert heard(1).verdict == "new nut"
        assert codes(heard(1).strings[3]) == ["old-slot.too-wide"]

    @pytest.mark.parametrize(
        ("at", "read"),
        [
            ("misplaced", {"centres": -0.9, "widths": -0.3, "floors": 0.2}),
            ("wide", {"widths": 0.5, "floors": 0.2}),
            ("low", {"widths": -0.3, "floors": -0.33}),
        ],
    )
    def test_a_slot_that_is_to_be_filled_is_not_filed(self, at: str, read: dict[str, float]) -> None:
        nut = solve(self.SPEC)
        old = same_as(nut, **{key: (0.0, 0.0, 0.0, by) for key, by in read.items()})
        got = reuse(nut, old.model_copy(update={"rattles": (1,)}), TOOLS).strings[3]
        assert got.widen_to is None
        assert not {"old-slot.widen", "old-slot.file-down"} & set(codes(got)), at
        assert codes(got)

    def test_off_position(self) -> None:
        got = judged(self.SPEC, centres=(0.0, -0.9, 0.0, 0.0))
        assert got.verdict == "new nut"
        (step,) = got.strings[1].steps
        assert step.code == "old-slot.off-position"
        assert step.value("by") == pytest.approx(0.9)
        assert step.value("side") == "bass"
        assert got.reason.value("misplaced") == ("3 A1",)

    def test_high_floor_is_filed(self) -> None:
        got = judged(self.SPEC, floors=(0.2, 0.0, 0.04, 0.0))
        assert got.verdict == "file"
        assert codes(got.strings[0]) == ["old-slot.file-down"]
        assert got.strings[0].steps[0].value("by") == pytest.approx(0.2)
        assert got.strings[2].steps == ()

    def test_one_low_floor_is_filled_before_all_are_raised(self) -> None:
        got = judged(self.SPEC, floors=(0.0, -0.33, 0.1, 0.0))
        assert got.verdict == "fill and file"
        assert [way.code for way in got.ways] == ["fit.fill", "fit.shim", "fit.new-nut"]
        assert got.reason.strings == (3,)
        assert got.shim == pytest.approx(0.35)
        assert codes(got.strings[2]) == ["old-slot.file-down"]

    def test_many_low_floors_want_a_shim_that_clears_every_string(self) -> None:
        got = judged(self.SPEC, floors=(-0.2, -0.33, -0.42, 0.1))
        assert got.verdict == "shim and file"
        assert got.shim == pytest.approx(0.42)  # a sheet of veneer, sanded
        assert codes(got.strings[2]) == ["old-slot.too-low"]
        assert got.strings[2].too_low_by == pytest.approx(0.42)
        for old in got.strings:
            assert old.floor_height + got.shim >= old.wanted_floor_height - 1e-9
            assert old.file_down_with_shim == pytest.approx(old.floor_height + got.shim - old.wanted_floor_height) or (
                old.file_down_with_shim == 0.0 and old.floor_height + got.shim <= old.wanted_floor_height + 0.05
            )

    def test_metal_is_shimmed_not_filled(self) -> None:
        nut = solve(self.SPEC)
        old = same_as(nut, floors=(0.0, -0.33, 0.0, 0.0)).model_copy(update={"material": "brass"})
        assert reuse(nut, old, TOOLS).verdict == "shim and file"
        assert [way.code for way in reuse(nut, old, TOOLS).ways] == ["fit.shim", "fit.new-nut"]
        for material in ("brass", "bone"):
            lost = same_as(nut, centres=(0.0, -0.9, 0.0, 0.0)).model_copy(update={"material": material})
            assert reuse(nut, lost, TOOLS).reason.value("fill") == (material == "bone")

    def test_nothing_is_ever_filed_by_less_than_nothing(self) -> None:
        """Low but clear by more than the shim lifts: it stays as it is, and is told so."""
        spec = changed("bass-4", "[pluck]\nforce_n = 1.0\nfrom_bridge = 100")
        nut = solve(spec)
        spare = [slot.floor_height - low for slot, low in zip(nut.slots, lowest_of(nut), strict=True)]
        for steps in itertools.product((-1.0, -0.99, -0.5, 0.0, 0.6), repeat=4):
            floors = tuple(min(step * room, step * 0.2) for step, room in zip(steps, spare, strict=True))
            got = reuse(nut, same_as(nut, floors=floors), TOOLS)
            for old in got.strings:
                assert old.file_down_with_shim == 0.0 or old.file_down_with_shim > 0.05
                assert all(step.value("by") > 0.0 for step in old.steps)

    def test_edges_by_caliper_are_the_centres_less_half_a_width(self) -> None:
        nut = solve(self.SPEC)
        old = same_as(nut, centres=(0.3, 0.0, -0.2, 0.0), widths=(0.1, 0.0, 0.0, 0.2))
        edges = tuple(centre - width / 2.0 for centre, width in zip(old.centres, old.widths, strict=True))
        other = OldNut(edges=edges, widths=old.widths, floors=old.floors, floors_from="fret plane")
        one, two = reuse(nut, old, TOOLS), reuse(nut, other, TOOLS)
        assert [s.off_position_by for s in two.strings] == pytest.approx([s.off_position_by for s in one.strings])

    def test_edges_of_slots_read_by_wire_lie_half_the_middle_width_before_their_centres(self) -> None:
        """2.0 enters, 2.6 does not: taken for 2.3."""
        nut = solve(self.SPEC)
        edges, floors = (5.0, 15.0, 25.0, 35.0), same_as(nut).floors
        one, two = (
            reuse(nut, OldNut(edges=edges, floors=floors, floors_from="fret plane", **widths), TOOLS)
            for widths in ({"widths": (2.0,) * 4, "too_thick": (2.6,) * 4}, {"widths": (2.3,) * 4})
        )
        assert [s.off_position_by for s in one.strings] == pytest.approx([s.off_position_by for s in two.strings])

    def test_lower_than_wanted_but_clear_is_kept(self) -> None:
        """The lowest floor that stays clear lies under the wanted one: in between nothing needs doing."""
        spec = changed("bass-4", "[pluck]\nforce_n = 1.4\nfrom_bridge = 100")
        nut = solve(spec)
        least = lowest_of(nut)
        spare = nut.slots[1].floor_height - least[1]
        assert spare > 0.07
        above, below = (judged(spec, floors=(0.0, -spare + d, 0.0, 0.0)) for d in (0.005, -0.005))
        assert above.verdict == "keep"
        assert remark_of(above.strings[1]) == "old-slot.low-but-clear"
        assert below.strings[1].too_low_by == pytest.approx(spare + 0.005)

    def test_shim_thicker_than_a_seat_bears(self) -> None:
        got = judged(self.SPEC, floors=(-1.2, 0.0, 0.0, 0.0))
        assert got.verdict == "new nut"
        assert got.reason.code == "old-nut.shim-too-thick"
        assert got.reason.value("shim") == pytest.approx(1.2)
        assert (got.shim, got.ways) == (0.0, ())


@pytest.mark.parametrize(
    ("kind", "by", "told", "remark"),
    [
        ("lap-6", 0.04, [], None),
        ("lap-6", 0.06, ["old-slot.too-low-under-bar"], None),
        ("electric-6-zero-fret", 0.3, [], "old-slot.low-but-clear"),
    ],
)
def test_a_floor_that_no_fret_makes_buzz(kind: str, by: float, told: list[str], remark: str | None) -> None:
    """A bar feels a string that is 0.05 low, common practice, no source; behind a zero fret a floor tells nothing."""
    nut = solve(spec_of(text_of(kind)))
    first = reuse(nut, same_as(nut, floors=(-by, *[0.0] * 5)), TOOLS).strings[0]
    assert (codes(first), first.remark and first.remark.code) == (told, remark)


def test_demo_bass_is_saved_by_filling_a_slot() -> None:
    """Restrung in fifths: the thick bass slots are widened, the worn treble slot is filled."""
    spec, nut = solved("bass-4-fifths")
    assert spec.old_nut is not None
    got = reuse(nut, spec.old_nut, spec.tools)
    assert got.verdict == "fill and file"
    assert [old.widen_to is not None for old in got.strings] == [True, True, False, False]
    assert [old.too_low_by > 0.0 for old in got.strings] == [False, False, False, True]
    assert [old.number for old in got.strings] == [4, 3, 2, 1]
    assert got.strings[2].steps == ()


def test_assumed_pluck_is_told() -> None:
    _spec, nut = solved("bass-4")
    (told,) = reuse(nut, same_as(nut), TOOLS).findings
    assert (told.code, [one.name for one in told.about]) == ("old-nut.pluck-assumed", ["pluck"])
    assert judged(TestSlots.SPEC).findings == ()
