"""The drawings on the paper template: the three views with their labels, and spare front views."""

from collections.abc import Iterator

from nutgen.documents.blocks import Legend, sample
from nutgen.documents.font import width
from nutgen.documents.lettering import Words, spread
from nutgen.documents.paint.compose import below, beside, composed
from nutgen.documents.paint.look import GAP, GREY, LEADING, SMALL, THIRD
from nutgen.documents.paint.page import Group, Item, Linework, wrapped
from nutgen.documents.strings import lines_on
from nutgen.documents.words.quantities import MM_PER_INCH, Units, sixty_fourths
from nutgen.geometry.lines import Chain, Line
from nutgen.model.drawing import Drawing, View
from nutgen.nut.part import Nut

SPARES = 3
_BESIDE = 12.0  # mm, from the front view to the end view
_CAPTION = 36.0  # mm, room for the words over the end view

LEGEND = Legend(
    (
        (sample("front-outline"), "outline"),
        (sample("slot-floors"), "edge; slot; slot floor (short)"),
        (sample("front-hidden"), "hidden edge; slot floor inside"),
        (sample("slot-centres"), "centre of a string"),
        (sample("fret-plane"), "fret plane, carried on to the nut"),
        (sample("board-surface"), "surface of the fretboard"),
        (sample("front-blank"), "squared blank: cut the paper here"),
    )
)
"""What each kind of line means on any view."""


def views(nut: Nut, drawing: Drawing, room: float, units: Units) -> list[Group]:
    """The three views and the legend; the legend beside them where there is room for it."""
    figure, taken = _views(nut, drawing, room, units)
    if taken > THIRD:
        return [figure, *composed((lines_on(nut, LEGEND),), room, units)]
    return [beside(figure, below(composed((lines_on(nut, LEGEND),), room - THIRD, units), 0.0), THIRD - GAP)]


def _views(nut: Nut, drawing: Drawing, room: float, units: Units) -> tuple[Group, float]:
    """Top above front, end beside it; the block, and how much of the width it takes."""
    left, low, right, high = drawing.front.box
    x, beside = -left, max(right - left, width(drawing.front.title, SMALL)) + _BESIDE
    items: list[Item] = [Words(0.0, SMALL, drawing.top.title, SMALL, shade=GREY)]
    y = SMALL + 2.0 + drawing.top.box[3]
    items.append(Linework("top", x, y, drawing.top.chains))
    y += -drawing.top.box[1] + 4.0 + SMALL
    items.append(Words(0.0, y, drawing.front.title, SMALL, shade=GREY))
    caption = wrapped(drawing.end.title, SMALL, min(_CAPTION, room - beside))
    for row, words in enumerate(reversed(caption)):
        items.append(Words(beside, y - row * SMALL * LEADING, words, SMALL, shade=GREY))
    y += 2.0
    labels = _labels(nut, x, y)
    y += labels.height + high
    items += [*labels.items, Linework("front", x, y, drawing.front.chains)]
    items.append(Linework("end", beside - drawing.end.box[0], y, _outer_floors(drawing.end)))
    y += -low + 2.0
    items += _ruler(nut, x, y, units)
    return Group(y + 2.8 + 2.4 * SMALL, tuple(items)), beside + max(_CAPTION, drawing.end.box[2]) + 6.0


def _outer_floors(view: View) -> tuple[Chain, ...]:
    """The end view with the floors of the two outer strings alone: more would run together on paper."""
    floors = view.on("end-floors")
    return tuple(chain for chain in view.chains if chain not in floors[1:-1])


def _labels(nut: Nut, x: float, y: float) -> Group:
    """Number and note over every slot, led to its centre line where they had to move aside."""
    slots = sorted(nut.slots, key=lambda slot: slot.x)
    centres = [slot.x for slot in slots]
    apart = max(width(words, SMALL, bold=True) for slot in slots for words in (slot.note, str(slot.number))) + 0.6
    numbers, notes, foot = y + SMALL, y + 2.0 * SMALL + 0.4, y + 2.0 * SMALL + 4.2
    items: list[Item] = []
    leaders = []
    places = spread(centres, apart)
    aside = max(0.0, apart / 2.0 - x - places[0])
    for slot, centre, place in zip(slots, centres, (place + aside for place in places), strict=True):
        items.append(Words(x + place, numbers, str(slot.number), SMALL, bold=True, align="centre"))
        items.append(Words(x + place, notes, slot.note, SMALL, align="centre"))
        leaders.append(Chain("leaders", (Line((place, foot - notes - 1.0), (centre, 0.4)),)))
    items.append(Linework("leaders", x, foot, tuple(leaders)))
    return Group(foot - y, tuple(items))


def _ruler(nut: Nut, x: float, y: float, units: Units) -> Iterator[Item]:
    """A rule from the bass end of the board: millimetres, or sixteenths of an inch."""
    side = -1.0 if nut.strung == "right" else 1.0
    start, stop = nut.end_x(side), nut.end_x(-side)
    step, middle, labelled = (1.0, 5, 10) if units == "mm" else (MM_PER_INCH / 16.0, 4, 8)
    lines = [Line((start, 0.0), (stop, 0.0))]
    for number in range(int(nut.length / step + 1e-9) + 1):
        place = start - side * number * step
        long = 2.0 if number % labelled == 0 else 1.4 if number % middle == 0 else 0.9
        lines.append(Line((place, 0.0), (place, -long)))
        if number % labelled == 0:
            text = str(number) if units == "mm" else sixty_fourths(number * step)
            yield Words(x + place, y + 2.6 + SMALL, text, SMALL, align="centre", shade=GREY)
    yield Linework("ruler", x, y, tuple(Chain("ruler", (line,)) for line in lines))
    ends = ("bass end", "treble end") if nut.strung == "right" else ("treble end", "bass end")
    left, foot = x + nut.left.x, y + 2.8 + 2.2 * SMALL
    right = max(left + nut.length, left + 1.0 + sum(width(words, SMALL) for words in ends))
    yield Words(left, foot, ends[0], SMALL)
    yield Words(right, foot, ends[1], SMALL, align="right")


def spare_views(drawing: Drawing, room: float) -> Iterator[Group]:
    """More front views to cut out, as many in a row as fit."""
    left, low, right, high = drawing.front.box
    wide, apart = right - left, 8.0
    across = max(1, min(SPARES, int((room + apart) / (wide + apart))))
    apart = (room - across * wide) / (across - 1) if across > 1 else 0.0
    for first in range(0, SPARES, across):
        items: list[Item] = []
        top = 0.0
        if first == 0:
            top = SMALL + 2.0
            items.append(Words(0.0, SMALL, "Spare front views", SMALL, shade=GREY))
        for column in range(min(across, SPARES - first)):
            x = column * (wide + apart) - left
            items.append(Linework(f"front-spare-{first + column + 1}", x, top + high, drawing.front.chains))
        yield Group(top + high - low, tuple(items))
