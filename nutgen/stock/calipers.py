"""A piece from caliper readings: a smooth skin through the stations, the core inside it, as closed surfaces.

  up (back line)
   |  . - ~ - .          A station is an ellipse square to the straightedge. Between stations its
 . |'            ' .     diameters, middle and twist run monotone: none leaves the readings on
(  +--> sideways     )   either side. A cut end is flat; a closed end rounds off like half an
 ' .              . '    ellipsoid, the core inside it too, a wall before the tip.
     ' ~ - - ~ '
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from nutgen.errors import SpecFaults
from nutgen.finding import refusal
from nutgen.geometry.mesh import Array, Mesh
from nutgen.geometry.pose import IDENTITY
from nutgen.spec.piece import Core, PieceSpec, Station, middles
from nutgen.stock.marks import back_line, first_end
from nutgen.stock.piece import Axis, Piece
from nutgen.stock.tube import step_around, tube

if TYPE_CHECKING:
    from scipy.interpolate import PchipInterpolator

CELL = 1.2  # mm; longest side of a cell of the skin, but on very large pieces
MOST_CELLS = 100_000  # cells grow instead
SAG_ALONG, SAG_WARP = 0.002, 0.003  # mm; between the skin and its triangles, as is 0.004 around: 0.01 in all
LEAST_RINGS, MOST_RINGS = 4, 4000
LEAST_CORE = 0.1  # mm; half of a core that has all but closed
DIGITS = 12  # of a reading that count; the interpolation divides by differences, which must not be next to nothing
_SKIN = slice(0, 5)
"""Columns of the readings: sideways, up, half width, half height, turn [mm, rad]; core: likewise without turn."""


@dataclass(frozen=True, slots=True, eq=False)
class _Shape:
    """The readings and what runs through them.

    at          : (n,) stations along the piece [mm]
    through     : all readings at a place between the first and the last station
    ends, core_ends : where skin and core begin and end along the piece [mm]
    has_core    : whether there is a core
    """

    at: Array
    through: "PchipInterpolator"
    ends: tuple[float, float]
    core_ends: tuple[float, float]
    has_core: bool

    def skin(self, along: Array) -> Array:
        """Ellipses of the skin: (n, 5), sideways, up, half width, half height, turn."""
        rows = self._read(along)[:, _SKIN].copy()
        rows[:, 2:4] *= self._rounding(along, self.ends)
        return rows

    def core(self, along: Array) -> Array:
        """Ellipses of the core, likewise."""
        read = self._read(along)
        rows, offset = read[:, _SKIN].copy(), read[:, 5:7] * self._rounding(along, self.ends)
        rows[:, 2:4] = read[:, 7:9] * self._rounding(along, self.core_ends)
        cosine, sine = np.cos(rows[:, 4]), np.sin(rows[:, 4])
        rows[:, 0] += offset[:, 0] * cosine + offset[:, 1] * sine
        rows[:, 1] += offset[:, 1] * cosine - offset[:, 0] * sine
        return rows

    def _read(self, along: Array) -> Array:
        return np.asarray(self.through(np.clip(along, self.at[0], self.at[-1])))

    def _rounding(self, along: Array, ends: tuple[float, float]) -> Array:
        """Share of the last station's diameters that is left in an end that rounds off: (n, 1)."""
        share = np.ones_like(along)
        for station, tip in ((self.at[0], ends[0]), (self.at[-1], ends[1])):
            if station != tip:
                beyond = np.clip((along - station) / (tip - station), 0.0, 1.0)
                share = share * np.sqrt((1.0 - beyond) * (1.0 + beyond))
        return share[:, None]


