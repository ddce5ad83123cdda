"""The nut's views with their sizes beside them: sketches that the sheet's painters share.

Front and top stand at 1:1 with a bar to check the print by; the end view is enlarged, because its
land and bevel are a millimetre or two. Scales: ISO 5455. Lines of sizes, oblique strokes at
their ends and running sizes from one origin: ISO 129-1 (from memory).
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from nutgen.documents.blocks import Figure, Legend, sample
from nutgen.documents.font import width
from nutgen.documents.lettering import Words, spread
from nutgen.documents.paint.heading import bar
from nutgen.documents.words.quantities import MM_PER_INCH, Units, figures, quantity
from nutgen.geometry.lines import Arc, Box, Chain, Line, Part, Point, joined
from nutgen.model.drawing import Drawing, View
from nutgen.nut.edges import eased_radius
from nutgen.nut.part import Nut
from nutgen.nut.setback import rebate

TYPE = 2.4
"""Size of the figures [mm]."""

CHECK_BARS: dict[Units, tuple[float, float, str]] = {
    "mm": (50.0, 10.0, "50 mm"),
    "in": (2.0 * MM_PER_INCH, MM_PER_INCH / 4.0, "2 in"),
}
"""The bar that shows whether a print is true: its length, its steps [mm], its name."""

ENLARGED = (5, 2, 1)
WIDEST, HIGHEST = 45.0, 55.0
"""Scales of the end view, and the room it may take; the first that fits is taken [mm]."""

_AWAY = 6.0  # from the outline to a line of sizes
_GAP, _PAST, _STROKE = 0.8, 1.2, 0.7  # extension lines: start, end; half an oblique stroke, along each axis
_OVER = 0.8  # from a line of sizes to its figures
_HIGH = 0.76 * TYPE  # of a figure

_FRONT = ("front-outline", "fret-plane", "board-surface", "slot-centres", "slot-floors")


def sketches(nut: Nut, drawing: Drawing, units: Units = "mm") -> tuple[Figure, Figure]:
    """The true-size sketch of front and top, and the enlarged one of the end.

    nut     : at its final sizes
    drawing : of the same nut
    units   : of the reader
    """
    return _true_size(nut, drawing, units), _end(nut, drawing, units)


def _true_size(nut: Nut, drawing: Drawing, units: Units) -> Figure:
    front = [*(chain for layer in _FRONT for chain in drawing.front.on(layer)), *_front_sizes(nut, units)]
    up = joined([one.box_up if isinstance(one, Words) else one.box for one in front])[3] + _AWAY - drawing.top.box[1]
    top = [chain.moved(0.0, up) for chain in drawing.top.chains if chain.layer != "top-blank"]
    thick = _upright(nut.reach[1], up, up + nut.thickness, aside=_AWAY, figure=_size(nut.thickness, units))
    pieces = [*front, *top, *thick]
    pieces += _check_bar(nut, units, joined([one.box for one in pieces if isinstance(one, Chain)]))
    return _figure("true-size", pieces, "Seen from the bridge, and from above, 1:1")


def _figure(name: str, pieces: Sequence[Chain | Words], caption: str, scale: int = 1) -> Figure:
    chains = tuple(one for one in pieces if isinstance(one, Chain))
    return Figure(name, chains, tuple(one for one in pieces if isinstance(one, Words)), caption, scale)


def _front_sizes(nut: Nut, units: Units) -> Iterator[Chain | Words]:
    low = nut.lowest_z
    yield from _level(nut.left.x, nut.right.x, low, aside=-_AWAY, figure=_size(nut.length, units))
    for side in (-1.0, 1.0):
        x = nut.end_x(side)
        high = float(nut.top_z(x, 0.0))
        yield from _upright(x, low, high, aside=side * _AWAY, figure=_size(high - low, units))
    yield from _centres(nut, units)


def _centres(nut: Nut, units: Units) -> Iterator[Chain | Words]:
    """Running sizes of the strings' centres, from the bass end of the board."""
    side = 1.0 if nut.strung == "right" else -1.0
    foot = nut.crown.highest(nut.left.x, nut.right.x) + 1.4
    bend, start = foot + 3.0, foot + 4.2
    longest = max(width(_size(nut.length, units), TYPE), TYPE)
    origin = nut.end_x(-side)
    rows = [
        (origin, "0", ""),
        *((slot.x, _size(nut.from_bass_end(slot), units), str(slot.number)) for slot in nut.slots),
    ]
    rows.sort()
    apart = max(1.35 * TYPE, *(width(number, TYPE, bold=True) + 0.9 for _, _, number in rows))
    for (x, figure, number), place in zip(rows, spread([row[0] for row in rows], apart), strict=True):
        yield Chain("sizes", (Line((x, foot), (place, bend)), Line((place, bend), (place, start))))
        yield Words(place + 0.36 * TYPE, start + _OVER, figure, TYPE, turned=True)
        yield Words(place, start + longest + 2.2 * _OVER, number, TYPE, bold=True, align="centre")


