"""Measured-in readings: which peg is wrong, by how much, how sure; or that all is within its limits.

Takes: a peg set and taped readings between its pegs and marks. Gives: a verdict. Every mistake that people make is
tried with its exact effect: the peg and all that hangs on it are rebuilt, and what the tapes should then read is
compared with what they read, all measures together and with their full covariance. Lengths in metres.
"""

from __future__ import annotations

import csv
import difflib
import io
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..errors import Problem, ReadingsError
from ..kernel.point import Point, Vec
from .causes import ANY_SD, ANYTHING, PRIOR_ANY, PRIOR_FAULT, PRIOR_NONE, log_sum, slips
from .linear import line_form, ties_form
from .peg import Method, Peg, PegSet
from .rebuild import across, along_line, three_tapes
from .tape import Reading

Floats = NDArray[np.float64]

KNOCK_SD = 0.5
"""Standard deviation (m) of where a knocked or misplaced peg may stand, each axis."""
PRIOR_KNOCKED = 0.15
PRIOR_MISPLACED = 0.15
PRIOR_HOOK = 0.06
PRIOR_SIDE = 0.02
SURE = 0.9
TOWARD = math.radians(22)
"""A mark within this of the direction is named for it; else the frame's own directions are."""
WORTH = 0.02


@dataclass(frozen=True, slots=True)
class Measure:
    """One taped reading between two points, with what it should read and how far it may be out (m)."""

    start: str
    end: str
    reading: float
    design: float
    allowed: float
    when: str = ""

    @property
    def over(self) -> float:
        """How much it reads too long, metres (negative: too short)."""
        return self.reading - self.design

    @property
    def good(self) -> bool:
        """Whether it lies within its limit."""
        return abs(self.over) <= self.allowed + 1e-9


@dataclass(frozen=True, slots=True)
class Fault:
    """What may be wrong: a peg, or one of the measures itself (`start-end`); its cause, probability, shift in m."""

    subject: str
    cause: str
    probability: float
    shift: Vec | None = None             # where the peg stands less where it should; None for a misread measure


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict: measures, the probability that something is wrong, faults likeliest first, advice in words."""

    measures: tuple[Measure, ...]
    wrong: float
    faults: tuple[Fault, ...]
    advice: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Whether everything is within its limits, or most likely so."""
        return self.wrong <= 0.5

    @property
    def sure(self) -> bool:
        """Whether one fault is named with confidence."""
        return not self.good and bool(self.faults) and self.faults[0].probability >= SURE


def judge(pegs: PegSet, text: str) -> Verdict:
    """Return the verdict on the readings of a table `from, to, reading, when`.

    ReadingsError for readings without a unit, of a peg that is none, or that no tape can give.
    """
    measures = measures_of(pegs, text)
    if not measures:
        raise ReadingsError(Problem("no reading in the table", "write rows of from, to, reading", "no-readings"))
    return _Net(pegs, measures).verdict()


# -- reading the table -------------------------------------------------------------------------------------------


def measures_of(pegs: PegSet, text: str) -> list[Measure]:
    """Return the measures of a table; the last of several readings of one line counts."""
    rows = list(csv.DictReader(io.StringIO(text.lstrip("\ufeff"))))
    if rows and not {"from", "to", "reading"} <= set(rows[0]):
        raise ReadingsError(Problem("the table has no columns from, to, reading",
                                    "let the first line be: from,to,reading,when", "bad-table"))
    places = {p.name: p.rebuilt or p.at for p in pegs.pegs}
    allowed = {frozenset((c.start, c.end)): c.allowed / 1000 for c in pegs.checks}
    found: dict[frozenset[str], Measure] = {}
    problems: list[Problem] = []
    for number, row in enumerate(rows, 2):
        try:
            measure = _measure(pegs, row, places, allowed)
        except ReadingsError as error:
            problems += [replace(p, what=f"line {number}: {p.what}") for p in error.problems]
            continue
        found.pop(frozenset((measure.start, measure.end)), None)
        found[frozenset((measure.start, measure.end))] = measure
    if problems:
        raise ReadingsError(*problems)
    return list(found.values())


def _measure(pegs: PegSet, row: Mapping[str, str], places: Mapping[str, Point],
             allowed: Mapping[frozenset[str], float]) -> Measure:
    start, end = ((row[key] or "").strip() for key in ("from", "to"))
    for name in (start, end):
        if name not in places:
            near = difflib.get_close_matches(name, places, 1, 0.5)
            mend = f"did you mean {near[0]}?" if near else "use the names on the sheet"
            raise ReadingsError(Problem(f"there is no mark or peg {name!r}", mend, "unknown-mark"))
    if start == end:
        raise ReadingsError(Problem(f"a reading from {start} to itself", "name two different pegs", "same-peg"))
    tape = pegs.options.tape
    reading = tape.read(row["reading"] or "")
    design = places[start].distance(places[end])
    if not 0 < reading <= 2 * max(tape.length, design):
        raise ReadingsError(Problem(f"{start} to {end} reads {reading:.3f} m, which the tape of {tape.length:.0f} m "
                                    "cannot show", "look at the metre figure and the unit", "bad-reading"))
    limit = allowed.get(frozenset((start, end)), math.nan)
    return Measure(start, end, reading, design, limit, (row.get("when") or "").strip())


