"""A picture of the part as PNG: seen from the bridge side, a little from above.

Drawn on the processor with whole-array arithmetic, so that it needs no display and gives the
same bytes wherever the same libraries run.
"""

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter, ImageFont, PngImagePlugin

from nutgen.formats.raster import Pixels, plane_of, rasterise
from nutgen.formats.stamp import Stamp
from nutgen.model.mesh import SolidMesh

Array = NDArray[Any]
Ints = NDArray[np.int64]

WIDTH, HEIGHT = 1280, 720
FINER = 2
"""Samples a pixel, each way."""

TURN_DEG, ABOVE_DEG = 21.0, 34.0
DISTANCE = 4.5
"""From the part, in lengths of it: far enough that nothing looks bent."""

LIGHT = np.array([-0.35, -0.75, 0.62])
FILL = np.array([0.75, -0.45, -0.15])
"""Toward the main light and the weak one, as the eye sees them: right, into the picture, up."""

BONE = np.array(
    [[84.0, 66.0, 48.0], [176.0, 154.0, 122.0], [229.0, 214.0, 186.0], [246.0, 238.0, 220.0], [255, 253, 246]]
)
"""The part's colours from shade to light."""

_RAMP = np.stack(
    [np.interp(np.linspace(0.0, 1.0, 256), np.linspace(0.0, 1.0, len(BONE)), BONE[:, i]) for i in range(3)], axis=1
).astype(np.float32)

_PEN = (70, 62, 54)
INK = np.array([62.0, 48.0, 38.0])
SKY, GROUND = np.array([246.0, 246.0, 244.0]), np.array([222.0, 221.0, 217.0])


