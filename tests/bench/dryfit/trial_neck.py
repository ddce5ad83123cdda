"""A true neck in space with a trial nut in it, and a hand that reads it: plain geometry that knows nothing of the fit.

Across X, along Y from the nut to the bridge, up Z. The board is a cylinder, bent along the neck to an arc; seat and
nut ride on its end. Strings are straight lines from the floors to saddles that the action sets.
"""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from nutgen.nut import Nut, solve
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec
from tests.hand import error
from tests.kinds import text_of

KINDS = (
    "electric-6",
    "electric-6-left",
    "electric-6-slanted",
    "acoustic-6",
    "bass-4",
    "bass-5",
    "classical",
    "mandolin",
)

LEAVES = np.arange(0.0, 3.01, 0.05)
WIRES = np.arange(0.0, 3.01, 0.0254)
SHEETS = np.unique([0.0, *(round(0.102 * n + 0.295 * m, 4) for n in range(10) for m in range(10))])
OFFCUTS = 25.4 * np.array([*range(9, 19), 20, 22, 24]) / 1000.0
"""What passes under a string: a metric set of leaves; gauges a thousandth of an inch apart; paper and card, ten of
which are 1.02 and 2.95 thick; plain strings as they are sold [mm]."""

EXACT = np.arange(0.0, 3.0, 0.0002)

_SHEETS = {"own_leaves": {"paper": {"ten": 1.02}, "card": {"ten": 2.95}}, "feeler": [], "feeler_inch": []}
BENCHES = {"sheets": _SHEETS, "drawer": {**_SHEETS, "wires": [f"{gauge:.4f} mm" for gauge in OFFCUTS]}}
"""[tools] without leaves."""


@dataclass
class TrueNeck:
    """A neck as it is, and as it was misread [mm].

    bent, wanted : relief on the day, and in the end
    lean         : rise of the seat floor to the treble side, mm per mm, which no file knows
    """

    kind: str
    radius: float
    depth: float
    fret_height: float
    arch: float
    bent: float
    wanted: float
    misread: dict[str, Any] = field(default_factory=dict)
    more: dict[str, Any] = field(default_factory=dict)
    lean: float = 0.0
    floors: tuple[float, ...] = ()

    def file(self) -> dict[str, Any]:
        """What a maker wrote, misread in places."""
        changes: dict[str, Any] = {
            "fretboard.radius": "flat" if math.isinf(self.radius) else self.radius,
            "fretboard.fret_height": self.fret_height,
            "seat.depth": self.depth,
            "seat.floor": "flat" if math.isinf(self.arch) else self.arch,
            "setup.relief": self.wanted,
        }
        return {**changes, **self.more, **self.misread}

    def spec(self) -> Spec:
        """The maker's file."""
        return parse_spec(text_of(self.kind, self.file()), source="test")


