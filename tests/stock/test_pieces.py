"""The demo pieces: their scans come out of the script, their readings fit the scans, and the commands hand them out."""

import json
import runpy
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from nutgen.documents.words import sentence
from nutgen.spec.piece import PieceSpec
from nutgen.spec.presets import PIECES, find_piece, kind_names, meshes_of, piece_names, pieces, start_path
from nutgen.spec.read import read_piece
from nutgen.stock.calipers import piece_from_calipers
from tests.calling import run
from tests.spec.refused import refused

SCRIPT: dict[str, Any] = runpy.run_path(str(Path(__file__).with_name("make_scans.py")))
SHAPES = {shape.name: shape for shape in (SCRIPT["BONE"], SCRIPT["ANTLER"])}


def mesh_of(path: Path) -> trimesh.Trimesh:
    mesh = trimesh.load(path, process=False)
    assert isinstance(mesh, trimesh.Trimesh)
    return mesh


class TestScans:
    @pytest.mark.parametrize("name", SHAPES)
    def test_the_script_makes_what_is_kept(self, name: str, tmp_path: Path) -> None:
        """Corners to the last 0.001 mm that the file keeps, give or take one for another machine's sine."""
        for file, content in SCRIPT["scans"](SHAPES[name]).items():
            (tmp_path / file).write_bytes(content)
            made, kept = mesh_of(tmp_path / file), mesh_of(PIECES / file)
            assert np.array_equal(made.faces, kept.faces)
            assert np.abs(made.vertices - kept.vertices).max() < 0.0015

    @pytest.mark.parametrize(
        ("file", "faces"), [("shin-bone", 100_000), ("antler-beam", 100_000), ("shin-bone-core", 20_000)]
    )
    def test_is_closed_and_as_large_as_a_scan(self, file: str, faces: int) -> None:
        mesh = mesh_of(PIECES / f"{file}.ply")
        assert mesh.is_volume
        assert len(mesh.faces) == pytest.approx(faces, rel=0.05)
        assert b"comment" not in (PIECES / f"{file}.ply").read_bytes()[:400]

    def test_all_of_them_together_stay_small(self) -> None:
        assert sum(path.stat().st_size for path in PIECES.iterdir() if path.is_file()) < 5_000_000


def in_frame(name: str, file: str, spec: PieceSpec) -> np.ndarray:
    """The scan's corners in the piece's frame, by what its file says of the directions alone."""
    assert spec.scan is not None
    along, back = np.array(spec.scan.along), np.array(spec.scan.back)
    axes = np.stack([along, np.cross(back, along), back])
    points = mesh_of(PIECES / f"{file}.ply").vertices @ axes.T
    skin = mesh_of(PIECES / f"{name}.ply").vertices @ axes.T
    first = skin[skin[:, 0] < skin[:, 0].min() + 0.02]
    return points - [first[:, 0].min(), *(first[:, 1:].max(axis=0) + first[:, 1:].min(axis=0)) / 2.0]


@pytest.mark.parametrize("name", SHAPES)
class TestReadings:
    def test_stand_in_the_file_as_the_script_takes_them(self, name: str) -> None:
        spec, shape = read_piece(find_piece(name)), SHAPES[name]
        taken = SCRIPT["readings"](shape)
        assert [{key: getattr(station, key) for key in taken[0]} for station in spec.stations] == taken
        for station in (spec.stations[0], spec.stations[-1]):
            wall = station.wall
            assert wall is not None
            assert [wall.left, wall.right, wall.back, wall.belly] == SCRIPT["end_walls"](shape, station.at)

    def test_skin_by_calipers_is_the_skin_of_the_scan(self, name: str) -> None:
        """Lumps of 0.13 mm at most, readings rounded to 0.1 mm: nowhere more than 0.25 apart."""
        piece = piece_from_calipers(read_piece(find_piece(name)))
        scanned = in_frame(name, name, read_piece(find_piece(f"{name}-scan")))
        assert np.ptp(scanned[:, 0]) == pytest.approx(piece.length, abs=0.02)
        inner = scanned[(scanned[:, 0] > 1.0) & (scanned[:, 0] < piece.length - 1.0)]
        apart = beyond(inner, piece.skin.vertices, piece.skin.triangles)
        assert np.abs(apart).max() < 0.25
        assert np.sqrt(np.mean(apart**2)) < 0.08

    def test_core_by_calipers_is_the_core_of_the_scan(self, name: str) -> None:
        """The walls were seen at the two cuts alone, so the core between is known less well than the skin."""
        piece = piece_from_calipers(read_piece(find_piece(name)))
        assert piece.core is not None
        spec = read_piece(find_piece(f"{name}-scan"))
        assert spec.scan is not None
        if spec.scan.core is None:
            skin = cKDTree(piece.skin.vertices)
            inner = piece.core.vertices[::37]
            inner = inner[(inner[:, 0] > 10.0) & (inner[:, 0] < piece.length - 10.0)]
            assert np.abs(skin.query(inner)[0] - spec.scan.wall).max() < 0.3
        else:
            inner = in_frame(name, Path(spec.scan.core).stem, spec)
            inner = inner[(inner[:, 0] > 1.0) & (inner[:, 0] < piece.length - 1.0)]
            assert np.abs(beyond(inner, piece.core.vertices, piece.core.triangles)).max() < 0.35


