"""What a file's faults look like to the person who wrote it."""

import re
import tomllib
from pathlib import Path

import pytest

from nutgen.documents.words.catalogue import placed, sentence
from nutgen.errors import Unreadable
from nutgen.finding import Finding, refusal
from nutgen.spec.fields import Measured, length_reader
from nutgen.spec.presets import kind_path
from nutgen.spec.read import LARGEST_FILE, parse_spec, read_spec
from nutgen.spec.values import BareUnits
from tests.kinds import text_of
from tests.spec.refused import named, refused, the_only

ELECTRIC = kind_path("electric-6").read_text("utf-8")


def changed(old: str, new: str) -> str:
    assert old in ELECTRIC
    return ELECTRIC.replace(old, new, 1)


@pytest.mark.parametrize(
    ("old", "new", "path", "code", "likely"),
    [
        ("gauge = 0.046", "gauge = 46", "strings[1].gauge", "reading.above-range", "0.046"),
        ("radius = 241.0", "radius = 9.5", "fretboard.radius", "reading.below-range", '"9.5 in"'),
        ("break_angle_deg = 8.0", "break_angle_deg = 0.14", "headstock.break_angle_deg", "reading.below-range", "8.02"),
        ("width = 42.0", "width = -42.0", "fretboard.width", "reading.below-range", "42"),
        ("width = 42.0", "width = nan", "fretboard.width", "reading.not-finite", ""),
        ("width = 42.0", "width = 1e30", "fretboard.width", "reading.not-finite", ""),
        ("width = 42.0", "widht = 42.0", "fretboard.widht", "reading.unknown-key", "width"),
        ("width = 42.0", "", "fretboard.width", "reading.missing", ""),
        ('kind = "channel"', 'kind = "chanel"', "seat.kind", "reading.not-one-of", "channel"),
        ("frets = 22", "frets = 22.5", "instrument.frets", "reading.not-whole", ""),
        ('note = "E2"', 'note = "H2"', "strings[1].note", "reading.not-a-note", ""),
        ('note = "E4"', 'note = "E6"', "strings[6].note", "strings.note-too-high", ""),
        ("wound = true", 'wound = "yes"', "strings[1].wound", "reading.not-yes-or-no", ""),
        ("relief = 0.2", 'relief = "7 in"', "setup.relief", "reading.above-range", '"0.007 in"'),
        ("relief = 0.2", "relief = true", "setup.relief", "reading.not-a-length", ""),
        ("bass = 1.8", "bas = 1.8", "setup.action.bass", "reading.missing", ""),
        ("buried = { wound = 0.5,", "buried = { wound = 50,", "slots.buried.wound", "reading.above-range", "0.5"),
        ("land = 1.2", "land = 4.0", "body.land", "body.land-too-wide", ""),
        ("[seat]", "[saet]", "saet", "reading.unknown-key", "seat"),
        ('rule = "gaps"', 'rule = "measured"', "spacing.measured", "spacing.no-centres", ""),
        ("depth = 3.0", "", "seat.depth", "seat.no-depth", ""),
        ("[setup]", "[setup]\nfloor_height = 0.2", "setup.floor_height", "reading.given-together", ""),
        (
            "radius = 241.0",
            "radius = 40.0\nfret_plane = 3",
            "fretboard.fret_plane",
            "reading.unknown-key",
            "fret_height",
        ),
    ],
)
def test_slip_is_named(old: str, new: str, path: str, code: str, likely: str) -> None:
    assert the_only(refused(parse_spec, changed(old, new)), path) == (code, likely)


@pytest.mark.parametrize("what", ["", "gauge", "leaf", "gap", "piece"])
@pytest.mark.parametrize("bare", ["mm", "in"])
def test_a_slip_is_told_once_and_its_cure_is_read(what: Measured, bare: str) -> None:
    """Of a length from 0 to 3 mm: every cure, as it would stand in the file, lies between."""
    units, asked = BareUnits(lengths=bare, gauges=bare), 0
    read = length_reader(0.0, 3.0, what=what)
    for number in ("7", "18", "46", "0.9", "-0.5", "3000"):
        for written in (float(number), f"{number} in", f"{number} mm"):
            try:
                assert 0.0 <= read(written, units) <= 3.0
            except Unreadable as unreadable:
                slips = unreadable.finding.value("likely")
                assert len({slip for slip, _ in slips}) == len(slips)
                assert all(0.0 <= read(tomllib.loads(f"it = {cure}")["it"], units) <= 3.0 for _, cure in slips)
                asked += len(slips)
    assert asked > 0


