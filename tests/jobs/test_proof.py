"""Every check can fail: files are damaged the way receivers would not notice, and the proof must."""

import io
import json
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import ClassVar

import ezdxf
import numpy as np
import pytest

from nutgen.documents.paint.page import Linework, Page
from nutgen.errors import CannotBeMade
from nutgen.formats.dxf import mill_dxf
from nutgen.formats.dxf_reader import read_dxf
from nutgen.formats.stamp import Stamp
from nutgen.formats.step import step_bytes
from nutgen.formats.stl import stl_bytes
from nutgen.geometry.lines import Chain, Line, rectangle
from nutgen.jobs.proof import Check, Proof, settle
from nutgen.jobs.provers import json_file, mesh_file, pages_proof, proof_of, router_file, step_file
from nutgen.model.block import block
from nutgen.model.mill.milling import clamped, plan_levels
from nutgen.model.mill.runs import slot_cuts
from nutgen.spec.forming import Mill
from tests.formats.test_threemf import cube
from tests.model.nuts import nut, slot

STAMP = Stamp("Bench test", "0123456789ab")


def failed(proof: Proof) -> set[str]:
    return {check.what for check in proof.checks if not check.holds}


def at(folder: Path, data: bytes) -> Path:
    path = folder / "file"
    path.write_bytes(data)
    return path


def backward(polyline) -> None:
    polyline.set_points(polyline.get_points("xyb")[::-1], format="xyb")


class TestStl:
    size, volume = (3.0, 4.0, 5.0), 60.0

    @pytest.fixture
    def data(self) -> bytes:
        one = cube(1.0)
        return stl_bytes(replace(one, vertices=one.vertices * self.size), STAMP)

    def prove(self, folder: Path, data: bytes) -> set[str]:
        return failed(mesh_file(self.size, self.volume, at(folder, data), lowest=(0.0, 0.0, 0.0)))

    def rows(self, data: bytes) -> np.ndarray:
        return np.frombuffer(data[84:], np.uint8).reshape(-1, 50).copy()

    def test_as_written(self, tmp_path, data: bytes) -> None:
        assert self.prove(tmp_path, data) == set()

    def test_a_missing_triangle(self, tmp_path, data: bytes) -> None:
        rows = self.rows(data)[:-1]
        short = data[:80] + np.uint32(len(rows)).tobytes() + rows.tobytes()
        assert "closed, facing outward" in self.prove(tmp_path, short)

    def test_inside_out(self, tmp_path, data: bytes) -> None:
        corners = self.rows(data)
        turned = corners.copy()
        turned[:, 24:36], turned[:, 36:48] = corners[:, 36:48], corners[:, 24:36]
        assert "volume in mm3" in self.prove(tmp_path, data[:84] + turned.tobytes())

    def test_in_inches(self, tmp_path, data: bytes) -> None:
        small = self.rows(data)
        numbers = small[:, :48].copy().view("<f4")
        numbers[:, 3:] /= 25.4
        small[:, :48] = numbers.view(np.uint8)
        found = self.prove(tmp_path, data[:84] + small.tobytes())
        assert {"size along x", "size along y", "size along z", "volume in mm3"} <= found


