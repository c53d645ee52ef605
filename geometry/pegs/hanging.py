"""What each point hangs on: its error as a linear form of the marks' errors and of what pegs add themselves.

A peg's shift is the sum of its sources' shifts, each through a matrix, and of its own error; followed down, that of
marks and of the pegs between, a handful for each peg. The covariance of any two points follows from those few, so that
a large garden needs no more room or time a peg than a small one. Metres and m2.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .linear import EYE, Form
from .tape import Tape

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(slots=True)
class Hanging:
    """Points by number in order of setting; marks have a joint covariance, pegs hang on roots: marks and pegs."""

    tape: Tape
    joint: Floats                                # marks x marks x 2 x 2, m2
    row: list[int] = field(default_factory=list)               # of each point: its row among the marks, -1 for a peg
    roots: list[Ints] = field(default_factory=list)
    factors: list[Floats] = field(default_factory=list)        # of each point: 2 x 2 for each of its roots
    noise: list[Floats] = field(default_factory=list)          # of each point: what it adds itself, m2
    _own: dict[int, Floats] = field(default_factory=dict)

    @staticmethod
    def of(joint: Floats, tape: Tape) -> Hanging:
        """Begin with marks and their joint covariance (m x m x 2 x 2)."""
        found = Hanging(tape, joint.copy())
        for k in range(len(joint)):
            found._root(k)
        return found

    def _root(self, row: int) -> None:
        self.roots.append(np.array([len(self.roots)]))
        self.factors.append(EYE[None])
        self.noise.append(np.zeros((2, 2)))
        self.row.append(row)

    def _noise(self, form: Form) -> Floats:
        noise: Floats = (form.noise * form.sds**2) @ form.noise.T + EYE * self.tape.peg_sd**2
        return noise

    def mark(self, form: Form, sources: Sequence[int]) -> None:
        """Put a mark set from other marks."""
        count = len(self.joint)
        wider = np.zeros((count + 1, count + 1, 2, 2))
        wider[:count, :count] = self.joint
        self.joint = wider
        self._root(count)
        self.set_mark(len(self.row) - 1, form, sources)

    def set_mark(self, number: int, form: Form, sources: Sequence[int]) -> None:
        """Work out the covariance of a mark with itself and with all marks, from those of its sources."""
        row, joint = self.row[number], self.joint
        self._own.clear()
        joint[row] = joint[:, row] = 0.0
        cross = np.zeros((len(joint), 2, 2))
        for shift, source in zip(form.shifts, sources, strict=True):
            cross += shift @ joint[self.row[source]]
        block = self._noise(form)
        for shift, source in zip(form.shifts, sources, strict=True):
            block = block + cross[self.row[source]] @ shift.T
        joint[row], joint[:, row] = cross, cross.transpose(0, 2, 1)
        joint[row, row] = (block + block.T) / 2

    def loosen(self, numbers: Sequence[int]) -> None:
        """Forget how marks hang together with the others."""
        rows = [self.row[n] for n in numbers]
        self.joint[rows, :] = self.joint[:, rows] = 0.0
        self._own.clear()

    def put_in(self, numbers: Sequence[int], joint: Floats) -> None:
        """Put in a joint covariance of marks (n x n x 2 x 2)."""
        rows = [self.row[n] for n in numbers]
        self.joint[np.ix_(rows, rows)] = joint
        self._own.clear()

    def peg(self, form: Form, sources: Sequence[int]) -> None:
        """Put a peg set from its sources."""
        number = len(self.roots)
        every, at = np.unique(np.concatenate([self.roots[s] for s in sources]), return_inverse=True)
        factors = np.zeros((len(every) + 1, 2, 2))
        begin = 0
        for shift, source in zip(form.shifts, sources, strict=True):
            end = begin + len(self.roots[source])
            factors[at[begin:end]] += shift @ self.factors[source]
            begin = end
        factors[-1] = EYE
        self.roots.append(np.append(every, number))
        self.factors.append(factors)
        self.noise.append(self._noise(form))
        self.row.append(-1)

    def take_back(self, count: int) -> None:
        """Forget the last `count` pegs."""
        first = len(self.roots) - count
        for held in (self.row, self.roots, self.factors, self.noise):
            del held[first:]
        for n in [n for n in self._own if n >= first]:
            del self._own[n]

    def own(self, number: int) -> Floats:
        """Return the covariance of a point (2 x 2, m2)."""
        row = self.row[number]
        if row >= 0:
            return np.asarray(self.joint[row, row])
        if number not in self._own:
            block = self.between((number,), (number,))[0, 0]
            self._own[number] = (block + block.T) / 2
        return self._own[number]

    def between(self, some: Sequence[int], others: Sequence[int], joint: Floats | None = None) -> Floats:
        """Return the covariances of points with others (n x m x 2 x 2, m2); `joint` in place of the marks' own one."""
        joint = self.joint if joint is None else joint
        points = [*some, *others]
        counts = [len(self.roots[n]) for n in points]
        roots, at = np.unique(np.concatenate([self.roots[n] for n in points]), return_inverse=True)
        form = np.zeros((len(points), len(roots), 2, 2))
        form[np.repeat(np.arange(len(points)), counts), at] = np.concatenate([self.factors[n] for n in points])
        numbers = roots.tolist()
        rows = np.array([self.row[n] for n in numbers], dtype=np.intp)
        marks, pegs = np.flatnonzero(rows >= 0), np.flatnonzero(rows < 0)
        by_marks, by_pegs = (form[:, held].transpose(0, 2, 1, 3).reshape(2 * len(points), -1) for held in (marks, pegs))
        middle = joint[rows[marks][:, None], rows[marks]].transpose(0, 2, 1, 3).reshape(2 * len(marks), -1)
        cut = 2 * len(some)
        found = by_marks[:cut] @ middle @ by_marks[cut:].T
        if len(pegs):
            noise = np.array([self.noise[numbers[k]] for k in pegs.tolist()])
            own = (form[:len(some), pegs] @ noise).transpose(0, 2, 1, 3).reshape(cut, -1)
            found = found + own @ by_pegs[cut:].T
        blocks: Floats = found.reshape(len(some), 2, len(others), 2).transpose(0, 2, 1, 3)
        return blocks
