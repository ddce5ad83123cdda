"""A reader of DXF that knows nothing of the library that wrote it: pairs of a code and a value.

Source: the published DXF reference (group codes; from memory). Only what our own files hold is read.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

Pair = tuple[int, str]
Box = tuple[float, float, float, float]
UNITS = {1: "in", 4: "mm", 5: "cm", 6: "m"}
CURVES_REFUSED = ("SPLINE", "ELLIPSE")


@dataclass(frozen=True, slots=True)
class Entity:
    """One entity: kind, layer, and its codes in order."""

    kind: str
    layer: str
    pairs: tuple[Pair, ...]

    def value(self, code: int, default: float = 0.0) -> float:
        """The first number under a code."""
        return next((float(value) for at, value in self.pairs if at == code), default)

    @property
    def closed(self) -> bool:
        """Whether a polyline ends where it starts."""
        return bool(int(self.value(70)) & 1)

    @property
    def corners(self) -> list[tuple[float, float, float]]:
        """x, y and bulge of each corner of a polyline."""
        corners: list[tuple[float, float, float]] = []
        for code, value in self.pairs:
            if code == 10:
                corners.append((float(value), 0.0, 0.0))
            elif code == 20 and corners:
                corners[-1] = (corners[-1][0], float(value), 0.0)
            elif code == 42 and corners:
                corners[-1] = (*corners[-1][:2], float(value))
        return corners

    @property
    def ends(self) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
        """Both ends of a line."""
        first, last = ((self.value(c), self.value(c + 10), self.value(c + 20)) for c in (10, 11))
        return first, last

    @property
    def points(self) -> list[tuple[float, float, float]]:
        """Corners of a polyline in space."""
        x, y, z = ([float(value) for at, value in self.pairs if at == code] for code in (10, 20, 30))
        return list(zip(x, y, z, strict=True))

    @property
    def shortest(self) -> float:
        """Length of its shortest line or chord; inf where it has none."""
        points = [(x, y, 0.0) for x, y, _ in self.corners]
        if self.kind == "LINE":
            points = list(self.ends)
        elif self.kind == "POLYLINE":
            points = self.points
        elif self.closed:
            points += points[:1]
        return min((math.dist(a, b) for a, b in pairwise(points)), default=math.inf)

    @property
    def area(self) -> float:
        """Enclosed by a closed polyline, positive where it runs counterclockwise [mm2]."""
        total = 0.0
        for (x0, y0, bulge), (x1, y1, _) in _sides(self.corners):
            total += (x0 * y1 - x1 * y0) / 2.0
            if bulge:
                sweep, chord = 4.0 * math.atan(bulge), math.hypot(x1 - x0, y1 - y0)
                radius = chord / (2.0 * math.sin(abs(sweep) / 2.0))
                total += math.copysign(radius * radius * (abs(sweep) - math.sin(abs(sweep))) / 2.0, bulge)
        return total

    @property
    def box(self) -> Box:
        """Around a polyline, its arcs included [mm]."""
        x, y = [], []
        for (x0, y0, bulge), (x1, y1, _) in _sides(self.corners):
            x += [x0, x1]
            y += [y0, y1]
            for px, py in _quarters((x0, y0), (x1, y1), bulge):
                x.append(px)
                y.append(py)
        return min(x), min(y), max(x), max(y)


def _sides(corners: Sequence[tuple[float, float, float]]) -> Iterator[tuple[tuple[float, float, float], ...]]:
    return zip(corners, [*corners[1:], *corners[:1]], strict=True)


def _quarters(start: tuple[float, float], end: tuple[float, float], bulge: float) -> Iterator[tuple[float, float]]:
    """Where an arc is highest, lowest, leftmost, rightmost, as far as it gets there."""
    if not bulge:
        return
    (x0, y0), (x1, y1) = start, end
    half = (1.0 - bulge * bulge) / (4.0 * bulge)
    xc, yc = (x0 + x1) / 2.0 - half * (y1 - y0), (y0 + y1) / 2.0 + half * (x1 - x0)
    radius, first, sweep = math.hypot(x0 - xc, y0 - yc), math.atan2(y0 - yc, x0 - xc), 4.0 * math.atan(bulge)
    for quarter in range(4):
        turn = (quarter * math.pi / 2.0 - first) * math.copysign(1.0, sweep) % (2.0 * math.pi)
        if turn < abs(sweep):
            angle = quarter * math.pi / 2.0
            yield xc + radius * math.cos(angle), yc + radius * math.sin(angle)


@dataclass(frozen=True, slots=True)
class Dxf:
    """A file as read."""

    unit: str
    layers: frozenset[str]
    entities: tuple[Entity, ...]

    def on(self, layer: str) -> list[Entity]:
        """The entities of one layer."""
        return [entity for entity in self.entities if entity.layer == layer]

    @property
    def refused(self) -> int:
        """Curves that a router's program trips over."""
        return sum(entity.kind in CURVES_REFUSED for entity in self.entities)

    @property
    def open_polylines(self) -> int:
        """Polylines that do not close."""
        return sum(entity.kind == "LWPOLYLINE" and not entity.closed for entity in self.entities)

    @property
    def strays(self) -> int:
        """Entities on layers that the file does not list."""
        return sum(entity.layer not in self.layers for entity in self.entities)

    @property
    def duplicates(self) -> int:
        """Entities that repeat another one."""
        shapes = [(entity.kind, entity.layer, _geometry(entity)) for entity in self.entities]
        return len(shapes) - len(set(shapes))