class TestStep:
    @pytest.fixture
    def data(self) -> bytes:
        return step_bytes(block((-1, 0, -2), (2, 4, 3)), STAMP)

    def prove(self, folder: Path, data: bytes) -> set[str]:
        return failed(step_file((-1.0, 0.0, -2.0), (2.0, 4.0, None), 60.0, at(folder, data)))

    def test_as_written(self, tmp_path, data: bytes) -> None:
        assert self.prove(tmp_path, data) == set()

    def test_another_unit(self, tmp_path, data: bytes) -> None:
        assert data.count(b".MILLI.") == 1
        assert "unit" in self.prove(tmp_path, data.replace(b".MILLI.", b".CENTI."))

    def test_another_size(self, tmp_path) -> None:
        found = self.prove(tmp_path, step_bytes(block((-1, 0, -2), (2, 4, 3.1)), STAMP))
        assert found == {"volume in mm3"}
        assert "highest x" in self.prove(tmp_path, step_bytes(block((-1, 0, -2), (2.1, 4, 3)), STAMP))

    def test_cut_short(self, tmp_path, data: bytes) -> None:
        with pytest.raises(ValueError, match="not a whole STEP file"):
            self.prove(tmp_path, data[: len(data) // 2])


class TestRouterFile:
    mill = Mill(stock_length=70.0, stock_thickness=9.0, stock_height=12.0)
    work = clamped(nut(slots=(slot(),)), mill)
    runs = slot_cuts(work, mill.cutters)[0].runs

    @pytest.fixture
    def data(self) -> bytes:
        return mill_dxf(self.work, self.runs, STAMP)

    def prove(self, folder: Path, data: bytes) -> set[str]:
        proof = router_file(
            [level.chain.layer for level in plan_levels(self.work)],
            at(folder, data),
            stock=(70.0, 9.0),
            outline=("outline", 200.0),
            lines=[(run.layer, run.points) for run in self.runs],
        )
        return failed(proof)

    def edited(self, data: bytes, change) -> bytes:
        document = ezdxf.read(io.StringIO(data.decode()))
        change(document)
        text = io.StringIO()
        document.write(text)
        return document.encode(text.getvalue())

    def test_as_written(self, tmp_path, data: bytes) -> None:
        assert self.prove(tmp_path, data) == set()

    @pytest.mark.parametrize(
        ("change", "what"),
        [
            (lambda d: d.header.__setitem__("$INSUNITS", 1), "unit"),
            (lambda d: d.modelspace().query("LWPOLYLINE").first.close(False), "open contours"),
            (lambda d: d.modelspace().query('*[layer=="tabs"]').first.dxf.__setattr__("layer", "x"), None),
            (lambda d: d.modelspace().add_spline([(0, 0), (1, 1), (2, 0)]), "splines and ellipses"),
            (
                lambda d: d.modelspace().add_entity(d.modelspace().query("LWPOLYLINE").first.copy()),
                "entities drawn twice",
            ),
            (lambda d: backward(d.modelspace().query('*[layer=="outline"]').first), "contours the wrong way round"),
            (
                lambda d: d.modelspace().query("POLYLINE").first.translate(0, 0, 0.01),
                "lines in space that run elsewhere",
            ),
            (lambda d: d.modelspace().query("POLYLINE").first.destroy(), "lines in space"),
            (lambda d: [e.scale(25.4, 25.4, 25.4) for e in d.modelspace().query("LWPOLYLINE")], "stock, right edge"),
            (lambda d: d.modelspace().query('*[layer=="stock"]').first.destroy(), "stock, right edge"),
            (lambda d: d.layers.remove("top"), "layers missing"),
            (
                lambda d: d.modelspace().add_line((1, 1), (1, 1 + 1e-8), dxfattribs={"layer": "outline"}),
                "lines too short to be any",
            ),
        ],
    )
    def test_damage_is_found(self, tmp_path, data: bytes, change, what: str | None) -> None:
        found = self.prove(tmp_path, self.edited(data, change))
        assert found == {"entities on unknown layers"} if what is None else what in found

    def test_our_reader_agrees_with_ezdxfs(self, data: bytes) -> None:
        ours = read_dxf(data)
        theirs = list(ezdxf.read(io.StringIO(data.decode())).modelspace())
        assert [(e.kind, e.layer) for e in ours.entities] == [(e.dxftype(), e.dxf.layer) for e in theirs]
        for one, other in zip(ours.entities, theirs, strict=True):
            if one.kind == "LWPOLYLINE":
                assert one.corners == [tuple(point) for point in other.get_points("xyb")]
            if one.kind == "POLYLINE":
                assert one.points == [tuple(vertex.dxf.location) for vertex in other.vertices]

    def test_box_and_area_of_a_bulge(self) -> None:
        """A circle of two half-turns: area pi r^2, as wide as high."""
        document = ezdxf.new("R2010")
        document.modelspace().add_lwpolyline([(-2, 0, 1), (2, 0, 1)], format="xyb", close=True)
        text = io.StringIO()
        document.write(text)
        (circle,) = read_dxf(text.getvalue().encode()).entities
        assert circle.area == pytest.approx(np.pi * 4.0)
        assert circle.box == pytest.approx((-2.0, -2.0, 2.0, 2.0))


class TestPages:
    """A bar of 50 mm in a square frame on a small page, then the ways it could go wrong."""

    frame = Chain("frame", rectangle(0.0, 0.0, 20.0, 20.0))
    bar = Chain("bar", (Line((0.0, 0.0), (50.0, 0.0)),))

    def prove(self, *chains: Chain, width: float = 90.0, name: str = "bar-50-mm") -> set[str]:
        page = Page(width, 120.0, (Linework(name, 5.0, 60.0, chains),))
        across = {"bar-50-mm.bar": 50.0}
        return failed(pages_proof([page], (90.0, 120.0), closed=(f"{name}.frame",), across=across))

    def test_as_laid_out(self) -> None:
        assert self.prove(self.bar, self.frame) == set()

    def test_another_paper(self) -> None:
        assert self.prove(self.bar, self.frame, width=89.0) == {"pages of another size"}

    def test_no_page(self) -> None:
        assert failed(pages_proof([], (90.0, 120.0), closed=("front.frame",), across={})) == {
            "contours open or missing"
        }

    def test_shrunk_to_fit(self) -> None:
        shrunk = Chain("bar", (Line((0.0, 0.0), (49.5, 0.0)),))
        assert self.prove(shrunk, self.frame) == {"bar-50-mm.bar, in mm"}

    def test_the_bar_is_missing(self) -> None:
        assert self.prove(self.bar, self.frame, name="other") == {"bar-50-mm.bar, in mm"}
        assert self.prove(self.bar) == {"contours open or missing"}

    def test_open(self) -> None:
        torn = Chain("frame", self.frame.parts[:3])
        assert self.prove(self.bar, torn) == {"contours open or missing"}

    def test_drawn_twice(self) -> None:
        assert self.prove(self.bar, self.frame, self.frame) == {"lines drawn twice"}

    def test_too_short(self) -> None:
        dot = Chain("frame", rectangle(0.0, 0.0, 20.0, 1e-8))
        assert self.prove(self.bar, dot) == {"lines too short to be any"}


class TestJson:
    record: ClassVar = {"title": "Ä 弦", "length": 41.300001, "strings": [{"number": 4, "note": None}], "closed": True}

    def prove(self, folder: Path, text: str) -> set[str]:
        return failed(proof_of(partial(json_file, self.record), at(folder, text.encode())))

    def test_as_written(self, tmp_path) -> None:
        assert self.prove(tmp_path, json.dumps(self.record, ensure_ascii=False)) == set()

    def test_one_digit_off(self, tmp_path) -> None:
        text = json.dumps(self.record).replace("41.300001", "41.300002")
        assert self.prove(tmp_path, text) == {"reads back as it was recorded"}

    @pytest.mark.parametrize("number", ["NaN", "Infinity"])
    def test_a_number_that_is_none(self, tmp_path, number: str) -> None:
        assert self.prove(tmp_path, json.dumps(self.record).replace("41.300001", number)) == {"readable"}

    def test_cut_short(self, tmp_path) -> None:
        assert self.prove(tmp_path, json.dumps(self.record)[:-2]) == {"readable"}


def test_settle_refuses_with_every_reason() -> None:
    good = Proof("a reader", (Check("unit", "mm", "mm"), Check("volume", 10.0, 10.001, 0.01)))
    bad = Proof("another", (Check("unit", "in", "mm"), Check("volume", 10.0, 11.0, 0.01)))
    assert settle({"a": good}) == {"a": {"reader": "a reader", "found": {"unit": "mm", "volume": 10.0}}}
    with pytest.raises(CannotBeMade) as told:
        settle({"a": good, "b": bad})
    assert told.value.reasons == ("file.not-as-solved", "file.not-as-solved")
    assert [[found.value(name) for name in ("reader", "what", "found", "wanted")] for found in told.value.findings] == [
        ["another", "unit", "in", "mm"],
        ["another", "volume", "10", "11"],
    ]
    assert {found.about[0].name for found in told.value.findings} == {"b"}
