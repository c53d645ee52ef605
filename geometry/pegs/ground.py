"""What stands so far: places, joint covariance of all that may be a source, and how each was set.

Sources are control marks, auxiliary marks and primary pegs; secondary pegs stand but nothing hangs on them.
Numbers are given in the order of setting, so a peg's sources always have smaller numbers than itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .linear import CHORD, LINE, OFFSET, Form, line_form, ties_form
from .peg import Weighed
from .plan import Target
from .tape import Tape
from .truing import Truing

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MARK, AUXILIARY, PEG, SECONDARY = 0, 1, 2, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """How one point was set: its kind of standing, method, sources (numbers, hooks in order), element and target.

    For methods along a line the first source is the end measured from. `stated` is a reading that the design
    states (a radius; negative on the far side); else None, and it follows from the places.
    """

    standing: int
    method: int
    sources: tuple[int, ...]
    at: tuple[float, float]
    level: int = 0                           # pegs below it and itself; marks and auxiliary marks count nothing
    chain: int = 0                           # the same with auxiliary marks counted
    element: int = -1
    target: Target | None = None
    stage: int = 0
    weighed: tuple[Weighed, ...] = ()
    stated: float | None = None
    whole: tuple[float, ...] = ()            # readings already whole steps of the tape (auxiliary marks)
    serves: tuple[int, ...] = ()             # further elements that share it


@dataclass(slots=True)
class Ground:
    """Settings by number, with places and the joint covariance (n x n x 2 x 2, m2) of those that may be sources."""

    tape: Tape
    settings: list[Setting] = field(default_factory=list)
    places: Floats = field(default_factory=lambda: np.zeros((64, 2)))
    covariance: Floats = field(default_factory=lambda: np.zeros((64, 64, 2, 2)))
    rows: list[int] = field(default_factory=list)
    used: int = 0
    first: Floats | None = None              # the marks' covariance before truing up, where extra marks were

    def __len__(self) -> int:
        return len(self.settings)

    def _room(self) -> None:
        size = len(self.covariance)
        if self.used >= size:
            wider = np.zeros((2 * size, 2 * size, 2, 2))
            wider[:size, :size] = self.covariance
            self.covariance = wider
        if len(self.settings) >= len(self.places):
            self.places = np.vstack([self.places, np.zeros_like(self.places)])

    def start(self, places: Floats, covariance: Floats, settings: Sequence[Setting]) -> None:
        """Begin with control marks and their joint covariance (2m x 2m)."""
        count = len(settings)
        while len(self.covariance) < count:
            self.used = len(self.covariance)
            self._room()
        self.used = count
        while len(self.places) < count:
            self.places = np.vstack([self.places, np.zeros_like(self.places)])
        self.settings = list(settings)
        self.places[:count] = places
        self.covariance[:count, :count] = covariance.reshape(count, 2, count, 2).transpose(0, 2, 1, 3)
        self.rows = list(range(count))

    def form(self, setting: Setting) -> Form:
        """Return the linear form of a setting."""
        p = np.array(setting.at)
        sources = [self.places[s] for s in setting.sources]
        return form_of(setting.method, p, sources, self.tape)

    def add(self, setting: Setting, source: bool = True) -> int:
        """Put a point; with its covariance if others may hang on it. Return its number."""
        self._room()
        number = len(self.settings)
        self.settings.append(setting)
        self.places[number] = setting.at
        if not source:
            self.rows.append(-1)
            return number
        self.rows.append(self.used)
        self.used += 1
        self._propagate(number)
        return number

    def take_back(self, count: int) -> None:
        """Forget the last `count` points, all of which others might have hung on."""
        del self.settings[-count:], self.rows[-count:]
        self.used -= count

    def _propagate(self, number: int) -> None:
        """Work out the covariance of a point with itself and with all that stand, from those of its sources."""
        setting, row, used = self.settings[number], self.rows[number], self.used
        form = self.form(setting)
        from_rows = [self.rows[s] for s in setting.sources]
        self.covariance[row, :used] = self.covariance[:used, row] = 0.0
        cross = np.zeros((used, 2, 2))
        for shift, r in zip(form.shifts, from_rows, strict=True):
            cross += shift @ self.covariance[r, :used]
        block = (form.noise * form.sds**2) @ form.noise.T + np.eye(2) * self.tape.peg_sd**2
        for shift, r in zip(form.shifts, from_rows, strict=True):
            block = block + cross[r] @ shift.T
        self.covariance[row, :used] = cross
        self.covariance[:used, row] = cross.transpose(0, 2, 1)
        self.covariance[row, row] = (block + block.T) / 2

    def begin_again(self) -> None:
        """Forget what was trued up: all extra marks as they were first set. Pegs follow with `follow`."""
        pegs = [n for n, s in enumerate(self.settings) if s.standing == PEG]
        rows = [self.rows[n] for n in pegs]
        self.covariance[rows, :] = self.covariance[:, rows] = 0.0
        extra = [n for n, s in enumerate(self.settings) if s.standing == AUXILIARY]
        rows = [self.rows[n] for n in extra]
        self.covariance[rows, :] = self.covariance[:, rows] = 0.0
        for n in extra:
            self._propagate(n)

    def follow(self) -> None:
        """Work out the covariance of every peg again, after what they hang on has changed."""
        for n, s in enumerate(self.settings):
            if s.standing == PEG:
                self._propagate(n)

    def true_up(self, numbers: Sequence[int], truing: Truing) -> None:
        """Put in the covariance of marks after truing up; as first set it is kept in `first`."""
        self.first = self.covariance[:self.used, :self.used].copy()
        rows = [self.rows[n] for n in numbers]
        self.covariance[np.ix_(rows, rows)] = truing.after(self.covariance[np.ix_(rows, rows)], self.tape)

    def block(self, a: int, b: int) -> Floats:
        """Return the covariance of points a and b (2 x 2, m2)."""
        found: Floats = self.covariance[self.rows[a], self.rows[b]]
        return found


def form_of(method: int, p: Floats, sources: Sequence[Floats], tape: Tape) -> Form:
    """Return the linear form of a method from its sources' places."""
    if method in (OFFSET, CHORD, LINE):
        return line_form(p, sources[0], sources[1], tape, out=method != LINE)
    return ties_form(p, sources, tape)
