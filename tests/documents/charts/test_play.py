"""The charts, read back by an independent SVG parser and compared with what was drawn."""

import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from svgelements import SVG, Text

from nutgen.documents.charts.play import cents_svg, heights_svg
from nutgen.documents.words.quantities import Units
from nutgen.formats.stamp import Stamp
from nutgen.nut import solve
from nutgen.nut.heights import line_of
from nutgen.play.buzz import buzz
from nutgen.play.heights import fret_numbers
from nutgen.play.pitch import pitches
from nutgen.spec.read import spec_hash
from nutgen.spec.tables import Spec
from tests.cases import EACH_KIND, cases
from tests.play.files import changed, solved

HUNDREDTH = 0.011  # coordinates are read to a hundredth
SVG_NAME = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"


def stamp(spec: Spec) -> Stamp:
    return Stamp(spec.title, spec_hash(spec))


def parsed(data: bytes) -> SVG:
    root = ElementTree.fromstring(data)
    _, _, wide, high = (float(value) for value in root.attrib["viewBox"].split())
    return SVG.parse(io.BytesIO(data), reify=True, width=wide, height=high, ppi=96)


def groups(data: bytes) -> dict[str, ElementTree.Element]:
    return {e.attrib["id"]: e for e in ElementTree.fromstring(data).iter(f"{SVG_NAME}g") if "id" in e.attrib}


def named(data: bytes, name: str) -> list[list[tuple[float, float]]]:
    """Points of the first path of every group of a name, string by string."""
    found, all_groups = [], groups(data)
    for i in range(sum(key.startswith(f"{name}-") for key in all_groups)):
        path = next(all_groups[f"{name}-{i}"].iter(f"{SVG_NAME}path"))
        numbers = [float(n) for n in re.findall(r"-?[\d.]+(?:e-?\d+)?", path.attrib["d"])]
        found.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return found


def marks(data: bytes, name: str) -> list[list[tuple[float, float]]]:
    """Where the marks of every group of a name stand, string by string."""
    found, all_groups = [], groups(data)
    for i in range(sum(key.startswith(f"{name}-") for key in all_groups)):
        uses = all_groups[f"{name}-{i}"].iter(f"{SVG_NAME}use")
        found.append([(float(e.attrib["x"]), float(e.attrib["y"])) for e in uses])
    return found


@pytest.mark.parametrize("units", cases("in", slow=["mm"]))
@pytest.mark.parametrize("kind", EACH_KIND)
def test_both_pictures_of_every_kind_stay_inside_their_frame(kind: str, units: Units) -> None:
    spec, nut = solved(kind)
    for data in (heights_svg(nut, stamp(spec), units), cents_svg(nut, stamp(spec), units)):
        root = ElementTree.fromstring(data)
        _, _, wide, high = (float(value) for value in root.attrib["viewBox"].split())
        for name in ("crowns", "string", "noticeable"):
            for x, y in (point for line in named(data, name) for point in line):
                assert 0.0 <= x <= wide
                assert 0.0 <= y <= high
        texts = list(root.iter(f"{SVG_NAME}text"))
        assert len(texts) > 3 * len(nut.slots)
        for text in texts:
            style = text.attrib["style"]
            long = 0.62 * float(re.search(r"([\d.]+)px", style)[1]) * len(text.text or "")  # type: ignore[index]
            anchor = re.search(r"text-anchor: (\w+)", style)
            share = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor[1] if anchor else "start"]
            assert float(text.attrib["x"]) - share * long >= -1.0, text.text
            assert float(text.attrib["x"]) + (1.0 - share) * long <= wide + 1.0, text.text
            assert 0.0 <= float(text.attrib["y"]) <= high, text.text
        words = " ".join(root.itertext())
        assert (" mm" in words) == (units == "mm")


@pytest.mark.parametrize("kind", ["bass-4-fifths", "electric-6-slanted"])
def test_strings_and_crowns_are_drawn_to_the_stated_scale(kind: str) -> None:
    spec, nut = solved(kind)
    data = heights_svg(nut, stamp(spec))
    line, frets = line_of(nut), fret_numbers(nut)
    times = int(re.search(rb"drawn (\d+) times", data).group(1))  # type: ignore[union-attr]
    crowns, strings = named(data, "crowns"), named(data, "string")
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
    touches = buzz(nut)
    crowns, swings, tips = named(data, "crowns"), named(data, "swing-away"), marks(data, "touch")
    words = [e.text for e in parsed(data).elements() if isinstance(e, Text)]
    times = int(re.search(rb"drawn (\d+) times", data).group(1))  # type: ignore[union-attr]
    u = line_of(nut).neck.fret(fret_numbers(nut))
    for i in range(6):
        fret = int(touches.worst.fret[i])
        (tip,) = tips[i]
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
    data, got = cents_svg(nut, stamp(spec)), pitches(nut)
    bands = named(data, "noticeable")
    for name, cents in (("now", got.cents), ("lower", got.cents - got.gain)):
        at = np.array(marks(data, name)).reshape(6, nut.frets, 2)
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
