"""Where one frame lies in another."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from nutgen.theory import Array

Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Pose:
    """A frame in another: a rotation and a shift, as plain numbers, so that it hashes and compares.

    Parameters
    ----------
    rotation : tuple of three vectors
        The frame's own axes, seen in the other: rows, unit vectors, right-handed.
    origin : Vector
        Its zero in the other frame [mm].
    """

    rotation: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    origin: Vector = (0.0, 0.0, 0.0)

    @classmethod
    def of(cls, origin: ArrayLike, axes: ArrayLike) -> "Pose":
        """A pose from arrays.

        Parameters
        ----------
        origin : array_like, (3,)
            Zero of the frame in the other [mm].
        axes : array_like, (3, 3)
            Rows: its axes in the other.
        """
        first, second, third = (_vector(row) for row in np.asarray(axes, float))
        return cls((first, second, third), _vector(origin))

    @property
    def axes(self) -> Array:
        """The rotation as an array (3, 3): rows are the frame's axes in the other."""
        return np.array(self.rotation)

    @property
    def at(self) -> Array:
        """The origin as an array (3,) [mm]."""
        return np.array(self.origin)

    @property
    def matrix(self) -> Array:
        """The pose as a matrix (4, 4) that takes columns of this frame to the other [mm]."""
        matrix = np.eye(4)
        matrix[:3, :3], matrix[:3, 3] = self.axes.T, self.origin
        return matrix

    def apply(self, points: ArrayLike) -> Array:
        """Points of this frame in the other.

        Parameters
        ----------
        points : array_like, (..., 3)
            In this frame [mm].

        Returns
        -------
        ndarray, (..., 3)
            The same places in the other frame [mm].
        """
        return np.asarray(points) @ self.axes + self.at

    def apply_inverse(self, points: ArrayLike) -> Array:
        """Points (..., 3) of the other frame in this one [mm]."""
        return (np.asarray(points) - self.at) @ self.axes.T

    def compose(self, inner: "Pose") -> "Pose":
        """A frame that lies in this one, seen in the other: `apply` of the result is `self.apply(inner.apply(...))`."""
        return Pose.of(self.apply(inner.at), inner.axes @ self.axes)


IDENTITY = Pose()
"""One frame in the same place as the other."""


def _vector(values: ArrayLike) -> Vector:
    x, y, z = np.asarray(values, float).tolist()
    return x, y, z
