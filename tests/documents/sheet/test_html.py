"""The sheet as a page: opened in a real browser, read, turned, ticked, printed, judged by axe."""

import base64
import html
import os
import re
import subprocess
import sys
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pypdfium2 as pdfium
import pytest
import trimesh

from nutgen.bench.materials import MATERIALS
from nutgen.documents.blocks import Findings
from nutgen.documents.sheet.dimensions import sketches
from nutgen.documents.sheet.html import sheet_html
from nutgen.documents.sheet.mesh import packed_mesh
from nutgen.documents.sheet.sheet import Sheet, sheet
from nutgen.documents.sheet.words import LOCAL
from nutgen.documents.words import sentence
from nutgen.finding import note, refusal
from nutgen.formats.stamp import Stamp
from nutgen.model.drawing import draw
from nutgen.nut import Allowances, Nut, solve
from nutgen.spec.presets import kind_names, kind_path
from nutgen.spec.read import parse_spec, spec_hash
from nutgen.spec.tables import Spec
from tests.cases import cases
from tests.documents.browsing import DESK, PHONE, Tab, changed
from tests.rounding import half_up


def spec_of(kind: str, *, material: str = "bone") -> Spec:
    """The file of a kind, with a material."""
    return parse_spec(f'material = "{material}"\n' + kind_path(kind).read_text("utf-8"), source=kind)


def words_of(kind: str, *, material: str = "bone", title: str = "") -> Sheet:
    spec = spec_of(kind, material=material)
    return sheet(solve(spec), spec.tools, Stamp(title or spec.title, spec_hash(spec)))


@pytest.fixture(scope="module")
def part() -> tuple[Nut, Any, bytes]:
    """A nut, its mesh and its picture."""
    from nutgen.formats.picture import png_bytes
    from nutgen.model.mesh import mesh_of
    from nutgen.model.solid import nut_solid

    spec = spec_of("bass-4-fifths")
    nut = solve(spec)
    mesh = mesh_of(nut_solid(nut.rough()))
    return nut, mesh, png_bytes(mesh, Stamp(spec.title, spec_hash(spec)))


