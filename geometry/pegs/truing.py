"""Truing up: lines measured between pegs, and the nails moved until what the lines are over and under is shared out.

Moving a nail by what its lines say, round after round, ends where the sum of (over x direction) is nothing at every
nail: least squares of equal weight, with nothing moved that no line asks for. Takes: places, lines, covariance before.
Gives: covariance after. With H the change of the lines by a move and K its inverse for what may move, errors d become
(I - K H) d - K e, e the errors of taping the lines; then each nail that may move is driven anew with its own
centring. Derived here; the estimator is textbook least squares (e.g. Ghilani, Adjustment Computations, from memory).
Metres and m2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .peg import CheckKind, Method, PegSet
from .tape import Tape

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SEEN = 0.2
"""A move of all nails together that changes all lines together by less than this share of it is not seen by the tape
(10 mm by 2 mm); so nothing moves that way (judgement)."""


@dataclass(frozen=True, slots=True)
class Truing:
    """Lines (index pairs) between `places` (n x 2), and how far each place may move: a basis (2n x k)."""

    places: Floats
    lines: tuple[tuple[int, int], ...]
    basis: Floats

    @property
    def lengths(self) -> Floats:
        """Lengths of the lines."""
        a, b = np.array(self.lines).T
        found: Floats = np.hypot(*(self.places[b] - self.places[a]).T)
        return found

    @property
    def change(self) -> Floats:
        """H: how the lines change with the places (m x 2n)."""
        count = len(self.lines)
        a, b = np.array(self.lines).T
        unit = (self.places[b] - self.places[a]) / self.lengths[:, None]
        found = np.zeros((count, len(self.places), 2))
        found[range(count), a] = -unit
        found[range(count), b] = unit
        return found.reshape(count, -1)

    @property
    def gain(self) -> Floats:
        """K: the moves that lines ask for that are too long by one (2n x m, moves are its negative)."""
        left, sizes, right = np.linalg.svd(self.change @ self.basis, full_matrices=False)
        seen = sizes >= SEEN
        found: Floats = self.basis @ (right[seen].T / sizes[seen]) @ left[:, seen].T
        return found

    @property
    def moving(self) -> Flags:
        """Which places may move."""
        flags: Flags = np.abs(self.basis).sum(axis=1).reshape(-1, 2).any(axis=1)
        return flags

    def moved(self, places: Floats, errors: Floats) -> Floats:
        """Return places (t x n x 2, t trials) after truing up with taping `errors` (t x m, metres), before centring."""
        a, b = np.array(self.lines).T
        over = np.hypot(*np.moveaxis(places[:, b] - places[:, a], -1, 0)) + errors - self.lengths
        found: Floats = places - (over @ self.gain.T).reshape(places.shape)
        return found

    def after(self, covariance: Floats, tape: Tape) -> Floats:
        """Return the joint covariance (n x n x 2 x 2) after truing up."""
        count = len(self.places)
        flat = covariance.transpose(0, 2, 1, 3).reshape(2 * count, 2 * count)
        change, gain = self.change, self.gain
        keep = np.eye(2 * count) - gain @ change
        taped = np.array([tape.sd(float(d)) ** 2 for d in self.lengths])
        found = keep @ flat @ keep.T + (gain * taped) @ gain.T
        found += np.diag(np.repeat(self.moving, 2) * tape.peg_sd**2)
        after: Floats = ((found + found.T) / 2).reshape(count, 2, count, 2).transpose(0, 2, 1, 3)
        return after


def of_extra_marks(pegs: PegSet) -> tuple[tuple[str, ...], Truing] | None:
    """Return the lines that true up the extra marks of a set, and the names of its places; None where there are none.

    A mark in line with two others moves along its string only.
    """
    lines = [(c.start, c.end) for c in pegs.checks if c.kind is CheckKind.TRUE and not c.element]
    if not lines:
        return None
    named = pegs.by_name()
    names = tuple(p.name for p in pegs.pegs if any(p.name in line for line in lines))
    index = {name: k for k, name in enumerate(names)}
    places = np.array([(p.x, p.y) for name in names for p in [named[name].rebuilt or named[name].at]])
    free, along = [], {}
    for name, k in index.items():
        peg = named[name]
        if peg.method is Method.LINE:
            way = (peg.rebuilt or peg.at) - named[peg.from_1].at
            along[k] = np.array([way.dx, way.dy]) / way.length
        elif peg.method is not Method.FIXED:
            free.append(k)
    return names, Truing(places, tuple((index[a], index[b]) for a, b in lines), free_basis(len(names), free, along))


def free_basis(count: int, free: Sequence[int], along: dict[int, Floats]) -> Floats:
    """Return the basis of moves: both axes for `free` places, one direction (unit) for those of `along`."""
    columns = []
    for k in sorted({*free, *along}):
        for axis in ([along[k]] if k in along else [np.array([1.0, 0.0]), np.array([0.0, 1.0])]):
            column = np.zeros(2 * count)
            column[2 * k:2 * k + 2] = axis
            columns.append(column)
    found: Floats = np.array(columns).T.reshape(2 * count, -1)
    return found
