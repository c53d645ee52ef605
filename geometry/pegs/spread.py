"""How sure each peg is, and each distance between two of them.

Takes: the ground. Gives: blocks between any two pegs, predicted errors. Metres and m2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .ground import Ground
from .linear import reading_variance
from .shape import shape_errors

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Spread:
    """Covariance blocks by number."""

    def __init__(self, ground: Ground, *, first: bool = False) -> None:
        """Take the ground; `first` looks at the marks as they were first set, before truing up (no pegs then)."""
        self.ground = ground
        self._first = ground.first if first else None
        self._joints: list[Floats] = []
        self._where: dict[int, tuple[int, int]] = {}            # of a peg: its shape's joint covariance, its row there

    def _blocks(self, some: Sequence[int], others: Sequence[int]) -> Floats:
        return self.ground.hanging.between(some, others, self._first)

    def between(self, a: int, b: int) -> Floats:
        """Return the covariance of points a and b (2 x 2, m2)."""
        if self._first is None:
            one, other = self._where.get(a), self._where.get(b)
            if a != b and one and other and one[0] == other[0]:
                return np.asarray(self._joints[one[0]][one[1], other[1]])
            return self.ground.block(a, b)
        found: Floats = self.ground.hanging.pairs((a,), (b,), self._first)[0]
        return found

    def joint(self, numbers: Sequence[int]) -> Floats:
        """Return the joint covariance of several points (n x n x 2 x 2)."""
        return self._blocks(numbers, numbers) if len(numbers) else np.zeros((0, 0, 2, 2))

    def distance_variances(self, some: Ints, others: Ints) -> Floats:
        """Return the variances (m2) of the distances from each of `some` to that of `others`, tapings included."""
        ground, tape = self.ground, self.ground.tape
        away = ground.places[others] - ground.places[some]
        length = np.maximum(np.hypot(away[:, 0], away[:, 1]), 1e-9)
        unit = away / length[:, None]
        cross = self.ground.hanging.pairs(some, others, self._first)
        block = self._owns(some) + self._owns(others) - cross - cross.transpose(0, 2, 1)
        own = reading_variance(length, tape) + tape.step**2 / 12
        found: Floats = np.maximum(np.einsum("ki,kij,kj->k", unit, block, unit), 0.0) + own
        return found

    def _owns(self, numbers: Ints) -> Floats:
        held, at = np.unique(numbers, return_inverse=True)
        blocks: Floats = np.array([self.between(n, n) for n in held.tolist()]).reshape(-1, 2, 2)[at]
        return blocks

    def distance_variance(self, a: int, b: int, reading: bool = True) -> float:
        """Return the variance (m2) of the distance between two points, with the error of one taping of it."""
        (ax, ay), (bx, by) = self.ground.places[a].tolist(), self.ground.places[b].tolist()
        length = max(math.hypot(bx - ax, by - ay), 1e-9)
        x, y = (bx - ax) / length, (by - ay) / length
        cross = self.between(a, b)
        tape = self.ground.tape
        own = tape.sd(length) ** 2 + tape.step**2 / 12 if reading else 0.0
        return _along(self.between(a, a) + self.between(b, b) - cross - cross.T, x, y) + own

    def shapes(self, numbers: Sequence[int]) -> dict[int, float]:
        """Return each peg's error in the shape of its element (m): what is left after the best shift and turn."""
        if len(numbers) < 2:
            return {}
        settings = self.ground.settings
        normals = []
        for n in numbers:
            target = settings[n].target
            normal = target.normal if target else None
            normals.append(None if normal is None else np.array([normal.dx, normal.dy]))
        joint = self.joint(numbers)
        self._where |= {n: (len(self._joints), k) for k, n in enumerate(numbers)}
        self._joints.append(joint)
        found = shape_errors(self.ground.places[list(numbers)], normals, joint)
        return dict(zip(numbers, (float(v) for v in found), strict=True))

    def error(self, n: int) -> float:
        """Return the root of the trace of a peg's covariance, m."""
        (xx, _), (_, yy) = self.between(n, n).tolist()
        return math.sqrt(max(xx + yy, 0.0))

    def needed(self, n: int) -> float:
        """Return the error in what the peg's purpose needs: square to the curve for a curve peg, else both axes; m."""
        target = self.ground.settings[n].target
        if target is None or target.normal is None:
            return self.error(n)
        return math.sqrt(_along(self.between(n, n), target.normal.dx, target.normal.dy))


def _along(block: Floats, x: float, y: float) -> float:
    """Return the variance of a covariance block along a unit vector, m2."""
    xx, xy, yx, yy = map(float, block.ravel().tolist())
    return max(x * xx * x + x * (xy + yx) * y + y * yy * y, 0.0)
