"""The page of a piece: opened in a real browser, turned, parts hidden and shown, judged by axe; numbers read back."""

import base64
import html
import json
import re
from dataclasses import replace
from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Polygon

from nutgen.bench.materials import MATERIALS
from nutgen.documents.piece_page.figures import cut_views, long_views
from nutgen.documents.piece_page.html import stock_html
from nutgen.documents.piece_page.scene import back_line, thinned_skin
from nutgen.documents.piece_page.thinned import shaded, thinned
from nutgen.documents.sheet.words import LOCAL
from nutgen.documents.words import sentence
from nutgen.documents.words.quantities import figures
from nutgen.finding import refusal
from nutgen.formats.stamp import Stamp
from nutgen.geometry.pose import Pose
from nutgen.jobs.record import plain as as_json
from nutgen.jobs.stock import stock_solids
from nutgen.spec.presets import find_piece
from nutgen.spec.read import read_piece
from nutgen.stock.calipers import piece_from_calipers
from nutgen.stock.cut.cuts import cut_plan
from nutgen.stock.cut.record import answer_record
from nutgen.stock.cut.steps import cautions
from nutgen.stock.laid import Answer, Laid
from nutgen.stock.piece import Piece
from nutgen.stock.verdict import verdict
from tests.cases import cases
from tests.documents.browsing import DESK, PHONE, Tab, changed
from tests.documents.stock_pieces import LENGTH, block, laid, no, piece, volume, yes

STAMP = Stamp("Loan bass, from: Shin bone", "0123456789ab")
NASTY = '</title><script>alert(1)</script> & "Ö"'


