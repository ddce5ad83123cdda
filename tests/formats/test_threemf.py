"""3MF, read by the consortium's own reader in strict mode and by the standard library's zip."""

import io
import zipfile

import numpy as np
import pytest

from nutgen.errors import KernelError
from nutgen.formats.stamp import Stamp
from nutgen.formats.threemf import read_threemf, threemf_bytes
from nutgen.geometry.mesh import Mesh

STAMP = Stamp('Bench & <test> "one" \u266b', "0123456789ab")


def cube(side: float = 2.0) -> Mesh:
    vertices = np.array([[x, y, z] for x in (0, side) for y in (0, side) for z in (0, side)], float)
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))])
    return Mesh(vertices, triangles)


def test_strict_reader_finds_one_named_closed_mesh_in_mm(tmp_path) -> None:
    path = tmp_path / "cube.3mf"
    path.write_bytes(threemf_bytes(cube(), STAMP, name='nut "a" & <b>'))
    found = read_threemf(path)
    assert found.warnings == ()
    assert (found.unit, found.objects, found.name) == ("mm", 1, 'nut "a" & <b>')
    assert found.closed
    assert found.volume == pytest.approx(8.0)
    assert found.highest == (2.0, 2.0, 2.0)


def test_same_mesh_same_bytes_with_a_fixed_time() -> None:
    data = threemf_bytes(cube(), STAMP, name="nut")
    assert data == threemf_bytes(cube(), STAMP, name="nut")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert package.testzip() is None
        assert {entry.date_time for entry in package.infolist()} == {(2000, 1, 1, 0, 0, 0)}
        assert package.namelist()[0] == "[Content_Types].xml"


def test_reader_refuses_what_is_broken(tmp_path) -> None:
    """The check can fail: a triangle on a node that is not there, and a file in inches."""
    data = io.BytesIO(threemf_bytes(cube(), STAMP, name="nut"))
    broken = tmp_path / "broken.3mf"
    with zipfile.ZipFile(data) as package, zipfile.ZipFile(broken, "w") as copy:
        for entry in package.infolist():
            content = package.read(entry)
            copy.writestr(entry.filename, content.replace(b'v1="0"', b'v1="99"'))
    with pytest.raises(RuntimeError):
        read_threemf(broken)
    inches = tmp_path / "inches.3mf"
    with zipfile.ZipFile(data) as package, zipfile.ZipFile(inches, "w") as copy:
        for entry in package.infolist():
            copy.writestr(entry.filename, package.read(entry).replace(b"millimeter", b"inch"))
    assert read_threemf(inches).unit != "mm"


def test_inside_out_is_refused() -> None:
    turned = cube()
    inside_out = turned.flipped()
    with pytest.raises(KernelError, match="inside out"):
        threemf_bytes(inside_out, STAMP, name="nut")


def test_an_open_mesh_is_refused() -> None:
    whole = cube()
    with pytest.raises(KernelError, match="edges"):
        threemf_bytes(Mesh(whole.vertices, whole.triangles[1:]), STAMP, name="nut")
