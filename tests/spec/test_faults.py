"""What a file's faults look like to the person who wrote it."""

from pathlib import Path

import pytest

from nutgen.errors import SpecFaults
from nutgen.spec.kinds import kind_path
from nutgen.spec.read import LARGEST_FILE, parse_spec, read_spec

ELECTRIC = kind_path("electric-6").read_text("utf-8")


def faults_of(text: str) -> list[str]:
    with pytest.raises(SpecFaults) as caught:
        parse_spec(text, source="guitar.toml")
    return [str(fault) for fault in caught.value.faults]


def changed(old: str, new: str) -> str:
    assert old in ELECTRIC
    return ELECTRIC.replace(old, new, 1)


@pytest.mark.parametrize(
    ("old", "new", "path", "words"),
    [
        ("gauge = 0.046", "gauge = 46", "strings[1].gauge", "46 in is above 0.204724 in; thousandths? write 0.046"),
        ("radius = 241.0", "radius = 9.5", "fretboard.radius", '9.5 mm is below 40 mm; inches? write "9.5 in"'),
        ("break_angle_deg = 8.0", "break_angle_deg = 0.14", "headstock.break_angle_deg", "radians? write 8.02"),
        ("width = 42.0", "width = -42.0", "fretboard.width", "measured the other way? write 42"),
        ("width = 42.0", "width = nan", "fretboard.width", "not a finite number"),
        ("width = 42.0", "width = 1e30", "fretboard.width", "not a finite number"),
        ("width = 42.0", "widht = 42.0", "fretboard.widht", "unknown key; did you mean width?"),
        ("width = 42.0", "", "fretboard.width", "missing; write width = ..."),
        ('kind = "channel"', 'kind = "chanel"', "seat.kind", 'did you mean "channel"?'),
        ("frets = 22", "frets = 22.5", "instrument.frets", "not a whole number; allowed is 12 to 36"),
        ('note = "E2"', 'note = "H2"', "strings[1].note", "is not a note"),
        ('note = "E4"', 'note = "E6"', "strings[6].note", "an octave too high?"),
        ("wound = true", 'wound = "yes"', "strings[1].wound", "write true or false, without quotes"),
        ("relief = 0.2", "relief = true", "setup.relief", "true is not a length"),
        ("bass = 1.8", "bas = 1.8", "setup.action", "bass is missing"),
        ("buried = { wound = 0.5,", "buried = { wound = 50,", "slots.buried", "per cent? write 0.5"),
        ("land = 1.2", "land = 4.0", "body.land", "more than the nut is thick; allowed is up to seat.thickness, 3.4"),
        ("[seat]", "[saet]", "saet", "unknown key; did you mean seat?"),
        ('rule = "gaps"', 'rule = "measured"', "spacing.measured", "missing; write the centres"),
        ("depth = 3.0", "", "seat.depth", "missing or below 0.5 mm"),
        ("[setup]", "[setup]\nfloor_height = 0.2", "setup.floor_height", "keep one"),
        ("radius = 241.0", "radius = 40.0\nfret_plane = 3", "fretboard.fret_plane", "unknown key"),
    ],
)
def test_slip_is_named(old: str, new: str, path: str, words: str) -> None:
    matching = [fault for fault in faults_of(changed(old, new)) if fault.startswith(f"{path}: ")]
    assert len(matching) == 1
    assert words in matching[0]


def test_strings_listed_treble_to_bass() -> None:
    head, *strings = ELECTRIC.split("[[strings]]")
    text = head + "[[strings]]" + "\n[[strings]]".join(reversed(strings))
    assert faults_of(text) == [
        "strings: listed treble to bass; list them bass to treble (the thickest, lowest string first)"
    ]


def test_all_faults_at_once_across_tables() -> None:
    text = ELECTRIC
    for old, new in [
        ("gauge = 0.046", "gauge = 46"),
        ("width = 42.0", "width = nan"),
        ("relief = 0.2", "releif = 0.2"),
        ('note = "E4"', 'note = "E6"'),
        ('strung = "right"', 'strung = "rigth"'),
    ]:
        text = text.replace(old, new, 1)
    paths = {fault.split(": ")[0] for fault in faults_of(text)}
    assert paths >= {"strings[1].gauge", "fretboard.width", "setup.releif", "setup.relief", "instrument.strung"}


def test_empty_table_names_every_missing_key() -> None:
    paths = {fault.split(":")[0] for fault in faults_of('title = "x"\n[fretboard]\n')}
    assert {"fretboard.width", "fretboard.radius", "fretboard.fret_height", "seat", "strings"} <= paths


class TestFiles:
    def fault(self, path: Path) -> str:
        with pytest.raises(SpecFaults) as caught:
            read_spec(path)
        return str(caught.value)

    def test_missing(self, tmp_path: Path) -> None:
        (tmp_path / "bass.toml").write_text("")
        assert "no such file; beside it are bass.toml" in self.fault(tmp_path / "base.toml")

    def test_folder(self, tmp_path: Path) -> None:
        assert "is a folder" in self.fault(tmp_path)

    def test_empty(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text(" \n")
        assert "is empty" in self.fault(tmp_path / "a.toml")

    def test_noise(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_bytes(bytes(range(256)) * 8)
        assert "not text in UTF-8" in self.fault(tmp_path / "a.toml")

    def test_far_too_large(self, tmp_path: Path) -> None:
        with (tmp_path / "a.toml").open("wb") as file:
            file.truncate(LARGEST_FILE * 100)
        assert "is larger than 1 MB" in self.fault(tmp_path / "a.toml")

    def test_not_toml(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text("width: 3\n")
        assert "line 1" in self.fault(tmp_path / "a.toml")

    def test_nested_without_end(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text("a = " + "[" * 20_000)
        assert "not a" in self.fault(tmp_path / "a.toml")

    def test_byte_order_mark_and_dos_lines_are_no_fault(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + ELECTRIC.replace("\n", "\r\n").encode())
        assert read_spec(tmp_path / "a.toml").title == "Club electric"
