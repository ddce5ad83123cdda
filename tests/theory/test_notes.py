"""Note names and pitches, against ISO 16, printed pitches and music21."""

import numpy as np
import pytest
from music21 import pitch as general_music_library

from nutgen.theory.notes import midi_number, note_pitch_hz

NAMES = [
    f"{letter}{accidental}{octave}" for letter in "CDEFGAB" for accidental in ("", "#", "b") for octave in range(0, 9)
]


def test_tuning_frequency_is_iso_16():
    # ISO 16:1975, standard tuning frequency of the note A in the treble stave: 440 Hz
    assert note_pitch_hz("A4") == 440.0


@pytest.mark.parametrize(
    ("note", "printed"),
    # equal temperament on ISO 16:1975, rounded to four decimals in the usual tables of note frequencies
    [
        ("B0", 30.8677),
        ("E1", 41.2034),
        ("A1", 55.0),
        ("D2", 73.4162),
        ("G2", 97.9989),
        ("C3", 130.8128),
        ("E4", 329.6276),
    ],
)
def test_pitches_of_open_strings(note, printed):
    assert note_pitch_hz(note) == pytest.approx(printed, abs=0.00005)


@pytest.mark.parametrize("name", NAMES)
def test_every_name_agrees_with_music21(name):
    other = general_music_library.Pitch(name.replace("b", "-"))
    assert midi_number(name) == other.ps
    assert note_pitch_hz(name) == pytest.approx(other.frequency, rel=1e-9)


@pytest.mark.parametrize(
    ("written", "plain"),
    [("E♭2", "Eb2"), ("F♯2", "F#2"), ("bb1", "Bb1"), (" c1 ", "C1"), ("A♮4", "A4"), ("D#2", "Eb2")],
)
def test_ways_to_write_one_note(written, plain):
    assert midi_number(written) == midi_number(plain)


def test_the_octave_changes_at_c():
    assert midi_number("B3") + 1 == midi_number("C4") == midi_number("B#3") == 60
    assert midi_number("C-1") == 0
    assert midi_number("G9") == 127


@pytest.mark.parametrize("text", ["H1", "E", "", "E#b2", "2E", "E2 F2", "Ebb2", "E2.5", "E 2", "mi"])
def test_what_is_no_name_is_refused_with_the_cure(text):
    with pytest.raises(ValueError, match=r'is no note name: .* as in "E4"'):
        midi_number(text)


@pytest.mark.parametrize("text", ["Cb-1", "G#9", "A44"])
def test_notes_beyond_the_range_are_refused(text):
    with pytest.raises(ValueError, match="C-1 to G9"):
        midi_number(text)


@pytest.mark.parametrize("a4_hz", [0.0, 44.0, 4400.0, np.nan])
def test_a_tuning_frequency_off_by_ten_is_refused(a4_hz):
    with pytest.raises(ValueError, match="between 220 and 880"):
        note_pitch_hz("E4", a4_hz=a4_hz)