def beyond(points: np.ndarray, vertices: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    """How far points lie outside a dense smooth surface: from its nearest corner, along the normal there."""
    mesh = trimesh.Trimesh(vertices, triangles, process=False)
    nearest = cKDTree(vertices).query(points)[1]
    return np.einsum("ij,ij->i", points - vertices[nearest], mesh.vertex_normals[nearest])


class TestFinding:
    def test_by_name_and_by_path(self, tmp_path: Path) -> None:
        assert find_piece("shin-bone") == find_piece("shin-bone")
        (tmp_path / "mine.toml").write_text("")
        assert find_piece(str(tmp_path / "mine.toml")) == tmp_path / "mine.toml"
        assert find_piece("not-there.toml") == Path("not-there.toml")

    def test_nearest_name(self) -> None:
        for find, name, meant in ((find_piece, "antler-bean", "antler-beam"), (start_path, "mandoline", "mandolin")):
            (fault,) = refused(lambda name, source, find=find: find(name), name)
            assert (fault.code, fault.value("likely")) == ("file.not-among-presets", meant)

    @pytest.mark.parametrize("mesh", ["bone.stl", "in/a/folder/BONE.PLY", "bone.3mf"])
    def test_a_mesh_is_answered_with_the_lines_to_write(self, mesh: str, tmp_path: Path) -> None:
        (fault,) = refused(lambda name, source: find_piece(name), mesh)
        lines = [line[4:] for line in sentence(fault).splitlines() if line.startswith("    ")]
        (tmp_path / "piece.toml").write_text("\n".join(lines))
        spec = read_piece(tmp_path / "piece.toml")
        assert spec.scan is not None
        assert spec.scan.file == Path(mesh).name

    def test_no_piece_is_called_like_a_kind(self) -> None:
        assert not set(piece_names()) & set(kind_names())

    def test_list(self) -> None:
        found = {piece.name: piece for piece in pieces()}
        assert found["shin-bone"].length == found["shin-bone-scan"].length == "132 mm"
        assert found["antler-beam"].found_by == "calipers"
        assert found["antler-beam-scan"].found_by == "scan"

    def test_meshes_that_go_with_a_piece(self) -> None:
        assert meshes_of(find_piece("shin-bone")) == ()
        assert meshes_of(find_piece("shin-bone-scan")) == ("shin-bone.ply", "shin-bone-core.ply")


class TestCommands:
    def test_presets_lists_the_pieces(self, tmp_path: Path) -> None:
        done = run("presets", cwd=tmp_path)
        assert done.returncode == 0
        assert max(map(len, done.stdout.splitlines())) <= 80
        assert {line.split(" ")[0] for line in done.stdout.splitlines()} >= {*piece_names(), *kind_names()}
        listed = json.loads(run("presets", "--json", cwd=tmp_path).stdout)
        assert [piece["name"] for piece in listed["pieces"]] == piece_names()
        assert [kind["name"] for kind in listed["kinds"]] == kind_names()

    @pytest.mark.parametrize("name", piece_names())
    def test_new_writes_a_piece_with_all_it_needs(self, name: str, tmp_path: Path) -> None:
        done = run("new", "mine.toml", "--from", name, cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        assert "nutgen stock FILE --piece mine.toml" in done.stderr
        spec = read_piece(tmp_path / "mine.toml")
        assert {path.name for path in tmp_path.iterdir()} == {"mine.toml", *meshes_of(find_piece(name))}
        if spec.scan is not None:
            assert spec.beside(spec.scan.file).read_bytes() == (PIECES / spec.scan.file).read_bytes()

    def test_new_leaves_another_mesh_as_it_is(self, tmp_path: Path) -> None:
        (tmp_path / "antler-beam.ply").write_text("precious")
        done = run("new", "mine.toml", "--from", "antler-beam-scan", cwd=tmp_path)
        assert done.returncode == 2
        assert "is another mesh and is left as it is" in done.stderr
        assert [path.name for path in tmp_path.iterdir()] == ["antler-beam.ply"]
        assert (tmp_path / "antler-beam.ply").read_text() == "precious"

    def test_new_does_not_write_a_mesh_over_the_file(self, tmp_path: Path) -> None:
        done = run("new", "shin-bone.ply", "--from", "shin-bone-scan", cwd=tmp_path)
        assert done.returncode == 2
        assert "choose one that ends in .toml" in done.stderr
        assert list(tmp_path.iterdir()) == []

    def test_new_does_not_ask_about_a_piece(self, tmp_path: Path) -> None:
        done = run("new", "mine.toml", "--from", "shin-bone", "--ask", cwd=tmp_path)
        assert done.returncode == 2
        assert "shin-bone is a piece" in " ".join(done.stderr.replace("│", " ").split())

    def test_schema_of_a_piece(self, tmp_path: Path) -> None:
        schema = json.loads(run("schema", "--piece", cwd=tmp_path).stdout)
        assert schema["title"] == "nutgen piece file"
        assert {"stations", "scan", "permit", "ends"} <= set(schema["properties"])
        assert json.loads(run("schema", cwd=tmp_path).stdout)["title"] == "nutgen instrument file"
