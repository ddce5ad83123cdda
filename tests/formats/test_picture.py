"""The picture: what Pillow reads back, where the part stands in it, and the rasteriser against plain geometry."""

import io
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from shapely import Polygon
from shapely import contains_xy as covers

from nutgen.formats.picture import HEIGHT, WIDTH, png_bytes
from nutgen.formats.raster import plane_of, rasterise
from nutgen.formats.stamp import Stamp
from nutgen.geometry.mesh import Mesh
from nutgen.model.mesh import mesh_of
from nutgen.model.solid import nut_solid
from tests.model.nuts import nut, slot

STAMP = Stamp("Bench nut", "0123456789ab")


@cache
def bar(*places: float) -> Mesh:
    slots = tuple(slot(x=x, width=1.6, floor_z=0.8) for x in places)
    return mesh_of(nut_solid(nut(slots=slots or (slot(x=0.0, width=0.2, floor_z=1.9),))))


@cache
def picture(*places: float) -> Image.Image:
    return Image.open(io.BytesIO(png_bytes(bar(*places), STAMP)))


def bone(image: Image.Image) -> np.ndarray:
    """Where the part is: warm, so its red is well above its blue."""
    pixels = np.asarray(image.convert("RGB")).astype(int)[: HEIGHT - 90]  # the captions stand below
    return pixels[:, :, 0] - pixels[:, :, 2] > 12


def test_size_and_words_in_the_file() -> None:
    image = picture()
    assert image.size == (WIDTH, HEIGHT)
    assert image.text["Title"] == STAMP.title
    assert STAMP.spec_hash in image.text["Description"]
    data = png_bytes(bar(), STAMP)
    assert b"tIME" not in data


def test_same_mesh_same_bytes() -> None:
    assert png_bytes(bar(), STAMP) == png_bytes(bar(), STAMP)


def test_the_part_stands_whole_in_the_picture() -> None:
    there = bone(picture())
    assert 0.08 < there.mean() < 0.5
    rows, columns = np.flatnonzero(there.any(axis=1)), np.flatnonzero(there.any(axis=0))
    assert columns[0] > 30
    assert columns[-1] < WIDTH - 30
    assert rows[0] > 30
    assert rows[-1] < HEIGHT - 95
    assert abs((columns[0] + columns[-1]) / 2.0 - WIDTH / 2.0) < 10.0


def test_slots_are_seen() -> None:
    """Each slot changes the picture where it lies, from bass on the left to treble on the right."""
    plain = np.asarray(picture().convert("L")).astype(int)
    middles = []
    for x in (-12.0, 0.0, 12.0):
        changed = np.abs(np.asarray(picture(x).convert("L")).astype(int) - plain)[: HEIGHT - 90] > 25
        assert changed.sum() > 300
        middles.append(np.nonzero(changed)[1].mean())
    assert middles == sorted(middles)
    assert middles[2] - middles[0] > WIDTH / 3.0


def test_the_bevel_s_crease_is_drawn_and_smooth_joins_are_not() -> None:
    def ink(bevel_deg: float) -> int:
        part = nut(bevel_deg=bevel_deg, edge_radius=0.0, slots=(slot(x=0.0, width=0.2, floor_z=1.9),))
        image = np.asarray(Image.open(io.BytesIO(png_bytes(mesh_of(nut_solid(part)), STAMP))).convert("L")).astype(int)
        return int((np.abs(np.diff(image[: HEIGHT - 90], axis=0)) > 6).sum())

    assert ink(25.0) > ink(0.0) + WIDTH / 2


@pytest.mark.parametrize("title", ["", "Größe 弦", "x" * 80])
def test_any_title_makes_a_picture(title: str) -> None:
    image = Image.open(io.BytesIO(png_bytes(bar(), Stamp(title, "0123456789ab"))))
    assert image.size == (WIDTH, HEIGHT)
    assert image.text["Title"] == title


def test_a_part_seen_from_farther_is_drawn_the_same() -> None:
    """The picture is scaled to the part: twice the size, the same pixels but for the sizes below."""
    large = replace(bar(6.0), vertices=2.0 * bar(6.0).vertices)
    one, other = (
        np.asarray(Image.open(io.BytesIO(png_bytes(mesh, STAMP))))[: HEIGHT - 90] for mesh in (bar(6.0), large)
    )
    assert np.mean(np.abs(one.astype(int) - other.astype(int)) > 40) < 0.01


place = st.floats(-5.0, 45.0).map(lambda x: round(x, 2))
triangles = st.lists(st.tuples(*[st.tuples(place, place)] * 3), min_size=1, max_size=6)


@settings(max_examples=150, derandomize=True)
@given(triangles)
def test_pixels_are_those_whose_middles_the_triangles_cover(corners: list) -> None:
    """Against shapely; middles within a hair of a side may fall to either."""
    width, height = 40, 30
    shapes = [Polygon(points) for points in corners]
    depth = np.repeat(np.arange(len(corners), dtype=float)[:, None], 3, axis=1)
    found = rasterise(np.array(corners, float), depth, width=width, height=height)
    row, column = np.divmod(found.place, width)
    shown = np.full((height, width), -1)
    shown[row, column] = found.triangle
    assert np.all(np.diff(found.place) > 0)
    x, y = np.meshgrid(np.arange(width) + 0.5, np.arange(height) + 0.5)
    wanted, doubtful = np.full((height, width), -1), np.zeros((height, width), bool)
    for i, shape in reversed(list(enumerate(shapes))):
        doubtful |= covers(shape.boundary.buffer(1e-6), x, y)
        if shape.area > 0.0:
            wanted[covers(shape, x, y)] = i
    assert np.array_equal(shown[~doubtful], wanted[~doubtful])


@settings(max_examples=60, derandomize=True)
@given(st.tuples(*[st.floats(-3.0, 3.0)] * 3), st.tuples(*[st.tuples(place, place)] * 3))
def test_a_quantity_is_linear_over_a_triangle(coefficients: tuple, corners: tuple) -> None:
    points = np.array([corners], float)
    if Polygon(corners).area < 1.0:
        return
    a, b, c = coefficients
    base, slope_x, slope_y = plane_of(points, a + b * points[:, :, 0] + c * points[:, :, 1])
    assert (base[0], slope_x[0], slope_y[0]) == pytest.approx((a, b, c), abs=1e-6)


def test_ends_and_the_way_to_the_bridge_are_marked_below_the_part() -> None:
    """In front of the part, which stays as it was; each name at its end."""
    plain = np.asarray(picture().convert("L")).astype(int)
    marked = Image.open(io.BytesIO(png_bytes(bar(), STAMP, ends=("bass end", "treble end"))))
    changed = np.abs(np.asarray(marked.convert("L")).astype(int) - plain) > 40
    there = bone(picture())
    assert not (changed[: len(there)] & there).any()
    columns = np.flatnonzero(changed.any(axis=0)) / WIDTH
    for left, right in ((0.05, 0.25), (0.4, 0.7), (0.75, 0.95)):
        assert ((left < columns) & (columns < right)).sum() > 20
