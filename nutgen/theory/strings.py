"""Strings: what a length of one weighs, how hard it pulls, what it bears.

Gauges and cores are diameters in mm (a hex core: across its flats), unit masses in kg/m.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from nutgen.theory.checks import above_zero
from nutgen.theory.materials import (
    BRASS_85_15,
    NICKEL_PLATED_STEEL,
    NYLON,
    PHOSPHOR_BRONZE,
    SILVERED_COPPER,
    STAINLESS,
    STEEL,
    Material,
)

Array = NDArray[np.float64]

HEX_AREA = float(np.sqrt(3.0) / 2.0)
"""Area of a hexagon over the square of its width across flats: 0.866."""

HEX_GIRTH = float(2.0 * np.sqrt(3.0) / np.pi)
"""Diameter of the circle with a hexagon's girth, over its width across flats: 1.103."""

BEDDING = 1.028
"""By how much wound turns fill more than touching round wire. Drawn tight, they flatten against each
other and bite into the core's edges. Set once, to lift the model to the mean ratio that published unit
weights bear to solid steel (nickel guitar 0.835, nickel bass 0.824, phosphor bronze 0.923)."""

ROUND_FILL = float(np.pi / 4.0 * BEDDING)
"""Share of its annulus that a round wrap fills: pi/4 where turns just touch (geometry), bedded."""


SLACK_PULL_N = 15.0
"""Below this pull a string flaps and does not sound (common practice, no source) [N]."""

