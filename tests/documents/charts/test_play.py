"""The charts, read back by an independent SVG parser and compared with what was drawn."""

import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from svgelements import SVG, Circle, Polygon, Polyline, Text

from nutgen.documents.charts.play import cents_svg, heights_svg
from nutgen.formats.stamp import Stamp
from nutgen.nut import solve
from nutgen.nut.heights import line_of
from nutgen.play.buzz import buzz
from nutgen.play.heights import fret_numbers
from nutgen.play.pitch import pitches
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec
from tests.play.files import KINDS, changed, solved

HUNDREDTH = 0.011  # coordinates are written to a hundredth


def stamp(spec: Spec) -> Stamp:
    return Stamp(spec.title, spec_hash(spec))


def parsed(data: bytes) -> SVG:
    return SVG.parse(io.BytesIO(data), reify=True, width=480, height=_height(data), ppi=96)


def _height(data: bytes) -> float:
    box = ElementTree.fromstring(data).attrib["viewBox"].split()
    return float(box[3]) * 480.0 / float(box[2])


def named(svg: SVG, name: str) -> list[list[tuple[float, float]]]:
    """Points of every line or area of a class, in order."""
    shapes = [e for e in svg.elements() if isinstance(e, Polyline | Polygon) and e.values.get("class") == name]
    return [[(p.x, p.y) for p in shape] for shape in shapes]


@pytest.mark.parametrize("kind", KINDS)
def test_both_pictures_of_every_kind_stay_inside_their_frame(kind: str) -> None:
    spec, nut = solved(kind)
    for data in (heights_svg(nut, stamp(spec)), cents_svg(nut, stamp(spec))):
        svg, height = parsed(data), _height(data)
        for element in svg.elements():
            if isinstance(element, Polyline | Polygon | Circle):
                left, top, right, bottom = element.bbox()
                assert left >= 0.0
                assert right <= 480.0
                assert top >= 0.0
                assert bottom <= height
        for text in (e for e in svg.elements() if isinstance(e, Text)):
            wide = 0.62 * float(text.values["font-size"]) * len(text.text)  # a wide sans-serif
            start = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.values["text-anchor"]]
            assert text.x - start * wide >= -1.0, text.text
            assert text.x + (1.0 - start) * wide <= 481.0, text.text


@pytest.mark.parametrize("kind", ["bass-4-fifths", "electric-6-slanted"])
def test_strings_and_crowns_are_drawn_to_the_stated_scale(kind: str) -> None:
    spec, nut = solved(kind)
    data = heights_svg(nut, stamp(spec))
    svg, line, frets = parsed(data), line_of(nut), fret_numbers(nut)
    times = int(re.search(rb"drawn (\d+) times", data).group(1))  # type: ignore[union-attr]
    crowns, strings = named(svg, "crowns"), named(svg, "string")
    assert len(crowns) == len(strings) == len(nut.slots)
    for i in range(len(nut.slots)):
        at = np.array(crowns[i])
        u = line.neck.fret(frets)[i]
        across = (at[-1, 0] - at[0, 0]) / (u[-1] - u[0])
        np.testing.assert_allclose(at[:, 0] - at[0, 0], (u - u[0]) * across, atol=2 * HUNDREDTH)
        z = np.broadcast_to(line.neck.crown(line.neck.fret(frets)), (len(nut.slots), len(frets)))[i]
        np.testing.assert_allclose(at[0, 1] - at[:, 1], (z - z[0]) * across * times, atol=3 * HUNDREDTH)
        (x0, y0), (x1, y1) = strings[i]
        string = np.interp(at[:, 0], [x0, x1], [y0, y1])
        clearance = line.clearance(frets)[i]
        np.testing.assert_allclose(at[:, 1] - string, clearance * across * times, atol=4 * HUNDREDTH)


def test_swing_and_first_touch_stand_where_they_were_found() -> None:
    spec = changed("electric-6", "[pluck]\nforce_n = 1.2")
    nut = solve(spec)
    data = heights_svg(nut, stamp(spec))
    svg, touches = parsed(data), buzz(nut)
    crowns, swings, marks = named(svg, "crowns"), named(svg, "swing-away"), named(svg, "touch")
    words = [e.text for e in svg.elements() if isinstance(e, Text)]
    times = int(re.search(rb"drawn (\d+) times", data).group(1))  # type: ignore[union-attr]
    u = line_of(nut).neck.fret(fret_numbers(nut))
    for i in range(6):
        fret = int(touches.worst.fret[i])
        tip = max(marks[i], key=lambda p: p[1])
        assert tip[0] == pytest.approx(crowns[i][fret - 1][0], abs=HUNDREDTH)
        across = (crowns[i][-1][0] - crowns[i][0][0]) / (u[0, -1] - u[0, 0])
        room = (crowns[i][fret - 1][1] - swings[i][fret][1]) / across / times
        assert room == pytest.approx(touches.open_away.spare[i], abs=0.02)
        spare = touches.worst.spare[i]
        verdict = (
            f"touches fret {fret} by {-spare:.2f} mm" if spare < 0.0 else f"{spare:.2f} mm to spare at fret {fret}"
        )
        assert verdict in words


def test_cents_dots_stand_at_their_cents() -> None:
    spec, nut = solved("electric-6")
    svg, got = parsed(cents_svg(nut, stamp(spec))), pitches(nut)
    dots = {
        name: np.array(
            [(e.cx, e.cy) for e in svg.elements() if isinstance(e, Circle) and e.values.get("class") == name]
        )
        for name in ("now", "lower")
    }
    bands = named(svg, "noticeable")
    for name, cents in (("now", got.cents), ("lower", got.cents - got.gain)):
        at = dots[name].reshape(6, nut.frets, 2)
        for i in range(6):
            low, high = max(p[1] for p in bands[i]), min(p[1] for p in bands[i])
            scale = (low - high) / 10.0  # the band is 5 cents to either side
            np.testing.assert_allclose((low + high) / 2.0 - at[i, :, 1], cents[i] * scale, atol=2 * HUNDREDTH)
            np.testing.assert_allclose(np.diff(at[i, :, 0]), np.diff(at[i, :, 0])[0], atol=2 * HUNDREDTH)


def test_same_nut_same_bytes_and_stamped() -> None:
    spec, nut = solved("bass-4")
    for draw in (heights_svg, cents_svg):
        data = draw(nut, stamp(spec))
        assert data == draw(nut, stamp(spec))
        assert spec_hash(spec).encode() in data


def test_title_cannot_break_the_picture() -> None:
    spec = changed("bass-4", title='"<b>&\\"A\\" é ' + "long " * 12 + '"')
    nut = solve(spec)
    for draw in (heights_svg, cents_svg):
        root = ElementTree.fromstring(draw(nut, stamp(spec)))
        title = root.find("{http://www.w3.org/2000/svg}title")
        assert title is not None
        assert title.text is not None
        assert title.text.startswith('<b>&"A" é')


def test_an_assumed_pluck_is_said_on_the_picture() -> None:
    spec, nut = solved("bass-4")
    data = heights_svg(nut, stamp(spec))
    assert b"Assumed: plucked an eighth of the scale length from the bridge, plucked with 1 N" in data
    said = changed("bass-4", "[pluck]\nforce_n = 1.0\nfrom_bridge = 100")
    assert b"Assumed" not in heights_svg(solve(said), stamp(said))
