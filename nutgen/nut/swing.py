"""How the strings are played: where and how hard they are plucked, how far they swing, where a finger presses."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.finding import Finding, assumption
from nutgen.nut.places import Kind, kind_of, places_of
from nutgen.nut.strung import Strung
from nutgen.spec.tables import Spec
from nutgen.theory import Array
from nutgen.theory.heights import Neck
from nutgen.theory.pluck import excursions, pluck_height_from_force, pluck_stiffness_n_per_m

PLUCK_N_PER_M: dict[Kind, float] = {"bass": 1.2, "steel": 0.6, "nylon": 0.7}
"""Firm pluck, the part square to the board, per metre of scale length and by kind of instrument, so that
a ukulele is plucked more softly than a guitar [N/m]. An assumption, set so that usual heights just stay clear."""

PLUCK_POINT = 1.0 / 8.0
"""Pluck point from the bridge, as a share of the scale length. An assumption, no source."""


@dataclass(frozen=True, slots=True)
class Swing:
    """How each string is played; tuples of numbers have one entry a string, bass to treble.

    Parameters
    ----------
    tension_n : tuple of float
        Pull at pitch [N].
    from_bridge : tuple of float
        Pluck point [mm].
    force_n : tuple of float
        At release, square to the board, of the open string [N].
    height : tuple of float
        Displacement there at release, of the open string [mm].
    by_force : bool
        Whether the force is what stays the same on a fretted string, else the height.
    margin : float
        Room to leave over every fret [mm].
    finger : float
        Behind the fret, where it presses [mm].
    assumed, finger_assumed : tuple of Finding
        What the file does not say of the pluck, and of the finger.
    """

    tension_n: tuple[float, ...]
    from_bridge: tuple[float, ...]
    force_n: tuple[float, ...]
    height: tuple[float, ...]
    by_force: bool
    margin: float
    finger: float
    assumed: tuple[Finding, ...]
    finger_assumed: tuple[Finding, ...]

    def height_on(self, length: ArrayLike) -> Array:
        """Displacement at the pluck point of strings that sound over other lengths, strings first [mm]."""
        span = np.asarray(length, float)
        if not self.by_force:
            return np.broadcast_to(_first(self.height, span), span.shape)
        return pluck_height_from_force(
            force_n=_first(self.force_n, span),
            tension_n=_first(self.tension_n, span),
            length=span,
            pluck_from_bridge=_first(self.from_bridge, span),
        )

    def excursion(self, neck: Neck, frets: ArrayLike, *, pressed: int = 0) -> tuple[Array, Array]:
        """Farthest swing of plucked strings, from their straight line.

        Parameters
        ----------
        neck : Neck
            Fields of shape (strings, 1).
        frets : array_like, (frets,)
            Over which, nearer the bridge than the pressed one.
        pressed : int
            Fret that is held; 0 for the open string.

        Returns
        -------
        toward, away : ndarray, (strings, frets)
            To the side pulled to, and to the other one [mm].
        """
        at = neck.fret(pressed) if pressed else np.asarray(neck.start, float)
        length = np.asarray(neck.scale_length, float) - at
        return excursions(
            from_nut=neck.fret(frets) - at,
            length=length,
            pluck_from_bridge=_first(self.from_bridge, length),
            pluck_height=self.height_on(length),
        )


def _first(each: tuple[float, ...], like: Array) -> Array:
    """One entry a string along the first axis of an array."""
    return np.reshape(each, (-1, *(1,) * (like.ndim - 1)))


def swing_of(spec: Spec, strings: Strung) -> Swing:
    """How a file's strings are played: as `[pluck]` says, else as assumed for its kind of instrument."""
    pluck, share = spec.pluck, places_of(spec).shares
    scale, assumed = np.array(strings.scale_length), []
    if pluck.from_bridge is None:
        assumed.append(assumption("pluck.point-assumed", point_share=PLUCK_POINT))
    at = scale * PLUCK_POINT if pluck.from_bridge is None else np.full_like(scale, pluck.from_bridge)
    span = scale - np.array(spec.slots.setback.at(share))
    stiffness = pluck_stiffness_n_per_m(tension_n=strings.tension_n, length=span, pluck_from_bridge=at)
    if pluck.height is not None:
        height = np.broadcast_to(pluck.height.at(share), scale.shape)
        force = height * stiffness / 1000.0
    else:
        force_n = pluck.force_n
        if force_n is None:
            force_n = round(PLUCK_N_PER_M[kind_of(spec)] * float(scale.max()) / 1000.0, 1)
            assumed.append(assumption("pluck.force-assumed", force_n=force_n))
        force = np.full_like(scale, force_n)
        height = 1000.0 * force / stiffness
    finger = (assumption("pitch.finger-assumed", finger=pluck.finger),) if "pluck.finger" in spec.assumed else ()
    return Swing(
        tension_n=tuple(strings.tension_n.tolist()),
        from_bridge=tuple(at.tolist()),
        force_n=tuple(force.tolist()),
        height=tuple(height.tolist()),
        by_force=pluck.height is None,
        margin=pluck.margin,
        finger=pluck.finger,
        assumed=tuple(assumed),
        finger_assumed=finger,
    )