def page(what: Piece, answer: Answer) -> bytes:
    plan = cut_plan(what, answer) if answer.fits else None
    return stock_html(what, answer, STAMP, plan, nut_title="Loan bass, restrung in fifths")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Addresses of pages on the disk."""
    folder = tmp_path_factory.mktemp("pieces")
    made = {
        "yes": page(piece(), yes()),
        "two": page(piece(core=False, title=NASTY), yes(count=2)),
        "no": page(piece(), no()),
    }
    for name, content in made.items():
        (folder / f"{name}.html").write_bytes(content)
    return {name: (folder / f"{name}.html").as_uri() for name in made}


class TestTheView:
    def test_every_part_can_be_hidden_and_shown(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["yes"])
        home = tab.pixels()
        assert 0.05 < np.mean(home[..., 3] > 0) < 0.8
        for name in ("skin", "core", "sawn block", "back line and cross cuts", "tightest spot"):
            box = tab.page.get_by_label(name)
            box.uncheck()
            hidden = tab.pixels()
            assert np.mean(np.any(hidden != home, axis=2)) > 2e-4, name
            box.check()
            assert changed(home, tab.pixels()) < 1e-4, name
        assert tab.complaints == []

    def test_the_block_shows_through_skin_and_core(self, tab: Tab, files: dict[str, str]) -> None:
        """With only skin and core to hide it, the block still colours the middle of the picture; without it, not."""
        tab.page.goto(files["yes"])

        def teal() -> float:
            red, green, blue, alpha = tab.pixels().astype(int).transpose(2, 0, 1)
            return float(np.mean((alpha > 200) & (blue > red + 40) & (green > red + 40)))

        assert teal() > 0.01
        tab.page.get_by_label("sawn block").uncheck()
        assert teal() < 0.001

    def test_keys_and_buttons_turn_it_and_home_brings_it_back(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["yes"])
        home = tab.pixels()
        tab.page.locator("#view").focus()
        seen = [home]
        for key in ("ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "+", "-"):
            tab.page.keyboard.press(key)
            seen.append(tab.pixels())
            assert changed(seen[-2], seen[-1]) > 0.005, key
        tab.page.keyboard.press("Home")
        assert changed(home, tab.pixels()) < 1e-4
        tab.page.get_by_role("button", name="Turn left").click()
        assert changed(home, tab.pixels()) > 0.005
        tab.page.get_by_label("skin").focus()
        tab.page.keyboard.press("Space")
        assert not tab.page.get_by_label("skin").is_checked()
        assert tab.complaints == []

    def test_without_webgl_the_flat_pictures_stand_alone(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
        tab.page.goto(files["yes"])
        assert not tab.page.locator("#view").is_visible()
        assert not tab.page.get_by_label("skin").is_visible()
        assert tab.page.get_by_text("This browser shows no 3D here").is_visible()
        assert tab.page.locator("#side").is_visible()
        assert tab.page.locator("#cut-1-1").is_visible()
        assert tab.complaints == []


class TestThePage:
    @pytest.mark.parametrize("name", cases("two", slow=["yes", "no"]))
    def test_no_request_leaves_it_and_nothing_is_complained_of(
        self, tab: Tab, files: dict[str, str], name: str
    ) -> None:
        tab.page.on("dialog", lambda dialog: tab.complaints.append(f"dialog: {dialog.message}") or dialog.dismiss())
        tab.page.goto(files[name])
        assert tab.asked_for() == [files[name]]
        assert tab.complaints == []

    def test_the_browser_is_told_to_forbid_requests(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["no"])
        assert tab.forbids() == "connect-src"

    def test_a_title_is_only_words(self, tab: Tab, files: dict[str, str]) -> None:
        tab.page.goto(files["two"])
        assert tab.page.locator("h1").inner_text() == NASTY

    @pytest.mark.parametrize("name", cases("two", slow=["yes", "no"]))
    def test_no_sideways_scroll(self, tab: Tab, files: dict[str, str], name: str) -> None:
        tab.page.goto(files[name])
        for width in (320, 768, 1280):
            tab.page.set_viewport_size({"width": width, "height": 740})
            assert tab.width() <= width

    @pytest.mark.parametrize(("name", "view"), cases(("yes", PHONE), slow=[("no", DESK), ("yes", DESK), ("no", PHONE)]))
    def test_axe_finds_no_fault(self, tab: Tab, files: dict[str, str], name: str, view: dict[str, int]) -> None:
        """Rules of axe-core, best practice included."""
        tab.page.set_viewport_size(view)
        tab.page.goto(files[name])
        broken, kept = tab.barriers()
        assert broken == []
        assert "color-contrast" in kept

    @pytest.mark.parametrize("name", cases("yes", slow=["no"]))
    def test_one_heading_of_the_first_rank_and_none_skipped(self, tab: Tab, files: dict[str, str], name: str) -> None:
        tab.page.goto(files[name])
        ranks = tab.headings()
        assert ranks.count(1) == 1
        assert all(b - a <= 1 for a, b in pairwise(ranks))


def plain(content: bytes) -> str:
    """The words of a page without its tags, spaces evened out."""
    text = re.sub(r"<(style|script)\b.*?</\1>", " ", content.decode(), flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", text)).split())


def test_cautions_stand_before_the_first_cut() -> None:
    text = plain(page(piece(), yes()))
    first = text.index("Mark and saw, in this order")
    for words in (*map(sentence, MATERIALS["bone"].cautions), *map(sentence, cautions(piece())), sentence(LOCAL)):
        assert 0 < text.index(" ".join(words.split())) < first


def test_a_no_says_what_is_short_and_what_would_fit_and_nothing_to_saw_by() -> None:
    text = plain(page(piece(), no()))
    assert "No: short by 0.43 mm" in text
    assert sentence(no().short[0])[1:] in text
    assert sentence(no().largest[0].how)[1:] in text
    for words in ("Mark and saw", "Rip lines", "Left to sand", "cross cut 1"):
        assert words not in text


def test_same_values_same_bytes() -> None:
    assert page(piece(), yes()) == page(piece(), yes())


@pytest.mark.slow
def test_a_scan_of_a_million_triangles_makes_a_page_below_three_megabytes() -> None:
    many = piece(around=500, steps=1000)
    assert len(many.skin.triangles) >= 1_000_000
    assert len(page(many, yes())) < 3_000_000


def parts(content: bytes) -> dict[str, trimesh.Trimesh]:
    """The meshes of the page's view, unpacked by another library's arrays [mm]."""
    found = re.search(r'id="mesh">(.*?)</script>', content.decode(), re.DOTALL)
    assert found
    meshes = {}
    for part in json.loads(found[1])["parts"]:
        read = {key: base64.b64decode(part[key]) for key in ("places", "triangles")}
        places = np.frombuffer(read["places"], "<u2").reshape(-1, 3) * part["step"] + part["low"]
        triangles = np.frombuffer(read["triangles"], "<u4" if part["wide"] else "<u2").reshape(-1, 3)
        mesh = trimesh.Trimesh(places, triangles, process=False)
        mesh.merge_vertices(digits_vertex=3)
        meshes[part["name"]] = mesh
    return meshes


def test_the_view_holds_the_piece_and_the_block_in_their_places() -> None:
    what, answer = piece(), yes()
    found = parts(page(what, answer))
    assert list(found) == ["block", "marks", "tightest", "core", "skin"]  # seen through last, inner before outer
    assert found["skin"].volume == pytest.approx(volume(what.skin), rel=0.005)
    assert found["core"].volume == pytest.approx(volume(what.core), rel=0.01)
    assert found["skin"].bounds == pytest.approx(
        np.stack([what.skin.vertices.min(axis=0), what.skin.vertices.max(axis=0)]), abs=0.15
    )
    size, pose = np.array(answer.block.size), answer.laid[0].pose
    assert found["block"].volume == pytest.approx(size.prod(), rel=1e-3)
    reach = np.abs(pose.axes.T) @ (size / 2.0)  # of a turned box along each axis
    assert found["block"].bounds == pytest.approx(np.stack([pose.at - reach, pose.at + reach]), abs=0.01)
    assert found["tightest"].centroid == pytest.approx(answer.laid[0].tightest_at, abs=0.02)


class TestThinning:
    def test_few_triangles_are_left_alone(self) -> None:
        skin = piece(around=24, steps=20).skin
        same = thinned(skin.vertices, skin.triangles, most=10_000)
        assert same[0] is skin.vertices
        assert same[1] is skin.triangles

    def test_a_ball_stays_a_ball(self) -> None:
        ball = trimesh.creation.icosphere(subdivisions=6, radius=20.0)
        vertices, triangles = thinned(np.asarray(ball.vertices), np.asarray(ball.faces), most=5_000)
        assert 500 < len(triangles) <= 5_000
        assert np.linalg.norm(vertices, axis=1) == pytest.approx(20.0, abs=1e-6)
        assert trimesh.Trimesh(vertices, triangles).is_watertight
        assert trimesh.Trimesh(vertices, triangles).volume == pytest.approx(4.0 / 3.0 * np.pi * 8000.0, rel=0.01)
        places, normals, corners, creases = shaded(vertices, triangles)
        assert np.einsum("ij,ij->i", normals, places / 20.0).min() > 0.97
        assert len(corners) == len(triangles)
        assert len(creases) == 0

    def test_the_rim_of_a_saw_cut_stays_sharp(self) -> None:
        """A cylinder's rim, 2 pi r long, is where its only creases are: handbook circumference."""
        rod = trimesh.creation.cylinder(radius=15.0, height=60.0, sections=256)
        for _ in range(4):
            rod = rod.subdivide()
        vertices, triangles = thinned(np.asarray(rod.vertices), np.asarray(rod.faces), most=8_000)
        places, _, _, creases = shaded(vertices, triangles)
        ends = places[creases]
        rims = float(np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1).sum())
        assert rims == pytest.approx(2.0 * 2.0 * np.pi * 15.0, rel=0.01)
        assert np.abs(ends[..., 2]) == pytest.approx(30.0, abs=0.05)