def _geometry(entity: Entity) -> tuple[Pair, ...]:
    return tuple(pair for pair in entity.pairs if 10 <= pair[0] < 60 or pair[0] in (1, 70))


def read_dxf(data: bytes) -> Dxf:
    """Read the text of a DXF file.

    Parameters
    ----------
    data : bytes
        The file.

    Returns
    -------
    Dxf
        Unit, layers and entities.

    Raises
    ------
    ValueError
        Where it is not a whole DXF file.

    References
    ----------
    The published DXF reference, group codes; from memory.
    """
    lines = data.decode("utf-8").splitlines()
    if len(lines) % 2 or lines[-1].strip() != "EOF":
        raise ValueError("is not a whole DXF file")
    pairs = [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=True)]
    sections = dict(_sections(pairs))
    return Dxf(
        unit=_unit(sections.get("HEADER", [])),
        layers=frozenset(_layers(sections.get("TABLES", []))),
        entities=tuple(_entity(group) for group in _whole(_groups(sections.get("ENTITIES", [])))),
    )


def _sections(pairs: Sequence[Pair]) -> Iterator[tuple[str, list[Pair]]]:
    start = 0
    for index, pair in enumerate(pairs):
        if pair == (0, "SECTION"):
            start = index + 2
        elif pair == (0, "ENDSEC"):
            yield pairs[start - 1][1], list(pairs[start:index])


def _groups(pairs: Sequence[Pair]) -> Iterator[list[Pair]]:
    group: list[Pair] = []
    for pair in pairs:
        if pair[0] == 0 and group:
            yield group
            group = []
        group.append(pair)
    if group:
        yield group


def _whole(groups: Iterable[list[Pair]]) -> Iterator[list[Pair]]:
    """The same, the points of a polyline in space within it instead of behind it."""
    line: list[Pair] = []
    for group in groups:
        match group[0]:
            case (0, "POLYLINE"):
                line = [pair for pair in group if pair[0] not in (10, 20, 30)]
            case (0, "VERTEX"):
                line += [pair for pair in group if pair[0] in (10, 20, 30)]
            case (0, "SEQEND"):
                yield line
            case _:
                yield group


def _entity(group: Sequence[Pair]) -> Entity:
    layer = next((value for code, value in group if code == 8), "")
    return Entity(group[0][1], layer, tuple(group[1:]))


def _unit(header: Sequence[Pair]) -> str:
    for index, pair in enumerate(header):
        if pair == (9, "$INSUNITS"):
            return UNITS.get(int(header[index + 1][1]), "unknown")
    return "none"


def _layers(tables: Sequence[Pair]) -> Iterator[str]:
    for group in _groups(tables):
        if group[0] == (0, "LAYER"):
            yield next(value for code, value in group if code == 2)
