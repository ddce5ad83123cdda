"""STL: the layout of the format, and what trimesh and numpy find in the bytes.

Binary STL, as published by 3D Systems, 1989: 80 bytes of header, a little-endian count, and 50
bytes a triangle: normal, three corners, an attribute. A header that begins with "solid" marks text.
"""

import io
import struct
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import trimesh

from nutgen.errors import KernelError
from nutgen.formats.stamp import Stamp
from nutgen.formats.stl import read_stl, stl_bytes
from nutgen.geometry.mesh import Mesh
from nutgen.model.mesh import mesh_of
from nutgen.model.solid import nut_solid
from tests.model.nuts import nut, slot

STAMP = Stamp("Bench nut", "0123456789ab")


@cache
def bar() -> Mesh:
    return mesh_of(nut_solid(nut(slots=(slot(), slot(x=6.0, fan_deg=4.0)))))


def test_layout() -> None:
    data = stl_bytes(bar(), STAMP)
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    assert count == len(bar().triangles)
    assert not data.lower().startswith(b"solid")
    assert STAMP.title.encode() in data[:80]
    assert STAMP.spec_hash.encode() in data[:80]
    assert all(struct.unpack_from("<H", data, 84 + 50 * i + 48) == (0,) for i in range(count))


def test_twelve_facets_are_684_bytes() -> None:
    """84 + 12 x 50, the worked size of a box."""
    box = trimesh.creation.box((1.0, 2.0, 3.0))
    triangles = np.asarray(box.faces, np.int64)
    mesh = Mesh(np.asarray(box.vertices), triangles)
    assert len(stl_bytes(mesh, STAMP)) == 684


@pytest.mark.parametrize("title", ["solid gold", "Größe 42", "x" * 80, "\N{MUSICAL SYMBOL G CLEF}"])
def test_any_title_leaves_a_binary_header(title: str) -> None:
    data = stl_bytes(bar(), Stamp(title, "0123456789ab"))
    assert data[:80].isascii()
    assert not data.lower().startswith(b"solid")
    assert len(data) == 84 + 50 * len(bar().triangles)


def test_another_reader_finds_one_closed_body_of_the_right_size() -> None:
    read = trimesh.load(io.BytesIO(stl_bytes(bar(), STAMP)), file_type="stl")
    assert read.is_watertight
    assert read.is_winding_consistent
    assert read.body_count == 1
    assert read.volume == pytest.approx(bar().volume, rel=1e-6)
    assert read.bounds == pytest.approx(np.array([[-20.0, 0.0, -3.0], [20.0, 5.0, 2.0]]), abs=1e-5)


def test_normals_agree_with_the_corners() -> None:
    """The right-hand rule, worked out with float64 from the file's own corners."""
    rows = np.frombuffer(stl_bytes(bar(), STAMP)[84:], np.dtype([("n", "<f4", 3), ("c", "<f4", (3, 3)), ("a", "<u2")]))
    a, b, c = rows["c"].astype(float).transpose(1, 0, 2)
    normal = np.cross(b - a, c - a)
    area = np.linalg.norm(normal, axis=1)
    large = area > 1e-6
    assert np.einsum("ij,ij->i", normal, rows["n"])[large] == pytest.approx(area[large], rel=1e-4)


def test_nodes_that_single_precision_cannot_tell_apart_do_not_open_the_file(tmp_path: Path) -> None:
    far = replace(bar(), vertices=bar().vertices + np.array([3000.0, 0.0, 0.0]))  # steps of 0.0002 mm there
    path = tmp_path / "far.stl"
    path.write_bytes(stl_bytes(far, STAMP))
    read = trimesh.load(path)
    assert read.is_watertight
    assert read.body_count == read_stl(path).bodies == 1
    assert len(read.faces) <= len(bar().triangles)


def test_a_mesh_with_a_hole_is_refused() -> None:
    whole = bar()
    holed = Mesh(whole.vertices, whole.triangles[1:])
    with pytest.raises(KernelError, match="single precision"):
        stl_bytes(holed, STAMP)


def test_the_reading_back_sees_a_hole_and_a_wrong_scale(tmp_path: Path) -> None:
    path = tmp_path / "bar.stl"
    data = stl_bytes(bar(), STAMP)
    (count,) = struct.unpack_from("<I", data, 80)
    path.write_bytes(data[:80] + struct.pack("<I", count - 1) + data[84:-50])
    assert not read_stl(path).closed
    path.write_bytes(stl_bytes(replace(bar(), vertices=bar().vertices / 25.4), STAMP))
    assert read_stl(path).highest[0] == pytest.approx(20.0 / 25.4, abs=1e-6)


def test_same_nut_same_bytes() -> None:
    again = mesh_of(nut_solid(nut(slots=(slot(), slot(x=6.0, fan_deg=4.0)))))
    assert stl_bytes(again, STAMP) == stl_bytes(bar(), STAMP)
