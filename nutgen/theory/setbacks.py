"""Which setbacks of nut and saddle share the error of fretted pitch out best."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array
from nutgen.theory.pitch import FrettedString, pitch_error

Moves = Literal["both", "nut", "saddle"]
_NUDGE = 1e-3  # mm, step of the Jacobian's central difference


@dataclass(frozen=True, slots=True)
class Setbacks:
    """Setbacks that share out the error best, and what they leave.

    nut    : positive where the string starts farther from the bridge; as a rule below 0,
             toward the bridge [mm]
    saddle : positive where it ends farther from the nut [mm]
    rms    : root mean square of what is left over the frets [cents]
    left   : what is left at each fret, frets along the last axis [cents]
    """

    nut: Array
    saddle: Array
    rms: Array
    left: Array


def best_setbacks(
    string: FrettedString,
    *,
    fret: ArrayLike,
    move: Moves = "both",
    nut_setback: ArrayLike = 0.0,
    saddle_setback: ArrayLike = 0.0,
    together: bool = False,
) -> Setbacks:
    """Setbacks of nut and saddle with the least rms error over the frets.

    Parameters
    ----------
    string : FrettedString
        The string, its frets along the last axis.
    fret : array_like
        Fret numbers to share the error over, two or more, along the last axis.
    move : {"both", "nut", "saddle"}, optional
        Which may move; the other stays at the setback given.
    nut_setback, saddle_setback : array_like, optional
        Where to start, or to stay [mm].
    together : bool, optional
        One setback of the nut and one of the saddle for all strings, the best compromise, instead of two for each.

    Returns
    -------
    Setbacks
        Setbacks in the string's shape without the frets' axis (length 1 or absent); of all strings together, two
        numbers, `rms` over all strings and frets, and `left` of shape (strings, frets).

    Raises
    ------
    ValueError
        Where there are too few frets; else as `pitch_error`.

    Notes
    -----
    Gauss-Newton with a central-difference Jacobian; converges in a few rounds because the error is nearly linear in
    both.

    References
    ----------
    The least-squares criterion of Anderson and Beausoleil.
    """
    frets = np.atleast_1d(np.asarray(fret, float))
    free = {"both": [0, 1], "nut": [0], "saddle": [1]}[move]
    if frets.shape[-1] < len(free):
        raise ValueError(f"give {len(free)} frets or more to share the error over")

    def left(setbacks: Array) -> Array:
        nut, saddle = setbacks[..., 0, np.newaxis], setbacks[..., 1, np.newaxis]
        error = pitch_error(string, fret=frets, nut_setback=nut, saddle_setback=saddle)
        return error.total.reshape(-1) if together else error.total

    shape = () if together else left(np.zeros(2)).shape[:-1]
    at = np.stack([np.broadcast_to(np.asarray(s, float), shape) for s in (nut_setback, saddle_setback)], axis=-1)
    for _ in range(20):
        slopes = [(left(at + _NUDGE * e) - left(at - _NUDGE * e)) / (2.0 * _NUDGE) for e in np.eye(2)[free]]
        inverse = np.linalg.pinv(np.stack(slopes, axis=-1))
        change = np.zeros_like(at)
        change[..., free] = -(inverse @ left(at)[..., np.newaxis])[..., 0]
        at = at + change
        if np.all(np.abs(change) < 1e-10):
            break
    final = left(at)
    rms = np.sqrt(np.mean(final**2, axis=-1))
    return Setbacks(at[..., 0][()], at[..., 1][()], rms, final.reshape(-1, frets.size) if together else final)