def _check_bar(nut: Nut, units: Units, box: Box) -> Iterator[Chain | Words]:
    long, step, name = CHECK_BARS[units]
    left, y = min(nut.left.x, -long / 2.0), box[1] - 7.0
    yield from (chain.moved(left, y) for chain in bar(name, 0.0, 0.0, long, step).chains)
    yield Words(left, y - 2.4 - TYPE, f"{name}: measure it on paper", TYPE)


def _end(nut: Nut, drawing: Drawing, units: Units) -> Figure:
    view = drawing.end
    high = nut.height
    scale = next((k for k in ENLARGED if nut.thickness * k <= WIDEST and high * k <= HIGHEST), ENLARGED[-1])
    floors = view.on("end-floors")
    lines = [*view.on("end-outline"), *view.on("end-edges"), *dict.fromkeys(floors[:1] + floors[-1:])]
    pieces: list[Chain | Words] = [_grown(chain, float(scale)) for chain in lines]
    caption, named = f"{view.title}, {scale}:1", _named_lines(nut, view)
    under, needed = _low(next(iter(named))) * scale - 1.6, 1.5 * TYPE * len(named)
    names = list(_end_names(nut, named, scale, under))
    reach = max(one.box_up[2] for one in names if isinstance(one, Words))
    if under - needed > nut.lowest_z * scale + 1.0 and reach < nut.thickness * scale + _AWAY - 1.5 * TYPE:
        pieces += names
    else:
        caption += f"; within, from below: {', '.join(named.values())}"
    return _figure("end", [*pieces, *_end_sizes(nut, scale, units)], caption, scale)


def _named_lines(nut: Nut, view: View) -> dict[Chain, str]:
    """What the lines within the outline are, the lowest first."""
    floors = view.on("end-floors")
    named = {floors[index]: f"floor of {nut.slots[index].number}" for index in (0, -1)}
    if eased_radius(nut):
        named[view.on("end-edges")[-1]] = "top at this end"
    return dict(sorted(named.items(), key=lambda item: _low(item[0])))


def _end_names(nut: Nut, named: Mapping[Chain, str], scale: int, under: float) -> Iterator[Chain | Words]:
    """Each line within the outline led down into the body to its name, the longest foremost."""
    for row, (chain, name) in enumerate(sorted(named.items(), key=lambda item: -len(item[1]))):
        x, y = nut.thickness * (0.06 + 0.13 * row), under - 1.5 * TYPE * (len(named) - row)
        part = next(part for part in chain.parts if part.box[0] <= x <= part.box[2])
        yield Chain("sizes", (Line((x * scale, part.up_at(x) * scale), (x * scale, y)),))
        yield Words(x * scale + 0.8, y, name, TYPE)


def _low(chain: Chain) -> float:
    return chain.box[1]


