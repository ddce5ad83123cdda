"""Where edges and strings of a file cross the front face, counted as if strung right-handed.

The neck: X across it, Y along its centre line toward the headstock, 0 where the centre line crosses the face.
A face slanted by s, the bass end nearer the headstock: X = x cos s + y sin s, Y = y cos s - x sin s.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from nutgen.errors import CannotBeMade
from nutgen.finding import of_key, refusal
from nutgen.spec.tables import Spec
from nutgen.theory.frets import nut_slant_deg
from nutgen.theory.spacing import NoRoom, equal_centres, equal_gaps

Kind = Literal["bass", "steel", "nylon"]
"""Which practice a nut falls under."""

BASS_SCALE = 700.0
"""Scale length from which a set of strings counts as a bass. Common practice, no source [mm]."""

SOFT = ("nylon", "fluorocarbon", "gut")
"""Materials of soft strings."""

_ROUNDS, _SETTLED_DEG = 200, 1e-11


@dataclass(frozen=True, slots=True)
class End:
    """An upright end of the nut, in plan.

    Parameters
    ----------
    x : float
        Where it meets the front face [mm].
    lean_deg : float
        Turn against y, positive toward +x on the way back [deg].
    """

    x: float
    lean_deg: float = 0.0

    @property
    def per_y(self) -> float:
        """Shift along x for a step along y."""
        return math.tan(math.radians(self.lean_deg))

    def moved(self, out: float) -> "End":
        """The end moved square to itself, toward +x where positive [mm]."""
        return replace(self, x=self.x + out / math.cos(math.radians(self.lean_deg)))

    def mirrored(self) -> "End":
        """The end with x reversed."""
        return End(-self.x, -self.lean_deg)


@dataclass(frozen=True, slots=True)
class Places:
    """Where the edges of the board and the strings cross the front face; tuples have one entry a string, bass first.

    Parameters
    ----------
    slant_deg : float
        Turn of the nut in the neck, positive where the bass end lies nearer the headstock [deg].
    left, right : End
        Along the board's edges.
    x : tuple of float
        Centres on the face, from the centre line, along the face [mm].
    line_deg : tuple of float
        Lines over the board against y, positive toward +x on the way back [deg].
    scale_length : tuple of float
        Along each string [mm].
    """

    slant_deg: float
    left: End
    right: End
    x: tuple[float, ...]
    line_deg: tuple[float, ...]
    scale_length: tuple[float, ...]

    @property
    def shares(self) -> list[float]:
        """Share of the way from the bass-most to the treble-most string."""
        return string_shares(self.x)


def kind_of(spec: Spec) -> Kind:
    """Which practice a file falls under: "bass", "steel" or "nylon"."""
    if min(spec.instrument.scale_length.values) >= BASS_SCALE:
        return "bass"
    soft = sum(string.material in SOFT for string in spec.strings)
    return "nylon" if 2 * soft >= len(spec.strings) else "steel"


def string_courses(spec: Spec) -> list[int]:
    """A label per string; neighbours with one label form a course, 1 is the treble-most."""
    n = len(spec.strings)
    given = [string.course for string in spec.strings if string.course is not None]
    if given:
        return given
    size = 2 if spec.spacing.course_gap is not None else 1
    return [(n - 1 - index) // size + 1 for index in range(n)]


def string_shares(x: Sequence[float]) -> list[float]:
    """Share of the way from the bass-most to the treble-most string."""
    spread = x[-1] - x[0]
    return [(at - x[0]) / spread if spread else 0.0 for at in x]


def places_of(spec: Spec) -> Places:
    """Where edges and strings of a file stand on the front face.

    Parameters
    ----------
    spec : Spec
        A file through the door.

    Returns
    -------
    Places
        Bass to treble.

    Raises
    ------
    CannotBeMade
        Where the strings have no room, or stand too close for their two scales.

    Notes
    -----
    The slant follows from the strings' spread along the face, and the face from the slant: what follows from a slant
    is worked out until it gives that slant.
    """
    scale = spec.instrument.scale_length
    if scale.bass == scale.treble:
        return _at(spec, 0.0)
    slant = _slant(spec, scale.bass, scale.treble, spec.fretboard.width)
    for _ in range(_ROUNDS):
        found = _at(spec, slant)
        bass, treble = (_along_neck(found, i) for i in (0, -1))
        slant = _slant(spec, bass, treble, found.x[-1] - found.x[0])
        if abs(slant - found.slant_deg) < _SETTLED_DEG:
            break
    return found


def _at(spec: Spec, slant_deg: float) -> Places:
    """Edges and strings on a face of a given slant."""
    board, scale = spec.fretboard, spec.instrument.scale_length
    half, slant = board.width / 2.0, math.radians(slant_deg)
    taper = 0.0  # of either edge against the centre line, wider toward the bridge
    if board.width_at_12 is not None:
        taper = math.atan2((board.width_at_12 - board.width) / 2.0, (scale.bass + scale.treble) / 4.0)
    left, right = (
        End(side * half * math.cos(taper) / math.cos(slant + side * taper), -math.degrees(slant + side * taper))
        for side in (-1.0, 1.0)
    )
    x = _centres(spec, left.x, right.x, math.cos(slant))
    splay = []
    for at in x:  # a string keeps its share of the board's width
        across, along = at * math.cos(slant), -at * math.sin(slant)
        splay.append(-math.atan(math.tan(taper) * across / (half - math.tan(taper) * along)))
    stretch = [math.cos(one) if spec.instrument.scale_along == "neck" else 1.0 for one in splay]
    return Places(
        slant_deg=slant_deg,
        left=left,
        right=right,
        x=tuple(x),
        line_deg=tuple(math.degrees(one) - slant_deg for one in splay),
        scale_length=tuple(one / by for one, by in zip(scale.at(string_shares(x)), stretch, strict=True)),
    )


def _along_neck(places: Places, index: int) -> float:
    """Scale length of a string, seen along the neck [mm]."""
    return places.scale_length[index] * math.cos(math.radians(places.line_deg[index] + places.slant_deg))


def _slant(spec: Spec, bass: float, treble: float, spread: float) -> float:
    try:
        return nut_slant_deg(
            bass_scale=bass, treble_scale=treble, spread=spread, perpendicular_fret=spec.instrument.perpendicular_fret
        )
    except ValueError:
        about = of_key("instrument.scale_length")
        found = refusal("slant.scales-do-not-fit", about, difference=bass - treble, spread=spread)
        raise CannotBeMade([found]) from None


def _centres(spec: Spec, left: float, right: float, cosine: float) -> list[float]:
    """Centres of the strings along the face, from the centre line; a string that crosses aslant takes more of it."""
    if spec.spacing.rule == "measured":
        return [left + centre for centre in spec.spacing.measured or ()]
    rule = equal_gaps if spec.spacing.rule == "gaps" else equal_centres
    margin = spec.spacing.margin
    if margin is None:
        raise ValueError("a spacing by rule has margins; the door sees to that")
    try:
        centres = rule(
            [string.gauge / cosine for string in spec.strings],
            width=right - left,
            bass_margin=margin.bass,
            treble_margin=margin.treble,
            courses=string_courses(spec),
            course_gap=spec.spacing.course_gap or 0.0,
        )
    except NoRoom as error:
        raise CannotBeMade([refusal("strings.no-room", of_key("spacing.margin"), missing=error.missing)]) from None
    return [left + centre for centre in centres]
