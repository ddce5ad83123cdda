"""Instrument files over the whole range that the door lets in and the solver accepts.

`specs()` draws the text of a file. Heights are steered: a file is first solved on the deepest
seat there is, and the depth is then drawn from what that leaves, so that few are refused.
Whatever the solver does refuse is left out with hypothesis' `reject`.
"""

import math
import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from hypothesis import reject
from hypothesis import strategies as st

from nutgen.errors import CannotBeMade
from nutgen.nut import Nut, solve
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec

EXAMPLES = int(os.environ.get("NUTGEN_EXAMPLES", "300"))
"""How many files the slow tests draw; set NUTGEN_EXAMPLES for a longer hunt."""

PRESETS = sorted((Path(__file__).parent.parent / "presets").glob("*.toml"))

DEEPEST, HIGHEST_PLANE = 14.99, 19.99  # mm; just within the bounds of seat.depth and seat.fret_plane
LEAST_WALL, LEAST_RIM = 0.3, 0.5  # mm; below these the solver refuses


@dataclass
class Writer:
    """Turns drawn lengths in mm into the words of a file in one unit."""

    units: str
    gauge_units: str
    tables: dict[str, dict[str, str]] = field(default_factory=dict)

    def length(self, mm: float) -> str:
        return _number(mm if self.units == "mm" else mm / 25.4)

    def gauge(self, mm: float) -> str:
        return _number(mm if self.gauge_units == "mm" else mm / 25.4)

    def across(self, values: list[float]) -> str:
        return self._values([self.length(value) for value in values])

    def degrees(self, values: list[float]) -> str:
        return self._values([_number(value) for value in values])

    @staticmethod
    def _values(words: list[str]) -> str:
        if len(words) == 1:
            return words[0]
        if len(words) == 2:
            return f"{{ bass = {words[0]}, treble = {words[1]} }}"
        return f"[{', '.join(words)}]"


def _number(value: float) -> str:
    return f"{value:.7f}".rstrip("0") + "0"


