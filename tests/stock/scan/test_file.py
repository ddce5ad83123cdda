"""Mesh files of every kind, and hostile ones: refused in words, in bounded time and memory, nothing written."""

import json
import os
import signal
import struct
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

from nutgen.errors import SpecFaults
from nutgen.finding import of_key, warning
from nutgen.stock.scan import file as scan_file
from nutgen.stock.scan.file import UNITS, read_mesh
from tests.cases import cases
from tests.stock.scans import (
    cone,
    cone_volume,
    glb_bytes,
    glb_tree,
    lying_bomb,
    piece_spec,
    ply_head,
    stl_bytes,
    write_3mf,
    write_package,
    zip_bomb,
)

MEMORY = 1_000_000_000  # bytes that no hostile file may take


def write(path: Path, mesh: trimesh.Trimesh, form: str) -> None:
    if form == "3mf":
        write_3mf(path, mesh)
    elif form == "text stl":
        path.write_text(trimesh.exchange.stl.export_stl_ascii(mesh))
    elif form == "text ply":
        path.write_bytes(mesh.export(file_type="ply", encoding="ascii"))
    else:
        mesh.export(path, file_type=form)


@pytest.mark.parametrize(
    ("form", "units"),
    cases(
        *[("stl", "in"), ("text stl", "mm"), ("obj", "m"), ("ply", "cm"), ("3mf", "in"), ("glb", "mm")],
        slow=[(form, "mm") for form in ("stl", "obj", "ply", "text ply", "3mf")],
    ),
)
def test_every_kind_is_read_to_the_same_volume(tmp_path: Path, form: str, units: str) -> None:
    path = tmp_path / f"bone.{form.split()[-1]}"
    mesh = cone()
    mesh.apply_scale(1.0 / UNITS[units])
    write(path, mesh, form)
    raw, notes = read_mesh(path, units)
    found = trimesh.Trimesh(raw.vertices, raw.triangles, process=True)
    assert found.is_watertight
    assert found.volume == pytest.approx(cone_volume(), rel=1e-5)
    differs = form == "3mf" and units == "in"
    assert notes == ((warning("scan.other-unit", file="bone.3mf", says="mm", stated="in"),) if differs else ())


def test_parts_of_a_scene_lie_where_their_nodes_put_them(tmp_path: Path) -> None:
    scene = trimesh.Scene()
    scene.add_geometry(cone(), transform=trimesh.transformations.translation_matrix([0, 0, 500]))
    path = tmp_path / "bone.glb"
    scene.export(path)
    assert read_mesh(path, "mm")[0].vertices[:, 2].min() == pytest.approx(500.0 - 16.0, abs=1e-3)


def entities() -> str:
    """Nine levels of ten: a thousand million letters."""
    levels = "".join(f'<!ENTITY {chr(98 + k)} "{f"&{chr(97 + k)};" * 10}">' for k in range(9))
    return f'<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa">{levels}]>'


def components() -> bytes:
    """Eleven levels of ten: 10^11 triangles out of one."""
    objects = "".join(
        f'<object id="{k}" type="model"><components>{f"<component objectid={chr(34)}{k - 1}{chr(34)}/>" * 10}'
        "</components></object>"
        for k in range(2, 13)
    )
    return (
        '<?xml version="1.0"?><model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">'
        '<resources><object id="1" type="model"><mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="9" y="0" z="0"/>'
        '<vertex x="0" y="9" z="0"/></vertices><triangles><triangle v1="0" v2="1" v3="2"/></triangles></mesh></object>'
        f'{objects}</resources><build><item objectid="12"/></build></model>'
    ).encode()