def outline(svg: str, kind: str) -> Polygon:
    """The first path of a kind in a picture."""
    found = re.search(rf'<path class="{kind}" d="M([^"Z]*)Z', svg)
    assert found
    return Polygon([tuple(map(float, point.split())) for point in found[1].split("L")])


class TestTheFlatPictures:
    def test_a_cut_across_is_true_to_size(self) -> None:
        """Areas of an ellipse, pi a b, and of the block's own end; diameters at half length are 0.9 of the first."""
        what = piece()
        answer = replace(yes(), laid=(laid(60.0, tilt_deg=0.0),))
        middle = next(view for view in cut_views(what, answer) if view.name == "cut-1-1")
        assert outline(middle.svg, "skin").area == pytest.approx(np.pi * 22.0 * 19.0 * 0.81, rel=2e-3)
        assert outline(middle.svg, "core").area == pytest.approx(np.pi * 10.0 * 7.0 * 0.81, rel=5e-3)
        assert outline(middle.svg, "block").area == pytest.approx(9.4 * 12.6, rel=2e-3)
        assert outline(middle.svg, "nut").area == pytest.approx(5.0 * 8.1, rel=1e-2)
        assert "60.0 mm" in middle.caption

    @pytest.mark.parametrize("turned_round", [False, True])
    def test_seen_from_the_first_end_left_is_left(self, turned_round: bool) -> None:
        """However the block lies, what is left of the middle stands left in the picture, and the first end is first."""
        one = laid(60.0, tilt_deg=0.0)
        axes = one.pose.axes * np.array([[-1.0], [-1.0], [1.0]]) if turned_round else one.pose.axes
        moved = replace(one, pose=Pose.of(one.pose.at + np.array([0.0, 8.0, 0.0]), axes))
        views = cut_views(piece(), replace(yes(), laid=(moved,)))
        for view in views:
            assert outline(view.svg, "block").centroid.x < outline(view.svg, "skin").centroid.x - 4.0
        assert [view.caption for view in views] == [
            "The block, first end, 36.0 mm", "The block, middle, 60.0 mm", "The block, last end, 84.0 mm",
        ]  # fmt: skip

    def test_the_long_views_say_where_the_cross_cuts_are(self) -> None:
        for view in long_views(piece(), replace(yes(), laid=(laid(60.0, tilt_deg=0.0),))):
            assert re.findall(r"<text[^>]*>([\d.]+)</text>", view.svg) == ["36.0", "84.0"]
            skin = outline(view.svg, "skin")
            assert skin.bounds[2] - skin.bounds[0] == pytest.approx(LENGTH, abs=0.5)

    def test_numbers_of_blocks_side_by_side_stand_clear_of_each_other(self) -> None:
        places = (40.0, 41.5, 44.0, 93.0)
        answer = replace(yes(), laid=tuple(laid(place, tilt_deg=0.0) for place in places))
        svg = long_views(piece(), answer)[0].svg
        words = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" text-anchor="(\w+)">([\d.]+)</text>', svg)
        assert sorted(float(text) for *_, text in words) == sorted(p + e for p in places for e in (-24.0, 24.0))
        boxes = [
            (float(x) - (11.0 if align == "end" else 0.0), float(y), float(x) + (0.0 if align == "end" else 11.0))
            for x, y, align, _ in words
        ]
        for a, b in combinations(boxes, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or abs(a[1] - b[1]) >= 4.4, (a, b)
        box = [float(value) for value in re.search(r'viewBox="([^"]*)"', svg)[1].split()]
        assert max(y for _, y, _ in boxes) <= box[1] + box[3]


@given(st.floats(min_value=0.0, max_value=50.0))
def test_spare_room_is_never_told_larger_than_it_is(margin: float) -> None:
    assert float(figures(margin, "spare", "mm")) <= margin + 1e-6
    assert float(figures(margin, "spare", "mm")) > margin - 0.0101


@given(st.floats(min_value=1e-9, max_value=50.0))
def test_what_is_short_is_never_told_as_nothing(short: float) -> None:
    assert float(figures(short, "short", "mm")) > 0.0
    assert float(figures(short, "short", "mm")) == pytest.approx(short, abs=0.01)


def test_an_answer_without_room_to_speak_of_is_a_plain_no() -> None:
    answer = replace(no(), margin=-np.inf, laid=())
    assert verdict(answer) == refusal("piece.no-room")
    assert json.dumps(as_json(answer_record(piece(), answer, None, count=1)), allow_nan=False)


def askew() -> np.ndarray:
    """A rotation and a shift, as a scanner leaves a piece."""
    matrix = trimesh.transformations.rotation_matrix(0.9, [0.3, -0.7, 0.6])
    matrix[:3, 3] = (210.0, -35.0, 78.0)
    return matrix


def test_files_and_record_overlay_in_the_frame_of_the_scan(tmp_path: Any) -> None:
    what, answer = piece(found_by="scan", to_source=Pose.of(askew()[:3, 3], askew()[:3, :3].T)), yes(count=2)
    record = answer_record(what, answer, None, count=2)
    read = {}
    for file in stock_solids(what, answer, STAMP):
        (tmp_path / file.name).write_bytes(file.content)
        read[file.name] = trimesh.load(tmp_path / file.name)
        assert read[file.name].is_watertight
        assert STAMP.spec_hash.encode() in file.content[:80]
    assert set(read) == {"piece.stl", "core.stl", "blank.stl"}
    assert read["piece.stl"].volume == pytest.approx(volume(what.skin), rel=1e-4)
    back = trimesh.transform_points(read["piece.stl"].vertices, np.linalg.inv(askew()))
    assert back.min(axis=0) == pytest.approx(what.skin.vertices.min(axis=0), abs=1e-3)
    assert back.max(axis=0) == pytest.approx(what.skin.vertices.max(axis=0), abs=1e-3)
    blocks = sorted(read["blank.stl"].split(), key=lambda body: body.centroid @ askew()[:3, 0])
    assert len(blocks) == 2
    for body, one in zip(blocks, record["laid"], strict=True):
        assert body.centroid == pytest.approx(one["centre"], abs=1e-3)
        box = trimesh.creation.box(one["size"], transform=np.array(one["to_source"]))
        assert np.array(sorted(map(tuple, body.vertices.round(3)))) == pytest.approx(
            np.array(sorted(map(tuple, box.vertices.round(3)))), abs=2e-3
        )
        assert np.cross(one["length_axis"], one["thickness_axis"]) == pytest.approx(one["height_axis"], abs=1e-9)


def test_a_block_is_the_size_that_was_asked_for(tmp_path: Any) -> None:
    one: Laid = laid(60.0)
    (tmp_path / "blank.stl").write_bytes(stock_solids(piece(core=False), replace(yes(), laid=(one,)), STAMP)[0].content)
    assert trimesh.load(tmp_path / "blank.stl").volume == pytest.approx(np.prod(block().size), rel=1e-6)


@pytest.mark.parametrize("name", cases("antler-beam", slow=["shin-bone"]))
def test_the_back_line_runs_along_the_back(name: str) -> None:
    """Above the axis and near the skin all the way, though the skin is thinned out for the page."""
    whole = piece_from_calipers(read_piece(find_piece(name)))
    line = back_line(whole, thinned_skin(whole))
    assert len(line) > 50
    skin = trimesh.Trimesh(whole.skin.vertices, whole.skin.triangles, process=False)
    _, away, _ = trimesh.proximity.closest_point(skin, line)
    assert away.max() < 0.5
    assert np.all(line[:, 2] > np.interp(line[:, 0], whole.axis.along, whole.axis.up))
