"""Unit mass of a string: what a length of it weighs, from how it is built.

Gauges and cores are diameters in mm (a hex core: across its flats), unit masses in kg/m.
"""

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

    Parameters
    ----------
    kg_per_m : array_like
        Unit mass, above 0 [kg/m].
    relative_error : array_like, optional
        Half width; 1 % for a printed figure, though editions differ by up to 6 %.

    Returns
    -------
    UnitMass
        The mass with its error.

    Raises
    ------
    ValueError
        Where the mass is not above 0.
    """
    return UnitMass(above_zero("kg_per_m", kg_per_m), np.asarray(relative_error, float), "given")


def plain_unit_mass(material: Material, *, gauge: ArrayLike) -> UnitMass:
    """Unit mass of a plain string.

    Parameters
    ----------
    material : Material
        What the string is made of.
    gauge : array_like
        Diameter, above 0 [mm].

    Returns
    -------
    UnitMass
        rho pi d^2 / 4; the error joins density and gauge tolerance by the root of squares.

    Raises
    ------
    ValueError
        Where a gauge is not above 0.

    Notes
    -----
    Exact for a round string; a stretched nylon is thinner than its printed gauge.
    """
    d = above_zero("gauge", gauge)
    error = np.hypot(material.density_error, 2.0 * material.gauge_tolerance / d)
    return UnitMass(material.density_kg_per_m3 * np.pi / 4.0 * (d / 1000.0) ** 2, error, "plain")


def usual_core(construction: Construction, *, gauge: ArrayLike) -> Array:
    """Core that a wound string of this gauge usually has; a hex core's width across flats [mm].

    Parameters
    ----------
    construction : Construction
        How the string is built.
    gauge : array_like
        Diameter over the outer wrap, above 0 [mm].

    Returns
    -------
    ndarray
        Core diameter, or width across flats of a hex core [mm].

    Raises
    ------
    ValueError
        Where a gauge is not above 0.

    Notes
    -----
    From memory (see the construction's source), never above 0.65 of the gauge. Real cores differ by a tenth, which
    hardly moves the unit mass but moves `kappa` by a fifth.
    """
    d = above_zero("gauge", gauge)
    return np.minimum(construction.core_coefficient * d**construction.core_exponent, _WIDEST_CORE * d)


def area_of_core(construction: Construction, *, core: ArrayLike) -> Array:
    """Cross-section of a core: what stretches and bears the pull.

    Parameters
    ----------
    construction : Construction
        How the string is built.
    core : array_like
        Diameter, or width across flats of a hex core, above 0 [mm].

    Returns
    -------
    ndarray
        pi c^2 / 4, or 0.866 c^2 [mm^2].

    Raises
    ------
    ValueError
        Where a core is not above 0.
    """
    return (HEX_AREA if construction.hexagonal else np.pi / 4.0) * above_zero("core", core) ** 2


def wound_unit_mass(construction: Construction, *, gauge: ArrayLike, core: ArrayLike | None = None) -> UnitMass:
    """Unit mass of a wound string from how it is built.

    Parameters
    ----------
    construction : Construction
        How the string is built.
    gauge : array_like
        Diameter over the outer wrap [mm].
    core : array_like, optional
        Core diameter, or across flats; the usual one where not known [mm].

    Returns
    -------
    UnitMass
        Core area times its density, and for each layer its annulus times fill and density.

    Raises
    ------
    ValueError
        Where the core does not leave room for a wrap.

    Notes
    -----
    Layers start at the circle of the core's girth. A round wrap of touching turns, wire w on a mean diameter D, weighs
    rho (pi/4) w^2 pi D / w: its annulus times pi/4, whatever w is, so that the number of equal wraps does not matter.
    Holds within `relative_error`.

    References
    ----------
    Geometry; `BEDDING` from published unit weights.
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
