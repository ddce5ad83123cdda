"""How far strings swing, where they touch, and the lowest floor: against the plucked string's own modes."""

from dataclasses import replace

import numpy as np
import pytest

from nutgen.documents.words import sentence
from nutgen.errors import CannotBeMade
from nutgen.nut import solve
from nutgen.nut.heights import line_of
from nutgen.nut.swing import swing_of
from nutgen.play.buzz import buzz
from nutgen.play.heights import fret_numbers, fretted_clearance
from nutgen.play.played import played
from tests.play.files import KINDS, changed, one_string, solved
from tests.play.walk import Walk

LOWEST = '"lowest"'


def modal_extremes(at: np.ndarray, *, length: float, pluck: float, height: float) -> tuple[np.ndarray, np.ndarray]:
    """Highest and lowest place of an ideal plucked string over a period, from 200 modes.

    Fourier series of the triangle released at rest: any textbook of acoustics.
    """
    from_nut = length - pluck
    n = np.arange(1, 201)[:, np.newaxis]
    weight = (
        2.0
        * height
        * length**2
        / (n**2 * np.pi**2 * from_nut * (length - from_nut))
        * np.sin(n * np.pi * from_nut / length)
    )
    shape = weight * np.sin(n * np.pi * at / length)
    time = np.linspace(0.0, 1.0, 1601)
    motion = np.cos(2.0 * np.pi * n.T * time[:, np.newaxis]) @ shape
    return motion.max(axis=0), -motion.min(axis=0)


def test_shape_of_a_bass_pluck() -> None:
    # 863.6 mm, plucked 100 mm from the bridge by 1.0 mm: at fret 1 .063 on one side, .485 on the other (calculation)
    spec = changed("bass-4-fifths", "[pluck]\nheight = 1.0\nfrom_bridge = 100.0")
    touches = buzz(solve(spec))
    np.testing.assert_allclose(touches.toward[:, 0], 0.0635, atol=0.0005)
    np.testing.assert_allclose(touches.away[:, 0], 0.485, atol=0.0005)


@pytest.mark.parametrize("kind", ["bass-4-fifths", "electric-6", "ukulele-soprano"])
def test_envelope_of_a_file_against_its_modes_at_every_fret(kind: str) -> None:
    nut = solved(kind)[1]
    swing, line, frets = nut.swing, line_of(nut), fret_numbers(nut)
    same, opposite = swing.excursion(line.neck, frets)
    for i, slot in enumerate(nut.slots):
        u = line.neck.fret(frets)[i]
        up, down = modal_extremes(u, length=slot.scale_length, pluck=swing.from_bridge[i], height=swing.height[i])
        np.testing.assert_allclose(same[i], up, atol=0.01 * swing.height[i])
        np.testing.assert_allclose(opposite[i], down, atol=0.01 * swing.height[i])


def test_force_and_height_by_the_stiffness() -> None:
    # calculation: 75 N, 648 mm, plucked at 80: 1069.5 N/m
    mass = 75.0 / (2 * 0.648 * 196.0) ** 2  # kg/m, so that G3 (196.0 Hz) pulls 75 N: T = mu (2 L f)^2
    string = f'note = "G3"\ngauge = 0.017\nunit_mass = "{mass:.9f} kg/m"'
    spec = one_string(string=string, more="[pluck]\nforce_n = 1.0\nfrom_bridge = 80")
    swing = solve(spec).swing
    assert swing.tension_n[0] == pytest.approx(75.0, rel=1e-4)
    assert 1000.0 * swing.force_n[0] / swing.height[0] == pytest.approx(1069.5, rel=2e-4)
    assert swing.assumed == ()
    by_height = solve(one_string(string=string, more="[pluck]\nheight = 0.935\nfrom_bridge = 80")).swing
    assert 1000.0 * by_height.force_n[0] / by_height.height[0] == pytest.approx(1069.5, rel=2e-4)


