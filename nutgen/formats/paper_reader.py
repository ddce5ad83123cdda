"""The paper template, read back: the page of a PDF, the scale of an SVG, the size of a PNG."""

import re
import struct
import xml.etree.ElementTree as ET
import zlib
from dataclasses import dataclass

MM_PER_POINT = 25.4 / 72.0


def pdf_pages(data: bytes) -> list[tuple[float, float]]:
    """Width and height of every page [mm], from the page objects themselves.

    raises : ValueError where the file is not a whole PDF, or asks for another unit than the point
    """
    if not data.startswith(b"%PDF-") or b"%%EOF" not in data[-32:]:
        raise ValueError("is not a whole PDF file")
    if b"/UserUnit" in data:
        raise ValueError("scales its unit")
    boxes = re.findall(rb"/MediaBox\s*\[([^\]]+)\]", data)
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", data))
    if pages != len(boxes):
        raise ValueError(f"has {pages} pages and {len(boxes)} page sizes")
    corners = [[float(word) for word in box.split()] for box in boxes]
    return [((right - left) * MM_PER_POINT, (high - low) * MM_PER_POINT) for left, low, right, high in corners]


@dataclass(frozen=True, slots=True)
class Svg:
    """width, height of the page [mm]; mm to a unit of the drawing; lengths across of named groups [mm]."""

    width: float
    height: float
    scale: float
    across: dict[str, float]


def read_svg(data: bytes, groups: tuple[str, ...]) -> Svg:
    """Read an SVG file: its page, and how far the paths of some groups reach across.

    raises : ValueError where the page has no size in mm
    """
    root = ET.fromstring(data)
    sizes = [re.fullmatch(r"([\d.]+)mm", root.get(side, "")) for side in ("width", "height")]
    if None in sizes:
        raise ValueError("has no size in mm")
    width, height = (float(size[1]) for size in sizes if size)
    _, _, drawn, _ = (float(word) for word in root.get("viewBox", "0 0 0 0").split())
    scale = width / drawn
    found = {}
    for group in root.iter("{http://www.w3.org/2000/svg}g"):
        name = group.get("id", "")
        if name in groups:
            paths = group.iter("{http://www.w3.org/2000/svg}path")
            places = [x for path in paths for x in _places_across(path.get("d", ""))]
            found[name] = (max(places) - min(places)) * scale
    return Svg(width, height, scale, found)


def _places_across(path: str) -> list[float]:
    """x of every corner of a path of straight lines and arcs, in absolute commands."""
    places = []
    for command, words in re.findall(r"([MLA])([^MLAZ]*)", path):
        numbers = [float(word) for word in re.findall(r"-?[\d.]+(?:e-?\d+)?", words)]
        step, at = (7, 5) if command == "A" else (2, 0)
        places += numbers[at::step]
    return places


def png_size(data: bytes) -> tuple[int, int]:
    """Width and height in pixels, every chunk checked by its sum.

    raises : ValueError where a chunk is damaged or the end is missing
    """
    if not data.startswith(b"\x89PNG\r\n\x1a\n"):
        raise ValueError("is not a PNG file")
    at, size, kind = 8, (0, 0), b""
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        body = data[at + 8 : at + 8 + length]
        if zlib.crc32(kind + body) != struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0]:
            raise ValueError("is damaged")
        if kind == b"IHDR":
            size = struct.unpack(">II", body[:8])
        at += 12 + length
    if kind != b"IEND":
        raise ValueError("is not whole")
    return size
