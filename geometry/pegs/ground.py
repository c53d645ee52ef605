"""What stands so far: places, how each point was set, and how sure it is.

Sources are control marks, auxiliary marks and primary pegs; secondary pegs stand but nothing hangs on them.
Numbers are given in the order of setting, so a peg's sources always have smaller numbers than itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .hanging import Hanging
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
    """Settings by number, with places, and what hangs on what."""

    tape: Tape
    settings: list[Setting] = field(default_factory=list)
    places: Floats = field(default_factory=lambda: np.zeros((64, 2)))
    hanging: Hanging = field(init=False)
    first: Floats | None = None              # the marks' covariance before truing up, where extra marks were
    marks: list[int] = field(default_factory=list)             # numbers of control marks, then of extra marks
    _forms: dict[tuple[object, ...], Form] = field(default_factory=dict)

    def __len__(self) -> int:
        return len(self.settings)

    def start(self, places: Floats, covariance: Floats, settings: Sequence[Setting]) -> None:
        """Begin with control marks and their joint covariance (2m x 2m)."""
        count = len(settings)
        self.settings, self.marks = list(settings), list(range(count))
        self.places = np.vstack([places, np.zeros((max(64, count), 2))])
        self.hanging = Hanging(covariance.reshape(count, 2, count, 2).transpose(0, 2, 1, 3), self.tape)

    def form(self, setting: Setting) -> Form:
        """Return the linear form of a setting."""
        key = (setting.method, setting.at, setting.sources)
        found = self._forms.get(key)
        if found is None:
            places = [self.places[s] for s in setting.sources]
            found = self._forms[key] = form_of(setting.method, np.array(setting.at), places, self.tape)
        return found

    def add(self, setting: Setting) -> int:
        """Put a point; return its number."""
        number = len(self.settings)
        if number >= len(self.places):
            self.places = np.vstack([self.places, np.zeros_like(self.places)])
        self.settings.append(setting)
        self.places[number] = setting.at
        if setting.standing == AUXILIARY:
            self.marks.append(number)
            self.hanging.mark(self.form(setting), setting.sources)
        else:
            self.hanging.peg(self.form(setting), setting.sources)
        return number

    def take_back(self, count: int) -> None:
        """Forget the last `count` pegs."""
        del self.settings[len(self.settings) - count:]
        self._forms.clear()
        self.hanging.take_back(count)

    def begin_again(self) -> None:
        """Forget what was trued up: all extra marks as they were first set."""
        self.first = None
        extra = [n for n in self.marks if self.settings[n].standing == AUXILIARY]
        self.hanging.loosen(extra)
        for n in extra:
            self.hanging.set_mark(n, self.form(self.settings[n]), self.settings[n].sources)

    def true_up(self, numbers: Sequence[int], truing: Truing) -> None:
        """Put in the covariance of marks after truing up; as first set it is kept in `first`."""
        self.first = self.hanging.joint.copy()
        self.hanging.put_in(numbers, truing.after(self.hanging.between(numbers, numbers), self.tape))

    def block(self, a: int, b: int) -> Floats:
        """Return the covariance of points a and b (2 x 2, m2)."""
        if a == b:
            return self.hanging.own(a)
        found: Floats = self.hanging.pairs((a,), (b,))[0]
        return found

    def joint(self, numbers: Sequence[int]) -> Floats:
        """Return the joint covariance of points (n x n x 2 x 2, m2)."""
        if not len(numbers):
            return np.zeros((0, 0, 2, 2))
        return self.hanging.between(numbers, numbers)


def form_of(method: int, p: Floats, sources: Sequence[Floats], tape: Tape) -> Form:
    """Return the linear form of a method from its sources' places."""
    if method in (OFFSET, CHORD, LINE):
        return line_form(p, sources[0], sources[1], tape, out=method != LINE)
    return ties_form(p, sources, tape)
