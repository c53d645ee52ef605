"""What tapes between pegs should read: all that pegs hang on, their covariance, the effect of a move.

Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..kernel.point import Point
from .linear import line_form, ties_form
from .peg import Method, Peg, PegSet
from .rebuild import across, along_line, three_tapes
from .tape import Reading
from .verdict import Measure

Floats = NDArray[np.float64]


def placed(peg: Peg, found: Mapping[str, Point], names: Sequence[str], readings: Sequence[float],
            side: str) -> Point | None:
    """Return where a peg comes to stand from some hooks and readings."""
    hooks = [found[n] for n in names]
    if peg.method in (Method.OFFSET, Method.CHORD, Method.LINE):
        if not hooks[0].distance(hooks[1]) > 0:
            return None
        return along_line(hooks[0], hooks[1], readings[0], readings[1] if peg.method is not Method.LINE else 0.0)
    if len(hooks) == 3:
        return three_tapes(tuple(hooks), tuple(readings), side == "left")
    return across(hooks[0], hooks[1], readings[0], readings[1], side == "left")


def readings_of(peg: Peg) -> list[float]:
    """Return a peg's one to three readings, metres."""
    found: list[Reading] = [r for r in (peg.reading_1, peg.reading_2, peg.reading_3) if r is not None]
    return [r.metres for r in found]


class Expected:
    """The measured points with all that they hang on, and the effects of mistakes on the measures."""

    def __init__(self, pegs: PegSet, measures: Sequence[Measure]) -> None:
        self.tape, self.feet = pegs.options.tape, pegs.options.tape.feet
        self.set = pegs
        every = pegs.by_name()
        self.order = self._closure(every, {n for m in measures for n in (m.start, m.end)})
        self.pegs = {n: every[n] for n in self.order}
        self.base = {n: p.rebuilt or p.at for n, p in self.pegs.items()}
        self.driven = [n for n in self.order if self.pegs[n].method is not Method.FIXED]
        self.marks = [n for n in self.order if self.pegs[n].method is Method.FIXED]
        self.followers = self._followers()
        self.index = {n: k for k, n in enumerate(self.order)}
        joint = self._joint()
        ends = [(self.index[m.start], self.index[m.end]) for m in measures]
        self.measures = tuple(self._limited(m, a, b, joint) for m, (a, b) in zip(measures, ends, strict=True))
        self.y = np.array([m.over for m in self.measures])
        self.inverse = np.linalg.inv(self._variance(ends, joint))
        self.none = float(self.y @ self.inverse @ self.y)

    @staticmethod
    def _closure(every: Mapping[str, Peg], wanted: set[str]) -> list[str]:
        todo, held = sorted(wanted), set(wanted)
        while todo:
            for source in every[todo.pop()].sources:
                if source not in held:
                    held.add(source)
                    todo.append(source)
        return sorted(held, key=lambda n: every[n].order)

    def _followers(self) -> dict[str, list[str]]:
        """Return for each point all pegs that hang on it, in order."""
        found: dict[str, list[str]] = {n: [] for n in self.order}
        under: dict[str, set[str]] = {}
        for n in self.order:
            under[n] = {s for source in self.pegs[n].sources for s in (source, *under[source])}
            for source in under[n]:
                found[source].append(n)
        return found

    def _joint(self) -> Floats:
        """Return the joint covariance (n x n x 2 x 2) of all points, propagated through their methods."""
        count = len(self.order)
        joint = np.zeros((count, count, 2, 2))
        names = [m.name for m in self.set.control.marks]
        cov = self.set.control.covariance
        for k, n in enumerate(self.order):
            peg = self.pegs[n]
            if peg.method is Method.FIXED:
                i = names.index(n)
                for other in range(k + 1):
                    if self.order[other] in self.marks:
                        j = names.index(self.order[other])
                        joint[k, other] = cov[2 * i:2 * i + 2, 2 * j:2 * j + 2]
                        joint[other, k] = joint[k, other].T
                continue
            noise, sds, shifts = self._form(peg)
            rows = [self.index[s] for s in peg.sources]
            cross = sum((s @ joint[r, :k] for s, r in zip(shifts, rows, strict=True)), np.zeros((k, 2, 2)))
            block = (noise * sds**2) @ noise.T + np.eye(2) * self.tape.peg_sd**2
            block = block + sum(cross[r] @ s.T for s, r in zip(shifts, rows, strict=True))
            joint[k, :k], joint[:k, k] = cross, cross.transpose(0, 2, 1)
            joint[k, k] = (block + block.T) / 2
        return joint

    def _form(self, peg: Peg) -> tuple[Floats, Floats, tuple[Floats, ...]]:
        at = self.base[peg.name]
        p = np.array([at.x, at.y])
        hooks = [np.array([self.base[s].x, self.base[s].y]) for s in peg.sources]
        if peg.method in (Method.OFFSET, Method.CHORD, Method.LINE):
            form = line_form(p, hooks[0], hooks[1], self.tape, out=peg.method is not Method.LINE)
        else:
            form = ties_form(p, hooks, self.tape)
        return form.noise, form.sds, form.shifts

    def _limited(self, m: Measure, a: int, b: int, joint: Floats) -> Measure:
        if not math.isnan(m.allowed):
            return m
        d = self.base[m.end] - self.base[m.start]
        u = np.array([d.dx, d.dy]) / max(d.length, 1e-9)
        block = joint[a, a] + joint[b, b] - joint[a, b] - joint[b, a]
        sd = math.sqrt(float(u @ block @ u) + self.tape.sd(d.length) ** 2)
        return replace(m, allowed=self.tape.limit(sd) / 1000)

    def _variance(self, ends: Sequence[tuple[int, int]], joint: Floats) -> Floats:
        units = []
        for m in self.measures:
            d = self.base[m.end] - self.base[m.start]
            units.append(np.array([d.dx, d.dy]) / max(d.length, 1e-9))
        h = np.zeros((len(ends), len(self.order), 2))
        for k, ((a, b), u) in enumerate(zip(ends, units, strict=True)):
            h[k, b] += u
            h[k, a] -= u
        self.h = h.reshape(len(ends), -1)
        full = joint.transpose(0, 2, 1, 3).reshape(2 * len(self.order), -1)
        self.full = full
        own = np.array([self.tape.sd(m.design) ** 2 + self.tape.step**2 / 12 for m in self.measures])
        variance: Floats = self.h @ full @ self.h.T + np.diag(own)
        return variance

    # -- effects

    def effect(self, moved: Mapping[str, Point]) -> Floats:
        """Return by how much each measure would change with some pegs at other places, metres."""
        places = {**self.base, **moved}
        return np.array([places[m.start].distance(places[m.end]) - m.design for m in self.measures])

    def rebuilt(self, name: str, at: Point) -> dict[str, Point] | None:
        """Return a peg at another place and all that hangs on it, driven from there with the printed readings."""
        moved = {name: at}
        places = dict(self.base)
        places[name] = at
        for n in self.followers[name]:
            peg = self.pegs[n]
            spot = placed(peg, places, peg.sources, readings_of(peg), peg.side)
            if spot is None:
                return None
            moved[n] = places[n] = spot
        return moved

    def log(self, effect: Floats) -> float:
        """Return the log of likelihood of the readings if the measures had changed by `effect`."""
        left = self.y - effect
        return -float(left @ self.inverse @ left) / 2
