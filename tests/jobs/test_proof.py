"""Every check can fail: files are damaged the way receivers would not notice, and the proof must."""

import io
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest

from nutgen.errors import CannotBeMade
from nutgen.formats.dxf_reader import read_dxf
from nutgen.formats.mill_dxf import mill_dxf
from nutgen.formats.paper_reader import pdf_pages, png_size, read_svg
from nutgen.formats.stamp import Stamp
from nutgen.formats.step import step_bytes
from nutgen.formats.stl import stl_bytes
from nutgen.jobs.proof import Check, Proof, settle
from nutgen.jobs.provers import mesh_file, pdf_file, png_file, router_file, step_file, svg_file
from nutgen.model.block import block
from nutgen.model.mill.milling import OPERATIONS, clamped
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
        return failed(mesh_file(self.size, self.volume, lowest=(0.0, 0.0, 0.0))("nut.stl", at(folder, data)))

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

    def prove(self, folder: Path, data: bytes, **more) -> set[str]:
        return failed(step_file((-1.0, 0.0, -2.0), (2.0, 4.0, None), 60.0, **more)("nut.step", at(folder, data)))

    def test_as_written(self, tmp_path, data: bytes) -> None:
        assert self.prove(tmp_path, data) == set()

    def test_another_unit(self, tmp_path, data: bytes) -> None:
        assert data.count(b".MILLI.") == 1
        assert "unit" in self.prove(tmp_path, data.replace(b".MILLI.", b".CENTI."))

    def test_another_size(self, tmp_path) -> None:
        found = self.prove(tmp_path, step_bytes(block((-1, 0, -2), (2, 4, 3.1)), STAMP))
        assert found == {"volume in mm3"}
        assert "highest x" in self.prove(tmp_path, step_bytes(block((-1, 0, -2), (2.1, 4, 3)), STAMP))

    def test_a_twin_in_another_frame(self, tmp_path, data: bytes) -> None:
        moved = step_bytes(block((0, 5, -8), (3, 9, -3)), STAMP)
        prover = step_file((0.0, 5.0, -8.0), (3.0, 9.0, None), 60.0, twin=(data, (1.0, 5.0, -6.0)))
        assert failed(prover("part.step", at(tmp_path, moved))) == set()
        wrong = step_file((0.0, 5.0, -8.0), (3.0, 9.0, None), 60.0, twin=(data, (1.0, 5.0, -6.5)))
        assert failed(wrong("part.step", at(tmp_path, moved))) == {"from nut.step moved into this frame, mm"}

    def test_cut_short(self, tmp_path, data: bytes) -> None:
        with pytest.raises(ValueError, match="not a whole STEP file"):
            self.prove(tmp_path, data[: len(data) // 2])


class TestRouterFile:
    mill = Mill(stock_length=60.0, stock_thickness=9.0, stock_height=12.0)

    @pytest.fixture
    def data(self) -> bytes:
        return mill_dxf(clamped(nut(slots=(slot(),)), self.mill), self.mill, STAMP)

    def prove(self, folder: Path, data: bytes) -> set[str]:
        work = clamped(nut(slots=(slot(),)), self.mill)
        floor = (work.shift[0], work.shift[1], 1.2 + work.shift[2])
        prover = router_file(
            [operation.layer for operation in OPERATIONS],
            stock=(60.0, 9.0),
            outline=("outline", 200.0),
            slots=[floor],
        )
        return failed(prover("mill.dxf", at(folder, data)))

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
            (lambda d: d.modelspace().query('*[layer=="slot-outline"]').first.dxf.__setattr__("layer", "x"), None),
            (lambda d: d.modelspace().add_spline([(0, 0), (1, 1), (2, 0)]), "splines and ellipses"),
            (lambda d: d.modelspace().add_entity(d.modelspace().query("LINE").first.copy()), "entities drawn twice"),
            (lambda d: backward(d.modelspace().query('*[layer=="outline"]').first), "contours the wrong way round"),
            (lambda d: d.modelspace().query("LINE").first.translate(0, 0, 0.01), "slot floors that start elsewhere"),
            (
                lambda d: [e.scale(25.4, 25.4, 25.4) for e in d.modelspace().query("LWPOLYLINE")],
                "stock, right edge",
            ),
            (lambda d: d.layers.remove("profile"), "layers missing"),
        ],
    )
    def test_damage_is_found(self, tmp_path, data: bytes, change, what: str | None) -> None:
        found = self.prove(tmp_path, self.edited(data, change))
        assert (
            found == {"entities on unknown layers", "contours the wrong way round"} if what is None else what in found
        )

    def test_our_reader_agrees_with_ezdxfs(self, data: bytes) -> None:
        ours = read_dxf(data)
        theirs = list(ezdxf.read(io.StringIO(data.decode())).modelspace())
        assert [(e.kind, e.layer) for e in ours.entities] == [(e.dxftype(), e.dxf.layer) for e in theirs]
        for one, other in zip(ours.entities, theirs, strict=True):
            if one.kind == "LWPOLYLINE":
                assert one.corners == [tuple(point) for point in other.get_points("xyb")]
            if one.kind == "LINE":
                assert one.ends == (tuple(other.dxf.start), tuple(other.dxf.end))

    def test_box_and_area_of_a_bulge(self) -> None:
        """A circle of two half-turns: area pi r^2, as wide as high."""
        document = ezdxf.new("R2010")
        document.modelspace().add_lwpolyline([(-2, 0, 1), (2, 0, 1)], format="xyb", close=True)
        text = io.StringIO()
        document.write(text)
        (circle,) = read_dxf(text.getvalue().encode()).entities
        assert circle.area == pytest.approx(np.pi * 4.0)
        assert circle.box == pytest.approx((-2.0, -2.0, 2.0, 2.0))


