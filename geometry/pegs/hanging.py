"""What each point hangs on: its error as a linear form of the marks' errors and of what pegs add themselves.

A peg's shift is the sum of its sources' shifts, each through a matrix, and of its own error; followed down, that of
marks and of the pegs between, a handful for each peg. The covariance of any two points follows from those few, so that
a large garden needs no more room or time a peg than a small one. Metres and m2.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .linear import EYE, Form
from .tape import Tape

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


class Hanging:
    """Points by number in order of setting; marks have a joint covariance, pegs hang on roots: marks and pegs."""

    def __init__(self, joint: Floats, tape: Tape) -> None:
        """Begin with marks and their joint covariance (m x m x 2 x 2)."""
        self.tape, self.joint = tape, joint.copy()
        self._count = 0
        self._row = np.zeros(64, dtype=np.intp)                 # of each point: its row among the marks, -1 for a peg
        self._noise = np.zeros((64, 2, 2))                      # of each point: what it adds itself, m2
        self._start = np.zeros(65, dtype=np.intp)               # of each point: where its roots begin
        self._roots = np.zeros(256, dtype=np.intp)
        self._factors = np.zeros((256, 2, 2))                   # 2 x 2 for each root
        self._own: dict[int, Floats] = {}
        for row in range(len(joint)):
            self._put(row, [row], EYE[None], np.zeros((2, 2)))

    def _put(self, row: int, roots: Sequence[int], factors: Floats, noise: Floats) -> None:
        n, begin = self._count, int(self._start[self._count])
        end = begin + len(roots)
        if n + 1 >= len(self._row):
            self._row, self._noise, self._start = _twice(self._row), _twice(self._noise), _twice(self._start)
        if end > len(self._roots):
            self._roots, self._factors = _twice(self._roots), _twice(self._factors)
        self._row[n], self._noise[n], self._start[n + 1] = row, noise, end
        self._roots[begin:end], self._factors[begin:end] = roots, factors
        self._count += 1

    def _noise_of(self, form: Form) -> Floats:
        noise: Floats = (form.noise * form.sds**2) @ form.noise.T + EYE * self.tape.peg_sd**2
        return noise

    def _of(self, n: int) -> slice:
        return slice(*self._start[n:n + 2].tolist())

    def mark(self, form: Form, sources: Sequence[int]) -> None:
        """Put a mark set from other marks."""
        count = len(self.joint)
        wider = np.zeros((count + 1, count + 1, 2, 2))
        wider[:count, :count] = self.joint
        self.joint = wider
        self._put(count, [self._count], EYE[None], np.zeros((2, 2)))
        self.set_mark(self._count - 1, form, sources)

    def set_mark(self, number: int, form: Form, sources: Sequence[int]) -> None:
        """Work out the covariance of a mark with itself and with all marks, from those of its sources."""
        row, joint = self._row[number], self.joint
        self._own.clear()
        joint[row] = joint[:, row] = 0.0
        cross = np.zeros((len(joint), 2, 2))
        for shift, source in zip(form.shifts, sources, strict=True):
            cross += shift @ joint[self._row[source]]
        block = self._noise_of(form)
        for shift, source in zip(form.shifts, sources, strict=True):
            block = block + cross[self._row[source]] @ shift.T
        joint[row], joint[:, row] = cross, cross.transpose(0, 2, 1)
        joint[row, row] = (block + block.T) / 2

    def loosen(self, numbers: Sequence[int]) -> None:
        """Forget how marks hang together with the others."""
        rows = [self._row[n] for n in numbers]
        self.joint[rows, :] = self.joint[:, rows] = 0.0
        self._own.clear()

    def put_in(self, numbers: Sequence[int], joint: Floats) -> None:
        """Put in a joint covariance of marks (n x n x 2 x 2)."""
        rows = [self._row[n] for n in numbers]
        self.joint[np.ix_(rows, rows)] = joint
        self._own.clear()

    def peg(self, form: Form, sources: Sequence[int]) -> None:
        """Put a peg set from its sources."""
        held = [self._of(s) for s in sources]
        roots = [self._roots[own].tolist() for own in held]
        every = sorted({root for own in roots for root in own})
        where = {root: k for k, root in enumerate(every)}
        factors = np.zeros((len(every) + 1, 2, 2))
        for shift, own, by in zip(form.shifts, held, roots, strict=True):
            factors[[where[root] for root in by]] += shift @ self._factors[own]
        factors[-1] = EYE
        self._put(-1, [*every, self._count], factors, self._noise_of(form))

    def take_back(self, count: int) -> None:
        """Forget the last `count` pegs."""
        self._count -= count
        for n in range(self._count, self._count + count):
            self._own.pop(n, None)

    def own(self, number: int) -> Floats:
        """Return the covariance of a point (2 x 2, m2)."""
        if number not in self._own:
            for n, block in zip(new := [n for n in range(self._count) if n not in self._own],
                                self.pairs(new, new), strict=True):
                self._own[n] = (block + block.T) / 2
        return self._own[number]

    def pairs(self, some: Sequence[int] | Ints, others: Sequence[int] | Ints, joint: Floats | None = None) -> Floats:
        """Return the covariance of each of `some` with that of `others` (n x 2 x 2); `joint` in place of the marks'."""
        joint = self.joint if joint is None else joint
        a, b = np.asarray(some, dtype=np.intp), np.asarray(others, dtype=np.intp)
        wide = self._start[b + 1] - self._start[b]
        count = (self._start[a + 1] - self._start[a]) * wide
        pair = np.repeat(np.arange(len(a)), count)
        inner = np.arange(len(pair)) - np.repeat(np.cumsum(count) - count, count)
        left, right = np.divmod(inner, wide[pair])
        left, right = left + self._start[a][pair], right + self._start[b][pair]
        by_a, by_b = self._roots[left], self._roots[right]
        row_a, row_b = self._row[by_a], self._row[by_b]
        marks = (row_a >= 0) & (row_b >= 0)
        keep = np.flatnonzero(marks | (by_a == by_b))
        pair, left, right, by_a = pair[keep], left[keep], right[keep], by_a[keep]
        middle = np.where(marks[keep, None, None], joint[row_a[keep], row_b[keep]], self._noise[by_a])
        terms = self._factors[left] @ middle @ self._factors[right].transpose(0, 2, 1)
        found = np.zeros((len(a), 2, 2))
        if len(terms):
            starts = np.flatnonzero(np.diff(pair, prepend=-1))
            found[pair[starts]] = np.add.reduceat(terms, starts)
        return found

    def between(self, some: Sequence[int], others: Sequence[int], joint: Floats | None = None) -> Floats:
        """Return the covariances of points with others (n x m x 2 x 2, m2); `joint` in place of the marks' own one."""
        joint = self.joint if joint is None else joint
        same = some is others
        points = np.array(some if same else [*some, *others], dtype=np.intp)
        begin = self._start[points]
        count = self._start[points + 1] - begin
        point = np.arange(len(points)).repeat(count)
        held = np.arange(len(point)) + (begin - count.cumsum() + count).repeat(count)
        every = self._roots[held]
        used = np.zeros(self._count, dtype=bool)
        used[every] = True
        roots = used.nonzero()[0]
        at = (used.cumsum() - 1)[every]
        rows = self._row[roots]
        form = np.zeros((len(points), 2, len(roots), 2))
        form[point, :, at] = self._factors[held]
        marks, pegs = (rows >= 0).nonzero()[0], (rows < 0).nonzero()[0]
        cut = len(some)
        right = slice(None) if same else slice(cut, None)
        by_marks = form[:, :, marks].reshape(len(points), 2, -1)
        middle = joint[rows[marks][:, None], rows[marks]].transpose(0, 2, 1, 3).reshape(2 * len(marks), -1)
        found = by_marks[:cut].reshape(2 * cut, -1) @ middle @ by_marks[right].reshape(-1, 2 * len(marks)).T
        if len(pegs):
            by_pegs = form[:, :, pegs]
            own = (by_pegs[:cut, :, :, None] @ self._noise[roots[pegs]]).reshape(2 * cut, -1)
            found += own @ by_pegs[right].reshape(-1, 2 * len(pegs)).T
        blocks: Floats = found.reshape(cut, 2, -1, 2).transpose(0, 2, 1, 3)
        return blocks


def _twice(held: Any) -> Any:
    """Return an array with room for twice as much."""
    return np.concatenate([held, np.zeros_like(held)])