# -- the net -----------------------------------------------------------------------------------------------------


def _placed(peg: Peg, found: Mapping[str, Point], names: Sequence[str], readings: Sequence[float],
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


@dataclass(frozen=True, slots=True)
class _Guess:
    subject: str
    cause: str
    log: float
    shift: Vec | None


class _Net:
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

    def _effect(self, moved: Mapping[str, Point]) -> Floats:
        places = {**self.base, **moved}
        return np.array([places[m.start].distance(places[m.end]) - m.design for m in self.measures])

    def _rebuilt(self, name: str, at: Point) -> dict[str, Point] | None:
        """Return a peg at another place and all that hangs on it, driven from there with the printed readings."""
        moved = {name: at}
        places = dict(self.base)
        places[name] = at
        for n in self.followers[name]:
            peg = self.pegs[n]
            spot = _placed(peg, places, peg.sources, _readings(peg), peg.side)
            if spot is None:
                return None
            moved[n] = places[n] = spot
        return moved

    def _log(self, effect: Floats) -> float:
        left = self.y - effect
        return -float(left @ self.inverse @ left) / 2

    def _try(self, subject: str, cause: str, at: Point | None, prior: float) -> _Guess | None:
        moved = None if at is None else self._rebuilt(subject, at)
        if moved is None or at is None:
            return None
        return _Guess(subject, cause, self._log(self._effect(moved)) + math.log(prior), at - self.base[subject])

    def _peg_guesses(self, name: str, prior: float) -> list[_Guess]:
        peg = self.pegs[name]
        values, sources = _readings(peg), peg.sources
        found: list[_Guess | None] = []
        for k, value in enumerate(values):
            word = f"reading {k + 1} of {name}"
            for slip in slips(value, self.feet):
                other = [*values[:k], value + slip.change, *values[k + 1:]]
                at = _placed(peg, self.base, sources, other, peg.side)
                found.append(self._try(name, f"{word} was out: {slip.cause}", at, prior * slip.prior))
        found += self._hook_guesses(peg, values, prior)
        if peg.side:
            at = _placed(peg, self.base, sources, values, "right" if peg.side == "left" else "left")
            found.append(self._try(name, "driven on the other side", at, prior * PRIOR_SIDE))
        found += [self._free(name, True, prior * PRIOR_MISPLACED), self._free(name, False, prior * PRIOR_KNOCKED)]
        return [g for g in found if g is not None]

    def _hook_guesses(self, peg: Peg, values: Sequence[float], prior: float) -> list[_Guess | None]:
        """Try each hook on each other mark."""
        others = [m for m in self.marks if m not in peg.sources]
        found: list[_Guess | None] = []
        for k in range(len(peg.sources)):
            for mark in others:
                hooks = [*peg.sources[:k], mark, *peg.sources[k + 1:]]
                at = _placed(peg, self.base, hooks, values, peg.side)
                found.append(self._try(peg.name, f"hooked on {mark} in place of {peg.sources[k]}", at,
                                       prior * PRIOR_HOOK / (len(others) * len(peg.sources))))
        return found

    def _free(self, name: str, following: bool, prior: float) -> _Guess | None:
        """Try a peg anywhere, with all that hangs on it (set wrong) or alone (knocked later): two rounds of Newton."""
        d = np.zeros(2)
        weak = np.eye(2) / KNOCK_SD**2
        for _ in range(3):
            base = self._shifted(name, d, following)
            ahead = [self._shifted(name, d + step, following) for step in (np.array([1e-4, 0]), np.array([0, 1e-4]))]
            if base is None or ahead[0] is None or ahead[1] is None:
                return None
            slope = np.column_stack([(ahead[0] - base) / 1e-4, (ahead[1] - base) / 1e-4])
            normal = slope.T @ self.inverse @ slope + weak
            step = np.linalg.solve(normal, slope.T @ self.inverse @ (self.y - base) - weak @ d)
            d = d + step * min(1.0, 1.0 / max(float(np.hypot(*step)), 1e-9))
        at_end = self._shifted(name, d, following)
        if at_end is None:
            return None
        log = (self._log(at_end) - float(d @ weak @ d) / 2 + math.log(prior)
               - float(np.linalg.slogdet(normal @ np.linalg.inv(weak))[1]) / 2)
        cause = "set in the wrong place" if following else "moved after it was set"
        return _Guess(name, cause, log, Vec(float(d[0]), float(d[1])))

    def _shifted(self, name: str, d: Floats, following: bool) -> Floats | None:
        at = self.base[name] + Vec(float(d[0]), float(d[1]))
        moved = self._rebuilt(name, at) if following else {name: at}
        return None if moved is None else self._effect(moved)

    def _measure_guesses(self, k: int, prior: float) -> list[_Guess]:
        """Try that one measure was itself misread."""
        m, name = self.measures[k], f"{self.measures[k].start}-{self.measures[k].end}"
        found = []
        unit = np.zeros(len(self.measures))
        unit[k] = 1.0
        for slip in slips(m.reading, self.feet):
            log = self._log(unit * slip.change) + math.log(prior * slip.prior)
            found.append(_Guess(name, f"misread: {slip.cause}", log, None))
        power = float(self.inverse[k, k])
        b = float(unit @ self.inverse @ self.y) / power
        q = 1 / power
        log = (-(self.none - b * b * power) / 2 - b * b / (2 * (q + ANY_SD**2)) - math.log(1 + ANY_SD**2 / q) / 2
               + math.log(prior * PRIOR_ANY))
        return [*found, _Guess(name, f"misread: {ANYTHING}", log, None)]

    # -- verdict

    def verdict(self) -> Verdict:
        """Weigh everything."""
        things = len(self.measures) + sum(len(_readings(self.pegs[n])) for n in self.driven)
        prior = PRIOR_FAULT / things
        guesses = [g for n in self.driven for g in self._peg_guesses(n, prior)]
        guesses += [g for k in range(len(self.measures)) for g in self._measure_guesses(k, prior)]
        none = -self.none / 2 + math.log(PRIOR_NONE)
        total = log_sum([none, *(g.log for g in guesses)])
        by: dict[str, list[_Guess]] = {}
        for g in guesses:
            by.setdefault(g.subject, []).append(g)
        faults = []
        for subject, own in by.items():
            top = max(own, key=lambda g: (g.log, g.cause))
            faults.append(Fault(subject, top.cause, math.exp(log_sum([g.log for g in own]) - total), top.shift))
        faults.sort(key=lambda f: (-round(f.probability, 9), f.subject))
        wrong = 1 - math.exp(none - total)
        kept = tuple(f for f in faults if f.probability >= WORTH)[:5]
        return Verdict(self.measures, wrong, kept, tuple(self._advice(wrong, kept)))

    def _advice(self, wrong: float, faults: Sequence[Fault]) -> list[str]:
        bad = [m for m in self.measures if not m.good]
        again = [f"measure {m.start} to {m.end} again: it is {abs(m.over) * 1000:.0f} mm "
                 f"{'over' if m.over > 0 else 'under'}, {m.allowed * 1000:.0f} mm is allowed" for m in bad]
        if wrong <= 0.5:
            return again or ["all within limits"]
        lines = [*again]
        if not faults:
            return lines
        top = faults[0]
        if top.probability >= SURE:
            lines.append(self._said(top))
            if top.shift is not None:
                lines += self._move(top)
        else:
            lines.append("one of these is wrong; measure again: "
                         + ", ".join(f"{f.subject} ({f.probability:.0%}: {f.cause})" for f in faults[:3]))
        return lines

    @staticmethod
    def _said(top: Fault) -> str:
        if top.shift is None:
            return (f"the reading {top.subject} is most likely wrong, the pegs are not: {top.cause} "
                    f"({top.probability:.0%} sure)")
        return f"{top.subject} is wrong by {top.shift.length * 1000:.0f} mm: {top.cause} ({top.probability:.0%} sure)"

    def _move(self, top: Fault) -> list[str]:
        """Say where to move a wrong peg, and which pegs hang on it."""
        assert top.shift is not None
        peg = self.pegs[top.subject]
        size = top.shift.length
        limit = max((peg.position_limit or 0.0) / 1000, 2 * peg.error / 1000)
        if size <= limit:
            return [f"{top.subject} lies within what its tolerance allows: leave it"]
        way = self._direction(top.subject, -top.shift)
        lines = [f"move {top.subject} {round(size * 200) * 5} mm {way}, then check again"]
        after = self.followers[top.subject]
        if after and top.cause != "moved after it was set":
            lines.append(f"set again what hangs on it: {', '.join(after)}")
        return lines

    def _direction(self, name: str, way: Vec) -> str:
        """Return a direction in words: toward a mark if one lies there, else by the frame."""
        at = self.base[name]
        options = []
        for mark in self.set.control.marks:
            out = mark.at - at
            if out.length > 0:
                for sign, word in ((1, "toward"), (-1, "away from")):
                    turn = abs(math.remainder(out.heading + (0 if sign > 0 else math.pi) - way.heading, 2 * math.pi))
                    options.append((turn, f"{word} {mark.name}"))
        turn, words = min(options, default=(math.pi, ""))
        if turn <= TOWARD:
            return words
        along, out_ = ("along" if way.dx > 0 else "back along"), ("away from" if way.dy > 0 else "toward")
        a, b = self.set.control.baseline
        return f"({abs(way.dx) * 1000:.0f} mm {along} {a}-{b} and {abs(way.dy) * 1000:.0f} mm {out_} it)"


def _readings(peg: Peg) -> list[float]:
    found: list[Reading] = [r for r in (peg.reading_1, peg.reading_2, peg.reading_3) if r is not None]
    return [r.metres for r in found]


__all__ = ["Fault", "Measure", "Verdict", "judge", "measures_of"]
