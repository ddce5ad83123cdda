"""Necks in space, read with what is in a drawer: relief, radius, fret plane by their ways, and the floors of the nut.

The neck is built here by plain geometry: a board on a cone or a cylinder bent along an arc, crowns concentric with it,
a string as a straight line between two crowns, a ruler and a pencil as stiff bodies that rest on crowns. Run as a
module for the whole: python -m tests.nut.without_gauges 1000
"""

import math
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from nutgen.nut import Nut, solve
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec
from tests.hand import HAND, error
from tests.kinds import text_of

SHEETS = {"paper": 0.102, "card": 0.295}
"""What half of the hands fill gaps with [mm]."""

STACKS = {
    " + ".join(f"{n} {name}" for n, name in ((cards, "card"), (papers, "paper")) if n): (
        papers * SHEETS["paper"] + cards * SHEETS["card"],
        papers + cards,
    )
    for papers in range(4)
    for cards in range(10)
    if papers + cards
}
"""Stacks of few sheets: height [mm] and how many there are."""

KINDS = {"electric-6": (254.0, 0.010), "bass-4": (305.0, 0.045), "ukulele-tenor": (380.0, 0.024)}
"""Kinds with a flat seat floor: a usual radius [mm] and the thinnest gauge [in]."""

FLAT_OF_PENCIL = 3.5  # mm, half of its width


@dataclass(frozen=True)
class Neck:
    """A neck as it is. x across, y from the nut's face to the bridge, z up from the board's middle at the face [mm]."""

    kind: str
    width: float
    scale: float
    frets: int
    radius: float
    growth: float
    fret_height: float
    relief: float
    depth: float

    def fret(self, number: float) -> float:
        """y of a crown."""
        return self.scale * (1.0 - 0.5 ** (number / 12.0))

    def bow(self, y: float) -> float:
        """z of the middle of the board: a circle through fret 1 and the last, 0 at the face."""

        def over_lowest(at: float) -> float:
            ends = (self.fret(1), self.fret(self.frets))
            half, middle = (ends[1] - ends[0]) / 2.0, sum(ends) / 2.0
            around = (half**2 + self.relief**2) / (2.0 * self.relief)
            return around - math.sqrt(around**2 - (at - middle) ** 2)

        return over_lowest(y) - over_lowest(0.0)

    def board(self, x: float, y: float) -> float:
        """z of the board."""
        radius = self.radius + self.growth * y
        return self.bow(y) + math.sqrt(radius**2 - x**2) - radius

    def crown(self, x: float, number: int) -> float:
        """z of a crown, concentric with the board under it."""
        y = self.fret(number)
        radius = self.radius + self.growth * y
        return self.bow(y) + math.sqrt((radius + self.fret_height) ** 2 - x**2) - radius

    def plane(self, x: float, y: float = 0.0) -> float:
        """z of the straight line over crowns 1 and 2."""
        one, two = self.crown(x, 1), self.crown(x, 2)
        return one + (y - self.fret(1)) * (two - one) / (self.fret(2) - self.fret(1))


@dataclass(frozen=True)
class Hand:
    """Somebody who reads; every error is drawn anew."""

    rng: np.random.Generator
    by_sheets: bool

    def gap(self, gap: float) -> float | str:
        """A gap by leaves, to a hundredth; or by the stack that fills it best, squeezed and felt."""
        if not self.by_sheets or gap < SHEETS["paper"] / 2.0:
            return round(max(gap + self.off("gap"), 0.0), 2)
        felt = gap + self.off("stack") * (1.0 + HAND["sheet"] / HAND["stack"] * (round(gap / SHEETS["card"]) + 1))
        return min(STACKS, key=lambda text: (round(abs(STACKS[text][0] - felt), 3), STACKS[text][1]))

    def off(self, what: str) -> float:
        return error(self.rng, what)

    def relief(self, neck: Neck) -> dict[str, Any]:
        """A string pressed on two frets stands a little over either; the gap over the fret nearest half way."""
        x = neck.width / 2.0 - 3.5
        lifted = [KINDS[neck.kind][1] * 25.4 * self.rng.uniform(0.0, 0.1) for _ in range(2)]
        ends = [(neck.fret(n), neck.crown(x, n) + up) for n, up in zip((1, neck.frets), lifted, strict=True)]
        half_way = (ends[0][0] + ends[1][0]) / 2.0
        fret = min(range(1, neck.frets), key=lambda n: abs(neck.fret(n) - half_way))
        share = (neck.fret(fret) - ends[0][0]) / (ends[1][0] - ends[0][0])
        gap = ends[0][1] + share * (ends[1][1] - ends[0][1]) - neck.crown(x, fret)
        return {"under_string": self.gap(gap)}

    def radius(self, neck: Neck) -> dict[str, Any]:
        """A ruler touches fret 1 somewhere; gaps square to it at both ends of a chord."""
        chord, radius = neck.width - 3.0, neck.radius + neck.growth * neck.fret(1) + neck.fret_height
        touches = math.asin(chord * self.rng.uniform(-0.3, 0.3) / radius)
        ends = (math.asin(side * chord / 2.0 / radius) for side in (-1.0, 1.0))
        gaps = [radius * (1.0 - math.cos(end - touches)) for end in ends]
        return {"gaps": list(map(self.gap, gaps)), "chord": round(chord + self.off("ruler"), 1)}

    def fret_height(self, neck: Neck) -> dict[str, Any]:
        """A ruler on frets 1 and 2, near the middle; the gap to the board beside the nut."""
        x, y = self.rng.uniform(-3.0, 3.0), self.rng.uniform(0.5, 3.0)
        return {"under_ruler": self.gap(neck.plane(x, y) - neck.board(x, y))}

    def fret_plane(self, neck: Neck) -> dict[str, Any]:
        """Half a pencil that lies on frets 1 and 2, rolled nearly with them; caliper to its line at three places."""
        lead, wrong = self.rng.uniform(3.0, 4.0), self.off("lead")
        heights = {}
        for place, x in (("bass", -neck.width / 2.0), ("middle", 0.0), ("treble", neck.width / 2.0)):
            heights[place] = round(self._line(neck, x, lead) + neck.depth + self.off("line"), 2)
        return {"pencil": heights, "lead": round(lead + wrong, 2)}

    def _line(self, neck: Neck, x: float, lead: float) -> float:
        """z of the line at x: the flat touches the crowns beside the pencil's middle, the lead leans with it."""
        around, roll = neck.radius + neck.fret_height, math.radians(self.off("roll_deg"))
        beside = max(
            -FLAT_OF_PENCIL, min(FLAT_OF_PENCIL, around * roll)
        )  # of the touching place, from the flat's middle
        lean, middle = 0.0, x
        for _ in range(20):  # until the lead is at x
            lean = math.asin(middle / around) + roll
            middle = x - lead * math.sin(lean)
        return neck.plane(middle + beside) + beside * math.sin(lean) + lead * math.cos(lean)