def piece_from_calipers(spec: PieceSpec) -> Piece:
    """The piece that the stations of a piece file tell of.

    spec   : with two stations at least
    raises : SpecFaults where the core comes out through the skin between two stations

    The corners of both surfaces lie on the smooth skin itself; their triangles stay within 0.01 mm of it
    on pieces up to 100 mm across. Interpolation: Fritsch, F. N., Carlson, R. E., Monotone piecewise
    cubic interpolation, SIAM J. Numer. Anal. 17 (1980) 238-246, as scipy has it.
    """
    shape = _shape(spec)
    first, last = (4.0 * float(np.prod(shape.skin(shape.at[[end]])[0, 2:4])) for end in (0, -1))
    length = shape.ends[1]
    along = np.linspace(0.0, length, max(2, round(length)) + 1)
    middle = shape.skin(along)
    if shape.has_core:
        _refuse_core_outside(shape, along)
    return Piece(
        title=spec.title,
        material=spec.material,
        found_by="calipers",
        skin=_surface(shape, shape.skin, shape.ends, inside=False),
        core=_surface(shape, shape.core, shape.core_ends, inside=True) if shape.has_core else None,
        axis=Axis(along, middle[:, 0], middle[:, 1]),
        length=length,
        ends=(spec.ends.first, spec.ends.last),
        first_end=first_end(spec, first=first, last=last),
        back_line=back_line(spec),
        permitted=spec.permit,
        to_source=IDENTITY,
    )


def _shape(spec: PieceSpec) -> _Shape:
    from scipy.interpolate import PchipInterpolator

    stations = spec.stations
    at = np.array([station.at for station in stations])
    skin = np.array(
        [
            [*middle, station.width / 2.0, station.height / 2.0, np.radians(station.turn_deg)]
            for station, middle in zip(stations, middles(stations), strict=True)
        ]
    )
    walls = _walls(stations, at)
    core = np.zeros((len(at), 4)) if walls is None else _core_within(skin[:, 2:4], walls)
    first_tip = 0.0 if spec.ends.first == "closed" else stations[0].at
    last_tip = _last_tip(spec)
    return _Shape(
        at=at,
        through=PchipInterpolator(at, np.round(np.hstack([skin, core]), DIGITS)),
        ends=(first_tip, last_tip),
        core_ends=(
            first_tip if walls is None else _core_tip(at[0], first_tip, wall=float(walls[0].min())),
            last_tip if walls is None else _core_tip(at[-1], last_tip, wall=float(walls[-1].min())),
        ),
        has_core=walls is not None,
    )


def _walls(stations: tuple[Station, ...], at: Array) -> Array | None:
    """Left, right, back and belly wall at each station; running on where a station does not tell: (n, 4)."""
    from scipy.interpolate import PchipInterpolator

    told = [(station, station.core_in_section()) for station in stations]
    known = np.array([core is not None for _, core in told])
    if not known.any():
        return None
    walls = np.array([_four_walls(station, core) for station, core in told if core is not None])
    if len(walls) == 1:
        return np.tile(walls, (len(at), 1))
    return np.asarray(PchipInterpolator(at[known], np.round(walls, DIGITS))(np.clip(at, at[known][0], at[known][-1])))


def _four_walls(station: Station, core: Core) -> list[float]:
    beside, above = (station.width - core.width) / 2.0, (station.height - core.height) / 2.0
    return [beside - core.sideways, beside + core.sideways, above - core.up, above + core.up]


def _core_within(half: Array, walls: Array) -> Array:
    """Core ellipses from the half diameters of the sections and their walls: (n, 4)."""
    left, right, back, belly = walls.T
    across = np.stack([half[:, 0] - (left + right) / 2.0, half[:, 1] - (back + belly) / 2.0], axis=1)
    return np.hstack([np.stack([right - left, belly - back], axis=1) / 2.0, np.maximum(across, LEAST_CORE)])


def _last_tip(spec: PieceSpec) -> float:
    last = spec.stations[-1]
    if spec.ends.last == "cut":
        return float(last.at)
    return float(last.at + min(last.width, last.height) / 2.0 if spec.ends.last_tip is None else spec.ends.last_tip)


def _core_tip(station: float, tip: float, *, wall: float) -> float:
    """Where the core ends: with a cut end, or the least wall before the tip of a closed one."""
    beyond = abs(tip - station)
    return float(station + np.copysign(max(beyond - wall, 0.1 * beyond), tip - station))


def _refuse_core_outside(shape: _Shape, along: Array) -> None:
    """Both may be sound at every station and still cross between two."""
    places = along[(along >= shape.at[0]) & (along <= shape.at[-1])]
    read = shape.through(places)
    angle = np.linspace(0.0, 2.0 * np.pi, 121)[:-1]
    across = (read[:, 5:6] + read[:, 7:8] * np.cos(angle)) / read[:, 2:3]
    upward = (read[:, 6:7] + read[:, 8:9] * np.sin(angle)) / read[:, 3:4]
    out = np.flatnonzero((across**2 + upward**2).max(axis=1) > 1.0)
    if len(out):
        raise SpecFaults("stations", [refusal("piece.core-crosses-skin", along=float(places[out[0]]))])