def _end_sizes(nut: Nut, scale: int, units: Units) -> Iterator[Chain | Words]:
    low, top = nut.lowest_z * scale, (nut.lowest_z + nut.height) * scale
    back, land = nut.thickness * scale, nut.land * scale
    yield from _level(0.0, back, low, aside=-_AWAY, figure=_size(nut.thickness, units))
    front = nut.shelves.front * scale
    yield from _upright(front, low, top, aside=-_AWAY, figure=_size(nut.height, units))
    if nut.shelves.alone:
        yield from _level(front, 0.0, low, aside=-_AWAY, figure=_size(-nut.shelves.front, units))
        yield from _upright(0.0, low, low + rebate(nut) * scale, aside=-_PAST, figure=_size(rebate(nut), units))
    if nut.land >= nut.thickness or nut.bevel_deg == 0.0:
        return
    yield from _level(0.0, land, top, aside=_AWAY, figure=_size(nut.land, units))
    rim = nut.highest_at_back * scale
    yield from _upright(back, low, rim, aside=_AWAY, figure=_size((rim - low) / scale, units))
    touch = (land + (back - land) * 0.45, top + (rim - top) * 0.45)
    bevel = quantity(nut.bevel_deg, "angle", units)
    yield from _leader(touch, (touch[0] + 3.0, top + 2.6), bevel)
    if nut.edge_radius:
        eased = nut.edge_radius * scale * (1.0 - math.sqrt(0.5))
        beside = max(back + 2.4, touch[0] + 4.0 + width(bevel, TYPE))
        yield from _leader((back - eased, rim - eased), (beside, rim + 2.4), f"R {_size(nut.edge_radius, units)}")


def _level(left: float, right: float, from_y: float, *, aside: float, figure: str) -> Iterator[Chain | Words]:
    """A level size between two places, its line `aside` of the outline, below it where negative."""
    y, way = from_y + aside, math.copysign(1.0, aside)
    for x in (left, right):
        yield Chain("sizes", (Line((x, from_y + way * _GAP), (x, y + way * _PAST)),))
        yield _oblique((x, y))
    yield Chain("sizes", (Line((left, y), (right, y)),))
    outside = y + way * (_PAST + _OVER) - (_HIGH if way < 0.0 else 0.0)
    yield Words(
        (left + right) / 2.0, outside if _crowded(figure, right - left) else y + _OVER, figure, TYPE, align="centre"
    )


def _upright(from_x: float, low: float, high: float, *, aside: float, figure: str) -> Iterator[Chain | Words]:
    """An upright size between two heights, its line `aside` of the outline, left of it where negative."""
    x, way = from_x + aside, math.copysign(1.0, aside)
    for y in (low, high):
        yield Chain("sizes", (Line((from_x + way * _GAP, y), (x + way * _PAST, y)),))
        yield _oblique((x, y))
    yield Chain("sizes", (Line((x, low), (x, high)),))
    outside = x + way * (_PAST + _OVER) + (_HIGH if way > 0.0 else 0.0)
    beside = outside if _crowded(figure, high - low) else x - _OVER
    yield Words(beside, (low + high) / 2.0, figure, TYPE, align="centre", turned=True)


def _crowded(figure: str, room: float) -> bool:
    """Whether a figure is too long to stand between its extension lines."""
    return width(figure, TYPE) + 2.0 * _OVER > room


def _oblique(place: Point) -> Chain:
    x, y = place
    return Chain("sizes", (Line((x - _STROKE, y - _STROKE), (x + _STROKE, y + _STROKE)),))


def _leader(touch: Point, shoulder: Point, words: str) -> Iterator[Chain | Words]:
    end = (shoulder[0] + width(words, TYPE) + 0.8, shoulder[1])
    yield Chain("sizes", (Line(touch, shoulder), Line(shoulder, end)))
    yield Words(shoulder[0] + 0.4, shoulder[1] + 0.6, words, TYPE)


def _grown(chain: Chain, scale: float) -> Chain:
    return Chain(chain.layer, tuple(_grown_part(part, scale) for part in chain.parts))


def _grown_part(part: Part, scale: float) -> Part:
    start, end = _times(part.start, scale), _times(part.end, scale)
    if isinstance(part, Arc):
        return replace(part, start=start, end=end, centre=_times(part.centre, scale))
    return Line(start, end)


def _times(point: Point, scale: float) -> Point:
    return point[0] * scale, point[1] * scale


def _size(value: float, units: Units) -> str:
    return figures(value, "setting_out", units)


LEGEND = Legend(
    (
        (sample("fret-plane"), "fret plane, carried on to the nut"),
        (sample("board-surface"), "surface of the fretboard"),
        (sample("slot-floors"), "slot floor, where the string starts"),
    )
)
"""The kinds of line on the sketches that want a word."""
