"""Pictures of how a nut plays: the strings over the frets, and the cents at each fret."""

import textwrap
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from nutgen.documents.charts.sketch import GREY, INK, PALE, Sketch
from nutgen.documents.words import sentence
from nutgen.formats.stamp import Stamp
from nutgen.nut.heights import line_of
from nutgen.nut.part import Nut
from nutgen.play.buzz import Buzz, buzz
from nutgen.play.heights import fret_numbers
from nutgen.play.pitch import JUST_NOTICEABLE_CENTS, LOWERED_BY, pitches
from nutgen.theory.heights import StringLine

Array = NDArray[np.float64]

WIDTH, LEFT, RIGHT = 480.0, 44.0, 466.0
TALLEST = 105.0
LETTERS = 68
SCALES = (100, 80, 60, 50, 40, 30, 25, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1)
LABELLED = (1, 2, 3, 5, 7, 9, 12, 15, 17, 19, 21, 24, 27, 30, 33, 36)


def heights_svg(nut: Nut, stamp: Stamp) -> bytes:
    """Every open string over the frets: crowns with their relief, the string, the lowest it swings.

    returns : SVG; heights are drawn larger than lengths, by how much is written on it
    """
    line, touches, frets = line_of(nut), buzz(nut), fret_numbers(nut)
    places = line.neck.fret(frets)
    end = float(places.max()) * 1.04
    across = (RIGHT - LEFT) / end
    low, high = _range(line, touches, end)
    times = next((t for t in SCALES if float((high - low).max()) * across * t <= TALLEST), 1)
    swing = touches.swing
    at = ", ".join(sorted({f"{value:.0f}" for value in swing.from_bridge}))
    forces = ", ".join(sorted({f"{value:.1f}" for value in swing.force_n}))
    about = (
        f"Heights are drawn {times} times as large as lengths. Relief {nut.relief:.2f} mm. Open strings, plucked with"
        f" {forces} N square to the board, {at} mm from the bridge."
    )
    about += f" Assumed: {', '.join(map(sentence, swing.assumed))}." if swing.assumed else ""
    sketch = Sketch(WIDTH)
    y = _heading(sketch, f"{nut.title}: strings over the frets", about)
    y = _legend(sketch, y)
    for i in range(len(nut.slots)):
        y = _string_panel(sketch, nut, i, y, line, touches, scale=(across, across * times), bounds=(low[i], high[i]))
    y = _footing(sketch, y, stamp)
    return sketch.to_bytes(y, title=f"{nut.title}: strings over the frets", about=about, stamp=stamp)


def cents_svg(nut: Nut, stamp: Stamp) -> bytes:
    """Cents sharp at each fret, as the nut is and with its floors 0.1 mm lower.

    returns : SVG
    """
    p = pitches(nut)
    lower = p.cents - p.gain
    drawn = np.append(np.stack([p.cents, lower])[:, p.tunable].ravel(), 0.0)
    top = max(JUST_NOTICEABLE_CENTS + 1.0, float(np.ceil(drawn.max())))
    bottom = min(-JUST_NOTICEABLE_CENTS - 1.0, float(np.floor(drawn.min())))
    about = (
        f"Against equal temperament on the open string, the saddle set so that fret 12 is in tune. Grey: within"
        f" {JUST_NOTICEABLE_CENTS:g} cents, about what is just noticeable (common practice)."
    )
    sketch = Sketch(WIDTH)
    y = _heading(sketch, f"{nut.title}: cents sharp at each fret", about)
    sketch.dot(LEFT + 4.0, y - 4.0, radius=3.0, filled=True)
    sketch.words(LEFT + 12.0, y, "this nut", size=11.0)
    sketch.dot(LEFT + 84.0, y - 4.0, radius=3.0, filled=False)
    sketch.words(LEFT + 92.0, y, f"its floors {LOWERED_BY} mm lower, the saddle untouched", size=11.0)
    y += 12.0
    for i in range(len(nut.slots)):
        y = _cents_panel(sketch, nut, i, y, p.cents[i], lower[i], bounds=(bottom, top))
    y = _footing(sketch, y, stamp)
    return sketch.to_bytes(y, title=f"{nut.title}: cents sharp at each fret", about=about, stamp=stamp)


