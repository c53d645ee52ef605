"""Every mistake that people make, tried with its exact effect on the readings: how well does it explain them?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..kernel.point import Point, Vec
from .causes import ANY_SD, ANYTHING, PRIOR_ANY, PRIOR_FAULT, slips
from .expected import Expected, placed, readings_of
from .peg import Peg

Floats = NDArray[np.float64]

MISPLACED_SD = 0.5
KNOCK_SD = 0.15
"""Standard deviation (m) of where a misplaced peg, and one that a foot or a barrow knocked, may stand, each axis."""
PRIOR_KNOCKED = 0.15
PRIOR_MISPLACED = 0.15
PRIOR_HOOK = 0.06
PRIOR_SIDE = 0.02


@dataclass(frozen=True, slots=True)
class Guess:
    """One mistake: where, what, the log of its likelihood with its prior, where the peg then stands less its place."""

    subject: str
    cause: str
    log: float
    shift: Vec | None


class Guesses:
    """The mistakes that could have been made at the pegs and measures of a net, each with its log of likelihood."""

    def __init__(self, net: Expected) -> None:
        self.net = net

    def all(self) -> list[Guess]:
        """Return every mistake that can be tried."""
        net = self.net
        things = len(net.measures) + sum(len(readings_of(net.pegs[n])) for n in net.driven)
        prior = PRIOR_FAULT / things
        found = [g for n in net.driven for g in self._peg_guesses(n, prior)]
        return found + [g for k in range(len(net.measures)) for g in self._measure_guesses(k, prior)]

    def _try(self, subject: str, cause: str, at: Point | None, prior: float) -> Guess | None:
        moved = None if at is None else self.net.rebuilt(subject, at)
        if moved is None or at is None:
            return None
        log = self.net.log(self.net.effect(moved)) + math.log(prior)
        return Guess(subject, cause, log, at - self.net.base[subject])

    def _peg_guesses(self, name: str, prior: float) -> list[Guess]:
        peg = self.net.pegs[name]
        values, sources = readings_of(peg), peg.sources
        found: list[Guess | None] = []
        for k, value in enumerate(values):
            word = f"reading {k + 1} of {name}"
            for slip in slips(value, self.net.feet):
                other = [*values[:k], value + slip.change, *values[k + 1:]]
                at = placed(peg, self.net.base, sources, other, peg.side)
                found.append(self._try(name, f"{word} was out: {slip.cause}", at, prior * slip.prior))
        found += self._hook_guesses(peg, values, prior)
        if peg.side:
            at = placed(peg, self.net.base, sources, values, "right" if peg.side == "left" else "left")
            found.append(self._try(name, "driven on the other side", at, prior * PRIOR_SIDE))
        found += [self._free(name, True, prior * PRIOR_MISPLACED), self._free(name, False, prior * PRIOR_KNOCKED)]
        return [g for g in found if g is not None]

    def _hook_guesses(self, peg: Peg, values: Sequence[float], prior: float) -> list[Guess | None]:
        """Try each hook on each other mark."""
        others = [m for m in self.net.marks if m not in peg.sources]
        found: list[Guess | None] = []
        for k in range(len(peg.sources)):
            for mark in others:
                hooks = [*peg.sources[:k], mark, *peg.sources[k + 1:]]
                at = placed(peg, self.net.base, hooks, values, peg.side)
                found.append(self._try(peg.name, f"hooked on {mark} in place of {peg.sources[k]}", at,
                                       prior * PRIOR_HOOK / (len(others) * len(peg.sources))))
        return found

    def _free(self, name: str, following: bool, prior: float) -> Guess | None:
        """Try a peg anywhere, with all that hangs on it (set wrong) or alone (knocked later): two rounds of Newton."""
        d = np.zeros(2)
        weak = np.eye(2) / (MISPLACED_SD if following else KNOCK_SD) ** 2
        for _ in range(3):
            base = self._shifted(name, d, following)
            ahead = [self._shifted(name, d + step, following) for step in (np.array([1e-4, 0]), np.array([0, 1e-4]))]
            if base is None or ahead[0] is None or ahead[1] is None:
                return None
            slope = np.column_stack([(ahead[0] - base) / 1e-4, (ahead[1] - base) / 1e-4])
            normal = slope.T @ self.net.inverse @ slope + weak
            step = np.linalg.solve(normal, slope.T @ self.net.inverse @ (self.net.y - base) - weak @ d)
            d = d + step * min(1.0, 1.0 / max(float(np.hypot(*step)), 1e-9))
        at_end = self._shifted(name, d, following)
        if at_end is None:
            return None
        log = (self.net.log(at_end) - float(d @ weak @ d) / 2 + math.log(prior)
               - float(np.linalg.slogdet(normal @ np.linalg.inv(weak))[1]) / 2)
        cause = "set in the wrong place" if following else "moved after it was set"
        return Guess(name, cause, log, Vec(float(d[0]), float(d[1])))

    def _shifted(self, name: str, d: Floats, following: bool) -> Floats | None:
        at = self.net.base[name] + Vec(float(d[0]), float(d[1]))
        moved = self.net.rebuilt(name, at) if following else {name: at}
        return None if moved is None else self.net.effect(moved)

    def _measure_guesses(self, k: int, prior: float) -> list[Guess]:
        """Try that one measure was itself misread."""
        m, name = self.net.measures[k], f"{self.net.measures[k].start}-{self.net.measures[k].end}"
        found = []
        unit = np.zeros(len(self.net.measures))
        unit[k] = 1.0
        for slip in slips(m.reading, self.net.feet):
            log = self.net.log(unit * slip.change) + math.log(prior * slip.prior)
            found.append(Guess(name, f"misread: {slip.cause}", log, None))
        power = float(self.net.inverse[k, k])
        b = float(unit @ self.net.inverse @ self.net.y) / power
        q = 1 / power
        log = (-(self.net.none - b * b * power) / 2 - b * b / (2 * (q + ANY_SD**2)) - math.log(1 + ANY_SD**2 / q) / 2
               + math.log(prior * PRIOR_ANY))
        return [*found, Guess(name, f"misread: {ANYTHING}", log, None)]
