"""What strings are made of: density, stiffness, strength, and the highest pitch that strength allows."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.checks import above_zero


@dataclass(frozen=True, slots=True)
class Material:
    """What a string or a wrap is made of.

    density_kg_per_m3   : density [kg/m^3]
    density_error       : half width of its spread, relative
    youngs_modulus_gpa  : along the string, of a quick small stretch [GPa]
    strength_at_1mm_mpa : breaking stress of a piece 1 mm thick; nan for a metal used as wrap only [MPa]
    strength_exponent   : m in strength = A / d^m, 0 where thickness does not matter
    gauge_tolerance     : half width of a plain string's diameter [mm]
    thinnest_gauge      : thinnest plain string met in the trade (common practice) [mm]
    source              : of each value but the strength
    strength_source     : of the strength, in a few words
    settled_modulus_gpa : true stress over true strain of a string that has settled at pitch, days of creep included;
                          inf for wire, which stretches by less than 1 % [GPa]
    """

    name: str
    density_kg_per_m3: float
    density_error: float
    youngs_modulus_gpa: float
    strength_at_1mm_mpa: float
    strength_exponent: float
    gauge_tolerance: float
    thinnest_gauge: float
    source: str
    strength_source: str = ""
    settled_modulus_gpa: float = math.inf


STEEL = Material(
    "steel", 7806.0, 0.005, 200.0, 2211.0, 0.145, 0.0025, 0.178,
    "density: implied by one published unit weight, .00002215 lb/in of a plain .010 (D. Bertels, table of tensions on a"
    " page about the five-string banjo, undated); modulus: between 190 (ASTM A228) and 207 GPa (spring handbooks),"
    " from memory; tolerance from memory",
    "music wire, ASTM A228, constants from memory",
)  # fmt: skip
"""High-carbon music wire, plain or tinned. Strength from 0.10 to 6.5 mm: A = 2211 MPa mm^m, m = 0.145, J. E. Shigley,
Mechanical Engineering Design, table 10-4, from memory."""

STAINLESS = Material(
    "stainless steel", 7900.0, 0.01, 193.0, 1867.0, 0.146, 0.0025, 0.203,
    "density and modulus from memory",
    "AISI 302 spring wire, ASTM A313, constants from memory",
)  # fmt: skip
"""Austenitic spring wire. Strength from 0.3 to 2.5 mm: A = 1867 MPa mm^m, m = 0.146, J. E. Shigley, Mechanical
Engineering Design, table 10-4, from memory."""

NYLON = Material(
    "nylon", 1067.0, 0.03, 5.0, 450.0, 0.0, 0.01, 0.40,
    "density: N. Lynch-Aird, J. Woodhouse, Mechanical Properties of Nylon Harp Strings, Materials 10, 497 (2017), from"
    " memory; modulus from memory; settled modulus: set so that one published treble comes out (E4, 650 mm, 0.374 g/m,"
    " 68.6 N: M. B. Anderson, R. G. Beausoleil, J. Acoust. Soc. Am. 156(1), 683 (2024); its gauge, .028, from memory)",
    "nylon with a knot, 450 MPa, from memory", 1.56,
)  # fmt: skip
FLUOROCARBON = Material(
    "fluorocarbon", 1780.0, 0.015, 4.5, 500.0, 0.0, 0.01, 0.40,
    "density 1760 to 1800 and moduli from memory",
    "fluorocarbon with a knot, 500 MPa, from memory", 2.2,
)  # fmt: skip
GUT = Material(
    "gut", 1300.0, 0.04, 5.5, 320.0, 0.0, 0.02, 0.40,
    "from memory; the settled modulus a little below the quick one",
    "gut, 320 MPa by a highest pitch times length of 240 to 260 Hz m, from memory", 5.0,
)  # fmt: skip

NICKEL_PLATED_STEEL = Material(
    "nickel-plated steel", 7900.0, 0.01, 200.0, math.nan, 0.0, 0.005, math.nan,
    "density from steel with about 8 % of nickel, from memory",
)  # fmt: skip
NICKEL = Material(
    "nickel", 8900.0, 0.005, 200.0, math.nan, 0.0, 0.005, math.nan, "density from memory"
)  # fmt: skip
PHOSPHOR_BRONZE = Material(
    "phosphor bronze", 8860.0, 0.005, 110.0, math.nan, 0.0, 0.005, math.nan,
    "density: alloy data sheets; modulus from memory",
)  # fmt: skip
BRASS_85_15 = Material(
    "brass 85/15", 8750.0, 0.005, 115.0, math.nan, 0.0, 0.005, math.nan,
    "density: alloy data sheets; modulus from memory",
)  # fmt: skip
SILVERED_COPPER = Material(
    "silvered copper", 8930.0, 0.01, 120.0, math.nan, 0.0, 0.005, math.nan, "density from memory"
)  # fmt: skip

PLAIN_MATERIALS = (STEEL, STAINLESS, NYLON, FLUOROCARBON, GUT)
WRAP_MATERIALS = (NICKEL_PLATED_STEEL, NICKEL, STAINLESS, PHOSPHOR_BRONZE, BRASS_85_15, SILVERED_COPPER)


def strength_n(material: Material, *, diameter: ArrayLike, area: ArrayLike | None = None) -> Array:
    """Pull at which a plain string, or a wound string's core, breaks.

    Parameters
    ----------
    material : Material
        What it is made of.
    diameter : array_like
        Of the string; of a core, its width across flats [mm].
    area : array_like, optional
        Cross-section where not round [mm^2].

    Returns
    -------
    ndarray
        Strength A / d^m times the cross-section; without a bend or a kink [N].

    Raises
    ------
    ValueError
        Where a diameter is not above 0, or the material's strength is not known.

    References
    ----------
    The material's own.
    """
    d = above_zero("diameter", diameter)
    section = math.pi / 4.0 * d**2 if area is None else above_zero("area", area)
    return _strength_mpa(material, d) * section


def highest_pitch_hz(material: Material, scale_length: ArrayLike, *, gauge: ArrayLike | None = None) -> Array:
    """Highest pitch that a plain string reaches on a scale before it breaks.

    Parameters
    ----------
    material : Material
        What the string is made of.
    scale_length : array_like
        Sounding length, above 0 [mm].
    gauge : array_like, optional
        Diameter; the thinnest in the trade where not given [mm].

    Returns
    -------
    ndarray
        sqrt(strength / density) / (2 L): stress at pitch does not depend on the gauge [Hz].

    Raises
    ------
    ValueError
        Where a length is not above 0, or the material's strength is not known.

    Notes
    -----
    Thin wire is a little stronger, so that the thinnest reaches highest: a note above this is out of reach for every
    gauge. Bends at nut and bridge break strings earlier, see `HIGH_LOAD`.
    """
    d = above_zero("gauge", material.thinnest_gauge if gauge is None else gauge)
    speed = np.sqrt(_strength_mpa(material, d) * 1e6 / material.density_kg_per_m3)
    return 500.0 * speed / above_zero("scale_length", scale_length)


def _strength_mpa(material: Material, diameter: Array) -> Array:
    if not math.isfinite(material.strength_at_1mm_mpa):
        raise ValueError(f"no strength is known for {material.name}: it serves as wrap, not as a string")
    return material.strength_at_1mm_mpa / diameter**material.strength_exponent
