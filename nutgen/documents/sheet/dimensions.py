"""The nut's views with their sizes beside them: sketches that the sheet's painters share.

Front and top stand at 1:1 with a bar to check the print by; the end view is enlarged, because its
land and bevel are a millimetre or two. Scales: ISO 5455. Lines of sizes, oblique strokes at
their ends and running sizes from one origin: ISO 129-1 (from memory).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nutgen.documents.paint.font import width
from nutgen.documents.paint.page import spread
from nutgen.geometry.lines import Arc, Box, Chain, Line, Part, Point, joined
from nutgen.model.drawing import CONTINUOUS_NARROW, CONTINUOUS_WIDE, STROKES, Drawing
from nutgen.nut.part import Nut

TYPE = 2.4
"""Size of the figures [mm]."""

SKETCH_STROKES = STROKES | {"sizes": CONTINUOUS_NARROW, "check-bar": CONTINUOUS_WIDE}
"""How each layer of a sketch is drawn."""

CHECK_BAR = 50.0
"""Length of the bar that shows whether a print is true [mm]."""

ENLARGED = (5, 2, 1)
WIDEST, HIGHEST = 45.0, 55.0
"""Scales of the end view, and the room it may take; the first that fits is taken [mm]."""

_AWAY = 6.0  # from the outline to a line of sizes
_GAP, _PAST, _STROKE = 0.8, 1.2, 0.7  # extension lines: start, end; half an oblique stroke, along each axis
_OVER = 0.8  # from a line of sizes to its figures

_FRONT = ("front-outline", "fret-plane", "board-surface", "slot-centres", "slot-floors")


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a place of a sketch; x, y is where their baseline has its middle, its start or its end [mm].

    turned : read from the right, bottom to top
    """

    x: float
    y: float
    text: str
    align: Literal["left", "centre", "right"] = "centre"
    turned: bool = False
    bold: bool = False

    @property
    def box(self) -> Box:
        """Least across, least up, greatest across, greatest up [mm]."""
        long = width(self.text, TYPE, bold=self.bold)
        start = -long * {"left": 0.0, "centre": 0.5, "right": 1.0}[self.align]
        along, low, high = (start, start + long), -0.24 * TYPE, 0.76 * TYPE
        if self.turned:
            return self.x - high, self.y + along[0], self.x - low, self.y + along[1]
        return self.x + along[0], self.y + low, self.x + along[1], self.y + high


@dataclass(frozen=True, slots=True)
class Sketch:
    """A drawing with words, in mm on the paper, up is up.

    name  : for addresses in a file
    title : what is seen
    scale : paper to part; 1 is true size
    """

    name: str
    title: str
    scale: int
    chains: tuple[Chain, ...]
    labels: tuple[Label, ...]

    @property
    def box(self) -> Box:
        """Around all lines and words: least across, least up, greatest across, greatest up [mm]."""
        return joined([*(chain.box for chain in self.chains), *(label.box for label in self.labels)])


def sketches(nut: Nut, drawing: Drawing) -> tuple[Sketch, Sketch]:
    """The true-size sketch of front and top, and the enlarged one of the end.

    nut     : at its final sizes
    drawing : of the same nut
    """
    return _true_size(nut, drawing), _end(nut, drawing)


def _true_size(nut: Nut, drawing: Drawing) -> Sketch:
    chains = [chain for layer in _FRONT for chain in drawing.front.on(layer)]
    labels: list[Label] = []
    _add(_front_sizes(nut), chains, labels)
    high = joined([chain.box for chain in chains] + [label.box for label in labels])[3]
    up = high + _AWAY - drawing.top.box[1]
    top = [chain for chain in drawing.top.chains if chain.layer != "top-blank"]
    chains += [chain.moved(0.0, up) for chain in top]
    half = nut.half_length
    _add(_upright(half, up, up + nut.thickness, aside=_AWAY), chains, labels)
    _add(_check_bar(nut, joined([chain.box for chain in chains])), chains, labels)
    return Sketch("true-size", "Seen from the bridge, and from above", 1, tuple(chains), tuple(labels))


def _add(pieces: Iterator[Chain | Label], chains: list[Chain], labels: list[Label]) -> None:
    for piece in pieces:
        if isinstance(piece, Label):
            labels.append(piece)
        else:
            chains.append(piece)


def _front_sizes(nut: Nut) -> Iterator[Chain | Label]:
    half, low = nut.half_length, nut.lowest_z
    yield from _level(-half, half, low, aside=-_AWAY)
    for side in (-1.0, 1.0):
        yield from _upright(side * half, low, float(nut.top_z(side * half, 0.0)), aside=side * _AWAY)
    yield from _centres(nut)


def _centres(nut: Nut) -> Iterator[Chain | Label]:
    """Running sizes of the strings' centres, from the bass end of the board."""
    side = 1.0 if nut.strung == "right" else -1.0
    slots = sorted(nut.slots, key=lambda slot: float(slot.x_at(0.0)))
    places = [float(slot.x_at(0.0)) for slot in slots]
    foot = nut.crown.highest(nut.half_length) + 1.4
    bend, start = foot + 3.0, foot + 4.2
    longest = max(width(_mm(nut.length), TYPE), TYPE)
    origin = -side * nut.half_length
    rows = [
        (origin, "0", ""),
        *((x, _mm(nut.half_length + side * x), str(s.number)) for x, s in zip(places, slots, strict=True)),
    ]
    rows.sort()
    apart = max(1.35 * TYPE, *(width(number, TYPE, bold=True) + 0.4 for _, _, number in rows))
    for (x, figure, number), place in zip(rows, spread([row[0] for row in rows], apart), strict=True):
        yield Chain("sizes", (Line((x, foot), (place, bend)), Line((place, bend), (place, start))))
        yield Label(place + 0.36 * TYPE, start + _OVER, figure, "left", turned=True)
        yield Label(place, start + longest + 2.2 * _OVER, number, bold=True)


