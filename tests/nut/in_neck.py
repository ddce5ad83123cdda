"""Slanted necks drawn at random, and a checker that knows the neck alone: X across it, Y along its centre line.

It reads what the maker wrote and what the program says of the nut, carries the nut's points into the neck by the
recorded matrix, and compares them there with edges, posts, the board's cylinder and the seat.
"""

import json
import math
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from nutgen.spec.presets import kind_path

SEMITONE = 1.0 - 2.0 ** (-1.0 / 12.0)


def slanted(seed: int) -> str:
    """A file with two scales, posts and a straight neck; some have a taper, a set-back start, an arched seat."""
    r = np.random.default_rng(seed)

    def one(low: float, high: float) -> float:
        return round(float(r.uniform(low, high)), 2)

    file = tomllib.loads(kind_path("electric-6-slanted").read_text("utf-8"))
    board, seat, told = file["fretboard"], file["seat"], file["instrument"]
    board.pop("width_at_12")
    board |= {"width": one(38.0, 58.0), "fret_height": one(0.8, 1.3), "radius": one(140.0, 600.0)}
    seat |= {"kind": str(r.choice(["channel", "ledge", "surface"])), "thickness": one(3.2, 6.0), "depth": one(2.8, 5.0)}
    treble = one(560.0, 680.0)
    told["scale_length"] = {"bass": treble + one(6.0, 45.0), "treble": treble}
    told["scale_along"] = str(r.choice(["strings", "neck"]))
    told["perpendicular_fret"] = int(r.integers(3, 10))
    told["strung"] = str(r.choice(["right", "left"]))
    file["setup"]["relief"] = 0.0
    file["spacing"]["margin"] = {"bass": one(2.8, 4.0), "treble": one(2.8, 4.0)}
    file["headstock"] = {}
    if r.random() < 0.2:
        board["radius"] = "flat"
    elif seat["kind"] != "surface" and r.random() < 0.5:
        seat["floor"] = board["radius"]
    if r.random() < 0.35:
        plane = (0.0 if seat["kind"] == "surface" else seat["depth"]) + 1.6
        places = ("bass", "middle", "treble") if r.random() < 0.5 else ("bass", "treble")
        seat["fret_plane"] = {place: plane + one(0.0, 0.2) for place in places}
    if seat["kind"] == "surface":
        del seat["depth"]
    if r.random() < 0.35:
        board["width_at_12"] = board["width"] + one(3.0, 14.0)
    if r.random() < 0.35:
        file["material"] = "brass"  # holds a thin shelf
        file["slots"]["setback"] = {"bass": one(0.1, 0.7), "treble": one(0.1, 0.7)}
    for index, string in enumerate(file["strings"]):
        across = board["width"] * (index / 5.0 - 0.5) * 0.75 + one(-4.0, 4.0)
        string["post"] = {"y": one(45.0, 170.0), "x": round(across, 2), "drop": one(9.0, 16.0)}
    return written(file)


def written(file: Mapping[str, Any]) -> str:
    """A file as TOML: a hundred times faster than a writer that keeps comments."""
    plain = {key: value for key, value in file.items() if not isinstance(value, dict | list)}
    parts = [_lines(plain), *(f"[{key}]\n{_lines(value)}" for key, value in file.items() if isinstance(value, dict))]
    return "\n".join([*parts, *(f"[[strings]]\n{_lines(string)}" for string in file["strings"])])


def _lines(table: Mapping[str, Any]) -> str:
    return "".join(f"{key} = {_value(value)}\n" for key, value in table.items())


def _value(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_value(one)}" for key, one in value.items()) + " }"
    return json.dumps(value)


def off_by(text: str, record: Mapping[str, Any]) -> Iterator[tuple[str, float]]:
    """How far the nut is from what the neck asks: lengths in mm, angles in degrees by names that end in `_deg`."""
    neck = Neck(tomllib.loads(text), record["nut"])
    strings, thickness = record["strings"], record["nut"]["thickness"]
    for side, name in ((-1.0, "bass"), (1.0, "treble")):
        end = record["nut"]["ends"][name]
        for y in (0.0, thickness):
            across, along = neck.place(end["x"] + y * math.tan(math.radians(end["lean_deg"])), y)
            yield "end", across - side * neck.half_width(along)
    crossings = [neck.on_face(slot["from_bass_end"]) for slot in strings]
    yield "scales", neck.lead(strings) - (crossings[0][1] - crossings[-1][1])
    for string, slot, crossing in zip(neck.file["strings"], strings, crossings, strict=True):
        turn = math.radians(slot["fan_deg"])
        start, beyond = (
            neck.place(slot["x"] + d * math.sin(turn), slot["start_y"] + d * math.cos(turn)) for d in (0, 1)
        )
        to_post = _direction_deg(start, (string["post"]["x"], string["post"]["y"]))
        yield "post_deg", _direction_deg(start, beyond) - to_post
        yield "bend_deg", neck.turned * slot["bend_deg"] - (to_post - neck.line_deg(crossing))
        line = math.tan(math.radians(neck.line_deg(crossing)))
        yield "start", start[0] - crossing[0] - (start[1] - crossing[1]) * line
        yield "setback", math.dist(start, crossing) - neck.setback(slot, strings)
        yield "floor", slot["floor_z"] - slot["floor_height"] - neck.fret_plane(crossing[0])
        if "setback" not in neck.file["slots"]:
            by_frets = (slot["first_fret_clearance"] - 2.0 * SEMITONE * slot["action"]) / (1.0 - 2.0 * SEMITONE)
            yield "clearance", slot["floor_height"] - by_frets