@pytest.mark.parametrize("kind", KINDS)
def test_a_pluck_as_strong_as_the_reach_just_touches(kind: str) -> None:
    nut = solved(kind)[1]
    worst = buzz(nut).worst
    for i in {0, len(nut.slots) - 1}:
        stronger = changed(kind, f"[pluck]\nheight = '{nut.swing.height[i] * worst.reach[i]:.9f} mm'")
        touch = buzz(replace(nut, swing=swing_of(stronger, nut.strings))).worst
        assert touch.spare[i] == pytest.approx(0.0, abs=1e-6)
        assert touch.fret[i] == worst.fret[i]


def test_worst_fretted_note_is_the_worst_of_all_by_their_modes() -> None:
    spec, nut = solved("electric-6")
    seen, swing, line, frets = played(nut, spec.errors, chosen=(1, 12)), nut.swing, line_of(nut), fret_numbers(nut)
    touches = seen.buzz
    for i in (0, 5):
        u, scale = line.neck.fret(frets)[i], nut.slots[i].scale_length
        found = []
        for pressed in frets[:-1]:
            span = scale - u[pressed - 1]
            # the same force on a shorter string: T / (x (1 - x / L)), Zollner
            stiffness = swing.tension_n[i] / (swing.from_bridge[i] * (1.0 - swing.from_bridge[i] / span))
            at = u[pressed:] - u[pressed - 1]
            extremes = modal_extremes(at, length=span, pluck=swing.from_bridge[i], height=swing.force_n[i] / stiffness)
            room = fretted_clearance(line, pressed=pressed, over=frets)[i, pressed:]
            reaches = room / np.maximum(*extremes)
            left = (room - np.maximum(*extremes)).min()
            assert seen.room[i, pressed - 1] == pytest.approx(left, abs=0.02 * np.max(extremes))
            found.append((reaches.min(), pressed, pressed + 1 + int(reaches.argmin())))
        reach, pressed, fret = min(found)
        assert touches.fretted.reach[i] == pytest.approx(reach, rel=0.02)
        assert (touches.fretted.pressed[i], touches.fretted.fret[i]) == (pressed, fret)


class TestLowest:
    FIRM = "[pluck]\nforce_n = {force}\nfrom_bridge = 90\nmargin = 0.08"

    @pytest.mark.parametrize(("kind", "force"), [("bass-4-fifths", 1.8), ("electric-6", 0.7), ("electric-6-left", 0.7)])
    def test_target_leaves_the_margin_and_not_more(self, kind: str, force: float) -> None:
        spec = changed(kind, self.FIRM.format(force=force), first_fret_clearance=LOWEST)
        nut = solve(spec)
        touches = buzz(nut)
        room = line_of(nut).clearance(fret_numbers(nut)) - np.maximum(touches.toward, touches.away)
        np.testing.assert_allclose(room.min(axis=1), 0.08, atol=1e-9)
        np.testing.assert_allclose(touches.lowest_floor, [slot.floor_height for slot in nut.slots], atol=1e-9)
        assert "lowest.pluck-assumed" not in [finding.code for finding in nut.findings]

    def test_never_below_the_fret_plane(self) -> None:
        nut = solve(changed("acoustic-6", self.FIRM.format(force=0.05), first_fret_clearance=LOWEST))
        assert [slot.floor_height for slot in nut.slots] == pytest.approx([0.0] * 6, abs=1e-12)
        assert "slot.floor-near-fret-plane" not in [finding.code for finding in nut.findings]  # it was asked for

    def test_assumed_pluck_is_a_warning(self) -> None:
        nut = solve(changed("electric-6", first_fret_clearance=LOWEST))
        (told,) = (finding for finding in nut.findings if finding.code == "lowest.pluck-assumed")
        assert [one.code for one in told.value("assumed")] == ["pluck.point-assumed", "pluck.force-assumed"]
        assert sentence(told) == (
            'first-fret clearance "lowest" rests on an assumption: plucked an eighth of the scale length from the'
            " bridge, plucked with 0.4 N square to the board; write [pluck]"
        )

    def test_hopeless_names_string_and_fret(self) -> None:
        # the action is kept at fret 12, so a swing larger than the action there cannot be cured at the nut
        with pytest.raises(CannotBeMade) as caught:
            solve(changed("electric-6", "[pluck]\nheight = 4.0\nfrom_bridge = 150", first_fret_clearance=LOWEST))
        assert caught.value.reasons == ("string.no-floor-clears",) * 6
        assert caught.value.findings[0].strings == (6,)
        nut = solve(changed("electric-6", "[pluck]\nheight = 4.0\nfrom_bridge = 150"))
        assert np.isnan(buzz(nut).lowest_floor).tolist() == [True] * 6
        # what is missing with all frets just clear that a higher floor clears, on the neck walked
        walk, frets = Walk(nut, nut.slots[0]), range(1, nut.frets + 1)
        low, high = (np.array([walk.open(floor, fret) for fret in frets]) for floor in (0.0, 1.0))
        swing = np.max(modal_extremes(walk.places[1:], length=walk.scale, pluck=150.0, height=4.0), axis=0)
        wanted, gain = swing + nut.swing.margin - low, high - low
        missing = wanted - gain * (wanted[gain > 0.0] / gain[gain > 0.0]).max()
        (_, fret), (_, told) = caught.value.findings[0].values
        assert (fret, told) == (missing.argmax() + 1, pytest.approx(missing.max(), rel=0.02))