def hostile(folder: Path) -> dict[str, str]:
    """Write the files; what each refusal must say."""
    corners = cone(sides=12).triangles
    nan, infinite, rng = corners.copy(), corners.copy(), np.random.default_rng(6)
    nan[3, 1, 2], infinite[5, 0, 0] = np.nan, np.inf
    four = b"0 0 0\n90 0 0\n0 50 0\n0 0 50\n3 0 2 1\n3 0 1 3\n3 0 3 2\n3 1 2 "
    vec3 = {"componentType": 5126, "type": "VEC3", "bufferView": 0}
    index = {"componentType": 5125, "type": "SCALAR", "bufferView": 0}
    noise = rng.bytes(4000)
    cycle = glb_tree([{**vec3, "count": 4}, {**index, "count": 3}], byte_length=48)
    cycle["nodes"] = [{"children": [1]}, {"children": [0], "mesh": 0}]
    written = {
        "count.stl": (stl_bytes(corners, count=2**32 - 1), "says it has 4,294,967,295 triangles"),
        "short.stl": (stl_bytes(corners)[:-30], "cut short? save it again"),
        "nan.stl": (stl_bytes(nan), "not a number"),
        "infinite.stl": (stl_bytes(infinite), "not a number"),
        "letter.stl": (b"the bone that was scanned on Tuesday\n" * 9, "neither a binary nor a text STL"),
        "words.stl": (b"solid bone\n" * 9, "holds no facet"),
        "cut.stl": (b"solid bone\nfacet normal 0 0 1\nouter loop\nvertex 1 2", "holds no triangles"),
        "empty.ply": (b"", "is empty"),
        "count.ply": (ply_head(2**31, 2**31), "has 2,147,483,648 triangles; at most 3,000,000"),
        "short.ply": (ply_head(10**6, 10**6) + bytes(1000), "too short for them with"),
        "minus.ply": (ply_head(-5, 10) + bytes(1000), "too short"),
        "endless.ply": (b"ply\nformat ascii 1.0\n" + b"comment x\n" * 99_999, "end_header"),
        "beyond.ply": (ply_head(4, 4, form="ascii") + four + b"9\n", "names vertex 9 where there are 0 to 3"),
        "below.ply": (ply_head(4, 4, form="ascii") + four + b"-1\n", "names vertex -1"),
        "cloud.ply": (ply_head(3, 0), "a cloud of points is no surface"),
        "beyond.obj": (b"v 0 0 0\nv 90 0 0\nv 0 50 0\nf 1 2 7\n", "cannot be read as OBJ"),
        "letter.obj": (b"hello\n", "holds no triangles"),
        "bomb.3mf": (zip_bomb(400), "more than 150 MB; that is refused unread"),
        "liar.3mf": (lying_bomb(400), "not a sound 3MF"),
        "length.glb": (glb_bytes(glb_tree([]), length=2**31), "says it has 2,147,483,648 bytes"),
        "head.glb": (glb_bytes(glb_tree([]), head=2**31), "a head of 2,147,483,648"),
        "count.glb": (glb_bytes(glb_tree([{**vec3, "count": 2**40}])), "1099511627776 long; at most 9,000,000"),
        "refers.glb": (glb_bytes(glb_tree([], uri="../../secret.bin", byte_length=9)), "refers to another file"),
        "fetches.glb": (glb_bytes(glb_tree([], uri="http://localhost/x", byte_length=9)), "refers to another file"),
        "deep.glb": (b"glTF" + struct.pack("<III4s", 2, 90_020, 90_000, b"JSON") + b"[" * 90_000, "not JSON"),
        "cycle.glb": (glb_bytes(cycle, bytes(48)), "cannot be read as GLB"),
        **{f"noise.{kind}": (noise, "") for kind in ("stl", "obj", "ply", "3mf", "glb")},
    }
    for name, (data, _) in written.items():
        (folder / name).write_bytes(data)
    write_3mf(folder / "entities.3mf", cone(sides=3), before=entities())
    write_package(folder / "components.3mf", components())
    write_package(folder / "parts.3mf", b"", parts=2000)
    with (folder / "huge.stl").open("wb") as file:
        file.truncate(500_000_000)
    (folder / "folder.stl").mkdir()
    os.mkfifo(folder / "pipe.stl")
    (folder / "device.stl").symlink_to("/dev/zero")
    return {name: words for name, (_, words) in written.items()} | {
        "entities.3mf": "XML entities",
        "components.3mf": "put together of more than 16 parts",
        "parts.3mf": "holds 2,003 files",
        "huge.stl": "has 500 MB; at most 400 MB",
        "folder.stl": "is a folder",
        "pipe.stl": "is not a plain file",
        "device.stl": "is not a plain file",
        "missing.stl": "no such file; beside it are",
    }


