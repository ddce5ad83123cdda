"""How far off a file may be: nine tenths of what is allowed hold, eleven tenths are told, by name and alone."""

import re
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from nutgen.documents.paint.page import Linework, Page
from nutgen.formats.dxf import mill_dxf, template_dxf
from nutgen.formats.step import step_bytes
from nutgen.formats.stl import stl_bytes
from nutgen.formats.threemf import threemf_bytes
from nutgen.geometry.lines import Chain, rectangle
from nutgen.geometry.mesh import Mesh
from nutgen.jobs.proof import Proof
from nutgen.jobs.provers import drawing_file, mesh_file, pages_proof, router_file, step_file, threemf_file
from nutgen.model.block import block
from nutgen.model.drawing import LAYERS
from tests.formats.test_threemf import cube
from tests.jobs import test_proof
from tests.jobs.test_proof import STAMP, at, failed
from tests.model.nuts import nut, slot

Array = NDArray[np.float64]

SIZE, NONE = np.array([3.0, 4.0, 5.0]), np.zeros(3)
"""Of a brick, 60 mm3; its six faces measure 94 mm2."""

AXES = "xyz"


def brick(*, above: float = 0.0) -> Mesh:
    one = cube(1.0)
    return replace(one, vertices=one.vertices * SIZE + [0.0, 0.0, above])


def told_beyond(prove: Callable[[Array], Proof], allowed: float, *what: str) -> None:
    """Each of some numbers off by less and by more than allowed, either way."""
    for off, name in zip(allowed * np.eye(len(what)), what, strict=True):
        for way in (-1.0, 1.0):
            assert failed(prove(0.9 * way * off)) == set(), name
            assert failed(prove(1.1 * way * off)) == {name}


def test_stl(tmp_path: Path) -> None:
    path = at(tmp_path, stl_bytes(brick(), STAMP))
    told_beyond(lambda by: mesh_file(SIZE + by, 60.0, path, lowest=NONE), 0.001, *(f"size along {a}" for a in AXES))
    told_beyond(lambda by: mesh_file(SIZE, 60.0, path, lowest=by), 0.001, *(f"lowest {a}" for a in AXES))
    told_beyond(lambda by: mesh_file(SIZE, 60.0 + by[0], path, lowest=NONE), 0.06, "volume in mm3")
    # far out, single precision moves every face by half a step at most: 94 mm2 by 0.01 beside a thousandth
    coarse = {"lowest": NONE, "step": 0.01}
    told_beyond(lambda by: mesh_file(SIZE + by, 60.0, path, **coarse), 0.01, *(f"size along {a}" for a in AXES))
    told_beyond(lambda by: mesh_file(SIZE, 60.0 + by[0], path, **coarse), 1.0, "volume in mm3")
    assert failed(mesh_file(SIZE, 60.0, path, lowest=NONE, bodies=2)) == {"bodies"}


class TestThreeMf:
    def prove(self, path: Path, *, size: Array = SIZE, volume: float = 60.0, named: str = "nut") -> Proof:
        return threemf_file(size, volume, path, named=named)

    def edited(self, folder: Path, old: bytes, new: bytes) -> set[str]:
        path, other = at(folder, threemf_bytes(brick(), STAMP, name="nut")), folder / "edited.3mf"
        with zipfile.ZipFile(path) as package, zipfile.ZipFile(other, "w") as copy:
            contents = {name: package.read(name) for name in package.namelist()}
            assert sum(len(re.findall(old, content)) for content in contents.values()) >= 1
            for name, content in contents.items():
                copy.writestr(name, re.sub(old, new, content, count=1))
        return failed(self.prove(other))

    def test_near(self, tmp_path: Path) -> None:
        path = at(tmp_path, threemf_bytes(brick(), STAMP, name="nut"))
        told_beyond(lambda by: self.prove(path, size=SIZE + by), 0.001, *(f"size along {a}" for a in AXES))
        told_beyond(lambda by: self.prove(path, volume=60.0 + by[0]), 0.06, "volume in mm3")
        assert failed(self.prove(path, named="other")) == {"name"}

        def above(by: Array) -> Proof:
            return self.prove(at(tmp_path, threemf_bytes(brick(above=by[0]), STAMP, name="nut")))

        told_beyond(above, 0.001, "lowest z")

    def test_edited(self, tmp_path: Path) -> None:
        assert self.edited(tmp_path, b"millimeter", b"inch") == {"unit"}
        assert self.edited(tmp_path, rb"(?s)(<object id=\"1\")(.*</object>)", rb'\1\2<object id="2"\2') == {
            "meshes",
            "volume in mm3",
        }
        assert "closed, facing outward" in self.edited(tmp_path, rb"<triangle [^>]*/>", b"")