def png_bytes(mesh: SolidMesh, stamp: Stamp, *, sizes: str = "", ends: tuple[str, str] = ("", "")) -> bytes:
    """A shaded view of a part, WIDTH by HEIGHT, with its title.

    Parameters
    ----------
    mesh : SolidMesh
        The part.
    stamp : Stamp
        Whose title stands below.
    sizes : str
        What stands opposite to the title.
    ends : tuple of str
        Names of the ends at low and at high x; with them the way to the bridge is marked.

    Returns
    -------
    bytes
        A PNG file.
    """
    view = _View.of(mesh.vertices)
    picture = _backdrop(mesh, view)
    _draw(picture, mesh, view)
    image = Image.fromarray(np.clip(picture + 0.5, 0, 255).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    if any(ends):
        _mark(pen, mesh, view, ends)
    for x, words, anchor in ((48, stamp.title, "ls"), (WIDTH - 48, sizes, "rs")):
        pen.text((x, HEIGHT - 46), words, fill=_PEN, font=ImageFont.load_default(21), anchor=anchor)
    return _png(image, stamp)


@dataclass(frozen=True, slots=True, eq=False)
class _View:
    """An eye that looks at the part from a distance, and the picture's scale."""

    middle: Array
    axes: Array  # rows: to the right, upward, toward the eye
    distance: float
    scale: float  # pixels at distance 1
    shift: Array  # picture's place of the middle

    @classmethod
    def of(cls, vertices: Array) -> "_View":
        turn, above = np.radians([TURN_DEG, ABOVE_DEG])
        eye = np.array([-np.sin(turn) * np.cos(above), -np.cos(turn) * np.cos(above), np.sin(above)])
        right = np.array([np.cos(turn), -np.sin(turn), 0.0])
        middle = (vertices.min(axis=0) + vertices.max(axis=0)) / 2.0
        distance = DISTANCE * float(np.ptp(vertices, axis=0).max())
        plain = cls(middle, np.stack([right, np.cross(eye, right), eye]), distance, 1.0, np.zeros(2))
        seen, _ = plain.project(vertices)
        low, high = seen.min(axis=0), seen.max(axis=0)
        scale = min((WIDTH - 200.0) / (high - low)[0], (HEIGHT - 280.0) / (high - low)[1])
        shift = np.array([WIDTH / 2.0, HEIGHT / 2.0 - 16.0]) - scale * (low + high) / 2.0
        return cls(middle, plain.axes, distance, scale, shift)

    def project(self, points: Array) -> tuple[Array, Array]:
        """Picture coordinates (n, 2) and depth (n,), which is linear over the picture: -1 / distance."""
        x, y, near = ((points - self.middle) @ self.axes.T).T
        away = self.distance - near
        return np.stack([x / away, -y / away], axis=1) * self.scale + self.shift, -1.0 / away


def _backdrop(mesh: SolidMesh, view: _View) -> Array:
    """Sky to ground, with the part's soft shadow, (HEIGHT, WIDTH, 3)."""
    height = np.linspace(0.0, 1.0, HEIGHT)[:, None, None]
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    x, y, z = np.meshgrid([low[0], high[0]], [low[1], high[1]], [0.0, high[2] - low[2]], indexing="ij")
    corners = np.stack([x + 0.35 * z, y + 0.45 * z, np.full_like(x, low[2])], axis=-1)
    seen = view.project(corners.reshape(-1, 3))[0].reshape(2, 2, 2, 2) / 4.0
    shade = Image.new("L", (WIDTH // 4, HEIGHT // 4), 0)
    pen = ImageDraw.Draw(shade)
    for axis in range(3):
        for side in np.moveaxis(seen, axis, 0):
            pen.polygon([tuple(side[i]) for i in ((0, 0), (0, 1), (1, 1), (1, 0))], fill=255)
    soft = shade.filter(ImageFilter.GaussianBlur(7)).resize((WIDTH, HEIGHT), Image.Resampling.BICUBIC)
    shadow = 1.0 - 0.34 * np.asarray(soft, np.float32)[:, :, None] / 255.0
    return ((SKY + (GROUND - SKY) * height**1.5) * shadow).astype(np.float32)


def _draw(picture: Array, mesh: SolidMesh, view: _View) -> None:
    """Lay the part over the picture."""
    seen, depth = view.project(mesh.vertices)
    corners = seen[mesh.triangles]
    (ax, ay), (bx, by), (cx, cy) = corners.transpose(1, 2, 0)
    front = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay) < 0.0
    low = np.floor(seen.min(axis=0)).astype(int) - 2
    high = np.ceil(seen.max(axis=0)).astype(int) + 3
    size = (high - low) * FINER
    corners = (corners[front] - low) * FINER
    pixels = rasterise(corners, depth[mesh.triangles[front]], width=size[0], height=size[1])
    tone = _tones(mesh, view)[front]
    samples = size[1], size[0]
    bright, cover = np.zeros(samples, np.float32), np.zeros(samples, np.float32)
    bright.reshape(-1)[pixels.place] = _brightness(pixels, corners, tone, size)
    cover.reshape(-1)[pixels.place] = 1.0
    bright, cover, ink = _coarse(bright), _coarse(cover), _coarse(_lines(pixels, mesh, front, size))
    level = np.clip(bright / np.maximum(cover, 1e-6) * 255.0, 0.0, 255.0).astype(np.uint8)
    window = picture[low[1] : high[1], low[0] : high[0]]
    window += cover[:, :, None] * (_RAMP[level] - window)
    window += ink[:, :, None] * (INK.astype(np.float32) - window)


def _tones(mesh: SolidMesh, view: _View) -> Array:
    """Brightness at the corners of triangles, 0 to 1, (m, 3)."""
    right, up, eye = view.axes
    into = -eye

    def toward(light: Array) -> Array:
        direction = light[0] * right + light[1] * into + light[2] * up
        return direction / np.linalg.norm(direction)

    normal = mesh.normals
    main, fill = toward(LIGHT), toward(FILL)
    half = (main + eye) / np.linalg.norm(main + eye)
    diffuse = np.maximum(normal @ main, 0.0)
    shine = np.maximum(normal @ half, 0.0) ** 20
    return np.clip(0.20 + 0.60 * diffuse + 0.15 * np.maximum(normal @ fill, 0.0) + 0.12 * shine, 0.0, 1.0)


def _brightness(pixels: Pixels, corners: Array, tone: Array, size: Ints) -> Array:
    """Brightness of each covered sample, 0 to 1."""
    base, slope_x, slope_y = (a.astype(np.float32) for a in plane_of(corners, tone))
    row, column = np.divmod(pixels.place.astype(np.int32), np.int32(size[0]))
    t = pixels.triangle
    bright = base[t] + slope_x[t] * (column + np.float32(0.5)) + slope_y[t] * (row + np.float32(0.5))
    return bright * _openness(pixels, row, column, size)


def _coarse(a: Array) -> Array:
    """Mean over each pixel's samples."""
    return np.mean([a[i::FINER, j::FINER] for i in range(FINER) for j in range(FINER)], axis=0)


def _openness(pixels: Pixels, row: Array, column: Array, size: Ints) -> Array:
    """How freely light reaches each sample: less where it lies behind what is round it.

    The distance from the eye, against its mean over the neighbourhood on the part.
    """
    width, height = size
    distance = np.zeros(height * width, np.float32)
    distance[pixels.place] = -1.0 / pixels.depth
    there = distance.reshape(height, width)[::4, ::4]
    mask = (there > 0.0).astype(np.float32)
    spread = max(3, there.shape[1] // 50)
    mean = _blurred(there, spread) / np.maximum(_blurred(mask, spread), 1e-3)
    dark = np.clip((there - mean) * 0.22, -0.02, 0.45) * mask
    dark = np.where(mask > 0.0, dark, _blurred(dark, 1) / np.maximum(_blurred(mask, 1), 1e-3))
    return 1.0 - dark.astype(np.float32)[row // 4, column // 4]


def _blurred(a: Array, reach: int) -> Array:
    """Mean over a square of 2 reach + 1, twice; beyond the border all is 0."""
    from scipy.ndimage import uniform_filter

    for _ in range(2):
        a = uniform_filter(a, 2 * reach + 1, mode="constant")
    return a


def _lines(pixels: Pixels, mesh: SolidMesh, front: Array, size: Ints) -> Array:
    """How much ink lies on each sample: where two faces meet at an angle, and along the outline."""
    width, height = size
    count = int(mesh.faces.max()) + 2  # the last one stands for the background
    shown = np.full(height * width, count - 1, np.int32)
    shown[pixels.place] = mesh.faces[front][pixels.triangle]
    shown = shown.reshape(height, width)
    strength = _creases(mesh, count)
    ink = np.zeros((height, width), np.float32)
    for a, b, to_a, to_b in (
        (shown[:, :-1], shown[:, 1:], ink[:, :-1], ink[:, 1:]),
        (shown[:-1], shown[1:], ink[:-1], ink[1:]),
    ):
        row, column = np.nonzero(a != b)
        value = strength[a[row, column], b[row, column]]
        to_a[row, column] = np.maximum(to_a[row, column], value)
        to_b[row, column] = np.maximum(to_b[row, column], value)
    return ink


def _creases(mesh: SolidMesh, count: int) -> Array:
    """Ink between each two faces of the solid (count, count): none where they meet smoothly.

    Faces that do not touch hide one another where they meet in the picture, and so does the
    part its background: an outline.
    """
    strength = np.full((count, count), 0.55, np.float32)
    one, other = mesh.edges.side.reshape(-1, 2).T  # a closed mesh has every edge twice
    normal = mesh.normals
    face = np.repeat(mesh.faces, 3)
    # the same edge runs the other way in its other triangle: its start there is the stop here
    turn = np.einsum("ij,ij->i", normal.reshape(-1, 3)[one], np.roll(normal, -1, axis=1).reshape(-1, 3)[other])
    angle = np.degrees(np.arccos(np.clip(turn, -1.0, 1.0)))
    pairs = face[one] * count + face[other], face[other] * count + face[one]
    total = np.add(*(np.bincount(pair, angle, count * count) for pair in pairs))
    times = np.add(*(np.bincount(pair, minlength=count * count) for pair in pairs))
    met = times > 0
    mean = np.where(met, total / np.maximum(times, 1), 90.0)
    strength.reshape(-1)[met] = 0.55 * np.clip((mean[met] - 4.0) / 30.0, 0.0, 1.0) ** 0.6
    return strength


def _mark(pen: ImageDraw.ImageDraw, mesh: SolidMesh, view: _View, ends: tuple[str, str]) -> None:
    """Name the ends at the foot of the front face, and point from it to the bridge, along the neck."""
    (left, front, foot), (right, _, _) = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    long, middle = right - left, (left + right) / 2.0
    places = [(left, front), (right, front), *((middle, front - share * long) for share in (0.03, 0.12, 0.14))]
    low, high, start, tip, words = view.project(np.array([(x, y, foot) for x, y in places]))[0]
    for place, name, anchor in ((low, ends[0], "la"), (high, ends[1], "ra"), (words, "to the bridge", "ma")):
        pen.text((place[0], place[1] + 14), name, fill=_PEN, font=ImageFont.load_default(19), anchor=anchor)
    way = (tip - start) / np.linalg.norm(tip - start)
    aside = np.array([-way[1], way[0]])
    pen.line([tuple(start), tuple(tip)], fill=_PEN, width=2)
    pen.polygon([tuple(tip + 4.0 * way), *(tuple(tip - 10.0 * way + 5.0 * s * aside) for s in (-1, 1))], fill=_PEN)


def _png(image: Image.Image, stamp: Stamp) -> bytes:
    notes = PngImagePlugin.PngInfo()
    notes.add_itxt("Title", stamp.title)
    notes.add_itxt("Software", stamp.program)
    notes.add_itxt("Description", stamp.line)
    data = io.BytesIO()
    image.save(data, "PNG", pnginfo=notes, compress_level=3)
    return data.getvalue()