def _range(line: StringLine, touches: Buzz, end: float) -> tuple[Array, Array]:
    """Lowest and highest height to draw, one a string [mm]."""
    neck = line.neck
    places = neck.fret(np.arange(1, int(np.max(neck.last_fret)) + 1))
    lowest = line.height(places) - np.maximum(touches.toward, touches.away)
    low = np.minimum(neck.crown(places).min(axis=-1), lowest.min(axis=-1)) - 0.25
    ends = np.stack([line.height(np.asarray(neck.start, float))[:, 0], line.height(end)[:, 0]])
    return low, ends.max(axis=0) + 0.1


def _string_panel(
    sketch: Sketch,
    nut: Nut,
    i: int,
    y: float,
    line: StringLine,
    touches: Buzz,
    *,
    scale: tuple[float, float],
    bounds: tuple[float, float],
) -> float:
    """One string; returns where the next panel starts."""
    neck, slot, (low, high) = line.neck, nut.slots[i], bounds
    base = y + 22.0 + (high - low) * scale[1]

    def at(u: float, z: float) -> tuple[float, float]:
        return LEFT + u * scale[0], base - (z - low) * scale[1]

    def own(values: Array) -> list[float]:
        return [float(value) for value in np.broadcast_to(values, (len(nut.slots), np.shape(values)[-1]))[i]]

    frets = fret_numbers(nut)
    places = own(neck.fret(frets))
    crowns = own(neck.crown(neck.fret(frets)))
    end = (RIGHT - LEFT) / scale[0]
    sketch.words(LEFT, y + 12.0, f"{slot.number} {slot.note}", size=13.0, bold=True)
    touch = touches.worst
    fret, spare = int(touch.fret[i]), float(touch.spare[i])
    verdict = f"{spare:.2f} mm to spare at fret {fret}" if spare >= 0.0 else f"touches fret {fret} by {-spare:.2f} mm"
    sketch.words(RIGHT, y + 12.0, verdict, size=11.0, at="end")
    for tick in range(int(np.ceil(low)), int(np.floor(high)) + 1):
        _, height = at(0.0, tick)
        sketch.line([(LEFT, height), (RIGHT, height)], ink=PALE, wide=0.7)
        sketch.words(LEFT - 12.0, height + 3.5, str(tick), size=10.0, at="end", ink=GREY)
    for place, crown in zip(places, crowns, strict=True):
        sketch.line([at(place, low), at(place, crown)], ink=GREY, wide=1.6, name="fret")
    sketch.line([at(u, z) for u, z in zip(places, crowns, strict=True)], ink=GREY, wide=0.8, name="crowns")
    start, floor = -slot.start_y, float(line.height(np.asarray(neck.start, float))[i, 0])
    nut_block = [(LEFT - 8.0, base), (LEFT - 8.0, at(0.0, floor)[1]), at(start, floor), (at(start, 0.0)[0], base)]
    sketch.area(nut_block, fill="#bbb", ink=INK, name="nut")
    string = own(line.height(neck.fret(frets)))
    for side, dash in (("toward", "dotted"), ("away", "dashed")):
        swings = getattr(touches, side)[i]
        below = [at(u, z - float(s)) for u, z, s in zip(places, string, swings, strict=True)]
        sketch.line([at(start, floor), *below], wide=1.0, dash=dash, name=f"swing-{side}")
    last = own(line.height(np.full((1, 1), end)))[0]
    sketch.line([at(start, floor), at(end, last)], wide=1.8, name="string")
    x, tip = at(places[fret - 1], crowns[fret - 1])
    sketch.area(
        [(x, tip - 1.0), (x - 3.5, tip - 8.0), (x + 3.5, tip - 8.0)],
        fill=INK if spare < 0.0 else "#fff",
        ink=INK,
        name="touch",
    )
    sketch.line([(LEFT, base), (RIGHT, base)], ink=INK, wide=0.8)
    _fret_labels(sketch, [at(u, low)[0] for u in places], base + 11.0)
    return base + 22.0


