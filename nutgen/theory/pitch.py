"""Pitch of a fretted string: what the press adds, and which setbacks share it out best.

The model of M. B. Anderson and R. G. Beausoleil, "Classical guitar intonation and compensation:
The well-tempered guitar", J. Acoust. Soc. Am. 156(1), 683 (2024), carried over to crowns and
string ends at any height (relief, action and floor height enter through these). The press runs
the sounding string's straight line on behind the fret, down to the finger, and from there
straight to the nut; frets in between are not felt.

    nut            finger     fret                               saddle
     o--__            |         |                      ______-----o
          ---___      v         |      ______------'''
                ----__x___------^

Heights of nut, crowns and saddle are counted from one straight line of any kind, such as the
line over the crowns of a straight neck, or the chord of a neck with relief.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.checks import floats
from nutgen.theory.frets import fret_position

_CENTS = 1200.0 / np.log(2.0)


@dataclass(frozen=True, slots=True)
class FrettedString:
    """One string over its frets. Fields broadcast, frets along the last axis.

    scale_length    : nut to saddle before any setback [mm]
    nut_height      : string at the nut, above the line that heights are counted from [mm]
    saddle_height   : string at the saddle, above that line; 2 x action - nut_height on a straight
                      neck without setbacks [mm]
    kappa           : E A / T of the core at the open string's pull (`strings.kappa`)
    core_diameter   : of the core, for its bending stiffness; 0 for a limp string [mm]
    crown_height    : crown of each fret above that line, shape (frets,) or one for all [mm]
    finger_distance : where the finger presses, behind the crown [mm]
    """

    scale_length: ArrayLike
    nut_height: ArrayLike
    saddle_height: ArrayLike
    kappa: ArrayLike
    core_diameter: ArrayLike = 0.0
    crown_height: ArrayLike = 0.0
    finger_distance: ArrayLike = 0.0


@dataclass(frozen=True, slots=True)
class PitchError:
    """How far a fretted note lies above equal temperament on the open string, by cause [cents].

    length    : sounding length against its share of the open length
    mass      : the stretched string is lighter per length
    tension   : the press pulls it tighter
    stiffness : a short string is stiffer against bending
    stretch   : (not cents) relative length that the press adds, Q
    """

    length: Array
    mass: Array
    tension: Array
    stiffness: Array
    stretch: Array

    @property
    def total(self) -> Array:
        """The four together [cents]."""
        return self.length + self.mass + self.tension + self.stiffness


def stiffness_factor(*, kappa: ArrayLike, core_diameter: ArrayLike, length: ArrayLike) -> Array:
    """Pitch of a stiff string's first partial over that of a limp one, its ends clamped.

    Parameters
    ----------
    kappa : array_like
        E A / T at its pull.
    core_diameter : array_like
        Of the part that bends as one piece [mm].
    length : array_like
        Sounding length [mm].

    Returns
    -------
    ndarray
        1 + 2 B + (4 + pi^2/2) B^2 with B = sqrt(kappa) d / (4 L), that is sqrt(E I / T) / L.

    Notes
    -----
    A series: it misses 36 000 B^3 cents, 0.01 at B = 0.0065 (a plain .017 of 648 mm at fret 12), 0.3 at 0.02. Clamped
    ends keep their direction; real ones turn a little. A wound string bends a little more stiffly than its bare core.

    References
    ----------
    P. M. Morse, Vibration and Sound, chapter 4 (used by Anderson and Beausoleil); H. Fletcher, J. Acoust. Soc. Am. 36,
    203 (1964).
    """
    bend: Array = np.sqrt(np.asarray(kappa, float)) * np.asarray(core_diameter, float) / 4.0
    b: Array = bend / np.asarray(length, float)
    clamped: Array = 1.0 + 2.0 * b + (4.0 + np.pi**2 / 2.0) * b**2
    return clamped


def pitch_error(
    string: FrettedString, *, fret: ArrayLike, nut_setback: ArrayLike = 0.0, saddle_setback: ArrayLike = 0.0
) -> PitchError:
    """How sharp a fretted string sounds against equal temperament on its own open note.

    Parameters
    ----------
    string : FrettedString
        The string over its frets.
    fret : array_like
        Fret numbers, above 0, along the last axis.
    nut_setback : array_like, optional
        Positive away from the bridge [mm].
    saddle_setback : array_like, optional
        Positive away from the nut [mm].

    Returns
    -------
    PitchError
        Error by cause, broadcast over string and frets [cents].

    Raises
    ------
    ValueError
        Where a length or fret is not above 0, kappa or finger distance is below 0, or finger or fret lie beyond nut or
        saddle.

    Notes
    -----
    1200 log2(L0 / (g Ln)) + 600 log2(1 + Q) + 600 log2(1 + kappa Q) + stiffness, g = 2^(n/12), Q = (Ln + Ln' - L0) /
    L0: Ln from crown to saddle, Ln' from crown over finger to nut, L0 open. Straight lines; no bending of the string
    sideways, no give in neck or top.

    References
    ----------
    Anderson and Beausoleil (2024), see the head of this module.
    """
    scale, at_nut, at_saddle, crown, finger, k = floats(
        string.scale_length,
        string.nut_height,
        string.saddle_height,
        string.crown_height,
        string.finger_distance,
        string.kappa,
    )
    number, nut_back, saddle_back = floats(fret, nut_setback, saddle_setback)
    if not (np.all(scale > 0.0) and np.all(number > 0.0) and np.all(k >= 0.0)):
        raise ValueError("scale_length and fret must be above 0, kappa 0 or more")
    position = fret_position(number, scale_length=scale)
    to_saddle = scale - position + saddle_back
    to_nut = position + nut_back - finger
    if not (np.all(to_nut > 0.0) and np.all(to_saddle > 0.0) and np.all(finger >= 0.0)):
        raise ValueError("finger_distance must be 0 or more, and finger and fret lie between nut and saddle")
    open_run, drop, behind = scale + nut_back + saddle_back, at_saddle - crown, finger / to_saddle
    open_length = np.hypot(open_run, at_saddle - at_nut)
    # Q as a sum of small differences: the runs cancel exactly, so no digit is lost to L0
    stretch = (
        _extra(to_saddle, drop) * (1.0 + behind)
        + _extra(to_nut, at_nut - crown + drop * behind)
        - _extra(open_run, at_saddle - at_nut)
    ) / open_length
    length = np.hypot(to_saddle, drop)
    return PitchError(
        length=_CENTS * np.log(open_length / length) - 100.0 * number,
        mass=_CENTS / 2.0 * np.log1p(stretch),
        tension=_CENTS / 2.0 * np.log1p(k * stretch),
        stiffness=_stiffer_cents(string.core_diameter, (k / (1.0 + k * stretch), length), (k, open_length)),
        stretch=stretch,
    )


def _stiffer_cents(core_diameter: ArrayLike, now: tuple[Array, Array], before: tuple[Array, Array]) -> Array:
    """What stiffness adds to the pitch from one kappa and length to another [cents]."""
    stiff_now, stiff_before = (
        stiffness_factor(kappa=at, core_diameter=core_diameter, length=run) for at, run in (now, before)
    )
    return _CENTS * np.log(stiff_now / stiff_before)


def _extra(run: Array, rise: Array) -> Array:
    """By how much a slope is longer than its run, sqrt(run^2 + rise^2) - run, without cancellation."""
    return rise * rise / (run + np.hypot(run, rise))
