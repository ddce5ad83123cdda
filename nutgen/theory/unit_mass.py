"""Unit mass of a string: what a length of it weighs, from how it is built.

Gauges and cores are diameters in mm (a hex core: across its flats), unit masses in kg/m.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.checks import above_zero
from nutgen.theory.materials import NICKEL_PLATED_STEEL, NYLON, SILVERED_COPPER, STEEL, Material

HEX_AREA = float(np.sqrt(3.0) / 2.0)
"""Area of a hexagon over the square of its width across flats: 0.866."""

HEX_GIRTH = float(2.0 * np.sqrt(3.0) / np.pi)
"""Diameter of the circle with a hexagon's girth, over its width across flats: 1.103."""

BEDDING = 1.028
"""By how much wound turns fill more than touching round wire. Drawn tight, they flatten against each
other and bite into the core's edges. Set once, so that the model's errors against five bass strings cancel out:
.045, .065, .085, .105 and .130 of J. D'Addario & Company, A Complete Technical Reference for Fretted Instrument
String Tensions, catalog supplement, chart 13934."""

ROUND_FILL = float(np.pi / 4.0 * BEDDING)
"""Share of its annulus that a round wrap fills: pi/4 where turns just touch (geometry), bedded."""

STRETCH_DOUBT = 0.4
"""Half width of how far a soft string stretches by the time it has settled, relative; from memory."""


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
class Construction:
    """How a wound string is built, core to outside. However many layers of one metal, the mass is the same.

    use              : what it is strung on, where the same metals are built in another way there; else empty
    core             : its material
    hexagonal        : a hex core, else a round one
    core_coefficient, core_exponent : usual core width = c d^e, d the gauge, both [mm]
    wrap             : metal of the wrap
    source           : of the core rule
    """

    use: str
    core: Material
    hexagonal: bool
    core_coefficient: float
    core_exponent: float
    wrap: Material
    source: str

    @property
    def name(self) -> str:
        """Of this kind of string: "phosphor bronze on steel", "nickel-plated steel on steel (bass)"."""
        return f"{self.wrap.name} on {self.core.name}" + (f" ({self.use})" if self.use else "")

    @property
    def relative_error(self) -> float:
        """Half width of the unit mass's band."""
        return WOUND_ERROR.get(self.name, UNCOMPARED_ERROR)


GUITAR = Construction(
    "", STEEL, True, 0.4234, 0.5, NICKEL_PLATED_STEEL,
    "core 0.084 sqrt(gauge) in inches: .0135 in .026, .018 in .046, .020 in .056 (from memory)",
)  # fmt: skip
BASS = Construction(
    "bass", STEEL, True, 0.469, 0.22, NICKEL_PLATED_STEEL,
    "core 0.0376 gauge^0.22 in inches: .019 in .045, .024 in .130 (from memory)",
)  # fmt: skip
CLASSICAL = Construction(
    "", NYLON, False, 0.49, 0.0, SILVERED_COPPER,
    "one floss core of about 0.49 mm under all basses, set by an E2 .043 and an A2 .035 (unit masses from memory)",
)  # fmt: skip

UNCOMPARED_ERROR = 0.08
WOUND_ERROR = {
    "nickel-plated steel on steel": 0.05,
    "phosphor bronze on steel": 0.04,
    "nickel-plated steel on steel (bass)": 0.05,
    "silvered copper on nylon": 0.08,
}
"""Half width of the band of a wound string's unit mass, by kind; 8 % where no published string was compared."""


@dataclass(frozen=True, slots=True)
class Compared:
    """Published strings that a model was compared with; none of them is one that it was fitted to.

    strings     : how many
    worst_share : error of the unit mass of the worst, relative
    """

    strings: int
    worst_share: float


COMPARED = {
    "plain steel": Compared(11, 0.001),
    "plain nylon": Compared(2, 0.037),
    "nickel-plated steel on steel": Compared(23, 0.036),
    "phosphor bronze on steel": Compared(16, 0.028),
    "nickel-plated steel on steel (bass)": Compared(14, 0.049),
    "silvered copper on nylon": Compared(1, 0.026),
}
"""By kind of string; a kind that is missing was compared with none. The strings stand, each with its source, beside the
tests of this module, which hold these figures."""


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


def settled_stretch(material: Material, *, wave_speed: ArrayLike) -> Array:
    """Length at pitch of a plain string over its length off the packet, once it has settled.

    Parameters
    ----------
    material : Material
        What the string is made of.
    wave_speed : array_like
        2 L f, from 0 on [m/s].

    Returns
    -------
    ndarray
        exp(rho v^2 / E), E the settled modulus: 1 for wire, 1.05 to 1.2 for nylon and fluorocarbon.

    Notes
    -----
    The stress of a string at pitch is T / A = rho v^2, whatever its gauge; true stress over true strain is taken as
    constant and the volume as kept, so that the string is thinner by the root of this, and lighter per length by it.

    References
    ----------
    J. E. Shigley, Mechanical Engineering Design, chapter on materials: true strain (from memory). The modulus: see the
    material.
    """
    stress_mpa = material.density_kg_per_m3 * np.asarray(wave_speed, float) ** 2 / 1e6
    if np.isinf(material.settled_modulus_gpa):
        return np.ones_like(stress_mpa)
    borne = np.minimum(stress_mpa, material.strength_at_1mm_mpa)  # beyond that it breaks
    stretch: Array = np.exp(borne / (1e3 * material.settled_modulus_gpa))
    return stretch


def plain_unit_mass(material: Material, *, gauge: ArrayLike, wave_speed: ArrayLike = 0.0) -> UnitMass:
    """Unit mass of a plain string.

    Parameters
    ----------
    material : Material
        What the string is made of.
    gauge : array_like
        Diameter off the packet, above 0 [mm].
    wave_speed : array_like, optional
        2 L f at pitch; 0 for a slack string [m/s].

    Returns
    -------
    UnitMass
        rho pi d^2 / 4 over `settled_stretch`; the error joins density, gauge tolerance and stretch by the root of
        squares.

    Raises
    ------
    ValueError
        Where a gauge is not above 0.
    """
    d = above_zero("gauge", gauge)
    stretch = settled_stretch(material, wave_speed=wave_speed)
    doubts = (material.density_error, 2.0 * material.gauge_tolerance / d, STRETCH_DOUBT * np.log(stretch))
    error = np.sqrt(sum(np.square(doubt) for doubt in doubts))
    return UnitMass(material.density_kg_per_m3 * np.pi / 4.0 * (d / 1000.0) ** 2 / stretch, error, "plain")


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
        Core area times its density, and the wrap's annulus times fill and density.

    Raises
    ------
    ValueError
        Where the core does not leave room for a wrap.

    Notes
    -----
    The wrap starts at the circle of the core's girth. A round wrap of touching turns, wire w on a mean diameter D,
    weighs rho (pi/4) w^2 pi D / w: its annulus times pi/4, whatever w is, so that the number of equal wraps does not
    matter.
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
    ring = np.pi / 4.0 * (d - start) * (d + start)
    per_mm = construction.core.density_kg_per_m3 * area_of_core(construction, core=c)
    per_mm = per_mm + construction.wrap.density_kg_per_m3 * ROUND_FILL * ring
    return UnitMass(per_mm * 1e-6, np.full_like(d, construction.relative_error)[()], "wound")
