"""Strings, against published unit weights, pulls and wire tables."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from nutgen.theory.materials import (
    FLUOROCARBON,
    NICKEL,
    NYLON,
    PLAIN_MATERIALS,
    STEEL,
    WRAP_MATERIALS,
    highest_pitch_hz,
    strength_n,
)
from nutgen.theory.notes import note_pitch_hz
from nutgen.theory.strings import (
    closest_string,
    kappa,
    load_share,
    pull_state,
    tension_at_pitch_n,
    unit_mass_for_tension,
)
from nutgen.theory.unit_mass import (
    BASS_NICKEL,
    BASS_STAINLESS,
    CLASSICAL_BASS,
    GUITAR_BRASS,
    GUITAR_NICKEL,
    GUITAR_PHOSPHOR_BRONZE,
    Wrap,
    area_of_core,
    given_unit_mass,
    plain_unit_mass,
    usual_core,
    wound_unit_mass,
)

CONSTRUCTIONS = (GUITAR_NICKEL, GUITAR_PHOSPHOR_BRONZE, GUITAR_BRASS, BASS_NICKEL, BASS_STAINLESS, CLASSICAL_BASS)

INCH = 25.4
LBF = 4.4482216
LB_PER_IN = 17.857967
TRADE_G = 386.0886 / 386.4
"""String makers divide by 386.4 in/s^2 where standard gravity is 386.0886: their pounds come out smaller."""

SCALE = st.floats(250.0, 1100.0)
PITCH = st.floats(25.0, 1200.0)
GAUGE = st.floats(0.15, 4.0)


@pytest.mark.parametrize(
    ("unit_weight", "scale", "pitch", "printed", "half_digit"),
    [
        # R. Turner, Acoustic Guitar magazine, December 2000, as given on watchalan.com/stringauges.php;
        # 25.5 in, divisor 386.4: plain .014 and .016, phosphor bronze .034 and .047
        (0.00004342, 25.5, "D4", 25.2, 0.05),
        (0.00005671, 25.5, "B3", 23.3, 0.05),
        (0.00023887, 25.5, "D3", 34.7, 0.05),
        (0.00045289, 25.5, "G2", 29.3, 0.05),
        # dirkbertels.net, banjo page, 26.25 in: plain .010 and .016
        (0.00002215, 26.25, 293.7, 13.6290, 0.00005),
        # (15.54008: printed 15.5400, cut off rather than rounded)
        (0.00005671, 26.25, 196.0, 15.5400, 0.0001),
        # published bass set, 36 in: .105
        (0.00198395, 36.0, "E1", 45.2, 0.05),
    ],
)
def test_published_pulls(unit_weight, scale, pitch, printed, half_digit):
    hz = note_pitch_hz(pitch) if isinstance(pitch, str) else pitch
    pull = tension_at_pitch_n(unit_mass_kg_per_m=unit_weight * LB_PER_IN, scale_length=scale * INCH, pitch_hz=hz)
    assert pull / LBF * TRADE_G == pytest.approx(printed, abs=half_digit)


def test_published_pull_from_density():
    # moypiano.com: steel .020 in at 0.283 lb/in^3, 16 in, 440 Hz -> 45.6 lbf; with standard gravity it
    # would be 45.65, so that the trade's divisor stands behind it
    wire = replace(STEEL, density_kg_per_m3=0.283 * 0.45359237 / 0.0254**3)
    mass = plain_unit_mass(wire, gauge=0.020 * INCH).kg_per_m
    pull = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=16.0 * INCH, pitch_hz=440.0)
    assert pull / LBF * TRADE_G == pytest.approx(45.6, abs=0.05)


def test_published_classical_treble():
    # Anderson and Beausoleil (2024): E4 nylon, 0.374 g/m, 650 mm -> 68.6 N. The pull of 0.374 is 68.68;
    # the two agree within the rounding of both
    low, high = tension_at_pitch_n(
        unit_mass_kg_per_m=[0.3735e-3, 0.3745e-3], scale_length=650.0, pitch_hz=note_pitch_hz("E4")
    )
    assert low < 68.65
    assert high > 68.55


@pytest.mark.parametrize(
    ("gauge", "unit_weight"),
    # published plain-steel unit weights [lb/in]: Turner (above), banjo page (above)
    [(0.010, 0.00002215), (0.014, 0.00004342), (0.016, 0.00005671)],
)
def test_published_plain_unit_weights(gauge, unit_weight):
    mass = plain_unit_mass(STEEL, gauge=gauge * INCH)
    # 7806 kg/m^3 is their common density in four digits: one unit of the last printed digit
    assert mass.kg_per_m / LB_PER_IN == pytest.approx(unit_weight, abs=1e-8)
    assert mass.basis == "plain"
    assert 0.005 < mass.relative_error < 0.025


WOUND = [
    # maker's chart 13934 [lb/in]
    (GUITAR_NICKEL, 0.026, 0.00012671),
    (GUITAR_NICKEL, 0.046, 0.00038216),
    (GUITAR_NICKEL, 0.056, 0.00057598),
    (BASS_NICKEL, 0.045, 0.00037240),
    (BASS_NICKEL, 0.065, 0.00079569),
    (BASS_NICKEL, 0.085, 0.00133702),
    (BASS_NICKEL, 0.105, 0.00198395),
    (BASS_NICKEL, 0.130, 0.00301941),
    # R. Turner, Acoustic Guitar magazine, December 2000 (above)
    (GUITAR_PHOSPHOR_BRONZE, 0.034, 0.00023887),
    (GUITAR_PHOSPHOR_BRONZE, 0.047, 0.00045289),
]


@pytest.mark.parametrize(("construction", "gauge", "unit_weight"), WOUND)
def test_published_wound_unit_weights(construction, gauge, unit_weight):
    # charts of one gauge spread by +/- 4 %: the model may be as far off as they are
    mass = wound_unit_mass(construction, gauge=gauge * INCH)
    assert mass.kg_per_m == pytest.approx(unit_weight * LB_PER_IN, rel=0.04)
    assert abs(mass.kg_per_m / (unit_weight * LB_PER_IN) - 1.0) <= mass.relative_error


@pytest.mark.parametrize(
    ("construction", "gauges", "lowest", "highest"),
    # published unit weights over solid steel of the same gauge, least and greatest of the charts
    [
        (GUITAR_NICKEL, np.arange(0.018, 0.060, 0.002), 0.803, 0.869),
        (BASS_NICKEL, np.arange(0.040, 0.135, 0.005), 0.780, 0.859),
        (GUITAR_PHOSPHOR_BRONZE, np.arange(0.024, 0.058, 0.002), 0.911, 0.936),
    ],
)
def test_wound_over_solid_steel_stays_within_the_charts(construction, gauges, lowest, highest):
    wound = wound_unit_mass(construction, gauge=gauges * INCH).kg_per_m
    ratio = wound / plain_unit_mass(STEEL, gauge=gauges * INCH).kg_per_m
    assert np.all((lowest < ratio) & (ratio < highest)), ratio


@given(st.sampled_from(CONSTRUCTIONS), st.floats(0.6, 4.0), st.floats(0.3, 0.7))
def test_wound_mass_lies_between_its_metals(construction, gauge, part):
    mass = wound_unit_mass(construction, gauge=gauge, core=part * gauge).kg_per_m
    densities = [w.material.density_kg_per_m3 for w in construction.wraps] + [construction.core.density_kg_per_m3]
    disc = np.pi / 4.0 * (gauge / 1000.0) ** 2
    assert 0.5 * min(densities) * disc < mass < max(densities) * disc


@given(st.floats(0.6, 4.0), st.floats(0.2, 0.8))
def test_how_many_equal_wraps_does_not_matter_but_metal_does(gauge, split):
    one = replace(BASS_NICKEL, wraps=(Wrap(NICKEL),))
    two = replace(BASS_NICKEL, wraps=(Wrap(NICKEL, split), Wrap(NICKEL, 1.0 - split)))
    masses = [wound_unit_mass(c, gauge=gauge).kg_per_m for c in (one, two, BASS_NICKEL)]
    assert masses[1] == pytest.approx(masses[0], rel=1e-12)
    assert masses[0] > masses[2]


def test_one_round_wrap_weighs_its_wire():
    # a helix of touching turns, wire 0.30 on a round core of 0.50: length a turn, one turn a diameter
    bare = replace(CLASSICAL_BASS, wraps=(Wrap(NICKEL, 1.0, np.pi / 4.0),))
    turn = np.hypot(np.pi * 0.80, 0.30)
    wire = 8900.0 * np.pi / 4.0 * 0.30**2 * 1e-6 * turn / 0.30
    core = 1100.0 * np.pi / 4.0 * 0.50**2 * 1e-6
    mass = wound_unit_mass(bare, gauge=1.10, core=0.50).kg_per_m
    assert mass == pytest.approx(core + wire, rel=0.01)


def test_classical_basses_pull_like_their_trebles():
    # common practice: every string of a classical set pulls 55 to 80 N at 650 mm
    masses = wound_unit_mass(CLASSICAL_BASS, gauge=np.array([0.043, 0.035, 0.029]) * INCH)
    hz = np.array([note_pitch_hz(n) for n in ("E2", "A2", "D3")])
    pulls = tension_at_pitch_n(unit_mass_kg_per_m=masses.kg_per_m, scale_length=650.0, pitch_hz=hz)
    assert np.all((pulls > 55.0) & (pulls < 80.0)), pulls
    assert masses.relative_error.tolist() == [0.08] * 3


def test_a_hexagon():
    # area 0.866 AF^2; girth of a hexagon 2 sqrt(3) AF
    assert area_of_core(BASS_NICKEL, core=1.0) == pytest.approx(0.866, abs=0.0005)
    assert area_of_core(CLASSICAL_BASS, core=1.0) == pytest.approx(np.pi / 4.0)
    cores = usual_core(GUITAR_NICKEL, gauge=np.array([0.026, 0.046, 0.056]) * INCH) / INCH
    assert cores == pytest.approx([0.0135, 0.018, 0.020], abs=0.0005)  # from memory


@pytest.mark.parametrize(
    ("diameter", "ksi"),
    # ASTM A228 music wire, least tensile strength, from memory
    [(0.010, 387.0), (0.013, 373.0), (0.016, 362.0), (0.020, 350.0), (0.026, 337.0), (0.032, 327.0)],
)
def test_music_wire_strength(diameter, ksi):
    d = diameter * INCH
    stress_mpa = strength_n(STEEL, diameter=d) / (np.pi / 4.0 * d**2)
    assert stress_mpa / 6.894757 == pytest.approx(ksi, rel=0.02)


def test_known_loads():
    # a .010 at E4 on 648 mm is in daily use; a fifth higher it snaps
    d = 0.010 * INCH
    mass, breaks_at = plain_unit_mass(STEEL, gauge=d).kg_per_m, strength_n(STEEL, diameter=d)
    pulls = tension_at_pitch_n(
        unit_mass_kg_per_m=mass,
        scale_length=648.0,
        pitch_hz=[note_pitch_hz(n) for n in ("C1", "E4", "G#4", "B4")],
    )
    states = pull_state(tension_n=pulls, breaking_load_n=breaks_at)
    assert states.tolist() == ["slack", "plays", "near breaking", "breaks"]
    assert pulls[0] < 1.0  # a .010 at C1 hangs
    assert load_share(tension_n=pulls[1], breaking_load_n=breaks_at) == pytest.approx(0.53, abs=0.02)


def test_core_of_a_wound_string_bears_the_pull():
    core = usual_core(GUITAR_NICKEL, gauge=0.046 * INCH)
    area = area_of_core(GUITAR_NICKEL, core=core)
    limit = strength_n(STEEL, diameter=core, area=area)
    assert 300.0 < limit < strength_n(STEEL, diameter=0.046 * INCH)


@given(st.sampled_from(PLAIN_MATERIALS), SCALE, st.floats(0.2, 2.0))
def test_at_the_highest_pitch_a_string_pulls_just_its_strength(material, scale, gauge):
    hz = highest_pitch_hz(material, scale, gauge=gauge)
    mass = plain_unit_mass(material, gauge=gauge).kg_per_m
    pull = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale, pitch_hz=hz)
    assert pull == pytest.approx(strength_n(material, diameter=gauge), rel=1e-9)
    assume(gauge >= material.thinnest_gauge)
    assert hz <= highest_pitch_hz(material, scale)


def test_a_note_that_no_gauge_can_reach():
    # common practice: a thin plain steel reaches A4 on a guitar but no octave more; nylon not C6
    assert note_pitch_hz("A4") < highest_pitch_hz(STEEL, 648.0) < note_pitch_hz("C5")
    assert note_pitch_hz("E4") < highest_pitch_hz(NYLON, 650.0) < note_pitch_hz("C6")


@given(st.floats(1e-5, 0.1), SCALE, PITCH)
def test_pull_unit_mass_and_pitch_undo_each_other(mass, scale, hz):
    pull = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale, pitch_hz=hz)
    assert unit_mass_for_tension(tension_n=pull, scale_length=scale, pitch_hz=hz) == pytest.approx(mass)
    octave = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale, pitch_hz=2.0 * hz)
    assert octave == pytest.approx(4.0 * pull)


@given(st.sampled_from(CONSTRUCTIONS), st.floats(0.4, 4.9))
def test_a_thicker_string_is_heavier_on_a_core_no_thinner(construction, gauge):
    masses = wound_unit_mass(construction, gauge=[gauge, gauge * 1.01]).kg_per_m
    cores = usual_core(construction, gauge=[gauge, gauge * 1.01])
    assert masses[1] > masses[0]
    assert cores[1] >= cores[0]
    assert cores[1] / gauge <= 0.65 * 1.01 + 1e-9


def test_closest_string_of_a_shelf():
    gauges = np.array([0.009, 0.010, 0.011, 0.012, 0.013, 0.016, 0.017]) * INCH
    shelf = plain_unit_mass(STEEL, gauge=gauges).kg_per_m
    hz = np.array([note_pitch_hz("E4"), note_pitch_hz("B3")])
    picked = closest_string(unit_masses_kg_per_m=shelf, tension_n=72.0, scale_length=648.0, pitch_hz=hz)
    assert (gauges[picked] / INCH).round(3).tolist() == [0.010, 0.013]
    one = closest_string(unit_masses_kg_per_m=shelf, tension_n=72.0, scale_length=648.0, pitch_hz=hz[0])
    assert one == picked[0]


def test_stretch_constant():
    # E A / T by hand: 200 GPa, .017 in, 73.64 N
    area = np.pi / 4.0 * (0.017 * INCH) ** 2
    assert kappa(youngs_modulus_gpa=200.0, core_area=area, tension_n=73.64) == pytest.approx(397.7, abs=0.05)


def test_every_constant_tells_its_source():
    for material in (*PLAIN_MATERIALS, *WRAP_MATERIALS):
        assert len(material.source) > 10
        assert 1000.0 < material.density_kg_per_m3 < 9000.0
    for construction in CONSTRUCTIONS:
        assert "memory" in construction.source
        assert 0.04 <= construction.relative_error <= 0.08
    given = given_unit_mass(0.0005)
    assert (given.kg_per_m, given.relative_error, given.basis) == (0.0005, 0.01, "given")


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: given_unit_mass(0.0), "kg_per_m must be"),
        (lambda: plain_unit_mass(STEEL, gauge=[0.3, -0.3]), "gauge must be"),
        (lambda: plain_unit_mass(FLUOROCARBON, gauge=np.nan), "gauge must be"),
        (lambda: wound_unit_mass(GUITAR_NICKEL, gauge=1.0, core=0.95), "thinner than the gauge"),
        (lambda: tension_at_pitch_n(unit_mass_kg_per_m=1.0, scale_length=0.0, pitch_hz=1.0), "scale_length"),
        (lambda: tension_at_pitch_n(unit_mass_kg_per_m=1.0, scale_length=1.0, pitch_hz=np.inf), "pitch_hz"),
        (lambda: kappa(youngs_modulus_gpa=200.0, core_area=0.1, tension_n=0.0), "tension_n"),
        (lambda: strength_n(NICKEL, diameter=0.3), "serves as wrap"),
        (lambda: highest_pitch_hz(NICKEL, 648.0, gauge=0.3), "serves as wrap"),
        (
            lambda: closest_string(unit_masses_kg_per_m=[], tension_n=70.0, scale_length=648.0, pitch_hz=100.0),
            "one string or more",
        ),
        (lambda: replace(BASS_NICKEL, wraps=(Wrap(NICKEL, 0.5),)), "add up to 1"),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