class Neck:
    """The neck as its maker measured it, strung right; places are (X, Y)."""

    def __init__(self, file: Mapping[str, Any], nut: Mapping[str, Any]) -> None:
        board, scale = file["fretboard"], file["instrument"]["scale_length"]
        self.file, self.nut = file, nut
        self.turned = -1.0 if nut["strung"] == "left" else 1.0
        self.width = board["width"]
        self.grows = (board.get("width_at_12", self.width) - self.width) / ((scale["bass"] + scale["treble"]) / 4.0)
        self.radius = math.inf if board["radius"] == "flat" else board["radius"]

    def place(self, x: float, y: float) -> tuple[float, float]:
        """A place of the nut, by its own matrix."""
        across, along = (np.array(self.nut["in_neck"]) @ [x, y, 0.0, 1.0])[:2]
        return self.turned * float(across), float(along)

    def places(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """X and Y of many points of the nut (..., 3), or of directions where the matrix has no shift."""
        moved = points @ np.array(self.nut["in_neck"])[:3, :3].T
        return self.turned * moved[..., 0], moved[..., 1]

    def on_face(self, from_bass_end: float) -> tuple[float, float]:
        """A place on the face."""
        return self.place(self.nut["ends"]["bass"]["x"] + self.turned * from_bass_end, 0.0)

    def half_width(self, along: float) -> float:
        """Of the board; the bridge lies at negative Y."""
        return (self.width - self.grows * along) / 2.0

    def line_deg(self, crossing: tuple[float, float]) -> float:
        """Of a string over the board: it keeps its share of the board's width."""
        ahead = crossing[1] - 100.0
        across = crossing[0] * self.half_width(ahead) / self.half_width(crossing[1])
        return _direction_deg((across, ahead), crossing)

    def lead(self, strings: Sequence[Mapping[str, Any]]) -> float:
        """How far along the neck the bass string's crossing lies behind the treble one's, from their scales."""
        told, fret = self.file["instrument"], self.file["instrument"]["perpendicular_fret"]
        scales = [told["scale_length"][name] for name in ("bass", "treble")]
        if told.get("scale_along", "strings") == "strings":
            ends = (self.on_face(strings[index]["from_bass_end"]) for index in (0, -1))
            scales = [one * math.cos(math.radians(self.line_deg(end))) for one, end in zip(scales, ends, strict=True)]
        return (scales[0] - scales[1]) * (1.0 - 2.0 ** (-fret / 12.0))

    def setback(self, slot: Mapping[str, Any], strings: Sequence[Mapping[str, Any]]) -> float:
        """As the file has it, linear from string to string across the face."""
        told = self.file["slots"].get("setback", {"bass": 0.0, "treble": 0.0})
        first, here, last = (one["from_bass_end"] for one in (strings[0], slot, strings[-1]))
        return told["bass"] + (told["treble"] - told["bass"]) * (here - first) / (last - first)

    def board(self, across: float) -> float:
        """Height of the board: a cylinder along the neck."""
        return 0.0 if math.isinf(self.radius) else math.sqrt(self.radius**2 - across**2) - self.radius

    def seat(self, across: float) -> float:
        """Height of the seat floor."""
        seat = self.file["seat"]
        if seat["kind"] == "surface":
            return self.board(across)
        floor = seat.get("floor", "flat")
        return -seat["depth"] + (0.0 if floor == "flat" else math.sqrt(floor**2 - across**2) - floor)

    def fret_plane(self, across: float) -> float:
        """Where a string crosses the face, that far from the centre line."""
        plane = self.file["seat"].get("fret_plane")
        if plane is None:
            return self.board(across) + self.file["fretboard"]["fret_height"]
        places = dict(
            zip(("bass", "treble"), (self.on_face(place)[0] for place in (0.0, self.nut["length"])), strict=True)
        )
        places["middle"] = 0.0
        over = [plane[name] + self.seat(places[name]) - self.board(places[name]) for name in plane]
        through = np.polyfit([places[name] for name in plane], over, len(plane) - 1)
        return self.board(across) + float(np.polyval(through, across))


def _direction_deg(start: Sequence[float], stop: Sequence[float]) -> float:
    """Against the neck, positive toward the treble on the way to the headstock."""
    return math.degrees(math.atan2(stop[0] - start[0], stop[1] - start[1]))