def _cents_panel(
    sketch: Sketch, nut: Nut, i: int, y: float, now: Array, lower: Array, *, bounds: tuple[float, float]
) -> float:
    """One string; returns where the next panel starts."""
    slot, (bottom, top) = nut.slots[i], bounds
    tall = 78.0
    step = (RIGHT - LEFT) / (len(now) + 0.5)

    def at(fret: float, cents: float) -> tuple[float, float]:
        return LEFT + fret * step, y + 18.0 + (top - cents) / (top - bottom) * tall

    sketch.words(LEFT, y + 12.0, f"{slot.number} {slot.note}", size=13.0, bold=True)
    tunable = bool(np.isfinite(now[0]))
    words = f"fret 1: {now[0]:+.1f} cents, {lower[0]:+.1f} when {LOWERED_BY} lower" if tunable else "no saddle tunes it"
    sketch.words(RIGHT, y + 12.0, words, size=11.0, at="end")
    band = JUST_NOTICEABLE_CENTS
    (_, upper), (_, under) = at(0.0, band), at(0.0, -band)
    sketch.area([(LEFT, upper), (RIGHT, upper), (RIGHT, under), (LEFT, under)], fill="#eee", name="noticeable")
    for cents in _ticks(bottom, top):
        _, height = at(0.0, cents)
        sketch.line([(LEFT, height), (RIGHT, height)], ink=INK if cents == 0 else "#bbb", wide=0.8)
        sketch.words(LEFT - 5.0, height + 3.5, f"{cents:+d}" if cents else "0", size=10.0, at="end", ink=GREY)
    for index, (cents, less) in enumerate(zip(now, lower, strict=True) if tunable else ()):
        x, height = at(index + 1, float(cents))
        sketch.line([at(index + 1, 0.0), (x, height)], ink=GREY, wide=1.0)
        sketch.dot(*at(index + 1, float(less)), radius=2.6, filled=False, name="lower")
        sketch.dot(x, height, radius=2.6, filled=True, name="now")
    base = y + 18.0 + tall
    _fret_labels(sketch, [at(index + 1, 0.0)[0] for index in range(len(now))], base + 11.0)
    return base + 20.0


def _ticks(bottom: float, top: float) -> list[int]:
    step = 5 if top - bottom <= 25.0 else 10 if top - bottom <= 50.0 else 20
    first = int(np.ceil(bottom / step)) * step
    return list(range(first, int(np.floor(top)) + 1, step))


def _fret_labels(sketch: Sketch, places: Sequence[float], y: float) -> None:
    """Numbers under the frets that a board marks, and under the last, where they fit."""
    free = -np.inf
    for fret, x in enumerate(places, start=1):
        if (fret in LABELLED or fret == len(places)) and x - free >= 14.0:
            sketch.words(x, y, str(fret), size=10.0, at="middle", ink=GREY)
            free = x


def _heading(sketch: Sketch, title: str, about: str) -> float:
    y = 6.0
    for text in textwrap.wrap(title, 48):
        y += 17.0
        sketch.words(10.0, y, text, size=15.0, bold=True)
    y += 3.0
    for text in textwrap.wrap(about, LETTERS):
        y += 14.0
        sketch.words(10.0, y, text, size=11.0, ink=GREY)
    return y + 18.0


def _legend(sketch: Sketch, y: float) -> float:
    kinds = (
        ("string", INK, 1.8, "solid", 66.0),
        ("frets", GREY, 0.8, "solid", 58.0),
        ("lowest swing, pressed to the board", INK, 1.0, "dotted", 0.0),
        ("lowest swing, pulled off it", INK, 1.0, "dashed", 0.0),
    )
    x = 10.0
    for text, ink, wide, dash, _room in kinds[:2]:
        sketch.line([(x, y - 4.0), (x + 24.0, y - 4.0)], ink=ink, wide=wide, dash=dash)
        sketch.words(x + 29.0, y, text, size=11.0)
        x += 76.0
    for text, ink, wide, dash, _room in kinds[2:]:
        sketch.line([(x, y - 4.0), (x + 24.0, y - 4.0)], ink=ink, wide=wide, dash=dash)
        sketch.words(x + 29.0, y, text, size=11.0)
        x, y = 162.0, y + 15.0
    sketch.words(10.0, y - 15.0, "heights in mm", size=11.0, ink=GREY)
    return y - 4.0


def _footing(sketch: Sketch, y: float, stamp: Stamp) -> float:
    y += 4.0
    for text in textwrap.wrap(stamp.line, LETTERS + 10):
        y += 12.0
        sketch.words(10.0, y, text, size=9.5, ink=GREY)
    return y + 8.0
