"""Strings, against published unit weights, pulls and wire tables."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from nutgen.theory.materials import NICKEL, NYLON, PLAIN_MATERIALS, STEEL, WRAP_MATERIALS, highest_pitch_hz, strength_n
from nutgen.theory.notes import note_pitch_hz
from nutgen.theory.strings import kappa, load_share, pull_state, tension_at_pitch_n
from nutgen.theory.unit_mass import GUITAR, area_of_core, plain_unit_mass, usual_core

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
        # R. Turner, table of unit weights and tensions, Acoustic Guitar, December 2000 (seen in a reprint, page not
        # known); 25.5 in, divisor 386.4: plain .014 and .016, phosphor bronze .034 and .047
        (0.00004342, 25.5, "D4", 25.2, 0.05),
        (0.00005671, 25.5, "B3", 23.3, 0.05),
        (0.00023887, 25.5, "D3", 34.7, 0.05),
        (0.00045289, 25.5, "G2", 29.3, 0.05),
        # D. Bertels, table of tensions on a page about the five-string banjo, undated, 26.25 in: plain .010 and .016
        (0.00002215, 26.25, 293.7, 13.6290, 0.00005),
        # (15.54008: printed 15.5400, cut off rather than rounded)
        (0.00005671, 26.25, 196.0, 15.5400, 0.0001),
        # J. D'Addario & Company, A Complete Technical Reference for Fretted Instrument String Tensions, catalog
        # supplement, chart 13934, undated; 36 in: .105
        (0.00198395, 36.0, "E1", 45.2, 0.05),
    ],
)
def test_published_pulls(unit_weight, scale, pitch, printed, half_digit):
    hz = note_pitch_hz(pitch) if isinstance(pitch, str) else pitch
    pull = tension_at_pitch_n(unit_mass_kg_per_m=unit_weight * LB_PER_IN, scale_length=scale * INCH, pitch_hz=hz)
    assert pull / LBF * TRADE_G == pytest.approx(printed, abs=half_digit)


def test_pull_from_density():
    # calculation: steel .020 in at 0.283 lb/in^3, 16 in, 440 Hz -> 45.6 lbf with the trade's divisor, 45.65 with
    # standard gravity
    wire = replace(STEEL, density_kg_per_m3=0.283 * 0.45359237 / 0.0254**3)
    mass = plain_unit_mass(wire, gauge=0.020 * INCH).kg_per_m
    pull = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=16.0 * INCH, pitch_hz=440.0)
    assert pull / LBF * TRADE_G == pytest.approx(45.6, abs=0.05)


def test_published_classical_treble():
    # M. B. Anderson, R. G. Beausoleil, J. Acoust. Soc. Am. 156(1), 683 (2024): E4 nylon, 0.374 g/m, 650 mm -> 68.6 N.
    # The pull of 0.374 is 68.68; the two agree within the rounding of both
    low, high = tension_at_pitch_n(
        unit_mass_kg_per_m=[0.3735e-3, 0.3745e-3], scale_length=650.0, pitch_hz=note_pitch_hz("E4")
    )
    assert low < 68.65
    assert high > 68.55


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
        unit_mass_kg_per_m=mass, scale_length=648.0, pitch_hz=[note_pitch_hz(n) for n in ("C1", "E4", "G#4", "B4")]
    )
    states = pull_state(tension_n=pulls, breaking_load_n=breaks_at)
    assert states.tolist() == ["slack", "plays", "near breaking", "breaks"]
    assert pulls[0] < 1.0  # a .010 at C1 hangs
    assert load_share(tension_n=pulls[1], breaking_load_n=breaks_at) == pytest.approx(0.53, abs=0.02)


def test_core_of_a_wound_string_bears_the_pull():
    core = usual_core(GUITAR, gauge=0.046 * INCH)
    area = area_of_core(GUITAR, core=core)
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
def test_an_octave_higher_a_string_pulls_four_times_as_much(mass, scale, hz):
    pull = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale, pitch_hz=hz)
    octave = tension_at_pitch_n(unit_mass_kg_per_m=mass, scale_length=scale, pitch_hz=2.0 * hz)
    assert octave == pytest.approx(4.0 * pull)


def test_stretch_constant():
    # E A / T by hand: 200 GPa, .017 in, 73.64 N
    area = np.pi / 4.0 * (0.017 * INCH) ** 2
    assert kappa(youngs_modulus_gpa=200.0, core_area=area, tension_n=73.64) == pytest.approx(397.7, abs=0.05)


def test_every_material_tells_its_sources():
    for material in PLAIN_MATERIALS:
        assert len(material.source) > 10
        assert len(material.strength_source) > 10
    for material in (*PLAIN_MATERIALS, *WRAP_MATERIALS):
        assert len(material.source) > 10
        assert 1000.0 < material.density_kg_per_m3 < 9000.0


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: tension_at_pitch_n(unit_mass_kg_per_m=1.0, scale_length=0.0, pitch_hz=1.0), "scale_length"),
        (lambda: tension_at_pitch_n(unit_mass_kg_per_m=1.0, scale_length=1.0, pitch_hz=np.inf), "pitch_hz"),
        (lambda: kappa(youngs_modulus_gpa=200.0, core_area=0.1, tension_n=0.0), "tension_n"),
        (lambda: strength_n(NICKEL, diameter=0.3), "serves as wrap"),
        (lambda: highest_pitch_hz(NICKEL, 648.0, gauge=0.3), "serves as wrap"),
    ],
)
def test_impossible_input_is_refused(call, says):
    with pytest.raises(ValueError, match=says):
        call()