class TestStep:
    low, high = np.array([-1.0, 0.0, -2.0]), np.array([2.0, 4.0, 3.0])

    def prove(self, path: Path, *, low: Array = low, high: Array = high, volume: float = 60.0) -> Proof:
        return step_file(low.tolist(), high.tolist(), volume, path)

    def test_near(self, tmp_path: Path) -> None:
        path = at(tmp_path, step_bytes(block(tuple(self.low), tuple(self.high)), STAMP))
        told_beyond(lambda by: self.prove(path, low=self.low + by), 0.001, *(f"lowest {a}" for a in AXES))
        told_beyond(lambda by: self.prove(path, high=self.high + by), 0.001, *(f"highest {a}" for a in AXES))
        told_beyond(lambda by: self.prove(path, volume=60.0 + by[0]), 0.03, "volume in mm3")

    @pytest.mark.parametrize(
        ("old", "new", "what"),
        [
            (rb"LENGTH_MEASURE\([^)]*\)", b"LENGTH_MEASURE(9.E-07)", set()),
            (rb"LENGTH_MEASURE\([^)]*\)", b"LENGTH_MEASURE(5.1E-03)", {"accuracy claimed, in mm"}),
            (rb"\(2\.,4\.,3\.\)", b"(2.,4.,3.00001)", {"edges off their faces or corners, in mm"}),
            (rb"= MANIFOLD_SOLID_BREP\(", b"= FACETED_BREP(", {"solids"}),
            (rb"= PLANE\(", b"= OFFSET_SURFACE(", {"curves and surfaces that not every program knows"}),
        ],
    )
    def test_edited(self, tmp_path: Path, old: bytes, new: bytes, what: set[str]) -> None:
        data = step_bytes(block(tuple(self.low), tuple(self.high)), STAMP)
        assert re.search(old, data)
        assert what <= failed(self.prove(at(tmp_path, re.sub(old, new, data, count=1))))


def test_drawing(tmp_path: Path) -> None:
    path, layers = at(tmp_path, template_dxf(nut(slots=(slot(),)), STAMP)), [layer.name for layer in LAYERS]
    told_beyond(
        lambda by: drawing_file(layers, "front-outline", path, across=40.0 + by[0]), 0.001, "front-outline, width in mm"
    )
    assert failed(drawing_file([*layers, "more"], "front-outline", path, across=40.0)) == {"layers missing"}
    assert failed(drawing_file(layers, "more", path, across=0.0)) == {"contours on more"}


def test_router(tmp_path: Path) -> None:
    work, runs = test_proof.TestRouterFile.work, test_proof.TestRouterFile.runs
    path = at(tmp_path, mill_dxf(work, runs, STAMP))

    def prove(stock: Array = NONE[:2], area: float = 0.0, line: Array = NONE) -> Proof:
        lines = [(run.layer, [tuple(np.add(point, line)) for point in run.points]) for run in runs]
        right, upper = np.add((70.0, 9.0), stock)
        return router_file(["outline"], path, stock=(right, upper), outline=("outline", 200.0 + area), lines=lines)

    told_beyond(lambda by: prove(stock=by), 0.001, "stock, right edge", "stock, upper edge")
    told_beyond(lambda by: prove(area=by[0]), 0.2, "outline, area in mm2")
    told_beyond(lambda by: prove(line=by), 0.001, *("lines in space that run elsewhere",) * 3)


def test_pages() -> None:
    page = Page(90.0, 120.0, (Linework("front", 5.0, 60.0, (Chain("outline", rectangle(5.0, 0.0, 25.0, 9.0)),)),))

    def prove(paper: Array = NONE[:2], across: float = 0.0) -> Proof:
        wide, high = np.add((90.0, 120.0), paper)
        return pages_proof([page], (wide, high), closed=["front.outline"], across={"front.outline": 20.0 + across})

    told_beyond(lambda by: prove(paper=by), 0.001, *("pages of another size",) * 2)
    told_beyond(lambda by: prove(across=by[0]), 0.001, "front.outline, in mm")