@dataclass
class Strung:
    """The true neck with a nut's strings over it: where they stand in plan, which is not what is misread."""

    neck: TrueNeck
    nut: Nut

    def __post_init__(self) -> None:
        turn, slots = math.radians(self.nut.slant_deg), self.nut.slots
        lines = [math.radians(slot.line_deg) for slot in slots]
        self.face = [self._placed(slot.face_x, 0.0, turn) for slot in slots]
        self.start = [self._placed(slot.x, slot.start_y, turn) for slot in slots]
        ways = [self._placed(-math.sin(line), -math.cos(line), turn) for line in lines]
        self.way = [np.array(way) / math.hypot(*way) for way in ways]
        self.scales = [slot.scale_length for slot in slots]
        ends = [[self.fret(index, n)[1] for index in (0, -1)] for n in (1, self.nut.frets)]
        self.first, self.last = (float(np.mean(pair)) for pair in ends)

    @staticmethod
    def _placed(x: float, y: float, turn: float) -> tuple[float, float]:
        return x * math.cos(turn) + y * math.sin(turn), x * math.sin(turn) - y * math.cos(turn)

    def fret(self, index: int, number: int) -> np.ndarray:
        """Where a string crosses a fret, in plan."""
        return np.array(self.face[index]) + self.way[index] * self.scales[index] * (1.0 - 2.0 ** (-number / 12.0))

    def dip(self, along: float, relief: float) -> float:
        """The board's crown over the chord from fret 1 to the last: an arc, carried on to the nut."""
        half, at = (self.last - self.first) / 2.0, along - (self.first + self.last) / 2.0
        if relief == 0.0:
            return 0.0
        radius = half**2 / (2.0 * relief) + relief / 2.0
        return radius - relief - math.sqrt(radius**2 - at**2)

    def crown(self, place: np.ndarray, relief: float) -> float:
        """Height of a fret's crown."""
        return self.neck.fret_height + _sag(place[0], self.neck.radius) + self.dip(place[1], relief)

    def seat(self, index: int, relief: float) -> float:
        """Height of the seat floor where a string crosses the face."""
        across, along = self.face[index]
        treble = across if self.nut.strung == "right" else -across
        return self.dip(along, relief) - self.neck.depth + _sag(across, self.neck.arch) + self.neck.lean * treble

    def clearance(self, index: int, floor: float, action: float, relief: float) -> float:
        """Of the open string over fret 1."""
        begins, one, twelve = np.array(self.start[index]), self.fret(index, 1), self.fret(index, 12)
        low, high = self.seat(index, relief) + floor, self.crown(twelve, relief) + action
        share = math.dist(begins, one) / math.dist(begins, twelve)
        return low + (high - low) * share - self.crown(one, relief)

    def floor_for(self, index: int, clearance: float, action: float, relief: float) -> float:
        """The floor over the seat that leaves a clearance over fret 1: both are linear in each other."""
        none, one = (self.clearance(index, floor, action, relief) for floor in (0.0, 1.0))
        return (clearance - none) / (one - none)


def _sag(across: float, radius: float) -> float:
    return 0.0 if math.isinf(radius) else math.sqrt(radius**2 - across**2) - radius


def over_wire(strung: Strung, index: int, floor: float, wire: float, jaw: float, aside: float) -> float:
    """What a caliper shows from the underside over a wire in a slot.

    jaw   : width of its lower jaw, which touches a hollow underside at both edges
    aside : how far it stands beside the slot, within its jaw
    """
    slot, arch = strung.nut.slots[index], strung.neck.arch
    across = strung.start[index][0]
    rise = wire / 2.0 / math.cos(math.radians(slot.tilt_deg))
    middle = _sag(strung.face[index][0], arch) + floor + rise
    if math.isinf(arch):
        return middle + rise
    centre = np.array([across, middle + arch])  # from the arch's own middle
    turn = math.atan2(*centre) + aside / arch
    upward = np.array([math.sin(turn), math.cos(turn)])
    upper = float(centre @ upward) + math.hypot(rise * upward[1], wire / 2.0 * upward[0])
    return upper - math.sqrt(arch**2 - jaw**2 / 4.0)


