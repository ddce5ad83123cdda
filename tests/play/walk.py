"""The neck once more, another way: frets by the rule of 17.817, crowns on a circle fitted through three points,
strings as polylines walked point by point."""

import numpy as np

from nutgen.nut import Nut, Slot

POINTS = 10_000
RULE = 17.817153745  # 1 / (1 - 2^(-1/12)): calculation


class Walk:
    """One string's side of a neck, walked. Heights count from the chord over the first and the last crown."""

    def __init__(self, nut: Nut, slot: Slot) -> None:
        self.scale, self.start, self.frets = slot.scale_length, slot.setback, nut.frets
        self.action = slot.action
        places = [0.0]
        for _ in range(nut.frets):
            places.append(places[-1] + (self.scale - places[-1]) / RULE)
        self.places = np.array(places)
        first, last = self.places[1], self.places[-1]
        if nut.relief:
            three = np.array([[first, 0.0], [(first + last) / 2.0, -nut.relief], [last, 0.0]])
            fit = np.linalg.solve(np.column_stack([2.0 * three, np.ones(3)]), (three**2).sum(axis=1))
            radius = np.sqrt(fit[2] + fit[0] ** 2 + fit[1] ** 2)
            self.crown = lambda u: fit[1] - np.sqrt(radius**2 - (u - fit[0]) ** 2)
        else:
            self.crown = lambda u: np.zeros_like(np.asarray(u, float))

    def crown_at(self, fret: int) -> float:
        return float(self.crown(self.places[fret]))

    def plane(self, u: float) -> float:
        """The straightedge over crowns 1 and 2."""
        z1, z2 = self.crown_at(1), self.crown_at(2)
        return z1 + (u - self.places[1]) * (z2 - z1) / (self.places[2] - self.places[1])

    def floor(self, floor_height: float) -> float:
        return self.plane(self.start) + floor_height

    def saddle(self, floor_height: float) -> float:
        """String's height over the bridge, from the floor and the action at fret 12."""
        z0, z12 = self.floor(floor_height), self.crown_at(12) + self.action
        return z0 + (z12 - z0) * (self.scale - self.start) / (self.places[12] - self.start)

    def gap(self, corners: list[tuple[float, float]], fret: int) -> float:
        """Room over a fret under a string stretched over these corners, from a walk along it."""
        u = np.linspace(corners[0][0], corners[-1][0], POINTS)
        string = np.interp(u, *zip(*corners, strict=True))
        return float(np.interp(self.places[fret], u, string) - self.crown(self.places[fret]))

    def open(self, floor_height: float, fret: int) -> float:
        ends = [(self.start, self.floor(floor_height)), (self.scale, self.saddle(floor_height))]
        return self.gap(ends, fret)

    def pressed(self, floor_height: float, pressed: int, fret: int) -> float:
        """Toward the bridge where the fret lies beyond the pressed one, toward the nut where it lies before."""
        held = (self.places[pressed], self.crown_at(pressed))
        if fret > pressed:
            return self.gap([held, (self.scale, self.saddle(floor_height))], fret)
        return self.gap([(self.start, self.floor(floor_height)), held], fret)