@pytest.fixture(scope="module")
def files(part: tuple[Nut, Any, bytes], tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Addresses of sheets on the disk."""
    folder = tmp_path_factory.mktemp("sheets")
    _, mesh, picture = part
    made = {
        "whole": sheet_html(words_of("bass-4-fifths"), mesh=mesh, picture=picture),
        "bare": sheet_html(words_of("acoustic-12", material="brass")),
        "nasty": sheet_html(words_of("mandolin", title='</title><script>alert(1)</script> & "Ö"'), mesh=mesh),
    }
    for name, content in made.items():
        (folder / f"{name}.html").write_bytes(content)
    return {name: (folder / f"{name}.html").as_uri() for name in made}


class TestThePart:
    def test_it_turns_by_mouse_keys_and_buttons_and_comes_home(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["whole"])
        home = tab.alpha()
        assert 0.03 < np.mean(home > 0) < 0.6
        tab.page.locator("#view").scroll_into_view_if_needed()
        box = tab.page.locator("#view").bounding_box()
        middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        tab.page.mouse.move(*middle)
        tab.page.mouse.down()
        tab.page.mouse.move(middle[0] + 90, middle[1] + 40, steps=5)
        tab.page.mouse.up()
        dragged = tab.alpha()
        assert changed(home, dragged) > 0.01
        tab.page.locator("#view").focus()
        seen = [dragged]
        for key in ("ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "+", "-"):
            tab.page.keyboard.press(key)
            seen.append(tab.alpha())
            assert changed(seen[-2], seen[-1]) > 0.002, key
        tab.page.keyboard.press("Home")
        assert changed(home, tab.alpha()) < 1e-4
        for name in ("Turn left", "Tilt up", "Nearer"):
            before = tab.alpha()
            tab.page.get_by_role("button", name=name).click()
            assert changed(before, tab.alpha()) > 0.002, name
        tab.page.locator("#view").dblclick()
        assert changed(home, tab.alpha()) < 1e-4
        assert tab.complaints == []

    @pytest.mark.slow
    def test_where_motion_is_welcome_it_glides_to_the_same_place(self, browser: Any, files: dict[str, str]) -> None:
        ends = []
        for motion in ("reduce", "no-preference"):
            tab = Tab(browser, reduced_motion=motion)
            tab.page.goto(files["whole"])
            before = tab.alpha()
            tab.page.locator("#view").focus()
            tab.page.keyboard.press("ArrowUp")
            tab.page.wait_for_timeout(1500)
            ends.append(tab.alpha())
            assert changed(before, ends[-1]) > 0.01
            tab.context.close()
        assert changed(*ends) < 2e-3

    def test_from_above_it_has_the_proportions_of_the_nut(
        self, tab: Tab, files: dict[str, str], part: tuple[Nut, Any, bytes]
    ) -> None:
        """Second moments of a rectangle's picture give its length over its width, however it is turned."""
        tab.page.goto(files["whole"])
        tab.page.locator("#view").focus()
        for _ in range(9):
            tab.page.keyboard.press("ArrowUp")
        rows, columns = np.nonzero(tab.alpha() > 127)
        spread = np.sqrt(np.linalg.eigvalsh(np.cov(columns, rows)))
        rough = part[0].rough()
        assert spread[1] / spread[0] == pytest.approx(rough.length / rough.thickness, rel=0.05)

    def test_two_fingers_and_a_phone(self, browser: Any, files: dict[str, str]) -> None:
        tab = Tab(browser, viewport=PHONE, has_touch=True, is_mobile=True, device_scale_factor=2)
        tab.page.goto(files["whole"])
        before = tab.alpha()
        tab.page.evaluate(
            """() => {
                const view = document.getElementById("view"), box = view.getBoundingClientRect();
                view.setPointerCapture = () => {};
                const send = (type, id, x) => view.dispatchEvent(new PointerEvent(type, {
                    pointerId: id, pointerType: "touch", clientX: box.x + x, clientY: box.y + 80, bubbles: true }));
                send("pointerdown", 1, 100); send("pointerdown", 2, 160);
                send("pointermove", 2, 240); send("pointerup", 1, 100); send("pointerup", 2, 240);
            }"""
        )
        assert np.mean(tab.alpha() > 0) > 1.5 * np.mean(before > 0)
        assert tab.complaints == []
        tab.context.close()

    def test_without_webgl_and_on_paper_the_picture_stands_in(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["whole"])
        tab.page.emulate_media(media="print")
        assert tab.page.locator("img.still").is_visible()
        assert not tab.page.locator("#view").is_visible()
        tab.page.emulate_media(media="screen")
        assert not tab.page.locator("img.still").is_visible()
        tab.page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
        tab.page.reload()
        assert tab.page.locator("img.still").is_visible()
        assert not tab.page.locator("#view").is_visible()
        assert not tab.page.get_by_role("button", name="Turn left").is_visible()
        assert tab.complaints == []

    def test_the_packed_mesh_is_the_mesh(self, part: tuple[Nut, Any, bytes]) -> None:
        """Read back by another library: closed, the same volume, every place within the step of 16 bits."""
        _, mesh, _ = part
        packed = packed_mesh(mesh)
        assert packed == packed_mesh(mesh)
        read = {key: base64.b64decode(packed[key]) for key in ("places", "normals", "triangles", "edges")}
        places = np.frombuffer(read["places"], "<u2").reshape(-1, 3) * packed["step"] + packed["low"]
        triangles = np.frombuffer(read["triangles"], "<u2").reshape(-1, 3)
        body = trimesh.Trimesh(places, triangles, process=False)
        assert body.volume == pytest.approx(mesh.volume, rel=2e-4)
        assert np.abs(places.min(axis=0) - mesh.vertices.min(axis=0)).max() < 0.002
        assert np.abs(places.max(axis=0) - mesh.vertices.max(axis=0)).max() < 0.002
        body.merge_vertices(digits_vertex=4)
        assert body.is_watertight
        normals = np.frombuffer(read["normals"], "i1").reshape(-1, 3) / 127.0
        assert np.abs(np.linalg.norm(normals, axis=1) - 1.0).max() < 0.02
        flat = np.cross(*(places[triangles[:, i]] - places[triangles[:, 0]] for i in (1, 2)))
        area = np.linalg.norm(flat, axis=1)
        along = np.einsum("ij,ikj->ik", flat / area[:, np.newaxis], normals[triangles]).min(axis=1)
        assert area[along < 0.95].sum() < 0.005 * area.sum()


class TestTheBoxes:
    def test_ticks_readings_and_notes_survive_a_reload(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["whole"])
        done = tab.page.locator("#done")
        assert done.inner_text() == "0 of 12 stages done"
        tab.page.get_by_label("3 Thickness").check()
        tab.page.get_by_label("string 4 (C1), width").first.check()
        tab.page.get_by_label("thickness, measured").first.fill("5.12")
        tab.page.get_by_role("textbox", name="Notes").fill("kept the <old> nut")
        assert done.inner_text() == "1 of 12 stages done"
        tab.page.reload()
        tab.ticked(2)  # a busy browser may hand the store on late
        assert tab.page.get_by_label("3 Thickness").is_checked()
        assert tab.page.get_by_label("string 4 (C1), width").first.is_checked()
        assert not tab.page.get_by_label("2 Square").is_checked()
        assert tab.page.get_by_label("thickness, measured").first.input_value() == "5.12"
        assert tab.page.get_by_role("textbox", name="Notes").input_value() == "kept the <old> nut"
        assert tab.page.locator(".written").text_content() == "kept the <old> nut"
        tab.page.goto(files["bare"])
        assert tab.page.locator("input:checked").count() == 0
        tab.page.goto(files["whole"])
        tab.page.on("dialog", lambda dialog: dialog.accept())
        tab.page.get_by_role("button", name="Clear ticks").click()
        tab.page.reload()
        assert tab.page.locator("input:checked").count() == 0
        assert tab.complaints == []

    def test_two_tabs_of_one_sheet_do_not_write_over_each_other(
        self, browser: Any, tab: Tab, files: dict[str, str]
    ) -> None:
        tab.page.goto(files["bare"])
        second = Tab(browser, context=tab.context)
        second.page.goto(files["bare"])
        tab.page.get_by_label("3 Thickness").check()
        second.ticked(1)
        second.page.get_by_label("1 Saw").check()
        tab.ticked(2)
        assert tab.page.locator("#done").inner_text() == "2 of 12 stages done"
        assert tab.page.get_by_label("1 Saw").is_checked()

    @pytest.mark.parametrize("kept", cases('{"notes": 7, "stage-1": "yes"}', slow=["{", "null", "[1, 2]"]))
    def test_what_another_hand_left_in_the_store_does_no_harm(self, tab: Tab, files: dict[str, str], kept: str) -> None:
        tab.page.goto(files["bare"])
        tab.page.evaluate("text => localStorage.setItem('nutgen ' + document.body.dataset.hash, text)", kept)
        tab.page.reload()
        assert tab.page.locator("input:checked").count() == 0
        assert tab.complaints == []

    def test_a_browser_that_keeps_nothing_is_no_error(self, tab: Tab, files: dict[str, str]) -> None:
        denied = "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('denied') } })"
        tab.page.add_init_script(denied)
        tab.page.goto(files["bare"])
        tab.page.get_by_label("1 Saw").check()
        assert tab.page.locator("#done").inner_text() == "1 of 12 stages done"
        assert tab.complaints == []

    def test_by_keyboard_alone(self, tab: Tab, files: dict[str, str]) -> None:
        """Everything that can be used is reached by Tab, in order, and shows that it is."""
        tab.page.goto(files["whole"])
        usable = "a[href], button, input, textarea, [tabindex='0']"
        wanted = tab.page.locator(usable).count()
        state = """() => { const e = document.activeElement, s = getComputedStyle(e);
            return [[...document.querySelectorAll("a[href], button, input, textarea, [tabindex='0']")].indexOf(e),
                    s.outlineStyle, parseFloat(s.outlineWidth)] }"""
        order = []
        for _ in range(wanted):
            tab.page.keyboard.press("Tab")
            index, style, width = tab.page.evaluate(state)
            order.append(index)
            assert style != "none"
            assert width >= 2.0
        assert order == list(range(wanted))
        tab.page.get_by_label("1 Saw").focus()
        tab.page.keyboard.press("Space")
        assert tab.page.get_by_label("1 Saw").is_checked()


class TestThePage:
    @pytest.mark.parametrize("name", cases("nasty", slow=["whole", "bare"]))
    def test_no_request_leaves_it_and_nothing_is_complained_of(
        self, tab: Tab, files: dict[str, str], name: str
    ) -> None:
        tab.page.on("dialog", lambda dialog: tab.complaints.append(f"dialog: {dialog.message}") or dialog.dismiss())
        tab.page.goto(files[name])
        tab.page.get_by_label("1 Saw").check()
        assert tab.asked_for() == [files[name]]
        assert tab.complaints == []

    def test_the_browser_is_told_to_forbid_requests(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["bare"])
        assert tab.forbids() == "connect-src"

    def test_a_title_is_only_words(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["nasty"])
        assert tab.page.locator("h1").inner_text() == '</title><script>alert(1)</script> & "Ö"'

    @pytest.mark.parametrize("name", cases("nasty", slow=["whole", "bare"]))
    def test_no_sideways_scroll(self, tab: Tab, files: dict[str, str], name: str) -> None:
        tab.page.goto(files[name])
        for width in (320, 360, 768, 1280):
            tab.page.set_viewport_size({"width": width, "height": 740})
            assert tab.width() <= width

    @pytest.mark.parametrize(("view", "least"), [(PHONE, 2), (DESK, 0)], ids=["phone", "desk"])
    def test_a_table_says_that_it_goes_on(
        self, tab: Tab, files: dict[str, str], view: dict[str, int], least: int
    ) -> None:
        tab.page.set_viewport_size(view)
        tab.page.goto(files["whole"])
        tab.page.wait_for_timeout(100)
        more = """[...document.querySelectorAll('.wide')].map(place =>
            [place.scrollWidth > place.clientWidth + 1, place.previousElementSibling.offsetHeight > 0])"""
        told = tab.page.evaluate(more)
        assert all(goes_on == says for goes_on, says in told)
        assert sum(says for _, says in told) >= least
        tab.page.evaluate("document.querySelectorAll('.wide').forEach(place => place.scrollTo(1e4, 0))")
        tab.page.wait_for_timeout(100)
        assert not any(says for _, says in tab.page.evaluate(more))

    @pytest.mark.parametrize(
        ("name", "view"), cases(("whole", PHONE), slow=[("bare", DESK), ("whole", DESK), ("bare", PHONE)])
    )
    def test_axe_finds_no_fault(self, tab: Tab, files: dict[str, str], name: str, view: dict[str, int]) -> None:
        """Rules of axe-core, best practice included."""
        tab.page.set_viewport_size(view)
        tab.page.goto(files[name])
        broken, kept = tab.barriers()
        assert broken == []
        assert len(kept) > 25
        assert "color-contrast" in kept

    @pytest.mark.parametrize(("paper", "wide"), cases(("A4", 210.0), slow=[("Letter", 215.9)]))
    def test_printed_the_drawing_is_true_to_size(
        self, tab: Tab, files: dict[str, str], part: tuple[Nut, Any, bytes], paper: str, wide: float
    ) -> None:
        tab.page.goto(files["whole"])
        document = pdfium.PdfDocument(tab.page.pdf(format=paper))
        assert document[0].get_width() * 25.4 / 72.0 == pytest.approx(wide, abs=0.5)
        assert 4 <= len(document) <= 8
        runs = level_runs(document[0])
        assert min(abs(runs - 0.25 - 50.0)) < 0.1
        assert min(abs(runs - 0.25 - part[0].length)) < 0.1
        document.close()

    def test_one_heading_of_the_first_rank_and_none_skipped(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["whole"])
        ranks = tab.headings()
        assert ranks.count(1) == 1
        assert all(b - a <= 1 for a, b in pairwise(ranks))


def level_runs(page: Any) -> np.ndarray:
    """Lengths of all level black lines on a page of PDF, to a thirtieth of a millimetre [mm]."""
    dots = 30.0
    grey = np.asarray(page.render(scale=dots * 25.4 / 72.0, grayscale=True).to_pil())
    dark = np.zeros((grey.shape[0], grey.shape[1] + 2), np.int8)
    dark[:, 1:-1] = grey < 128
    steps = np.diff(dark, axis=1)
    starts, stops = np.nonzero(steps == 1), np.nonzero(steps == -1)
    lengths = (stops[1] - starts[1]) / dots
    return lengths[lengths > 5.0]


def plain(content: bytes) -> str:
    """The words of a page without its tags, spaces evened out."""
    text = re.sub(r"<(style|script)\b.*?</\1>", " ", content.decode(), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", text)).split())


@pytest.mark.parametrize("material", sorted(MATERIALS))
def test_every_caution_of_a_material_stands_before_the_stages(material: str) -> None:
    text = plain(sheet_html(words_of("bass-4-fifths", material=material)))
    stages = text.index("1 Saw")
    for caution in MATERIALS[material].cautions:
        assert 0 < text.index(" ".join(sentence(caution).split())) < stages
    assert 0 < text.index(sentence(LOCAL)) < stages
    assert "ask a licensed repairer" in sentence(LOCAL)


@pytest.mark.parametrize("kind", kind_names())
def test_sizes_stand_clear_of_each_other_on_every_drawing(kind: str) -> None:
    spec = spec_of(kind)
    nut = solve(spec)
    for sketch in sketches(nut, draw(nut)):
        for a, b in combinations(sketch.labels, 2):
            (left, low, right, high), (left2, low2, right2, high2) = a.box_up, b.box_up
            apart = right <= left2 or right2 <= left or high <= low2 or high2 <= low
            assert apart, (a, b)


@pytest.mark.parametrize("kind", ["electric-6", "electric-6-left"])
def test_the_drawing_carries_the_sizes_of_the_nut(kind: str) -> None:
    """Read off the SVG: numbers from left to right, and their centres from the bass end."""
    nut = solve(spec_of(kind))
    content = sheet_html(words_of(kind)).decode()
    words = re.findall(r'<text x="(-?[\d.]+)" y="-?[\d.]+"[^>]*>([^<]+)</text>', content)
    texts = [text for _, text in words]
    for size in (nut.length, nut.thickness, nut.height, nut.land):
        assert half_up(size, 2) in texts
    numbers = [int(text) for _, text in sorted(((float(x), t) for x, t in words if t in "123456"))]
    assert numbers == ([6, 5, 4, 3, 2, 1] if kind == "electric-6" else [1, 2, 3, 4, 5, 6])
    for slot in nut.slots:
        assert half_up(nut.from_bass_end(slot), 2) in texts


@pytest.mark.slow
def test_same_values_same_bytes_in_another_process() -> None:
    code = (
        "import hashlib; from nutgen.spec.presets import kind_path; from nutgen.nut import solve\n"
        "from nutgen.spec.read import read_spec, spec_hash; from nutgen.formats.stamp import Stamp\n"
        "from nutgen.documents.sheet.sheet import sheet; from nutgen.documents.sheet.html import sheet_html\n"
        "from nutgen.documents.sheet.pdf import sheet_pdf\n"
        "spec = read_spec(kind_path('mandolin')); words = sheet(solve(spec), spec.tools, Stamp('x', spec_hash(spec)))\n"
        "print(hashlib.sha256(sheet_html(words) + sheet_pdf(words, paper='a4')).hexdigest())"
    )
    digests = set()
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        done = subprocess.run(
            [sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=False, timeout=60
        )
        assert done.returncode == 0, done.stderr
        digests.add(done.stdout)
    assert len(digests) == 1


def test_what_is_left_on_is_told() -> None:
    nut = solve(spec_of("bass-4"))
    spec = spec_of("bass-4")
    stamp = Stamp(spec.title, spec_hash(spec))
    assert "Left on" not in plain(sheet_html(sheet(nut, spec.tools, stamp)))
    left = replace(nut, allowances=Allowances(top=0.3, ends=0.5))
    assert "Left on the solid top 0.30, each end 0.50 mm" in plain(sheet_html(sheet(left, spec.tools, stamp)))


def test_warnings_are_shown() -> None:
    words = replace(words_of("bass-4"), findings=Findings((refusal("file.no-folder", folder="thin & frail"),)))
    assert "there is no folder thin & frail" in plain(sheet_html(words))


def test_what_is_no_warning_stands_behind_no_such_mark() -> None:
    found = (refusal("file.no-folder", folder="thin"), note("way.pencil", value=(3.6,), error=0.1))
    both, calm = (
        sheet_html(replace(words_of("bass-4"), findings=Findings(some, none=""))).decode()
        for some in (found, found[1:])
    )
    assert re.findall(r'<ul class="found( calm)?" aria-label="(\w+)">', both) == [("", "Warnings")]
    assert len(re.findall(r'<li class="told">', both)) == 1
    assert re.findall(r'<ul class="found( calm)?" aria-label="(\w+)">', calm) == [(" calm", "Notes")]