class TestPaper:
    def test_pdf_of_another_size(self, tmp_path) -> None:
        data = b"%PDF-1.4\n1 0 obj << /Type /Page /MediaBox [ 0 0 595.2756 841.8898 ] >> endobj\n%%EOF\n"
        assert pdf_pages(data) == [pytest.approx((210.0, 297.0), abs=0.001)]
        assert failed(pdf_file((210.0, 297.0))("t.pdf", at(tmp_path, data))) == set()
        shrunk = data.replace(b"595.2756", b"592.2756")
        assert failed(pdf_file((210.0, 297.0))("t.pdf", at(tmp_path, shrunk))) == {"page 1, width in mm"}
        with pytest.raises(ValueError, match="whole"):
            pdf_pages(data[:-8])

    def test_svg_shrunk_to_fit(self, tmp_path) -> None:
        data = (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297">'
            b'<g id="bar"><path d="M10 5 L60 5"/></g></svg>'
        )
        assert failed(svg_file(210.0, {"bar": 50.0})("t.svg", at(tmp_path, data))) == set()
        shrunk = data.replace(b'"210mm"', b'"209mm"')
        assert failed(svg_file(210.0, {"bar": 50.0})("t.svg", at(tmp_path, shrunk))) == {
            "page width in mm", "mm to a unit", "bar, in mm",
        }  # fmt: skip
        with pytest.raises(ValueError, match="no size"):
            read_svg(data.replace(b'"210mm"', b'"210"'), ())

    def test_png_damaged(self, tmp_path) -> None:
        from PIL import Image

        file = io.BytesIO()
        Image.new("L", (7, 5)).save(file, "PNG")
        data = file.getvalue()
        assert png_size(data) == (7, 5)
        assert failed(png_file((7, 6))("t.png", at(tmp_path, data))) == {"height in pixels"}
        with pytest.raises(ValueError, match="damaged"):
            png_size(data[:20] + bytes([data[20] ^ 1]) + data[21:])
        with pytest.raises(ValueError, match="not whole"):
            png_size(data[:-12])


def test_settle_refuses_with_every_reason() -> None:
    good = Proof("a", "a reader", (Check("unit", "mm", "mm"), Check("volume", 10.0, 10.001, 0.01)))
    bad = Proof("b", "another", (Check("unit", "in", "mm"), Check("volume", 10.0, 11.0, 0.01)))
    assert settle([good]) == {"a": {"reader": "a reader", "found": {"unit": "mm", "volume": 10.0}}}
    with pytest.raises(CannotBeMade) as told:
        settle([good, bad])
    assert [reason.split(";")[0] for reason in told.value.reasons] == [
        "b, read back by another: unit is in, not mm",
        "b, read back by another: volume is 10, not 11",
    ]
