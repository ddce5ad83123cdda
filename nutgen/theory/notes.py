"""Names of notes and their pitches: equal temperament on a chosen A4."""

import re

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array

A4_HZ = 440.0
"""Standard tuning frequency, the a' of ISO 16:1975 [Hz]."""

_A4_MIDI = 69
_STEPS_ABOVE_C = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ACCIDENTAL_STEPS = {"": 0, "#": 1, "♯": 1, "b": -1, "♭": -1, "♮": 0}
_NOTE = re.compile(r"([A-Ga-g])([#♯b♭♮]?)(-?[0-9]+)")


def midi_number(note: str) -> int:
    """MIDI number of a note name in scientific pitch notation.

    Parameters
    ----------
    note : str
        Letter A to G, an accidental if any (# or ♯, b or ♭), octave: "C1", "F#2", "B♭1"; the octave changes at C, so B3
        lies a semitone below C4.

    Returns
    -------
    int
        0 (C-1) to 127 (G9); A4 is 69.

    Raises
    ------
    ValueError
        Where the text is no such name, or lies outside that range.

    References
    ----------
    The General MIDI numbering of keys, middle C = C4 = 60.
    """
    match = _NOTE.fullmatch(note.strip())
    if match is None:
        raise ValueError(
            f"{note!r} is no note name: write a letter A to G (B, not H), # or b where needed,"
            ' and the octave, as in "E4", "F#2" or "Bb1"'
        )
    letter, accidental, octave = match.groups()
    midi = 12 * (int(octave) + 1) + _STEPS_ABOVE_C[letter.upper()] + _ACCIDENTAL_STEPS[accidental]
    if not 0 <= midi <= 127:
        raise ValueError(f"{note!r} lies outside the notes C-1 to G9; middle C is C4")
    return midi


def midi_pitch_hz(midi: ArrayLike, *, a4_hz: ArrayLike = A4_HZ) -> Array:
    """Pitch of a MIDI number.

    Parameters
    ----------
    midi : array_like
        MIDI number, 69 is A4; fractions are allowed.
    a4_hz : array_like, optional
        Tuning frequency, 220 to 880 [Hz].

    Returns
    -------
    ndarray
        Pitch, broadcast over both [Hz].

    Raises
    ------
    ValueError
        Where the tuning frequency lies outside its range.

    Notes
    -----
    f(m) = a4 2^((m - 69) / 12).

    References
    ----------
    ISO 16:1975 for a4 = 440 Hz; twelve equal steps.
    """
    return _checked_a4(a4_hz) * 2.0 ** ((np.asarray(midi, float) - _A4_MIDI) / 12.0)


def note_pitch_hz(note: str, *, a4_hz: ArrayLike = A4_HZ) -> Array:
    """Pitch of a note name [Hz]; see `midi_number` and `midi_pitch_hz` for ranges and errors."""
    return midi_pitch_hz(midi_number(note), a4_hz=a4_hz)


def _checked_a4(a4_hz: ArrayLike) -> Array:
    a4 = np.asarray(a4_hz, float)
    if not np.all((a4 >= 220.0) & (a4 <= 880.0)):
        raise ValueError("the tuning frequency of A4 must lie between 220 and 880 Hz; 440 is usual")
    return a4