REFEREE = """
import json, resource, sys
from pathlib import Path
from nutgen.documents.words import sentence
from nutgen.errors import SpecFaults
from nutgen.stock.scan.file import read_mesh
resource.setrlimit(resource.RLIMIT_AS, (4_000_000_000, 4_000_000_000))
resource.setrlimit(resource.RLIMIT_CPU, (120, 120))
said = {}
for name in sys.argv[2:]:
    try:
        read_mesh(Path(sys.argv[1]) / name, "mm")
        said[name] = "was read"
    except SpecFaults as faults:
        said[name] = "\\n".join(f"{faults.source}: {sentence(one)}" for one in faults.findings)
status = dict(line.split(":", 1) for line in open("/proc/self/status"))
own = int(status["VmHWM"].split()[0])  # ru_maxrss would count what the test run held before this program began
most = max(own, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
print(json.dumps([said, most * 1024]))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="limits and special files of Linux")
@pytest.mark.parametrize("first", cases(0, slow=range(1, 8)))
def test_hostile_files_are_refused_in_words(tmp_path: Path, first: int) -> None:
    """Every eighth of them in one program, which is watched."""
    wanted = dict(list(hostile(tmp_path).items())[first::8])
    before = sorted(path.name for path in tmp_path.iterdir())
    root = Path(scan_file.__file__).parents[3]
    run = subprocess.run(
        [sys.executable, "-c", REFEREE, str(tmp_path), *wanted], capture_output=True, check=True, timeout=300, cwd=root
    )
    said, most = json.loads(run.stdout)
    for name, words in wanted.items():
        assert said[name].startswith(str(tmp_path / name)), said[name]
        assert words in said[name]
        assert "Traceback" not in said[name]
        assert len(said[name]) < 500
    assert most < MEMORY
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert run.stderr == b""


def test_an_obj_opens_no_other_file(tmp_path: Path) -> None:
    path = tmp_path / "bone.obj"
    path.write_text("mtllib /dev/zero\nusemtl skin\n" + trimesh.exchange.obj.export_obj(cone()))
    assert len(read_mesh(path, "mm")[0].triangles) == len(cone().faces)


def test_what_takes_too_long_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bone.stl"
    cone().export(path)
    monkeypatch.setattr(scan_file, "PATIENCE", 1e-3)
    with pytest.raises(SpecFaults, match=r"scan\.takes-time "):
        read_mesh(path, "mm")


@pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
def test_an_interrupt_ends_the_reading(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bone.stl"
    cone().export(path)
    started = []

    class Watched(subprocess.Popen):
        def wait(self, timeout=None):
            if self not in started:
                started.append(self)
                os.kill(os.getpid(), signal.SIGINT)
            return super().wait(timeout)

    monkeypatch.setattr(subprocess, "Popen", Watched)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # workers of a test run may ignore it
    try:
        with pytest.raises(KeyboardInterrupt):
            read_mesh(path, "mm")
    finally:
        signal.signal(signal.SIGINT, before)
    assert started[0].returncode is not None


def test_a_missing_core_names_its_own_line(tmp_path: Path) -> None:
    from nutgen.stock.scan.piece import piece_from_scan

    cone().export(tmp_path / "bone.stl")
    spec = piece_spec('file = "bone.stl"\nunits = "mm"\ncore = "core.stl"')
    with pytest.raises(SpecFaults, match=r"core\.stl: scan\.core: scan\.missing") as caught:
        piece_from_scan(spec, tmp_path)
    (missing,) = caught.value.findings
    assert missing.about == (of_key("scan.core"),)
    assert missing.value("near") == ("bone.stl",)
