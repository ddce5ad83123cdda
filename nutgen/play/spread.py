"""How far the made nut may be off: reading errors carried through to floor, clearance and buzz.

The nut is solved from readings and its floors are cut at a height over the seat. On the real neck
the fret plane, the relief and the saddle are a little different from what was read, and each floor
is a little off; this is what the strings then do.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from nutgen.findings import Finding, assumption, note, remedy
from nutgen.nut.clear import swing_of
from nutgen.nut.part import Nut
from nutgen.play.buzz import open_swing
from nutgen.play.heights import fret_numbers, line_of
from nutgen.spec.tables import Spec
from nutgen.theory.heights import Neck
from nutgen.theory.uncertainty import Reading, Spread, draw, spread, variance_shares

Array = NDArray[np.float64]

DRAWS = 100_000


@dataclass(frozen=True, slots=True)
class NutSpread:
    """What the errors do, one entry a string, bass to treble.

    floor_height, first_fret_clearance : mean, standard deviation, 5 % and 95 % [mm]
    buzz_chance  : share of draws in which the open string touches a fret at the pluck
    shares       : part of the variance of the first-fret clearance by reading, mean over the strings, the
                   reading that matters most first
    assumed      : errors and pluck that the file does not say
    """

    floor_height: Spread
    first_fret_clearance: Spread
    buzz_chance: Array
    shares: dict[str, float]
    assumed: tuple[Finding, ...]

    @property
    def advice(self) -> Finding:
        """What to measure better first."""
        name, share = next(iter(self.shares.items()))
        if share <= 0.0:
            return note("spread.no-error")
        return remedy("spread.measure-better", reading=name, causes_share=share)


def nut_spread(spec: Spec, nut: Nut, *, draws: int = DRAWS, seed: int = 0) -> NutSpread:
    """Spread of a solved nut over its reading errors.

    draws : of the Monte Carlo, 2 or more
    seed  : same seed, same figures
    """
    model = _Model.of(spec, nut)
    readings = model.readings(spec)
    drawn = draw(readings, count=draws, seed=seed)
    floor, clearance = model.heights(**drawn)
    shares = variance_shares(lambda **r: model.heights(**r)[1], readings)
    swing = swing_of(spec)
    return NutSpread(
        floor_height=spread(floor),
        first_fret_clearance=spread(clearance),
        buzz_chance=model.touching(floor, np.maximum(*open_swing(swing, line_of(nut), fret_numbers(nut))), drawn),
        shares={name: float(np.mean(share)) for name, share in shares.items()},
        assumed=(*_assumed_errors(spec, readings), *swing.assumed),
    )


def _assumed_errors(spec: Spec, readings: dict[str, Reading]) -> tuple[Finding, ...]:
    unsaid = {name: getattr(spec.errors, name) for name in readings if name not in spec.errors.given}
    values = {"radius_share" if name == "radius" else name: error for name, error in unsaid.items()}
    return (assumption("spread.errors-assumed", **values),) if values else ()


@dataclass(frozen=True, slots=True)
class _Model:
    """The nut as cut, against a neck that differs from what was read. Arrays (strings, 1)."""

    x: Array
    floor_height: Array
    scale_length: Array
    start: Array
    action: Array
    last_fret: int
    relief: float
    curvature: float
    half_length: float
    bass_side: float

    @classmethod
    def of(cls, spec: Spec, nut: Nut) -> "_Model":
        def column(name: str) -> Array:
            return np.array([[getattr(slot, name)] for slot in nut.slots])

        return cls(
            x=column("x"),
            floor_height=column("floor_height"),
            scale_length=column("scale_length"),
            start=-column("start_y"),
            action=column("action"),
            last_fret=nut.frets,
            relief=nut.relief,
            curvature=1.0 / nut.board_radius,
            half_length=nut.half_length,
            bass_side=-1.0 if nut.strung == "right" else 1.0,
        )

    def readings(self, spec: Spec) -> dict[str, Reading]:
        """What was read, and cut, as deviations: value 0, or the reading itself where it acts by its size.

        Relief is never below 0, so its error is no more than itself.
        """
        errors, strings = spec.errors, np.zeros(len(self.x))
        found = {
            "relief": Reading(self.relief, min(errors.relief, self.relief), "rectangular"),
            "action": Reading(self.action[:, 0], errors.action, "rectangular"),
            "floors": Reading(strings, errors.floors, "rectangular"),
        }
        if spec.seat.fret_plane is not None:
            read = np.zeros(len(spec.seat.fret_plane.values))
            return found | {"fret_plane": Reading(read, errors.fret_plane, "rectangular")}
        found["fret_height"] = Reading(0.0, errors.fret_height, "rectangular")
        if spec.seat.kind != "surface":  # a surface nut rides on the board, whatever its radius
            found["depth"] = Reading(0.0, errors.depth, "rectangular")
            if self.curvature:
                found["radius"] = Reading(0.0, errors.radius, "rectangular")
        return found

    def heights(self, *, relief: Array, action: Array, floors: Array, **seat: Array) -> tuple[Array, Array]:
        """Floor height over the real fret plane, and clearance at fret 1, shape (strings, draws) [mm]."""
        floor = self.floor_height + floors - self._plane_rise(**seat)
        line = self._neck(relief).string_by_floor(floor_height=floor, action=action)
        return floor, line.clearance(1)

    def _neck(self, relief: Array) -> Neck:
        return Neck(self.scale_length, self.last_fret, relief, self.start)

    def _plane_rise(
        self,
        *,
        fret_plane: Array | None = None,
        fret_height: Array | float = 0.0,
        depth: Array | float = 0.0,
        radius: Array | float = 0.0,
    ) -> Array:
        """How much higher the real fret plane lies over the seat than it was read to be [mm].

        radius : relative error; a rounder board drops more toward its edges: x^2 / 2R to first order
        """
        if fret_plane is not None:  # read at the board edges, bass first, or once for both
            share = (self.x * -self.bass_side + self.half_length) / (2.0 * self.half_length)
            across: Array = fret_plane[0] + (fret_plane[-1] - fret_plane[0]) * share
            return across
        flatter = self.x**2 * self.curvature / 2.0 * (1.0 - 1.0 / (1.0 + np.asarray(radius)))
        rise: Array = np.asarray(fret_height) + depth + flatter
        return rise

    def touching(self, floor: Array, excursion: Array, drawn: dict[str, Array]) -> Array:
        """Share of draws in which an open string touches a fret; fret by fret to stay small in memory."""
        neck = self._neck(drawn["relief"])
        line = neck.string_by_floor(floor_height=floor, action=drawn["action"])
        touched = np.zeros(floor.shape, bool)
        for index in range(self.last_fret):
            touched |= line.clearance(index + 1) < excursion[:, index, np.newaxis]
        return touched.mean(axis=-1)