def _surface(shape: _Shape, ellipses: Callable[[Array], Array], ends: tuple[float, float], *, inside: bool) -> Mesh:
    """Skin or core as a closed surface."""
    along = _places(shape, ends, inside=inside)
    tips = (ends[0] != shape.at[0], ends[1] != shape.at[-1])
    return tube(along, ellipses(along), tips=tips, cell=_cell(shape))


def _cell(shape: _Shape) -> float:
    """Longest side of a cell: CELL, more on a piece that would need too many [mm]."""
    around = 2.0 * np.pi * float(shape.through(shape.at)[:, 2:4].max())
    return max(CELL, float(np.sqrt(around * (shape.ends[1] - shape.ends[0]) / MOST_CELLS)))


def _places(shape: _Shape, ends: tuple[float, float], *, inside: bool) -> Array:
    """Where the rings of a surface stand: on every station, and near enough between for its curvature."""
    cell = _cell(shape)
    steps = np.minimum(_longest_steps(shape, cell, inside=inside), cell)
    parts = [shape.at[:1]]
    for (low, high), step in zip(pairwise(shape.at), steps, strict=True):
        rings = int(np.clip(np.ceil((high - low) / step), LEAST_RINGS, MOST_RINGS))
        parts.append(np.linspace(low, high, rings + 1)[1:])
    before = _cap_places(shape, shape.at[0], ends[0], cell)[::-1]
    after = _cap_places(shape, shape.at[-1], ends[1], cell)
    return np.concatenate([before, *parts, after])


def _cap_places(shape: _Shape, station: float, tip: float, cell: float) -> Array:
    """The rings of an end that rounds off, from the station to the tip: even in the angle of its meridian."""
    if station == tip:
        return np.empty(0)
    radius = max(abs(tip - station), float(shape.through(station)[2:4].max()))
    step = min(cell / radius, float(np.sqrt(8.0 * SAG_ALONG / radius)))
    angle = np.linspace(0.0, np.pi / 2.0, int(np.ceil(np.pi / 2.0 / step)) + 1)[1:]
    return np.append(station + (tip - station) * np.sin(angle[:-1]), tip)


def _longest_steps(shape: _Shape, cell: float, *, inside: bool) -> Array:
    """How far apart rings may stand between two stations so that chords stay near the surface: (n - 1,) [mm].

    Lines along it bend by their middle, their half diameters, and the twist at arm's length; cells warp
    where the section changes its proportions (a'b - ab')/(a + b) or turns. A chord over a step h of
    second derivative k lies k h^2/8 away, the middle of a cell's diagonal a quarter of warp times both steps.
    """
    shares = np.linspace(1e-6, 1.0 - 1e-6, 9)[:, None]
    places = (shape.at[:-1] + shares * np.diff(shape.at)).ravel()
    value, slope, bend = (
        np.asarray(shape.through(places, order)).reshape(len(shares), len(shape.at) - 1, -1) for order in range(3)
    )
    columns = [0, 1, 2, 3, *(range(5, 9) if inside else ())]
    arm = np.abs(value[..., [2, 3, 5, 6]]).max(axis=2)
    twist, speed = np.abs(slope[..., 4]), np.abs(slope[..., columns]).max(axis=2)
    bending = np.linalg.norm(bend[..., columns], axis=2) + arm * (twist**2 + np.abs(bend[..., 4])) + 2.0 * speed * twist
    width, height = (7, 8) if inside else (2, 3)
    turned = np.abs(slope[..., width] * value[..., height] - value[..., width] * slope[..., height])
    warp = turned / (value[..., width] + value[..., height]) + arm * twist
    around = step_around(float(value[..., [width, height]].max()), cell=cell)
    chords = np.sqrt(8.0 * SAG_ALONG / np.maximum(bending.max(axis=0), 1e-9))
    return np.asarray(np.minimum(chords, 4.0 * SAG_WARP / np.maximum(warp.max(axis=0) * around, 1e-9)))
