"""Recovery pegs as rows of the tables: which pegs need them, what they are called, how sure each of them is.

Takes: settings in working order, their spread, the places that readings give. Gives: recovery pegs, ways back and
their checks. A recovery peg hangs on its own peg and on what gives the string its direction, so it errs with both.
Metres; limits and errors in mm.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ..errors import Problem, Weight
from ..features import Purpose
from ..kernel.point import Point, Vec
from .checks import check
from .crossing import STANDS, Arm, String
from .ground import AUXILIARY, MARK, PEG
from .linear import line_form
from .peg import Check, CheckKind, Method, Peg, Recovery
from .reach import lowest
from .rebuild import along_line
from .recovery import FEET_STEP, STEP, Keeper, Way
from .setter import Setter
from .spread import Spread
from .strings import Taken
from .tied import best_ties
from .working import Worked

Floats = NDArray[np.float64]

FIRST_RECOVERY = 51
MOST_RECOVERY = 49
NEAREST_SIGHTS = 10
AGAIN = 0.003
"""Standard deviation (m) of a peg found again by its strings along one of them: string and new nail (judgement)."""


@dataclass(slots=True)
class Recovered:
    """Recovery pegs, ways back, checks of pegs found again, names of strings, and pegs for which there is none."""

    pegs: list[Peg] = field(default_factory=list)
    ways: list[Recovery] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    strings: dict[str, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Known:
    """What a recovery peg may hang on: where it stands, its covariance (m2), its shift for that of each setting."""

    at: Floats
    own: Floats
    shifts: Mapping[int, Floats]


class Finder:
    """Gives every primary peg that a dig takes away its recovery pegs."""

    def __init__(self, setter: Setter, spread: Spread, done: Worked, names: Sequence[str], places: Sequence[Point],
                 elements: Mapping[int, Sequence[int]]) -> None:
        self.setter, self.spread, self.done = setter, spread, done
        self.names, self.places, self.elements = names, places, elements
        self.settings, self.ground = setter.ground.settings, setter.ground
        self.options, self.tape = setter.options, setter.options.tape
        self.lines: dict[int, str] = {}
        self.groups: dict[int, tuple[NDArray[np.intp], NDArray[np.intp]]] = {}
        self.kept: list[String] = []
        self.driven: dict[Point, tuple[str, _Known, Point]] = {}
        self.counts: dict[int, int] = {}
        self.taken = {re.sub(r"\D", "", name) for name in names if re.fullmatch(r"[A-Z]\d+", name)}
        self.found = Recovered()

    def find(self, pegs: Sequence[Peg]) -> Recovered:
        """Return recovery pegs for every primary peg that a dig takes away, and how each is found again."""
        step = FEET_STEP if self.tape.feet else STEP
        keepers = {stage: Keeper(self.setter.digs, self.setter.area, sight, self.options.recovery, step)
                   for stage, sight in self.setter.sights.items()}
        by_name = {p.name: p for p in pegs}
        dug = self._dug(keepers)
        for keeper in keepers.values():
            keeper.share([Taken(n, self.places[n], self.settings[n].element) for n, by in dug if by is keeper])
        for n, keeper in dug:
            way = keeper.keep(n, self.places[n], self._sights(n), self._square(n))
            if way is None:
                self._tie(n, by_name[self.names[n]], keeper)
            else:
                self._add(way, by_name[self.names[n]])
        return self.found

    def _dug(self, keepers: Mapping[int, Keeper]) -> list[tuple[int, Keeper]]:
        """Return the primary pegs that a dig takes away, in working order, each with the keeper of its stage."""
        found = []
        for n in self.done.order:
            setting = self.settings[n]
            if setting.standing == PEG and not self.setter.soft(setting.element):
                keeper = keepers.get(setting.stage) or keepers[min(keepers)]
                if keeper.needs(self.places[n]):
                    found.append((n, keeper))
        return found

    def _sights(self, n: int) -> list[tuple[int, Point]]:
        """Return what a string through a peg may be directed at: its own fellows first, then marks, then other pegs."""
        setting = self.settings[n]
        own = [k for k in self.elements[setting.element] if self.settings[k].standing == PEG and k != n]
        own.sort(key=lambda k: k != self._centre(n))
        near = self._nearest(n, setting.stage, {n, *own})
        return [(k, self.places[k]) for k in (*own, *near)]

    def _centre(self, n: int) -> int | None:
        """Return the peg at the centre of the curve that a peg stands on; None for a corner or without one."""
        setting = self.settings[n]
        if setting.target is None or setting.target.purpose not in (Purpose.TANGENT, Purpose.CURVE):
            return None
        numbers = self.setter.numbers[setting.element]
        return next((numbers[c] for c in setting.target.centres if c in numbers), None)

    def _square(self, n: int) -> Vec | None:
        """Return the direction square to the curve that a peg stands on, where a peg stands at its centre."""
        centre = self._centre(n)
        return None if centre is None else (self.places[centre] - self.places[n]).unit()

    def _nearest(self, n: int, stage: int, left: set[int]) -> list[int]:
        """Return the nearest marks, then the nearest pegs of a stage that do not belong to the same shape."""
        places = self.ground.places
        if stage not in self.groups:
            marks = [k for k in self.done.order if self.settings[k].standing in (MARK, AUXILIARY)]
            pegs = [k for k in self.setter.pegs if self.settings[k].stage == stage]
            self.groups[stage] = (np.array(marks, dtype=np.intp), np.array(pegs, dtype=np.intp))
        found: list[int] = []
        for group in self.groups[stage]:
            apart = np.hypot(*(places[group] - places[n]).T)
            near = lowest(np.round(apart, 3), NEAREST_SIGHTS + len(left))
            found += [k for k in (int(group[i]) for i in near) if k not in left][:NEAREST_SIGHTS]
        return found

    # -- strings

    def _add(self, way: Way, peg: Peg) -> None:
        lines: list[str] = []
        for string in way.strings:
            line = self.lines.get(id(string), "")
            if not line:
                line = self.lines[id(string)] = self._stretch(way.peg, string, peg)
                self.kept.append(string)
                self.found.strings[line] = f"S{len(self.found.strings) + 1}"
            lines.append(line)
        self._found_check(peg, way.strings[0], lines[0])
        if way.method == "crossing":
            self.found.ways.append(Recovery(peg=peg.name, method="crossing", order=0, from_1=lines[0], from_2=lines[1]))
            return
        string, at = way.strings[0], _stands(peg)
        one, two = lines[0].split("-")
        a, b = string.first.at, string.second.at
        if at.distance(b) < at.distance(a):
            (one, a), (two, b) = (two, b), (one, a)
        along = (b - a).unit().dot(at - a)
        self.found.ways.append(Recovery(peg=peg.name, method="line", order=0, from_1=one, from_2=two,
                                        reading_1=self.tape.reading(along)))

    def _tie(self, n: int, peg: Peg, keeper: Keeper) -> None:
        """Where no string can be stretched, find a peg again by two tapes from marks or recovery pegs."""
        hooks = {self.names[k]: self.places[k] for k in self.done.order
                 if self.settings[k].standing in (MARK, AUXILIARY)}
        hooks |= {r.name: _stands(r) for r in self.found.pegs}
        ties = best_ties(_stands(peg), hooks, keeper.sight, self.tape)
        if ties is None:
            self.found.problems.append(self._lost(n))
            return
        (one, first), (two, second) = ties.hooks
        self.found.ways.append(Recovery(peg=peg.name, method="ties", order=0, from_1=one, reading_1=first,
                                        from_2=two, reading_2=second, side="left" if ties.left else "right"))

    def _stretch(self, n: int, string: String, peg: Peg) -> str:
        """Drive both pegs of a string; the second by the first: over the served peg and on, or beyond the first."""
        toward = string.first.toward
        if toward == STANDS:
            name, known, hook = self.driven[string.first.at]
        else:
            sighted = _Known(self.ground.places[toward], self.spread.between(toward, toward), {toward: np.eye(2)})
            name, known, hook = self._recovery_peg(n, string.first, peg, self.names[toward], self.places[toward],
                                                   sighted)
        reading = -abs(string.second.reading) if string.opposite else abs(string.second.reading)
        arm = Arm(string.second.toward, reading, string.second.at)
        second, _, _ = self._recovery_peg(n, arm, peg, name, hook, known)
        return f"{name}-{second}"

    def _recovery_peg(self, n: int, arm: Arm, peg: Peg, toward: str, hook: Point,
                      sighted: _Known) -> tuple[str, _Known, Point]:
        """Drive a recovery peg where its printed reading leads, which is a hair beside where it was looked for."""
        number = self._number(peg.work)
        self.taken.add(number)
        at = along_line(_stands(peg), hook, self.tape.reading(arm.reading).metres, 0.0)
        at = Point(round(at.x, 6), round(at.y, 6))
        known = self._hangs(n, arm, sighted)
        (a, b), (_, d) = known.own
        made = Peg(name=f"R{number}", purpose=Purpose.RECOVERY, at=at, method=Method.LINE, order=0,
                   element=peg.element, part=peg.name, from_1=peg.name, from_2=toward,
                   reading_1=self.tape.reading(arm.reading), error=round(math.sqrt(a + d) * 1000, 1),
                   covariance=((float(a), float(b)), (float(b), float(d))),
                   remark=f"{abs(arm.reading):.3f} to {peg.name}", rebuilt=at, stage=peg.stage, work=peg.work,
                   primary=False, bound=self.tape.step * 500)
        self.found.pegs.append(made)
        self.driven[arm.at] = made.name, known, at
        return made.name, known, at

    def _hangs(self, n: int, arm: Arm, sighted: _Known) -> _Known:
        """Return how sure a recovery peg is: it hangs on the served peg, and on what the string is directed at."""
        spot = np.array([arm.at.x, arm.at.y])
        form = line_form(spot, self.ground.places[n], sighted.at, self.tape, out=False)
        by_served, by_sighted = form.shifts
        served = self.spread.between(n, n)
        apart = sum((self.spread.between(n, k) @ w.T for k, w in sighted.shifts.items()), np.zeros((2, 2)))
        own = (form.noise * form.sds**2) @ form.noise.T + np.eye(2) * self.tape.peg_sd**2
        mixed = by_served @ apart @ by_sighted.T
        own = own + by_served @ served @ by_served.T + by_sighted @ sighted.own @ by_sighted.T + mixed + mixed.T
        shifts = {k: by_sighted @ w for k, w in sighted.shifts.items()}
        shifts[n] = shifts.get(n, 0.0) + by_served
        return _Known(spot, (own + own.T) / 2, shifts)

    def _found_check(self, peg: Peg, string: String, line: str) -> None:
        """Measure from the nearer recovery peg of the first string to the peg found again."""
        at = _stands(peg)
        name, arm = min(zip(line.split("-"), (string.first, string.second), strict=True),
                        key=lambda one: (round(one[1].at.distance(at), 4), one[0]))
        sd = math.hypot(self.tape.sd(arm.at.distance(at)), AGAIN)
        self.found.checks.append(check(name, peg.name, arm.at, at, sd, CheckKind.FOUND, self.tape, gate=3,
                                       element=peg.element, proves=f"{peg.name} found again"))

    def _number(self, work: int) -> str:
        """Return the next free number from 51 up, of the element's number or, when that is full, of a fresh one."""
        counts = self.counts
        while True:
            counts[work] = counts.get(work, FIRST_RECOVERY - 1) + 1
            number = f"{work}{counts[work]:02d}"
            if counts[work] < FIRST_RECOVERY + MOST_RECOVERY and number not in self.taken:
                return number
            if counts[work] >= FIRST_RECOVERY + MOST_RECOVERY:
                work = 1 + max(*self.done.work.values(), *counts, *(int(t[:-2]) for t in self.taken if len(t) > 2))

    def _lost(self, n: int) -> Problem:
        return Problem(
            f"{self.names[n]} will be dug away and no recovery peg can stand for it",
            "mark the string on wall, fence or house, or set the peg again from the marks after the dig",
            "no-recovery", weight=Weight.ADVICE)


def _stands(peg: Peg) -> Point:
    return peg.rebuilt or peg.at


__all__ = ["Finder", "Recovered"]
