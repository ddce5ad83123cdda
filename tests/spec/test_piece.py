"""What a piece file says, and what its faults look like to the person who wrote it."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from nutgen.documents.words import placed, sentence
from nutgen.finding import Finding
from nutgen.spec.piece import PieceSpec, middles
from nutgen.spec.presets import find_piece, piece_names
from nutgen.spec.read import parse_piece, piece_hash, read_piece
from nutgen.stock.marks import back_line, first_end
from tests.spec.refused import named, refused, the_only

SCHEMA = PieceSpec.json_schema()

BONE = """
title = "A test bone"
[[stations]]
at = 0.0
width = 31.0
height = 27.5
wall = 5.0
[[stations]]
at = 60.0
width = 29.0
height = 26.0
up = 1.5
[[stations]]
at = 118.0
width = 30.0
height = 28.0
turn_deg = 4.0
core = { width = 18.0, height = 16.0, sideways = 0.5 }
[permit]
core_in = ["underside"]
"""

SCAN = """
title = "A test scan"
material = "antler"
[scan]
file = "beam.ply"
units = "cm"
wall = 4.0
along = [2, 0, 0]
back = [0, 0, 1]
check = { at = 40.0, width = 30.2 }
"""


def faults_of(text: str) -> list[Finding]:
    return refused(parse_piece, text)


def changed(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new, 1)


class TestSound:
    def test_calipers(self) -> None:
        spec = parse_piece(BONE, source="x")
        assert [station.at for station in spec.stations] == [0.0, 60.0, 118.0]
        assert spec.stations[0].wall is not None
        assert spec.stations[0].wall.belly == 5.0
        assert (spec.ends.first, spec.ends.last, spec.scan) == ("cut", "cut", None)
        assert spec.permit.core_in == ("underside",)
        assert spec.permit.kerf == 0.8

    def test_scan(self) -> None:
        spec = parse_piece(SCAN, source="x")
        assert spec.scan is not None
        assert (spec.scan.file, spec.scan.units, spec.scan.wall, spec.scan.core) == ("beam.ply", "cm", 4.0, None)
        assert spec.scan.along == (1.0, 0.0, 0.0)
        assert spec.scan.check is not None
        assert (spec.scan.check.at, spec.scan.check.width, spec.scan.check.height) == (40.0, 30.2, None)
        assert spec.stations == ()
        assert spec.permit.core_in == ()

    def test_a_piece_in_inches_is_the_same_piece(self) -> None:
        inches = BONE.replace('bone"', 'bone"\nunits = "in"')
        for mm in ("31.0", "27.5", "5.0", "60.0", "29.0", "26.0", "1.5", "118.0", "30.0", "28.0"):
            inches = inches.replace(f"= {mm}\n", f'= "{mm} mm"\n')
        inches = inches.replace(
            "width = 18.0, height = 16.0, sideways = 0.5", 'width = "18 mm", height = "16 mm", sideways = "0.5 mm"'
        )
        one, other = parse_piece(BONE, source="x"), parse_piece(inches, source="x")
        assert one.stations == other.stations

    def test_meshes_stand_beside_the_file_and_need_not_be_there(self, tmp_path: Path) -> None:
        (tmp_path / "p.toml").write_text(SCAN)
        spec = read_piece(tmp_path / "p.toml")
        assert spec.beside("beam.ply") == tmp_path / "beam.ply"
        assert spec.model_copy(update={"title": "other"}).beside("beam.ply") == tmp_path / "beam.ply"

    def test_hash_names_values_and_meshes(self, tmp_path: Path) -> None:
        respelled = BONE.replace("width = 31.0", 'width = "3.1 cm"')
        assert piece_hash(parse_piece(BONE, source="x")) == piece_hash(parse_piece(respelled, source="x"))
        assert piece_hash(parse_piece(BONE, source="x")) != piece_hash(
            parse_piece(BONE.replace("31", "32"), source="x")
        )
        (tmp_path / "p.toml").write_text(SCAN)
        hashes = {piece_hash(read_piece(tmp_path / "p.toml"))}
        for content in (b"one", b"two"):
            (tmp_path / "beam.ply").write_bytes(content)
            hashes.add(piece_hash(read_piece(tmp_path / "p.toml")))
        assert len(hashes) == 3


class TestMiddles:
    """Gaps under a straightedge against shapes whose middle is known."""

    @given(
        st.lists(
            st.tuples(st.floats(5, 60), st.floats(5, 60), st.floats(-20, 20), st.floats(-20, 20)),
            min_size=2,
            max_size=6,
        ),
        st.floats(-50, 50),
    )
    def test_gaps_tell_the_middles(self, sections: list[tuple[float, float, float, float]], turn: float) -> None:
        """Sections of known middle are traced point by point; the straightedge lies on the furthest of them."""
        angle = np.linspace(0.0, 2.0 * np.pi, 20_001)
        lefts, tops = [], []
        for width, height, sideways, up in sections:
            c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))
            a, b = width / 2.0 * np.sin(angle), height / 2.0 * np.cos(angle)
            lefts.append(float((sideways + a * c + b * s).max()))
            tops.append(float((up - a * s + b * c).max()))
        lines = [
            f"[[stations]]\nat = {100 * index}\nwidth = {width}\nheight = {height}\nturn_deg = {turn}\n"
            f"gap_back = {max(tops) - top}\ngap_side = {max(lefts) - left}\n"
            for index, ((width, height, *_), left, top) in enumerate(zip(sections, lefts, tops, strict=True))
        ]
        spec = parse_piece('title = "x"\n' + "".join(lines), source="x")
        wanted = [(s[2] - sections[0][2], s[3] - sections[0][3]) for s in sections]
        assert np.allclose(middles(spec.stations), wanted, atol=1e-5)


@pytest.mark.parametrize(
    ("old", "new", "path", "code", "likely"),
    [
        ("width = 31.0", "width = 0.031", "stations[1].width", "reading.below-range", "31"),
        ("width = 31.0", "width = 1.2", "stations[1].width", "reading.below-range", '"1.2 in"'),
        ("width = 31.0", "widht = 31.0", "stations[1].widht", "reading.unknown-key", "width"),
        ("width = 31.0", "width = nan", "stations[1].width", "reading.not-finite", ""),
        ("width = 31.0", "width = 1e300", "stations[1].width", "reading.not-finite", ""),
        ("width = 31.0", "", "stations[1].width", "reading.missing", ""),
        ("wall = 5.0", "wall = 0.005", "stations[1].wall", "reading.below-range", "5"),
        ("wall = 5.0", "wall = 15.0", "stations[1].wall", "stations.walls-meet", ""),
        ("wall = 5.0", "wall = { left = 3, rigth = 3 }", "stations[1].wall.right", "reading.missing", ""),
        (
            "wall = 5.0",
            "wall = { left = 0.3, right = 20, back = 0.3, belly = 20 }",
            "stations[1].wall",
            "stations.core-outside",
            "",
        ),
        ("sideways = 0.5", "sideways = 7.5", "stations[3].core", "stations.core-outside", ""),
        ("core = {", "wall = 4.0\ncore = {", "stations[3].core", "reading.given-together", ""),
        ("at = 118.0", "at = 60.0", "stations[3].at", "stations.same-place", ""),
        ("at = 118.0", "at = 60.4", "stations[3].at", "stations.too-close", ""),
        ("at = 118.0", "at = 30.0", "stations[3].at", "stations.out-of-order", ""),
        ("at = 118.0", "at = 2500", "stations[3].at", "reading.above-range", ""),
        ("at = 0.0", "at = 4.0", "stations[1].at", "stations.first-is-not-the-cut", ""),
        ("up = 1.5", "up = 70.0", "stations[2].up", "stations.too-steep", ""),
        ("up = 1.5", "gap_back = 1.5", "stations[1].gap_back", "stations.gap-missing", ""),
        ("up = 1.5", "up = 1.5\ngap_back = 1.5", "stations[2].gap_back", "reading.given-together", ""),
        ("turn_deg = 4.0", "turn_deg = 80.0", "stations[3].turn_deg", "stations.too-twisted", ""),
        ("[permit]", '[ends]\nlast = "clsoed"\n[permit]', "ends.last", "reading.not-one-of", "closed"),
        ("[permit]", "[ends]\nlast_tip = 130.0\n[permit]", "ends.last_tip", "ends.tip-of-cut", ""),
        ("[permit]", '[ends]\nlast = "closed"\nlast_tip = 118.0\n[permit]', "ends.last_tip", "ends.tip-not-beyond", ""),
        ("[permit]", '[ends]\nfirst = "closed"\n[permit]', "stations[1].at", "stations.first-is-the-tip", ""),
        ("[permit]", '[scan]\nfile = "a.ply"\nunits = "mm"\n[permit]', "scan", "reading.given-together", ""),
        ('["underside"]', '["top"]', "permit.core_in[1]", "reading.not-one-of", ""),
        ('["underside"]', '"underside"', "permit.core_in", "reading.not-a-list", '["underside"]'),
        ("[permit]", "[permit]\ngrain_deg = 120", "permit.grain_deg", "reading.above-range", ""),
        ("[permit]", "[permit]\nkerf = 0", "permit.kerf", "reading.below-range", ""),
    ],
)
def test_slip_in_a_piece_by_calipers_is_named(old: str, new: str, path: str, code: str, likely: str) -> None:
    assert the_only(faults_of(changed(BONE, old, new)), path) == (code, likely)


@pytest.mark.parametrize(
    ("old", "new", "path", "code", "likely"),
    [
        ('"beam.ply"', '"beam.jpg"', "scan.file", "scan.not-a-mesh", ""),
        ('units = "cm"', "", "scan.units", "reading.missing-choice", ""),
        ('units = "cm"', 'units = "km"', "scan.units", "reading.not-one-of", ""),
        ("wall = 4.0", 'wall = 4.0\ncore = "core.ply"', "scan.wall", "reading.given-together", ""),
        ("wall = 4.0", 'core = "beam.ply"', "scan.core", "scan.core-is-skin", ""),
        ("back = [0, 0, 1]", "back = [1, 0, 0.1]", "scan.back", "scan.back-runs-along", ""),
        ("back = [0, 0, 1]", "back = [0, 0, 0]", "scan.back", "scan.no-direction", ""),
        ("back = [0, 0, 1]", "back = [0, 1]", "scan.back", "reading.wrong-count", "[1, 0, 0]"),
        ("back = [0, 0, 1]", "back = [0, nan, 1]", "scan.back[2]", "reading.not-finite", ""),
        ("at = 40.0, ", "", "scan.check.at", "scan.check-without-place", ""),
        ("check = { at = 40.0, width = 30.2 }", "check = { at = 40.0 }", "scan.check", "scan.check-says-nothing", ""),
        ("wall = 4.0", "wall = 4.0\n[ends]\nlast_tip = 80.0\n[scan2]", "ends.last_tip", "ends.tip-of-scan", ""),
    ],
)
def test_slip_in_a_scan_is_named(old: str, new: str, path: str, code: str, likely: str) -> None:
    assert the_only(faults_of(changed(SCAN, old, new)), path) == (code, likely)


def test_neither_stations_nor_scan() -> None:
    assert ("stations", "stations.no-source") in named(faults_of('title = "x"'))


def test_one_station_is_no_piece() -> None:
    text = BONE[: BONE.index("[[stations]]\nat = 60.0")]
    assert named(faults_of(text)) == [("stations", "stations.only-one")]


def test_stations_listed_from_the_last_end() -> None:
    head, *stations = BONE.split("[[stations]]")
    text = head + "[[stations]]" + "[[stations]]".join(reversed([station.split("[permit]")[0] for station in stations]))
    assert ("stations", "stations.last-first") in named(faults_of(text))


def test_order_is_told_though_a_station_has_another_fault() -> None:
    text = 'title = "x"\n' + "".join(
        f"[[stations]]\nat = {at}\nwidth = {width}\nheight = 30\n" for at, width in ((0, 30), (40, 999), (20, 30))
    )
    faults = faults_of(text)
    assert [path for path, _ in named(faults)] == ["stations[2].width", "stations[3].at"]


def test_metres_throughout() -> None:
    text = 'title = "x"\n' + "".join(
        f"[[stations]]\nat = {at}\nwidth = {width}\nheight = {width}\n" for at, width in ((0, 0.03), (0.1, 0.028))
    )
    faults = faults_of(text)
    assert len(faults) == 5
    assert all("metres? write " in sentence(fault) for fault in faults)
    only_at = text.replace("0.03\n", "30\n").replace("0.028\n", "28\n")
    (fault,) = faults_of(only_at)
    assert placed(fault) == "stations[2].at: 0.1 mm from the one above; allowed is 1 mm at least; metres? write 100"


def test_what_is_as_near_as_allowed_passes() -> None:
    """61.3 - 60.3 and 62.3 - 61.3 are a little under 1 in binary numbers."""
    text = changed(BONE, "at = 118.0", "at = 61.3").replace("at = 60.0", "at = 60.3").replace("up = 1.5", "up = 0.5")
    spec = parse_piece(f'{text}\n[ends]\nlast = "closed"\nlast_tip = 62.3\n', source="x")
    assert [station.at for station in spec.stations] == [0.0, 60.3, 61.3]


def test_all_faults_at_once() -> None:
    text = BONE
    for old, new in [
        ("turn_deg = 4.0", "turn_deg = 80.0"),
        ("wall = 5.0", "wall = 15.0"),
        ("at = 118.0", "at = 60.0"),
        ('"underside"', '"top"'),
        ("[permit]", '[ends]\nfirst = "sawn"\n[permit]\nkerf = -1'),
    ]:
        text = changed(text, old, new)
    paths = {path for path, _ in named(faults_of(text))}
    assert paths >= {"stations[3].turn_deg", "stations[1].wall", "stations[3].at", "permit.core_in[1]", "ends.first"}
    assert "permit.kerf" in paths


def test_an_instrument_file_is_told_from_a_piece() -> None:
    from nutgen.spec.presets import kind_path

    assert named(faults_of(kind_path("bass-4").read_text())) == [("", "file.is-an-instrument")]


class TestFiles:
    def fault(self, path: Path) -> Finding:
        (finding,) = refused(lambda path, source: read_piece(path), path)
        return finding

    def test_folder(self, tmp_path: Path) -> None:
        assert self.fault(tmp_path).value("what") == "piece file"

    def test_noise(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_bytes(bytes(range(256)) * 8)
        assert named([self.fault(tmp_path / "a.toml")]) == [("", "file.not-text")]

    def test_nested_without_end(self, tmp_path: Path) -> None:
        (tmp_path / "a.toml").write_text("a = " + "[" * 20_000)
        assert self.fault(tmp_path / "a.toml").code in ("file.nested-too-deeply", "file.not-toml")


class TestSchema:
    def test_is_a_schema(self) -> None:
        Draft202012Validator.check_schema(SCHEMA)

    @pytest.mark.parametrize("name", piece_names())
    def test_every_demo_piece_is_valid_by_the_schema_and_by_the_door(self, name: str) -> None:
        Draft202012Validator(SCHEMA).validate(tomllib.loads(find_piece(name).read_text("utf-8")))
        read_piece(find_piece(name))

    @pytest.mark.parametrize(
        ("old", "new"),
        [
            ("width = 31.0", "widht = 31.0"),
            ("wall = 5.0", "wall = { left = 5.0 }"),
            ("turn_deg = 4.0", "turn_deg = 400.0"),
            ('["underside"]', '["top"]'),
            ("[permit]", '[scan]\nfile = "a.ply"\nunits = "mm"\n[permit]'),
            (BONE[BONE.index("[[stations]]\nat = 60") : BONE.index("[permit]")], ""),
        ],
    )
    def test_schema_and_door_refuse_the_same_slips(self, old: str, new: str) -> None:
        text = changed(BONE, old, new)
        assert Draft202012Validator(SCHEMA).is_valid(tomllib.loads(BONE))
        assert not Draft202012Validator(SCHEMA).is_valid(tomllib.loads(text))
        assert faults_of(text)


class TestWords:
    def words(self, text: str, *, first: float, last: float) -> str:
        return sentence(first_end(parse_piece(text, source="x"), first=first, last=last))

    def test_what_the_maker_wrote_comes_first(self) -> None:
        text = BONE.replace('bone"', 'bone"\nfirst_end = "the knuckle"\nback_line = "along the crest"')
        assert self.words(text, first=1.0, last=2.0) == "the knuckle"
        assert sentence(back_line(parse_piece(text, source="x"))) == "along the crest"

    def test_else_what_can_be_seen(self) -> None:
        assert self.words(BONE, first=2.0, last=1.0) == "the thicker end"
        assert self.words(BONE, first=1.0, last=2.0) == "the thinner end"
        assert "pencil a 1" in self.words(BONE, first=1.0, last=1.0)
        closed = BONE.replace("[permit]", '[ends]\nlast = "closed"\n[permit]')
        assert self.words(closed, first=1.0, last=2.0) == "the end that is sawn off"