HIGH_LOAD = 0.8
"""Share of the breaking load above which strings break at bends and knots (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class UnitMass:
    """Mass of a string per length.

    kg_per_m       : unit mass [kg/m]
    relative_error : half width of the band in which it lies, relative; pull has the same error
    basis          : "given", "plain" (from density) or "wound" (from a construction model)
    """

    kg_per_m: Array
    relative_error: Array
    basis: str


@dataclass(frozen=True, slots=True)
class Wrap:
    """One layer of wire or ribbon.

    material : of the wire
    share    : of the thickness between core and gauge; a construction's shares add up to 1
    fill     : share of its annulus that is metal
    """

    material: Material
    share: float = 1.0
    fill: float = ROUND_FILL


@dataclass(frozen=True, slots=True)
class Construction:
    """How a wound string is built, core to outside.

    core             : its material
    hexagonal        : a hex core, else a round one
    core_coefficient, core_exponent : usual core width = c d^e, d the gauge, both [mm]
    wraps            : layers from the inside out
    relative_error   : half width of the unit mass's band
    source           : of the core rule and the error
    """

    name: str
    core: Material
    hexagonal: bool
    core_coefficient: float
    core_exponent: float
    wraps: tuple[Wrap, ...]
    relative_error: float
    source: str

    def __post_init__(self) -> None:
        if abs(sum(wrap.share for wrap in self.wraps) - 1.0) > 1e-9:
            raise ValueError(f"{self.name}: the wraps' shares of the thickness must add up to 1")


_GUITAR_CORE = "core 0.084 sqrt(gauge) in inches: .0135 in .026, .018 in .046, .020 in .056 (from memory)"
_BASS_CORE = "core 0.0376 gauge^0.22 in inches: .019 in .045, .024 in .130 (from memory)"

GUITAR_NICKEL = Construction(
    "nickel-plated steel on a steel hex core", STEEL, True, 0.4234, 0.5, (Wrap(NICKEL_PLATED_STEEL),), 0.05,
    _GUITAR_CORE + "; published unit weights spread by 4 %",
)  # fmt: skip
GUITAR_PHOSPHOR_BRONZE = Construction(
    "phosphor bronze on a steel hex core", STEEL, True, 0.4234, 0.5, (Wrap(PHOSPHOR_BRONZE),), 0.04,
    _GUITAR_CORE + "; published unit weights spread by 2 %",
)  # fmt: skip
GUITAR_BRASS = Construction(
    "brass 85/15 on a steel hex core", STEEL, True, 0.4234, 0.5, (Wrap(BRASS_85_15),), 0.05,
    _GUITAR_CORE,
)  # fmt: skip
BASS_NICKEL = Construction(
    "nickel-plated steel, two wraps or more on a steel hex core", STEEL, True, 0.469, 0.22,
    (Wrap(NICKEL_PLATED_STEEL, 0.45), Wrap(NICKEL_PLATED_STEEL, 0.55)), 0.05,
    _BASS_CORE + "; published unit weights spread by 5 %",
)  # fmt: skip
BASS_STAINLESS = Construction(
    "stainless steel over nickel-plated steel on a steel hex core", STEEL, True, 0.469, 0.22,
    (Wrap(NICKEL_PLATED_STEEL, 0.45), Wrap(STAINLESS, 0.55)), 0.06, _BASS_CORE,
)  # fmt: skip
CLASSICAL_BASS = Construction(
    "silvered copper on a nylon floss core", NYLON, False, 0.49, 0.0, (Wrap(SILVERED_COPPER),), 0.08,
    "one core of about 0.49 mm under all three basses, inferred from unit masses from memory",
)  # fmt: skip


_WIDEST_CORE = 0.65


def given_unit_mass(kg_per_m: ArrayLike, *, relative_error: ArrayLike = 0.01) -> UnitMass:
    """A unit mass that the maker states or the player weighed: it wins over every model.

    kg_per_m       : unit mass, above 0 [kg/m]
    relative_error : half width; 1 % for a printed figure, though editions differ by up to 6 %
    raises         : ValueError where the mass is not above 0
    """
    return UnitMass(above_zero("kg_per_m", kg_per_m), np.asarray(relative_error, float), "given")


def plain_unit_mass(material: Material, *, gauge: ArrayLike) -> UnitMass:
    """Unit mass of a plain string.

    gauge   : diameter, above 0 [mm]
    returns : rho pi d^2 / 4; the error joins density and gauge tolerance by the root of squares
    raises  : ValueError where a gauge is not above 0

    Exact for a round string; a stretched nylon is thinner than its printed gauge.
    """
    d = above_zero("gauge", gauge)
    error = np.hypot(material.density_error, 2.0 * material.gauge_tolerance / d)
    return UnitMass(material.density_kg_per_m3 * np.pi / 4.0 * (d / 1000.0) ** 2, error, "plain")


def usual_core(construction: Construction, *, gauge: ArrayLike) -> Array:
    """Core that a wound string of this gauge usually has; a hex core's width across flats [mm].

    gauge   : diameter over the outer wrap, above 0 [mm]
    raises  : ValueError where a gauge is not above 0

    From memory (see the construction's source), never above 0.65 of the gauge. Real cores
    differ by a tenth, which hardly moves the unit mass but moves `kappa` by a fifth.
    """
    d = above_zero("gauge", gauge)
    return np.minimum(construction.core_coefficient * d**construction.core_exponent, _WIDEST_CORE * d)


def area_of_core(construction: Construction, *, core: ArrayLike) -> Array:
    """Cross-section of a core: what stretches and bears the pull.

    core    : diameter, or width across flats of a hex core, above 0 [mm]
    returns : pi c^2 / 4, or 0.866 c^2 [mm^2]
    raises  : ValueError where a core is not above 0
    """
    return (HEX_AREA if construction.hexagonal else np.pi / 4.0) * above_zero("core", core) ** 2


def wound_unit_mass(construction: Construction, *, gauge: ArrayLike, core: ArrayLike | None = None) -> UnitMass:
    """Unit mass of a wound string from how it is built.

    gauge   : diameter over the outer wrap [mm]
    core    : core diameter, or across flats; the usual one where not known [mm]
    returns : core area times its density, and for each layer its annulus times fill and density
    raises  : ValueError where the core does not leave room for a wrap

    Layers start at the circle of the core's girth. A round wrap of touching turns, wire w on a
    mean diameter D, weighs rho (pi/4) w^2 pi D / w: its annulus times pi/4, whatever w is, so
    that the number of equal wraps does not matter. Holds within `relative_error`.
    Source: geometry; `BEDDING` from published unit weights.
    """
    d = above_zero("gauge", gauge)
    c = above_zero("core", usual_core(construction, gauge=d) if core is None else core)
    start = c * (HEX_GIRTH if construction.hexagonal else 1.0)
    if not np.all(start < d):
        raise ValueError("a core must be thinner than the gauge; a hex core below 0.906 of it, across flats")
    per_mm = construction.core.density_kg_per_m3 * area_of_core(construction, core=c)
    inner = start
    for wrap in construction.wraps:
        outer = inner + wrap.share * (d - start)
        ring = np.pi / 4.0 * (outer - inner) * (outer + inner)
        per_mm = per_mm + wrap.material.density_kg_per_m3 * wrap.fill * ring
        inner = outer
    return UnitMass(per_mm * 1e-6, np.full_like(d, construction.relative_error)[()], "wound")


def tension_at_pitch_n(*, unit_mass_kg_per_m: ArrayLike, scale_length: ArrayLike, pitch_hz: ArrayLike) -> Array:
    """Pull of a string at pitch.

    unit_mass_kg_per_m : above 0 [kg/m]
    scale_length       : sounding length, above 0 [mm]
    pitch_hz           : above 0 [Hz]
    returns            : mu (2 L f)^2 [N]
    raises             : ValueError where one is not above 0

    Exact for a limp string; stiffness raises the pitch by less than 0.5 %.
    Source: M. Mersenne, Harmonie universelle (1636); B. Taylor (1713).
    """
    speed = _wave_speed(scale_length, pitch_hz)
    return above_zero("unit_mass_kg_per_m", unit_mass_kg_per_m) * speed**2


def unit_mass_for_tension(*, tension_n: ArrayLike, scale_length: ArrayLike, pitch_hz: ArrayLike) -> Array:
    """Unit mass that gives a wanted pull at pitch [kg/m]; the inverse of `tension_at_pitch_n`."""
    return above_zero("tension_n", tension_n) / _wave_speed(scale_length, pitch_hz) ** 2


def kappa(*, youngs_modulus_gpa: ArrayLike, core_area: ArrayLike, tension_n: ArrayLike) -> Array:
    """How strongly a string answers a stretch: relative pull gained per relative length gained.

    youngs_modulus_gpa : of the core [GPa]
    core_area          : of the core; a plain string is all core [mm^2]
    tension_n          : pull at pitch [N]
    returns            : E A / T, 100 to 600 for steel, 20 to 60 for nylon
    raises             : ValueError where one is not above 0

    Counted on the string's length at pitch. Hooke's law on its slack length makes it larger by 1:
    below 1 % for steel, 2 to 5 % for nylon. Source: named by Anderson and Beausoleil (see `pitch`).
    """
    stiffness_n = 1000.0 * above_zero("youngs_modulus_gpa", youngs_modulus_gpa)
    return stiffness_n * above_zero("core_area", core_area) / above_zero("tension_n", tension_n)


def load_share(*, tension_n: ArrayLike, breaking_load_n: ArrayLike) -> Array:
    """Share of the breaking load that a pull takes up; above 1 it breaks. ValueError unless above 0."""
    return above_zero("tension_n", tension_n) / above_zero("breaking_load_n", breaking_load_n)


def pull_state(*, tension_n: ArrayLike, breaking_load_n: ArrayLike) -> NDArray[np.str_]:
    """Whether a string can play at that pull: "slack", "plays", "near breaking" or "breaks".

    Limits: `SLACK_PULL_N`, `HIGH_LOAD` and 1 times the breaking load. Errors as `load_share`.
    """
    share = load_share(tension_n=tension_n, breaking_load_n=breaking_load_n)
    slack = (np.asarray(tension_n, float) < SLACK_PULL_N) & (share <= HIGH_LOAD)
    state = np.where(share > 1.0, "breaks", np.where(share > HIGH_LOAD, "near breaking", "plays"))
    return np.where(slack, "slack", state)


def closest_string(
    *,
    unit_masses_kg_per_m: ArrayLike | Sequence[float],
    tension_n: ArrayLike,
    scale_length: ArrayLike,
    pitch_hz: ArrayLike,
) -> NDArray[np.int64]:
    """Which string of a list comes closest to a wanted pull at pitch, as a ratio.

    unit_masses_kg_per_m              : the strings that can be had, shape (n,) [kg/m]
    tension_n, scale_length, pitch_hz : wanted, shape () or one a string [N], [mm], [Hz]
    returns                           : index into the list, in the shape of what is wanted
    raises                            : ValueError where the list is empty or a number not above 0
    """
    masses = np.atleast_1d(above_zero("unit_masses_kg_per_m", unit_masses_kg_per_m))
    if masses.size == 0:
        raise ValueError("give one string or more to choose from")
    wanted = unit_mass_for_tension(tension_n=tension_n, scale_length=scale_length, pitch_hz=pitch_hz)
    closest: NDArray[np.int64] = np.argmin(np.abs(np.log(masses / np.asarray(wanted)[..., np.newaxis])), axis=-1)
    return closest


def _wave_speed(scale_length: ArrayLike, pitch_hz: ArrayLike) -> Array:
    return above_zero("scale_length", scale_length) / 500.0 * above_zero("pitch_hz", pitch_hz)