class TestWarnings:
    def test_relief_that_lifts_a_fret_into_the_string(self) -> None:
        """Deep relief under a low straight string: the last crowns stand above it."""
        spec = changed("electric-6", relief="1.4", action="0.3", first_fret_clearance="0.05")
        nut = solve(spec)
        lying = [finding for finding in nut.findings if finding.code == "string.lies-on-fret"]
        assert len(lying) == 6
        assert lying[0].strings == (6,)
        fret = lying[0].value("fret")
        clearance = line_of(nut).clearance(fret_numbers(nut))[0]
        assert clearance[fret - 1] == clearance.min() < 0.0
        seen = played(nut, spec.errors, chosen=(1, 12))
        assert set(lying) <= set(seen.findings)
        assert all(map(sentence, (*seen.findings, *seen.assumed)))
        walk, frets = Walk(nut, nut.slots[0]), range(2, nut.frets + 1)
        deepest = min((walk.pressed(nut.slots[0].floor_height, p, f), p) for f in frets for p in range(1, f))
        held = next(f for f in seen.findings if f.code == "buzz.pressed-lies")
        assert (-held.value("by"), held.value("pressed")) == pytest.approx(deepest, abs=1e-6)

    def test_pluck_that_touches(self) -> None:
        spec = changed("electric-6", "[pluck]\nforce_n = 2.0")
        nut = solve(spec)
        found = {(f.code, f.strings): f for f in played(nut, spec.errors, chosen=(1, 12)).findings}
        assert found["buzz.open-touches", (1,)].value("fret") == 2
        held = found["buzz.pressed-touches", (1,)]
        assert (held.value("pressed"), held.value("fret")) == (1, 3)
        walk, swing, floor = Walk(nut, nut.slots[-1]), nut.swing, nut.slots[-1].floor_height
        for told, start, room in (
            (found["buzz.open-touches", (1,)], 0.0, walk.open(floor, 2)),
            (held, walk.places[1], walk.pressed(floor, 1, 3)),
        ):
            at, span = walk.places[told.value("fret")] - start, walk.scale - start
            pluck = swing.height_on(np.full((6, 1), span))[-1, 0]
            extremes = modal_extremes(np.array([at]), length=span, pluck=swing.from_bridge[-1], height=pluck)
            assert told.value("by") == pytest.approx(np.max(extremes) - room, abs=0.01 * pluck)

    def test_usual_kinds_have_none(self) -> None:
        assert [kind for kind in KINDS if buzz(solved(kind)[1]).worst.buzzes.any()] == []
