"""The strings of a file as the formulas know them: unit mass, core, pull."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from nutgen.nut.places import SOFT, Kind, kind_of, places_of
from nutgen.spec.strings import AnyString
from nutgen.spec.tables import Spec
from nutgen.theory import Array
from nutgen.theory.materials import PLAIN_MATERIALS, WRAP_MATERIALS, strength_n
from nutgen.theory.notes import note_pitch_hz
from nutgen.theory.strings import kappa, tension_at_pitch_n, wave_speed
from nutgen.theory.unit_mass import (
    BASS,
    CLASSICAL,
    GUITAR,
    HEX_GIRTH,
    Construction,
    area_of_core,
    given_unit_mass,
    plain_unit_mass,
    settled_stretch,
    usual_core,
    wound_unit_mass,
)

_PLAIN = {material.name: material for material in PLAIN_MATERIALS}
_WRAP = {material.name: material for material in WRAP_MATERIALS}

WRAP_UNSAID_ERROR = 0.15
"""Half width of a unit mass where the wrap metal is not said and taken as nickel-plated steel: phosphor bronze is 6 to
14 % heavier by published unit weights (see `unit_mass.COMPARED`), and their own spread comes on top."""


@dataclass(frozen=True, slots=True)
class Strung:
    """A set of strings on one instrument. Every field has one entry a string, bass to treble.

    Parameters
    ----------
    notes : tuple of str
        Tuning.
    gauge : tuple of float
        Diameters [mm].
    wound : tuple of bool
        Whether each is wound.
    scale_length : tuple of float
        Nut to saddle [mm].
    pitch_hz : tuple of float
        Of the notes [Hz].
    unit_mass_kg_per_m : tuple of float
        Unit mass [kg/m].
    relative_error : tuple of float
        Half width of the band in which it lies, and so does the pull.
    basis : tuple of str
        "given", "plain" (from density) or "wound" (from a construction model).
    build : tuple of str
        Kind of string by its materials, "plain nylon" or "phosphor bronze on steel", as `unit_mass.COMPARED` has it.
    wrap_is_usual : tuple of bool
        Where the mass rests on a wrap metal that the file does not say, and another one is about as usual.
    strength_source : tuple of str
        Of `breaking_n`; empty where that is not known.
    core_diameter : tuple of float
        Of what stretches and bears the pull; a plain string is all core [mm].
    core_area : tuple of float
        Its cross-section [mm^2].
    core_is_usual : tuple of bool
        Where the core is assumed because the file does not say.
    youngs_gpa : tuple of float
        Of the core [GPa].
    breaking_n : tuple of float
        Pull at which the core breaks; inf for a floss core, whose strength is not known [N].
    """

    notes: tuple[str, ...]
    gauge: tuple[float, ...]
    wound: tuple[bool, ...]
    scale_length: tuple[float, ...]
    pitch_hz: tuple[float, ...]
    unit_mass_kg_per_m: tuple[float, ...]
    relative_error: tuple[float, ...]
    basis: tuple[str, ...]
    build: tuple[str, ...]
    wrap_is_usual: tuple[bool, ...]
    strength_source: tuple[str, ...]
    core_diameter: tuple[float, ...]
    core_area: tuple[float, ...]
    core_is_usual: tuple[bool, ...]
    youngs_gpa: tuple[float, ...]
    breaking_n: tuple[float, ...]

    @property
    def tension_n(self) -> Array:
        """Pull at pitch [N]."""
        return tension_at_pitch_n(
            unit_mass_kg_per_m=self.unit_mass_kg_per_m, scale_length=self.scale_length, pitch_hz=self.pitch_hz
        )

    @property
    def kappa(self) -> Array:
        """E A / T of each core at pitch."""
        return kappa(youngs_modulus_gpa=self.youngs_gpa, core_area=self.core_area, tension_n=self.tension_n)


def strung(spec: Spec) -> Strung:
    """The strings of a file at its tuning; raises CannotBeMade where a slanted nut has no places for them."""
    scale = places_of(spec).scale_length
    return strung_with(spec.strings, scale_length=scale, a4_hz=spec.instrument.a4_hz, kind=kind_of(spec))


def strung_with(
    strings: Sequence[AnyString],
    *,
    scale_length: Sequence[float],
    a4_hz: float,
    kind: Kind,
    notes: Sequence[str] | None = None,
) -> Strung:
    """Any set of strings.

    Parameters
    ----------
    strings : sequence of AnyString
        Bass to treble.
    scale_length : sequence of float
        One a string [mm].
    a4_hz : float
        Pitch of A4 [Hz].
    kind : "bass", "steel" or "nylon"
        Practice of the instrument, which says how wound strings are built as a rule.
    notes : sequence of str, optional
        To tune to, instead of the strings' own.

    Returns
    -------
    Strung
        The set at its tuning.
    """
    tuned = tuple(notes or (string.note for string in strings))
    pitch = tuple(float(note_pitch_hz(note, a4_hz=a4_hz)) for note in tuned)
    speeds = wave_speed(scale_length, pitch)
    known = [_known(string, kind, float(speed)) for string, speed in zip(strings, speeds, strict=True)]
    columns: dict[str, Any] = {name: tuple(one[name] for one in known) for name in known[0]}
    return Strung(notes=tuned, scale_length=tuple(scale_length), pitch_hz=pitch, **columns)


def construction_of(string: AnyString, kind: Kind) -> Construction:
    """How a wound string is most likely built: the usual way of its kind, changed by what the file says."""
    base = CLASSICAL if string.material in SOFT else BASS if kind == "bass" else GUITAR
    if string.core_shape is not None:
        base = replace(base, hexagonal=string.core_shape == "hex")
    if base.core.name != string.material:
        base = replace(base, core=_PLAIN[string.material])
    if string.wrap_metal is not None:
        base = replace(base, wrap=_WRAP[string.wrap_metal])
    return base


def _known(string: AnyString, kind: Kind, speed: float) -> dict[str, float | str | bool]:
    """Fields of `Strung` for one string: its mass, its core, what it bears; `speed` is 2 L f at pitch [m/s]."""
    material, floss = _PLAIN[string.material], string.wound and string.material in SOFT
    wrap_is_usual = string.wound and not floss and kind != "bass" and not (string.wrap_metal or string.unit_mass)
    if string.wound:
        construction = construction_of(string, kind)
        build, core = construction.name, _core(string, construction)
        mass = wound_unit_mass(construction, gauge=string.gauge, core=core)
        area = float(area_of_core(construction, core=core))
    else:
        mass, build = plain_unit_mass(material, gauge=string.gauge, wave_speed=speed), f"plain {material.name}"
        core = string.gauge / math.sqrt(float(settled_stretch(material, wave_speed=speed)))
        area = math.pi / 4.0 * core**2
    if string.unit_mass is not None:
        mass = given_unit_mass(string.unit_mass)
    return {
        "gauge": string.gauge,
        "wound": string.wound,
        "unit_mass_kg_per_m": float(mass.kg_per_m),
        "relative_error": WRAP_UNSAID_ERROR if wrap_is_usual else float(mass.relative_error),
        "basis": mass.basis,
        "build": build,
        "wrap_is_usual": wrap_is_usual,
        "strength_source": "" if floss else material.strength_source,
        "core_diameter": core,
        "core_area": area,
        "core_is_usual": string.wound and string.core is None and string.wraps is None,
        "youngs_gpa": material.youngs_modulus_gpa,
        "breaking_n": math.inf if floss else float(strength_n(material, diameter=core, area=area)),
    }


def _core(string: AnyString, build: Construction) -> float:
    if string.core is not None:
        return string.core
    if string.wraps is not None:
        return (string.gauge - 2.0 * sum(string.wraps)) / (HEX_GIRTH if build.hexagonal else 1.0)
    return float(usual_core(build, gauge=string.gauge))
