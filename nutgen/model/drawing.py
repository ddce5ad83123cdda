"""A nut in three views: the one set of lines and arcs that DXF, SVG and PDF are all made from.

The views are laid out as third-angle projection wants them: the top view stands above the front
view, the view from the +x end beside it. Each has its own frame, in mm:

    front  x, z   seen from the bridge; z = 0 is the board surface on the centre line
    top    x, y   seen from above; y = 0 is the front face, the headstock is up
    end    y, z   seen from the +x end (treble, on a nut strung right); the front face is left
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from nutgen.geometry.lines import Box, Chain, joined
from nutgen.geometry.once import drawn_once
from nutgen.model.views import end_view, front_view, top_view
from nutgen.nut.part import Nut


@dataclass(frozen=True, slots=True)
class Stroke:
    """A kind of line. Source: ISO 128-2, line types 01 to 08, and the lengths of their elements.

    name    : of the kind, as the standard calls it
    width   : of the line; wide to narrow is 2 to 1 [mm]
    pattern : dash, gap, dash, gap ...; none where continuous [mm]
    """

    name: str
    width: float
    pattern: tuple[float, ...] = ()


_WIDE, _NARROW = 0.25, 0.13
_GAP, _DOT, _SHORT, _DASH, _LONG = (_NARROW * n for n in (3.0, 0.5, 6.0, 12.0, 24.0))

CONTINUOUS_WIDE = Stroke("continuous wide", _WIDE)
CONTINUOUS_NARROW = Stroke("continuous narrow", _NARROW)
DASHED = Stroke("dashed narrow", _NARROW, (_DASH, _GAP))
DOTTED = Stroke("dotted narrow", _NARROW, (_DOT, _GAP))
LONG_DASHED_DOTTED = Stroke("long-dashed dotted narrow", _NARROW, (_LONG, _GAP, _DOT, _GAP))
LONG_DASHED_DOUBLE_DOTTED = Stroke("long-dashed double-dotted narrow", _NARROW, (_LONG, _GAP, _DOT, _GAP, _DOT, _GAP))
LONG_DASHED_SHORT_DASHED = Stroke("long-dashed short-dashed narrow", _NARROW, (_LONG, _GAP, _SHORT, _GAP))


_COLOURS = {
    CONTINUOUS_NARROW.name: (0, 38, 77),
    DASHED.name: (56, 44, 0),
    DOTTED.name: (0, 56, 28),
    LONG_DASHED_DOTTED.name: (92, 0, 24),
    LONG_DASHED_DOUBLE_DOTTED.name: (66, 0, 82),
    LONG_DASHED_SHORT_DASHED.name: (0, 58, 70),
}


@dataclass(frozen=True, slots=True)
class Layer:
    """One meaning: `stroke` tells it apart in black and white, name and colour in a program."""

    name: str
    stroke: Stroke
    meaning: str

    @property
    def colour(self) -> tuple[int, int, int]:
        """Red, green, blue of its kind of line; all so dark that they print black."""
        return _COLOURS.get(self.stroke.name, (0, 0, 0))


LAYERS = (
    Layer("front-outline", CONTINUOUS_WIDE, "outline of the front face, slots cut where the strings start"),
    Layer("front-shelves", CONTINUOUS_NARROW, "edges of the shelves of a nut setback"),
    Layer("front-ends", CONTINUOUS_NARROW, "edge of the back face beyond an end that leans"),
    Layer("front-hidden", DASHED, "top edge of the back face, behind"),
    Layer("front-blank", LONG_DASHED_DOUBLE_DOTTED, "squared blank, standing on the seat floor"),
    Layer("fret-plane", LONG_DASHED_SHORT_DASHED, "crowns of frets 1 and 2 carried to the nut"),
    Layer("board-surface", DOTTED, "surface of the fretboard"),
    Layer("slot-centres", LONG_DASHED_DOTTED, "centre of each string at its start"),
    Layer("slot-floors", CONTINUOUS_NARROW, "floor of each slot at the string's start"),
    Layer("top-outline", CONTINUOUS_WIDE, "outline from above"),
    Layer("top-edges", CONTINUOUS_NARROW, "edge between land and bevel"),
    Layer("top-slots", CONTINUOUS_NARROW, "slots at their full width"),
    Layer("top-centres", LONG_DASHED_DOTTED, "centre line of each slot, along its fan"),
    Layer("top-blank", LONG_DASHED_DOUBLE_DOTTED, "squared blank from above"),
    Layer("end-outline", CONTINUOUS_WIDE, "outline from the end"),
    Layer("end-edges", CONTINUOUS_NARROW, "sides of shelves; where the eased edge runs into the end face"),
    Layer("end-hidden", DASHED, "underside on the centre line, where it is arched"),
    Layer("end-floors", DASHED, "floor of each slot, inside"),
    Layer("end-blank", LONG_DASHED_DOUBLE_DOTTED, "squared blank from the end"),
)
"""Every layer there is."""

COLOURS = {layer.name: layer.colour for layer in LAYERS}

STROKES = {layer.name: layer.stroke for layer in LAYERS}


@dataclass(frozen=True, slots=True)
class View:
    """A view, seen as its title says."""

    title: str
    chains: tuple[Chain, ...]

    @property
    def box(self) -> Box:
        """Around all lines: least across, least up, greatest across, greatest up [mm]."""
        return joined([chain.box for chain in self.chains])

    def on(self, layer: str) -> tuple[Chain, ...]:
        """The chains of one layer."""
        return tuple(chain for chain in self.chains if chain.layer == layer)


@dataclass(frozen=True, slots=True)
class Drawing:
    """The three views."""

    front: View
    top: View
    end: View

    def __iter__(self) -> Iterator[View]:
        return iter((self.front, self.top, self.end))


@lru_cache(maxsize=4)  # one nut goes to several files
def draw(nut: Nut) -> Drawing:
    """Draw a nut as it is given: final, or with its allowances on where it is `nut.rough()`.

    raises : CannotBeMade where a slot cuts the nut in two at the front face
    """
    side = "treble" if nut.strung == "right" else "bass"
    return Drawing(
        View("Front, seen from the bridge", tuple(drawn_once(front_view(nut)))),
        View("Top, seen from above, headstock up", tuple(drawn_once(top_view(nut)))),
        View(f"End, seen from the {side} end, bridge to the left", tuple(drawn_once(end_view(nut)))),
    )