def read(strung: Strung, rng: np.random.Generator, *, by: str = "leaves", hand: float = 1.0) -> dict[str, Any]:
    """A trial as the hand reads it. The trial nut's floors are `strung.neck.floors`; its action is drawn.

    by   : "leaves", "wires", "sheets", "drawer", which are sheets where no offcut of a string reaches, or "exactly"
    hand : times the errors of `HAND`; 0 makes none
    """

    def off(name: str) -> float:
        return hand * error(rng, name)

    nut, neck = strung.nut, strung.neck
    ends = [nut.slots[place].action + float(rng.uniform(-0.2, 0.4)) for place in (0, -1)]
    x = [slot.x for slot in nut.slots]
    actions = [ends[0] + (ends[1] - ends[0]) * (one - x[0]) / (x[-1] - x[0]) for one in x]
    table: dict[str, Any] = {"clearances": [], "drags": [], "over_wires": [], "wires": []}
    for index, (slot, floor) in enumerate(zip(nut.slots, neck.floors, strict=True)):
        gap = strung.clearance(index, floor, actions[index], neck.bent)
        steps, feel = _felt_by(by, gap)
        place = max(int(np.searchsorted(steps, gap + off(feel), side="right")) - 1, 0)
        wire = slot.gauge
        shown = over_wire(strung, index, floor, wire + off("wire"), rng.uniform(1.0, 3.0), rng.uniform(-1.0, 1.0))
        table["clearances"].append(round(float(steps[place]), 4))
        table["drags"].append(round(float(steps[place + 1]), 4))
        table["over_wires"].append(round(shown + off("caliper") + off("jaws"), 2))
        table["wires"].append(f"{wire:.4f} mm")
    table["relief"] = round(max(neck.bent + off("relief"), 0.0), 3)
    table["action"] = dict(zip(("bass", "treble"), (round(end + off("action"), 2) for end in ends), strict=True))
    if by in ("leaves", "sheets"):
        del table["drags"]  # the file knows the next stack
    return table


def _felt_by(by: str, gap: float) -> tuple[np.ndarray, str]:
    """What there is to pass or to drag, and how surely that is felt."""
    if by == "drawer":
        by = "offcuts" if OFFCUTS[0] + 0.05 < gap < OFFCUTS[-1] - 0.05 else "sheets"
    steps = {"leaves": LEAVES, "wires": WIRES, "sheets": SHEETS, "offcuts": OFFCUTS, "exactly": EXACT}[by]
    return steps, "gap" if by == "sheets" else "leaf"


def drawn(seed: int) -> TrueNeck:
    """A neck whose every height was misread by some tenths."""
    r = np.random.default_rng(seed)

    def one(low: float, high: float) -> float:
        return round(float(r.uniform(low, high)), 3)

    kind = KINDS[int(r.integers(len(KINDS)))]
    flat = kind == "classical"
    radius = math.inf if flat else one(180.0, 420.0)
    depth, board, wanted = one(3.0, 4.5), one(0.8, 1.3), one(0.05, 0.3)
    arch = radius if r.random() < 0.3 else math.inf
    neck = TrueNeck(kind, radius, depth, board, arch, max(wanted + one(-0.1, 0.1), 0.0), wanted)
    neck.lean = one(-0.005, 0.005)
    neck.misread = {"seat.depth": depth + one(-0.3, 0.3), "fretboard.fret_height": board + one(-0.3, 0.3)}
    if not flat:
        neck.misread["fretboard.radius"] = radius * one(0.8, 1.25)
    if r.random() < 0.4:
        neck.misread["seat.fret_plane"] = depth + board + one(-0.6, 0.3)
    if r.random() < 0.15 and kind != "electric-6-slanted":
        neck.more = {"material": "brass", "slots.setback": {"bass": one(0.1, 0.6), "treble": one(0.1, 0.6)}}
    return neck


def filed_until_it_plays(strung: Strung, seed: int) -> tuple[float, ...]:
    """Floors of a trial nut that plays: each clears fret 1 by some amount near the one wanted."""
    r = np.random.default_rng([seed, 1])
    return tuple(
        strung.floor_for(index, slot.first_fret_clearance + float(r.uniform(-0.1, 0.3)), slot.action, strung.neck.bent)
        for index, slot in enumerate(strung.nut.slots)
    )


def on_the_neck(neck: TrueNeck, seed: int) -> tuple[Spec, Nut, Strung]:
    """The maker's file, the nut of it, and that nut on the true neck, filed until it plays."""
    spec = neck.spec()
    strung = Strung(neck, solve(spec))
    neck.floors = filed_until_it_plays(strung, seed)
    return spec, strung.nut, strung