@pytest.mark.parametrize(
    ("low", "high"), [(2.0, 15.0), (0.0, 1.5), (12.0, 130.0), (200.0, 1200.0), (0.1, 5.2), (-3.0, 0.02)]
)
def test_limits_told_in_inches_are_short_and_allowed(low: float, high: float) -> None:
    told = sentence(refusal("reading.below-range", written="-9 in", unit="in", allowed=(low, high), likely=()))
    for bound, true in zip(told.partition("allowed is ")[2].split(" to "), (low, high), strict=True):
        read = length_reader(low, high)(f"{bound} in", BareUnits(lengths="mm", gauges="mm"))
        assert read == pytest.approx(true, rel=0.01)
        assert float(bound) == float(f"{float(bound):.3g}")


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("width", [78.17, 84.0, 97.33, 103.9])
@pytest.mark.parametrize(
    ("key", "beyond", "code"),
    [
        ("fretboard.radius", 41.0, "reading.radius-too-small"),
        ("fretboard.width_at_12", 159.0, "fretboard.no-such-taper"),
        ("body.ends", 4.9, "body.ends-beyond-arch"),
        ("pluck.from_bridge", 300.0, "pluck.over-board"),
    ],
)
def test_a_limit_that_follows_from_another_reading_is_short_and_allowed(key, beyond, code, width, units) -> None:
    """What the sentence allows passes where it is written into the file as told."""

    table, name = key.split(".")

    def file(value: object) -> str:
        changes = {"fretboard.width": width, "seat.floor": round(0.55 * width + 3.3, 2)}
        return text_of("electric-6", {**changes, **({key: value} if table != "pluck" else {table: {name: value}})})

    fault = next(one for one in refused(parse_spec, file(beyond)) if one.code == code)
    number = re.findall(r"\d*\.?\d+", sentence(fault, units).partition("allowed is ")[2])[-1]
    assert len(number.partition(".")[2]) <= (2 if units == "mm" else 3)
    values = dict(fault.values)
    read = getattr(getattr(parse_spec(file(f"{number} {units}"), source="x"), table), name)
    assert read == pytest.approx(values.get("most", values.get("least")), abs=0.026)


def test_the_readme_shows_what_is_told() -> None:
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    slips = {"strings.1.gauge": 45, "fretboard.radius": 12.0}
    told = [placed(one) for one in refused(parse_spec, text_of("electric-6", slips))]
    assert sorted(told) == sorted(re.findall(r"^mine\.toml: (.*)$", readme, re.MULTILINE))


def test_strings_listed_treble_to_bass() -> None:
    head, *strings = ELECTRIC.split("[[strings]]")
    text = head + "[[strings]]" + "\n[[strings]]".join(reversed(strings))
    assert named(refused(parse_spec, text)) == [("strings", "strings.treble-first")]


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
    paths = {path for path, _ in named(refused(parse_spec, text))}
    assert paths >= {"strings[1].gauge", "fretboard.width", "setup.releif", "setup.relief", "instrument.strung"}


def test_empty_table_names_every_missing_key() -> None:
    paths = {path for path, _ in named(refused(parse_spec, 'title = "x"\n[fretboard]\n'))}
    assert {"fretboard.width", "fretboard.radius", "fretboard.fret_height", "seat", "strings"} <= paths


class TestFiles:
    def fault(self, path: Path) -> Finding:
        (finding,) = refused(lambda path, source: read_spec(path), path)
        return finding

    def test_missing(self, tmp_path: Path) -> None:
        (tmp_path / "bass.toml").write_text("")
        fault = self.fault(tmp_path / "base.toml")
        assert (fault.code, fault.value("beside")) == ("file.missing", ("bass.toml",))

    def test_folder(self, tmp_path: Path) -> None:
        assert self.fault(tmp_path).code == "file.is-a-folder"

    def test_empty(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text(" \n")
        assert self.fault(tmp_path / "a.toml").code == "file.empty"

    def test_noise(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_bytes(bytes(range(256)) * 8)
        assert self.fault(tmp_path / "a.toml").code == "file.not-text"

    def test_far_too_large(self, tmp_path: Path) -> None:
        with (tmp_path / "a.toml").open("wb") as file:
            file.truncate(LARGEST_FILE * 100)
        assert self.fault(tmp_path / "a.toml").code == "file.too-large"

    def test_not_toml(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text("width: 3\n")
        fault = self.fault(tmp_path / "a.toml")
        assert fault.code == "file.not-toml"
        assert "line 1" in str(fault.value("reason"))

    def test_nested_without_end(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text("a = " + "[" * 20_000)
        assert self.fault(tmp_path / "a.toml").code in ("file.nested-too-deeply", "file.not-toml")

    def test_byte_order_mark_and_dos_lines_are_no_fault(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_bytes(b"\xef\xbb\xbf" + ELECTRIC.replace("\n", "\r\n").encode())
        assert read_spec(tmp_path / "a.toml").title == "Club electric"


def test_ends_left_on_stay_under_the_arch_of_the_board() -> None:
    """A wide board with a small radius and much left on its ends: the underside is a circle, and ends at its half."""
    text = changed("width = 42.0", "width = 75.0").replace("radius = 241.0", "radius = 42.2")
    text = text.replace('kind = "channel"', 'kind = "surface"').replace("depth = 3.0", "fret_plane = 3.0")
    assert the_only(refused(parse_spec, text.replace("land = 1.2", "land = 1.2\nends = 4.75")), "body.ends")[0] == (
        "body.ends-beyond-arch"
    )
    parse_spec(text.replace("land = 1.2", "land = 1.2\nends = 0.9"), source="within the arch")