def _inside(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers between two bounds, the bounds themselves more often than chance."""
    return st.one_of(st.floats(low, high), st.floats(low, high), st.sampled_from([low, high]))


def _spread_out(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers between two bounds, as many in each octave."""
    return st.floats(math.log(low), math.log(high)).map(lambda power: min(max(math.exp(power), low), high))


@st.composite
def specs(draw: st.DrawFn, *, kinds: tuple[str, ...] = ("channel", "ledge", "surface"), most_strings: int = 16) -> str:
    """The text of an instrument file that can be made."""
    w = Writer(draw(st.sampled_from(["mm", "mm", "in"])), draw(st.sampled_from(["in", "mm"])))
    width = draw(_inside(12.5, 129.0))
    n = draw(st.integers(1, max(1, min(most_strings, int(width / 3.0)))))
    thickness = draw(_spread_out(2.05, 14.9))
    tidy = draw(st.booleans())  # slots that mostly keep clear of one another and of the ends
    strings = _strings(draw, w, n, width, tidy)
    ends = draw(st.sampled_from([0.0, 0.0, 1.0])) * draw(_inside(0.0, 4.9))
    least_radius = max(40.5, 0.56 * width + ends)
    frets = draw(st.integers(12, 36))
    w.tables["instrument"] = {
        "scale_length": _scale(draw, w, n, width),
        "frets": str(frets),
        "perpendicular_fret": str(draw(st.integers(0, frets))),
        "strung": f'"{draw(st.sampled_from(["right", "left"]))}"',
        "scale_along": f'"{draw(st.sampled_from(["strings", "strings", "neck"]))}"',
    }
    w.tables["fretboard"] = {
        "width": w.length(width),
        "radius": _radius(draw, w, least_radius),
        "fret_height": w.length(draw(_inside(0.31, 2.45))),
    }
    if draw(st.sampled_from([False, False, True])):
        w.tables["fretboard"]["width_at_12"] = w.length(draw(_inside(width + 1e-6, min(width + 39.9, 159.9))))
    _heights(draw, w, n)
    w.tables["slots"] = {
        "clearance": w.length(draw(_inside(0.0, 0.49))),
        "buried": f"{{ wound = {_number(draw(_inside(0.2, 1.5)))}, plain = {_number(draw(_inside(0.2, 1.5)))} }}",
        "floor": f'"{draw(st.sampled_from(["straight", "rolled"]))}"',
    }
    w.tables["body"] = _body(draw, w, thickness, ends)
    _aims(draw, w, strings, width, thickness, 3.0 if tidy else 20.0)
    if w.tables["slots"]["floor"] == '"straight"' and draw(st.booleans()):
        tilts = w.degrees(_some(draw, _spread_out(0.5, 25.0), n))
        w.tables["slots"]["tilt_deg"] = draw(st.sampled_from([tilts, '"string"']))
    if draw(st.sampled_from([False, False, True])):
        w.tables["slots"]["setback"] = w.across(_some(draw, _inside(0.0, 1.95), n))
    return _seated(draw, w, strings, least_radius, thickness, kinds)


def _some(draw: st.DrawFn, values: st.SearchStrategy[float], n: int, *, each: bool = True) -> list[float]:
    """One value, a pair, or one a string."""
    lists = [1, 2, n] if each and n > 2 else [1, 2]
    return [draw(values) for _ in range(draw(st.sampled_from(lists)))]


def _strings(draw: st.DrawFn, w: Writer, n: int, width: float, tidy: bool) -> list[dict[str, str]]:
    """The strings, and the spacing that they fit."""
    rule = draw(st.sampled_from(["gaps", "centres", "measured"]))
    margins = [draw(_inside(min(2.0, width / 8.0) if tidy else 0.55, min(19.5, width / 5.0))) for _ in range(2)]
    pairs = draw(st.booleans()) and n % 2 == 0 and rule != "measured"
    course_gap = draw(_inside(0.45, min(5.5, max(0.5, width / n / 3.0)))) if pairs else 0.0
    room = (width - sum(margins) - course_gap * n / 2) / n
    thickest = min(5.15, (0.35 if tidy else 0.85) * room)
    if thickest <= 0.13:
        reject()
    gauges = sorted((draw(_spread_out(0.13, max(0.14, thickest))) for _ in range(n)), reverse=True)
    spacing = {"rule": f'"{rule}"'}
    if rule == "measured":
        steps = [draw(st.floats(0.5 if tidy else 0.05, 1.0)) for _ in range(n + 1)]
        ends = np.cumsum(steps)[:-1] / sum(steps) * (width - 1.0) + 0.5
        spacing["measured"] = f"[{', '.join(w.length(float(x)) for x in ends)}]"
    else:
        spacing["margin"] = w.across(margins)
    if pairs:
        spacing["course_gap"] = w.length(course_gap)
    w.tables["spacing"] = spacing
    label = draw(st.booleans()) and not pairs
    return [
        {"note": '"E1"', "gauge": w.gauge(gauge), "wound": str(draw(st.booleans())).lower()}
        | ({"course": str(n - i)} if label else {})
        for i, gauge in enumerate(gauges)
    ]


def _scale(draw: st.DrawFn, w: Writer, n: int, width: float) -> str:
    scale = draw(_spread_out(230.0, 1150.0))
    if n < 2 or not draw(st.sampled_from([False, False, True])):
        return w.length(scale)
    apart = draw(st.floats(-0.25, 0.25)) * width
    return w.across([scale, min(max(scale + apart, 205.0), 1195.0)])


def _radius(draw: st.DrawFn, w: Writer, least: float) -> str:
    radius = draw(st.one_of(st.none(), _spread_out(least, 2990.0), _spread_out(least, 4.0 * least)))
    return '"flat"' if radius is None else w.length(radius)


def _heights(draw: st.DrawFn, w: Writer, n: int) -> None:
    relief = w.length(draw(_spread_out(0.01, 1.45)))
    by_string = draw(st.sampled_from([False, False, False, True]))
    setup = {"relief": f"{{ under_string = {relief} }}" if by_string else relief}
    setup["action"] = w.across(_some(draw, _spread_out(0.35, 7.9), n))
    if draw(st.booleans()):
        setup["first_fret_clearance"] = w.across(_some(draw, _spread_out(0.06, 2.45), n))
    else:
        setup["floor_height"] = w.across(_some(draw, st.floats(-0.9, 2.9), n))
    w.tables["setup"] = setup


def _body(draw: st.DrawFn, w: Writer, thickness: float, ends: float) -> dict[str, str]:
    body = {
        "land": w.length(draw(_inside(0.21, thickness - 0.001))),
        "bevel_deg": _number(draw(st.one_of(_inside(0.0, 40.0), st.floats(0.0, 15.0)))),
        "edge_radius": w.length(draw(st.one_of(_inside(0.0, 1.95), st.floats(0.0, 0.6)))),
    }
    top = draw(st.sampled_from([0.0, 1.0])) * draw(st.floats(0.0, 4.9))
    if ends:
        body["ends"] = w.length(ends)
    for name, most in {"back": 4.9, "floors": min(top, 1.9)}.items():
        if most and draw(st.sampled_from([False, False, True])):
            body[name] = w.length(draw(_inside(0.0, most)))
    return body | ({"top": w.length(top)} if top else {})


def _aims(
    draw: st.DrawFn, w: Writer, strings: list[dict[str, str]], width: float, thickness: float, most_fan: float
) -> None:
    """Tuner posts, or angles."""
    if draw(st.booleans()):
        w.tables["headstock"] = {"break_angle_deg": w.degrees(_some(draw, _spread_out(1.0, 25.0), len(strings)))}
        if draw(st.booleans()):
            w.tables["headstock"]["fan_deg"] = w.degrees(_some(draw, st.floats(-most_fan, most_fan), len(strings)))
        return
    for i, string in enumerate(strings):
        y = draw(_spread_out(max(20.0, 3.0 * thickness), 395.0))
        x = (
            (i + 0.5) / len(strings) * width
            - width / 2.0
            + y * math.tan(math.radians(draw(st.floats(-most_fan, most_fan))))
        )
        drop = y * math.tan(math.radians(draw(st.floats(4.0, 25.0))))
        post = {"y": y, "x": min(max(x, -99.0), 99.0), "drop": min(drop, 119.0)}
        string["post"] = f"{{ {', '.join(f'{key} = {w.length(value)}' for key, value in post.items())} }}"


def _seated(
    draw: st.DrawFn,
    w: Writer,
    strings: list[dict[str, str]],
    least_radius: float,
    thickness: float,
    kinds: tuple[str, ...],
) -> str:
    """The file on a seat deep enough, or with frets high enough, for a nut to be left under the slots."""
    kind = draw(st.sampled_from(kinds))
    by_plane = kind == "surface" or draw(st.sampled_from([False, False, True]))
    seat = {"kind": f'"{kind}"', "thickness": w.length(thickness)}
    if kind != "surface":
        seat["depth"] = w.length(DEEPEST if not by_plane else draw(st.floats(0.6, 14.0)))
        if draw(st.sampled_from([False, False, True])):
            seat["floor"] = w.length(draw(_spread_out(least_radius, 2990.0)))
    tilted = draw(st.floats(-0.3, 0.3)) if by_plane and draw(st.booleans()) else 0.0
    if by_plane:
        seat["fret_plane"] = w.across([HIGHEST_PLANE - max(tilted, 0.0), HIGHEST_PLANE + min(tilted, 0.0)])
    w.tables["seat"] = seat
    spare = _spare(_text(w, strings)) - 0.001
    if spare < 0.0:
        reject()
    share = draw(st.floats(0.0, 1.0)) ** 2  # of what is spare, mostly little is left on
    if by_plane:
        high = HIGHEST_PLANE - min(spare, HIGHEST_PLANE - 0.9) * (1.0 - share)
        seat["fret_plane"] = w.across([high - max(tilted, 0.0), high + min(tilted, 0.0)])
    else:
        seat["depth"] = w.length(DEEPEST - min(spare, DEEPEST - 0.55) * (1.0 - share))
    text = _text(w, strings)
    solved(text)
    return text


def _spare(text: str) -> float:
    """How much lower the nut could be; rejects a file that cannot be made."""
    nut = solved(text)
    x = np.linspace(nut.left.x, nut.right.x, 41)
    rim = float((nut.top_z(x, nut.thickness) - nut.underside.z(x)).min()) - LEAST_RIM
    rough = nut.rough()
    x = np.linspace(rough.left.x, rough.right.x, 41)
    rough_rim = float((rough.top_z(x, rough.thickness) - rough.underside.z(x)).min()) - LEAST_RIM
    walls = [each.floor_wall(slot) - LEAST_WALL for each in (nut, rough) for slot in each.slots]
    return min(rim, rough_rim, *walls)


def solved(text: str) -> Nut:
    """The nut of a drawn file; rejects one that the solver refuses."""
    try:
        return solve(spec_of(text))
    except CannotBeMade:
        reject()


def spec_of(text: str) -> Spec:
    """A drawn file through the door, which must let it in."""
    return parse_spec(text, source="drawn")


def _text(w: Writer, strings: list[dict[str, Any]]) -> str:
    lines = ['title = "Drawn by chance"', f'units = "{w.units}"', f'gauge_units = "{w.gauge_units}"']
    for name, table in w.tables.items():
        lines += ["", f"[{name}]", *(f"{key} = {value}" for key, value in table.items())]
    for string in strings:
        lines += ["", "[[strings]]", *(f"{key} = {value}" for key, value in string.items())]
    return "\n".join(lines) + "\n"