def _check_bar(nut: Nut, box: Box) -> Iterator[Chain | Label]:
    left, y = -max(nut.half_length, CHECK_BAR / 2.0), box[1] - 7.0
    ticks = [(left + step, 1.6 if step in (0, CHECK_BAR) else 0.8) for step in range(0, int(CHECK_BAR) + 1, 10)]
    yield Chain("check-bar", (Line((left, y), (left + CHECK_BAR, y)),))
    for x, long in ticks:
        yield Chain("check-bar", (Line((x, y - long), (x, y + long)),))
    yield Label(left, y - 2.4 - TYPE, f"{CHECK_BAR:.0f} mm: measure it on paper", "left")


def _end(nut: Nut, drawing: Drawing) -> Sketch:
    view = drawing.end
    high = nut.height
    scale = next((k for k in ENLARGED if nut.thickness * k <= WIDEST and high * k <= HIGHEST), ENLARGED[-1])
    floors = view.on("end-floors")
    chains = [*view.on("end-outline"), *view.on("end-edges"), *dict.fromkeys(floors[:1] + floors[-1:])]
    chains = [_grown(chain, float(scale)) for chain in chains]
    labels: list[Label] = []
    _add(_end_sizes(nut, scale), chains, labels)
    return Sketch("end", view.title, scale, tuple(chains), tuple(labels))


def _end_sizes(nut: Nut, scale: int) -> Iterator[Chain | Label]:
    low, top = nut.lowest_z * scale, (nut.lowest_z + nut.height) * scale
    back, land = nut.thickness * scale, nut.land * scale
    yield from _level(0.0, back, low, aside=-_AWAY, figure=_mm(nut.thickness))
    yield from _upright(0.0, low, top, aside=-_AWAY, figure=_mm(nut.height))
    if nut.land >= nut.thickness or nut.bevel_deg == 0.0:
        return
    yield from _level(0.0, land, top, aside=_AWAY, figure=_mm(nut.land))
    half, middle = nut.half_length, nut.crown.centre[0] if nut.crown.curvature else nut.half_length
    places = (-half, half, min(half, max(-half, middle)))
    rim = max(float(nut.top_z(x, nut.thickness)) for x in places) * scale
    yield from _upright(back, low, rim, aside=_AWAY, figure=_mm((rim - low) / scale))
    touch = (land + (back - land) * 0.45, top + (rim - top) * 0.45)
    yield from _leader(touch, (touch[0] + 3.0, top + 2.6), f"{nut.bevel_deg:g}\N{DEGREE SIGN}")
    if nut.edge_radius:
        eased = nut.edge_radius * scale * (1.0 - math.sqrt(0.5))
        yield from _leader((back - eased, rim - eased), (back + 2.4, rim + 2.4), f"R {nut.edge_radius:.2f}")


def _level(left: float, right: float, from_y: float, *, aside: float, figure: str = "") -> Iterator[Chain | Label]:
    """A level size between two places, its line `aside` of the outline, below it where negative."""
    y, way = from_y + aside, math.copysign(1.0, aside)
    for x in (left, right):
        yield Chain("sizes", (Line((x, from_y + way * _GAP), (x, y + way * _PAST)),))
        yield _oblique((x, y))
    yield Chain("sizes", (Line((left, y), (right, y)),))
    yield Label((left + right) / 2.0, y + _OVER, figure or _mm(right - left))


def _upright(from_x: float, low: float, high: float, *, aside: float, figure: str = "") -> Iterator[Chain | Label]:
    """An upright size between two heights, its line `aside` of the outline, left of it where negative."""
    x, way = from_x + aside, math.copysign(1.0, aside)
    for y in (low, high):
        yield Chain("sizes", (Line((from_x + way * _GAP, y), (x + way * _PAST, y)),))
        yield _oblique((x, y))
    yield Chain("sizes", (Line((x, low), (x, high)),))
    figure = figure or _mm(high - low)
    outside = width(figure, TYPE) + 2.0 * _OVER > high - low  # too long to stand between the extension lines
    beside = x + way * (_PAST + _OVER) + (0.76 * TYPE if way > 0.0 else 0.0) if outside else x - _OVER
    yield Label(beside, (low + high) / 2.0, figure, turned=True)


def _oblique(place: Point) -> Chain:
    x, y = place
    return Chain("sizes", (Line((x - _STROKE, y - _STROKE), (x + _STROKE, y + _STROKE)),))


def _leader(touch: Point, shoulder: Point, words: str) -> Iterator[Chain | Label]:
    end = (shoulder[0] + width(words, TYPE) + 0.8, shoulder[1])
    yield Chain("sizes", (Line(touch, shoulder), Line(shoulder, end)))
    yield Label(shoulder[0] + 0.4, shoulder[1] + 0.6, words, "left")


def _grown(chain: Chain, scale: float) -> Chain:
    return Chain(chain.layer, tuple(_grown_part(part, scale) for part in chain.parts))


def _grown_part(part: Part, scale: float) -> Part:
    start, end = _times(part.start, scale), _times(part.end, scale)
    if isinstance(part, Arc):
        return replace(part, start=start, end=end, centre=_times(part.centre, scale))
    return Line(start, end)


def _times(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _mm(value: float) -> str:
    return f"{value:.2f}"


def legend() -> Sequence[tuple[str, str]]:
    """The kinds of line on the sketches that want a word, by layer."""
    return (
        ("fret-plane", "fret plane, carried on to the nut"),
        ("board-surface", "surface of the fretboard"),
        ("slot-floors", "slot floor, at the front face"),
    )
