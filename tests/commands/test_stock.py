"""`stock` as whole processes: the answer, the files of a yes, what a no leaves behind, what is refused."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import trimesh
from scipy.spatial import cKDTree

from nutgen.spec.presets import PIECES, start_path
from tests import calling
from tests.calling import Done, in_a_process
from tests.conftest import Made

YES = {"blank.stl", "core.stl", "piece.stl", "stock.html", "stock.json", "stock.pdf", "stock.svg"}
NO = {"stock.html", "stock.json"}

ROD = """title = "Offcut"
material = "bone"
no_core = true
[[stations]]
at = 0.0
width = {width}
height = {width}
[[stations]]
at = 90.0
width = {width}
height = {width}
"""


def run(*words: str, cwd: Path, columns: int = 80) -> Done:
    environment = {"PATH": "", "PYTHONPATH": str(Path(__file__).parents[2])}  # a scan is read by a process of its own
    return calling.run("stock", *words, cwd=cwd, columns=columns, env=environment)


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def record(folder: Path) -> dict:
    return json.loads((folder / "stock.json").read_text())


def rod(folder: Path, width: float, more: str = "") -> Path:
    """A round rod without a core, by calipers."""
    path = folder / "rod.toml"
    path.write_text(ROD.format(width=width) + more)
    return path


def winding(points: np.ndarray, mesh: trimesh.Trimesh) -> np.ndarray:
    """How often a closed surface goes round each point: 1 inside, 0 outside.

    A. Van Oosterom, J. Strackee, The solid angle of a plane triangle, IEEE Trans. Biomed. Eng. 30, 125 (1983).
    """
    angles = []
    for point in points:
        a, b, c = (np.asarray(mesh.triangles) - point).transpose(1, 0, 2)
        x, y, z = (np.linalg.norm(side, axis=1) for side in (a, b, c))
        dot = np.einsum
        over = dot("ij,ij->i", a, np.cross(b, c))
        under = x * y * z + dot("ij,ij->i", a, b) * z + dot("ij,ij->i", a, c) * y + dot("ij,ij->i", b, c) * x
        angles.append(2.0 * np.arctan2(over, under).sum() / (4.0 * np.pi))
    return np.array(angles)


@pytest.fixture(scope="module")
def bone(made: Callable[..., Made]) -> tuple[Path, str]:
    """The demo bass nut in the demo shin bone, by calipers."""
    one = made("stock", "bass-4-fifths", "--piece", "shin-bone")
    return one.folder, one.said


class TestYes:
    def test_the_answer_comes_first_and_everything_fits_the_screen(self, bone: tuple[Path, str]) -> None:
        folder, said = bone
        margin = record(folder)["margin"]
        assert said.splitlines()[0] == f"Yes: one nut, {np.floor(100.0 * margin) / 100.0:.2f} mm to spare"
        assert max(map(len, said.splitlines())) <= 80
        flat = " ".join(said.split())
        parts = (
            "Where it lies", "dust harms lungs", "local rules first",
            "Mark, then saw in the order of the numbers", "Marks on the four lines along the piece",
            "Rip lines around both ends", "Print stock.pdf at 100 %",
        )  # fmt: skip
        places = [flat.index(words) for words in parts]
        assert places == sorted(places)
        assert len(said.splitlines()) <= 64

    def test_what_the_screen_leaves_out_stands_on_the_paper(self, bone: tuple[Path, str]) -> None:
        folder, _ = bone
        pages = pypdfium2.PdfDocument(folder / "stock.pdf")
        text = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in pages)
        for head in ("Mark and saw, in this order", "Left to sand", "Take care", "Glue the strips around the piece"):
            assert head in text
        for step in record(folder)["cuts"]["steps"]:
            assert step["head"]["sentence"] in text

    def test_a_wall_that_was_measured_at_the_ends_only_is_told(self, bone: tuple[Path, str]) -> None:
        folder, said = bone
        (note,) = record(folder)["notes"]
        assert (note["code"], note["values"]["at"]) == ("piece.walls-assumed", [0.0, 132.0])
        assert note["sentence"][1:] in " ".join(said.split())

    def test_what_is_sawn_is_told_by_the_plan(self, bone: tuple[Path, str]) -> None:
        found = record(bone[0])
        assert found["laid"][0]["saw_area"] == pytest.approx(found["cuts"]["saw_area"], abs=0.01)
        assert f"{found['cuts']['saw_area'] / 100.0:.0f} cm\N{SUPERSCRIPT TWO} of sawing" in bone[1]

    @pytest.mark.slow
    def test_a_narrow_screen_is_kept_too(self, tmp_path: Path) -> None:
        done = run("bass-4-fifths", "--piece", "shin-bone", "--count", "2", cwd=tmp_path, columns=50)
        assert done.returncode == 0, done.stderr
        assert max(map(len, done.stdout.splitlines())) <= 50
        assert done.stdout.startswith("Yes: 2 nuts, ")
        folder = tmp_path / "output" / "bass-4-fifths-in-shin-bone"
        assert [one["number"] for one in record(folder)["laid"]] == [1, 2]
        assert trimesh.load(folder / "blank.stl").body_count == 2

    def test_every_file_is_there_and_was_read_back(self, bone: tuple[Path, str]) -> None:
        folder, _ = bone
        assert names(folder) == YES
        proof = record(folder)["proof"]
        assert set(proof) == YES - {"stock.json"}
        assert proof["blank.stl"]["found"]["bodies"] == 1

    def test_the_block_lies_in_the_bone_and_clear_of_the_core(self, bone: tuple[Path, str]) -> None:
        """Read back from the disk: the sawn block's corners are inside the skin, the nut's own outside the core."""
        folder, _ = bone
        skin, core, blank = (trimesh.load(folder / name) for name in ("piece.stl", "core.stl", "blank.stl"))
        one = record(folder)["laid"][0]
        assert winding(np.asarray(blank.vertices), skin) == pytest.approx(1.0, abs=1e-3)
        away, _ = cKDTree(skin.vertices).query(blank.vertices)
        assert away.min() >= one["margin"] - 0.01  # a vertex is no nearer than the surface
        finished = trimesh.creation.box(record(folder)["block"]["finished"], transform=np.array(one["to_source"]))
        assert winding(np.asarray(finished.vertices), core) == pytest.approx(0.0, abs=1e-3)
        assert blank.volume == pytest.approx(np.prod(one["size"]), rel=1e-5)

    def test_json_is_the_record_and_nothing_else(self, bone: tuple[Path, str], tmp_path: Path) -> None:
        """Another process, another folder: the same bytes in every file, the same values on the screen."""
        folder, _ = bone
        done = in_a_process(
            "stock", "bass-4-fifths", "--piece", "shin-bone", "--json", "-o", "there", cwd=tmp_path, PYTHONHASHSEED="7"
        )
        said = json.loads(done.stdout)
        assert said.pop("folder") == str(Path("there") / folder.name)
        assert said == record(folder)
        for name in YES:
            assert (tmp_path / "there" / folder.name / name).read_bytes() == (folder / name).read_bytes(), name

    def test_the_record_has_the_stable_keys(self, bone: tuple[Path, str]) -> None:
        found = record(bone[0])
        assert found["units"] == "mm"
        assert set(found) >= {
            "title", "hash", "instrument", "piece_file", "fits", "margin", "skin_margin", "core_margin", "short",
            "largest", "permitted", "block", "laid", "cuts", "notes", "profile", "files",
        }  # fmt: skip
        assert set(found["laid"][0]) >= {
            "centre", "length_axis", "thickness_axis", "height_axis", "to_source", "size", "margin", "grain_deg",
            "waste", "saw_area",
        }  # fmt: skip
        assert set(found["block"]["to_sand"]) == {"end", "front", "back", "underside", "top"}


@pytest.mark.slow
def test_a_scan_is_laid_in_the_frame_of_its_file(made: Callable[..., Made]) -> None:
    folder = made("stock", "bass-4-fifths", "--piece", "shin-bone-scan").folder
    scan, piece = trimesh.load(PIECES / "shin-bone.ply"), trimesh.load(folder / "piece.stl")
    assert piece.bounds == pytest.approx(scan.bounds, abs=1e-3)
    away, _ = cKDTree(piece.vertices).query(scan.vertices)
    assert away.max() < 1e-3
    blank = trimesh.load(folder / "blank.stl")
    assert winding(np.asarray(blank.vertices), scan) == pytest.approx(1.0, abs=1e-3)
    assert blank.vertices.mean(axis=0) == pytest.approx(record(folder)["laid"][0]["centre"], abs=1e-3)


class TestNo:
    def test_it_says_what_is_short_and_what_would_fit(self, tmp_path: Path) -> None:
        piece = rod(tmp_path, 10.4)
        done = run("bass-4-fifths", "--piece", str(piece), cwd=tmp_path, columns=50)
        assert done.returncode == 1
        folder = tmp_path / "output" / "bass-4-fifths-in-rod"
        assert names(folder) == NO
        found = record(folder)
        assert not found["fits"]
        assert found["cuts"] is None
        lines = done.stdout.splitlines()
        assert lines[0] == f"No: short by {np.ceil(-100.0 * found['margin']) / 100.0:.2f} mm"
        assert max(map(len, lines)) <= 50
        for told in (*found["short"], *(one["how"] for one in found["largest"])):
            assert told["sentence"][1:] in " ".join(done.stdout.split())  # there it begins with a capital
        assert found["largest"]
        assert done.stderr == ""

    @pytest.mark.slow
    def test_no_plan_of_an_earlier_yes_stays_beside_it(self, tmp_path: Path) -> None:
        piece = rod(tmp_path, 24.0)
        folder = tmp_path / "output" / "bass-4-fifths-in-rod"
        assert run("bass-4-fifths", "--piece", str(piece), cwd=tmp_path).returncode == 0
        assert names(folder) == YES - {"core.stl"}
        (folder / "notes.txt").write_text("mine")
        rod(tmp_path, 10.4)
        done = run("bass-4-fifths", "--piece", str(piece), cwd=tmp_path)
        assert done.returncode == 1
        assert names(folder) == NO | {"notes.txt"}
        assert "Taken away" in done.stdout
        assert "blank.stl" in done.stdout

    @pytest.mark.slow
    def test_what_it_says_could_be_permitted_does_help(self, tmp_path: Path) -> None:
        """Each offer of a no, taken up on the command line, is a yes with the spare room that was told."""
        told = json.loads(run("bass-4-fifths", "--piece", "antler-beam", "--json", cwd=tmp_path).stdout)
        assert not told["fits"]
        offers = [one["how"]["values"] for one in told["largest"] if one["name"] == "permitting more"]
        assert offers
        for offer in offers:
            what = offer["what"]
            piece, option = "antler-beam", ()
            if what["code"] == "permit.wane":
                option = ("--wane", str(what["values"]["most"]))
            elif what["code"] == "permit.sawn-face":
                piece = "less.toml"
                (tmp_path / piece).write_text(
                    start_path("antler-beam").read_text().replace("[permit]", "[permit]\nsawn_face = 0.5")
                )
            else:
                option = ("--core", ",".join(what["values"]["parts"]))
            done = run("bass-4-fifths", "--piece", piece, *option, "--json", cwd=tmp_path)
            assert done.returncode == 0, offer
            assert json.loads(done.stdout)["margin"] == pytest.approx(offer["margin"], abs=0.04)

    def test_a_piece_shorter_than_the_nut(self, tmp_path: Path) -> None:
        piece = tmp_path / "stub.toml"
        piece.write_text(ROD.format(width=30.0).replace("90.0", "25.0"))
        done = run("bass-4-fifths", "--piece", str(piece), cwd=tmp_path)
        assert done.returncode == 1
        assert done.stdout == ""
        assert "the piece is 25.0 mm long, the nut 41.5 mm" in done.stderr
        assert "take a longer piece" in done.stderr
        assert not (tmp_path / "output").exists()


@pytest.mark.slow
def test_a_scan_far_from_its_origin(tmp_path: Path) -> None:
    """40 m away its STL files are as exact as single precision is there; 4 km away they would be worthless."""
    words = (PIECES / "shin-bone-scan.toml").read_text()
    ball = trimesh.creation.icosphere(subdivisions=4, radius=40.0)
    text = "no_core = true\n" + words.partition("core = ")[0].replace("shin-bone.ply", "mine.ply")
    text += "along = [1.0, 0.0, 0.0]\nback = [0.0, 0.0, 1.0]\n"
    (tmp_path / "mine.toml").write_text(text)
    for away, code in ((4e4, 0), (4e6, 1)):
        moved = ball.copy()
        moved.vertices = moved.vertices + np.array([away, 0.0, 0.0])
        rows = [*moved.vertices.tolist(), *([3, *row] for row in moved.faces.tolist())]
        head = (
            f"ply\nformat ascii 1.0\nelement vertex {len(moved.vertices)}\nproperty double x\nproperty double y\n"
            f"property double z\nelement face {len(moved.faces)}\nproperty list uchar int vertex_indices\nend_header\n"
        )
        (tmp_path / "mine.ply").write_text(head + "".join(" ".join(map(str, row)) + "\n" for row in rows))
        done = run("bass-4-fifths", "--piece", "mine.toml", "-o", f"out{code}", cwd=tmp_path)
        assert done.returncode == code, done.stderr
        folder = tmp_path / f"out{code}" / "bass-4-fifths-in-mine"
        if code == 0:
            blank = trimesh.load(folder / "blank.stl")
            one = record(folder)["laid"][0]
            assert blank.centroid == pytest.approx(one["centre"], abs=0.01)
        else:
            assert "move the mesh to its origin" in done.stderr
            assert not folder.exists()


class TestRefused:
    def test_options_go_through_the_same_door_all_faults_at_once(self, tmp_path: Path) -> None:
        words = ("--kerf", "9", "--grain", "100", "--core", "middle", "--wane", "x")
        done = run("bass-4-fifths", "--piece", "shin-bone", *words, cwd=tmp_path)
        assert done.returncode == 2
        assert len(done.stderr.splitlines()) == 4
        for key in ("permit.kerf", "permit.grain_deg", "permit.core_in", "permit.wane"):
            assert f"command line: {key}" in done.stderr
        assert list(tmp_path.iterdir()) == []

    def test_options_overrule_the_file(self, tmp_path: Path) -> None:
        words = ("--kerf", "1.5", "--grain", "4", "--core", "underside,back", "--json")
        done = run("bass-4-fifths", "--piece", "shin-bone", *words, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        permitted = json.loads(done.stdout)["permitted"]
        assert permitted["kerf"] == 1.5
        assert permitted["grain_deg"] == 4.0
        assert permitted["core_in"] == ["underside", "back"]

    @pytest.mark.parametrize(
        ("given", "words"),
        [
            ("shinbone", "did you mean shin-bone?"),
            ("gone.toml", "no such file"),
            ("scan.stl", "is a mesh"),
            ("one.toml", "one station alone"),
            ("both.toml", "stations[2].at"),
            ("folder.toml", "is a folder"),
        ],
    )
    def test_a_piece_that_cannot_be_used(self, tmp_path: Path, given: str, words: str) -> None:
        (tmp_path / "one.toml").write_text(ROD.format(width=20.0).rpartition("[[stations]]")[0])
        (tmp_path / "both.toml").write_text(ROD.format(width=20.0).replace("90.0", "-3.0").replace("20.0", "0.0", 1))
        (tmp_path / "folder.toml").mkdir()
        done = run("bass-4-fifths", "--piece", given, cwd=tmp_path)
        assert done.returncode == 2
        assert words in done.stderr
        assert done.stdout == ""
        assert not (tmp_path / "output").exists()

    def test_every_fault_of_a_piece_comes_out_at_once(self, tmp_path: Path) -> None:
        (tmp_path / "both.toml").write_text(ROD.format(width=20.0).replace("90.0", "-3.0").replace("20.0", "0.0", 1))
        done = run("bass-4-fifths", "--piece", "both.toml", cwd=tmp_path)
        assert len(done.stderr.splitlines()) >= 2

    def test_an_open_scan_writes_nothing(self, tmp_path: Path) -> None:
        shutil.copy(PIECES / "shin-bone-scan.toml", tmp_path / "mine.toml")
        mesh = trimesh.creation.cylinder(radius=20.0, height=132.0, sections=64)
        mesh.update_faces(np.abs(mesh.face_normals[:, 2]) < 0.5)
        mesh.export(tmp_path / "shin-bone.ply")
        mesh.export(tmp_path / "shin-bone-core.ply")
        done = run("bass-4-fifths", "--piece", "mine.toml", cwd=tmp_path)
        assert done.returncode == 2
        assert "shin-bone.ply" in done.stderr
        assert not (tmp_path / "output").exists()

    @pytest.mark.parametrize("words", [("--count", "0"), ("--count", "13"), ("--paper", "a5")])
    def test_usage(self, tmp_path: Path, words: tuple[str, ...]) -> None:
        done = run("bass-4-fifths", "--piece", "shin-bone", *words, cwd=tmp_path)
        assert done.returncode == 2
        assert list(tmp_path.iterdir()) == []