def drawn(rng: np.random.Generator) -> Neck:
    """A neck of one of the kinds, a third of them with a board that flattens toward the bridge."""
    kind = str(rng.choice(list(KINDS)))
    spec = parse_spec(text_of(kind), source=kind)
    return Neck(
        kind=kind,
        width=round(spec.fretboard.width * rng.uniform(0.95, 1.08), 2),
        scale=spec.instrument.scale_length.bass,
        frets=spec.instrument.frets,
        radius=KINDS[kind][0] * rng.uniform(0.75, 1.5),
        growth=rng.uniform(0.1, 0.3) if rng.random() < 1 / 3 else 0.0,
        fret_height=rng.uniform(0.8, 1.4),
        relief=rng.uniform(0.05, 0.4),
        depth=rng.uniform(2.5, 4.5),
    )


def files(neck: Neck, hand: Hand) -> Iterator[tuple[str, Spec]]:
    """The neck as it is read: with the fret plane by pencil, and with a ruler at the nut and the depth by caliper."""
    read: dict[str, Any] = {
        "tools": {"own_leaves": {name: {"ten": 10.0 * thick} for name, thick in SHEETS.items()}},
        "fretboard.width": neck.width,
        "setup.relief": hand.relief(neck),
        "fretboard.radius": hand.radius(neck),
        "fretboard.fret_height": hand.fret_height(neck),
        "seat.depth": round(neck.depth + hand.off("depth"), 2),
    }
    yield "ruler", parse_spec(text_of(neck.kind, read), source="ruler")
    yield "pencil", parse_spec(text_of(neck.kind, read | {"seat.fret_plane": hand.fret_plane(neck)}), source="pencil")


def truth(neck: Neck, key: str) -> tuple[float, ...]:
    """What a key should have said."""
    edge = neck.width / 2.0
    return {
        "setup.relief": (neck.relief,),
        "fretboard.radius": (neck.radius,),
        "fretboard.fret_height": (neck.plane(0.0),),
        "seat.fret_plane": tuple(neck.plane(x) + neck.depth for x in (-edge, 0.0, edge)),
    }[key]


def floors_off(neck: Neck, nut: Nut) -> Iterator[float]:
    """How far each floor of the nut as made is from the one that gives clearance and action as wanted, in this neck."""
    for slot in nut.slots:
        wanted = ((1, slot.first_fret_clearance), (12, slot.action))
        at = [(neck.fret(n), neck.crown(slot.x, n) + over) for n, over in wanted]
        (y1, z1), (y12, z12) = at
        yield nut.floor_over_seat(slot) - neck.depth - (z1 - y1 * (z12 - z1) / (y12 - y1))


def tried(count: int, seed: int = 0) -> dict[str, float]:
    """Of so many necks: the share of readings that their stated error holds, by key, and of floors within 0.10 mm."""
    rng = np.random.default_rng(seed)
    held: Counter[str] = Counter()
    looked: Counter[str] = Counter()
    for _ in range(count):
        neck = drawn(rng)
        for how, spec in files(neck, Hand(rng, by_sheets=rng.random() < 0.5)):
            for way in spec.ways if how == "pencil" else ():
                value = way.value if isinstance(way.value, float) else way.value.values
                for got, due in zip(np.atleast_1d(value), truth(neck, way.key), strict=True):
                    looked[way.key] += 1
                    held[way.key] += bool(abs(got - due) <= way.error)
            for off in floors_off(neck, solve(spec)):
                looked[f"floors by {how}"] += 1
                held[f"floors by {how}"] += bool(abs(off) <= 0.10)
    return {name: held[name] / looked[name] for name in looked}


if __name__ == "__main__":
    for name, share in tried(int(sys.argv[1])).items():
        print(f"{name:24} {share:.1%}")
