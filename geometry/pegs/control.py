"""Control marks solved, not assumed: least squares over all readings between them, and the suspect named.

Takes: marks as the model states them. Gives: coordinates rounded to the millimetre in which they are
printed, their covariance, residuals, and whether a reading is wrong. Lengths in metres.

Adjusted by Gauss-Newton with weights 1/s^2; datum: the baseline's first mark fixed, its second on the
baseline's direction (Mikhail and Ackermann, Observations and Least Squares, 1976, for the general method;
redundancy numbers and detectable blunders after Baarda, 1968, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ..errors import ModelError, Problem, ReadingsError, Weight, refuse
from ..features import MarkGiven
from ..kernel.point import Point
from .network import Fit, Network, fitted_best, network_of
from .placing import Seen
from .suspects import Suspect, Suspicion, suspects_of

Floats = NDArray[np.float64]

TYPED_SD = 0.003
"""Standard deviation of a typed coordinate, each axis, metres (judgement)."""
LIMIT = 3.29
"""Residuals beyond this many standard deviations are refused (two-sided 0.1 %)."""
DETECT = 4.13
"""Non-centrality at which a blunder is found with 80 % power at 0.1 % (Baarda, from memory)."""
UNCHECKED = 0.02
NEAREST_MARKS = 0.05
SEPARABLE = 0.98
TOLD = 3.29
"""Two explanations are told apart in 95 % when they lie 3.29 standard deviations from each other (twice 1.645)."""
DECIMETRE = 0.1
SURE = 0.9
"""Posterior from which a single reading is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkSolved:
    """A control mark: its place (rounded to the mm), covariance in m2, and what the model says of it."""

    name: str
    at: Point
    covariance: tuple[tuple[float, float], tuple[float, float]]
    given: MarkGiven

    @property
    def error(self) -> float:
        """Standard error of position, mm: root of the trace."""
        return math.sqrt(max(self.covariance[0][0] + self.covariance[1][1], 0.0)) * 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingAdjusted:
    """A reading between two marks after the adjustment; lengths in metres.

    `redundancy` 0 to 1: how much of a blunder shows; `detectable` the smallest blunder found in 80 %;
    `like` names readings whose blunder looks the same (correlation 0.98 or more), so that they cannot be told apart;
    `separable` is the smallest blunder that is told from one in any other reading in 95 %, and detectable too.
    """

    start: str
    end: str
    reading: float
    sd: float
    residual: float
    redundancy: float
    detectable: float
    standing: float
    like: tuple[str, ...] = ()
    separable: float = math.inf

    @property
    def name(self) -> str:
        """The reading's name, `A-C`."""
        return f"{self.start}-{self.end}"

    @property
    def checked(self) -> bool:
        """Whether any other reading checks this one."""
        return self.redundancy >= UNCHECKED


@dataclass(frozen=True, slots=True, kw_only=True)
class Control:
    """The solved control: marks in the model's order, their joint covariance (m2), readings, what is suspect.

    `omega` is the weighted sum of squared residuals on `redundant` degrees of freedom; `wrong` the probability
    that some reading is wrong; `suspects` the readings to measure again, likeliest first.
    """

    marks: tuple[MarkSolved, ...]
    baseline: tuple[str, str]
    covariance: Floats = field(compare=False)
    readings: tuple[ReadingAdjusted, ...] = ()
    redundant: int = 0
    omega: float = 0.0
    wrong: float = 0.0
    suspects: tuple[Suspect, ...] = ()
    explained: bool = True
    problems: tuple[Problem, ...] = ()

    def mark(self, name: str) -> MarkSolved:
        """Return the mark called `name`; KeyError if there is none."""
        for mark in self.marks:
            if mark.name == name:
                return mark
        raise KeyError(name)

    @property
    def misclosure(self) -> float:
        """The largest residual, metres."""
        return max((abs(r.residual) for r in self.readings), default=0.0)

    @property
    def unit_error(self) -> float | None:
        """Root of omega over the redundancy: 1 when the readings are as good as assumed; None without redundancy."""
        return math.sqrt(self.omega / self.redundant) if self.redundant else None

    @property
    def sure(self) -> bool:
        """Whether one reading (or pair) is named with confidence."""
        return self.explained and bool(self.suspects) and self.suspects[0].probability >= SURE

    def raise_errors(self) -> None:
        """Raise ReadingsError with all problems if a residual beyond its limit is not accepted by name."""
        if any(p.weight is Weight.ERROR for p in self.problems):
            raise ReadingsError(*self.problems)


def adjust(marks: Sequence[MarkGiven], baseline: tuple[str, str] | None = None, *, step: float = 0.005,
           accept: Sequence[str] = (), feet: bool = False) -> Control:
    """Solve the control marks.

    `step` is what the tape was read to (m); `accept` names readings (`A-C`) or marks (`B`, its typed
    coordinates) kept although they fail. ModelError for marks that cannot be placed; what the readings
    say against each other stands in `problems` (`raise_errors` refuses).
    """
    return _adjusted(tuple(marks), baseline or _first_two(marks), step, tuple(accept), feet)


@lru_cache(maxsize=8)
def _adjusted(marks: tuple[MarkGiven, ...], base: tuple[str, str], step: float, accept: tuple[str, ...],
              feet: bool) -> Control:
    """Solve the control marks: once where a garden is read and again where it is set out."""
    net = network_of(marks, base, step, TYPED_SD)
    fit = fitted_best(net, net.rows)
    problems = _typed_against_free(net, accept)
    places = [Point(round(float(x), 3) + 0.0, round(float(y), 3) + 0.0) for x, y in fit.places]
    _refuse_coinciding(net.names, places)
    readings = _readings(net, fit)
    found = suspects_of(net, fit, feet)
    accepted = {frozenset(name.split("-")) for name in accept}
    problems += _suspect_problems(found, accepted)
    problems += _limit_problems(readings, accepted, bool(problems))
    if not problems:
        problems += _alike(readings)
    problems += [Problem(f"the reading {r.name} ({r.reading:.3f} m) is not checked by any other",
                         "measure one more distance between marks", "reading-unchecked", weight=Weight.ADVICE)
                 for r in readings if not r.checked]
    solved = tuple(MarkSolved(name=m.name, at=p, given=m, covariance=_block(fit.covariance, i))
                   for i, (m, p) in enumerate(zip(marks, places, strict=True)))
    return Control(marks=solved, baseline=base, covariance=fit.covariance, readings=readings, redundant=fit.redundant,
                   omega=fit.omega, wrong=found.wrong, suspects=found.suspects, explained=found.explained,
                   problems=tuple(problems))


def _first_two(marks: Sequence[MarkGiven]) -> tuple[str, str]:
    if len(marks) < 2:
        raise refuse(ModelError, f"{len(marks)} control marks",
                     "name two fixed marks at least, such as two house corners", "few-marks")
    return marks[0].name, marks[1].name


def _block(cov: Floats, i: int) -> tuple[tuple[float, float], tuple[float, float]]:
    b = cov[2 * i:2 * i + 2, 2 * i:2 * i + 2]
    return (float(b[0, 0]), float(b[0, 1])), (float(b[1, 0]), float(b[1, 1]))


def _refuse_coinciding(names: Sequence[str], places: Sequence[Point]) -> None:
    for i, p in enumerate(places):
        for j in range(i):
            gap = p.distance(places[j])
            if gap < NEAREST_MARKS:
                raise refuse(ModelError, f"the marks {names[j]} and {names[i]} coincide: {gap * 1000:.0f} mm apart at "
                             f"({p.x:.3f}, {p.y:.3f})", "keep one of them, or correct the coordinates of the other",
                             "marks-coincide")


def _readings(net: Network, fit: Fit) -> tuple[ReadingAdjusted, ...]:
    """Residuals (reading less adjusted distance), redundancy numbers, detectable blunders and look-alikes."""
    sds = np.array([row.sd for row in net.rows])
    vcov = np.diag(sds**2) - fit.design @ fit.inverse @ fit.design.T
    t = vcov / np.outer(sds**2, sds**2)
    scale = np.sqrt(np.maximum(np.diag(t), 1e-12))
    corr = np.abs(t) / np.outer(scale, scale)
    found = []
    for i, row in enumerate(net.rows):
        if not isinstance(row, Seen):
            continue
        r = float(vcov[i, i] / sds[i] ** 2)
        residual = float(fit.residuals[i])
        like = tuple(other.name for j, other in enumerate(net.rows)
                     if j != i and isinstance(other, Seen) and r >= UNCHECKED and corr[i, j] >= SEPARABLE)
        root = math.sqrt(max(r, 1e-12))
        alike = max((corr[i, j] for j, other in enumerate(net.rows) if j != i and isinstance(other, Seen)), default=0.0)
        apart = max(DETECT, TOLD / math.sqrt(max(1 - alike**2, 1e-12)))
        found.append(ReadingAdjusted(start=row.start, end=row.end, reading=row.value, sd=row.sd, residual=residual,
                                     redundancy=max(r, 0.0), like=like, standing=abs(residual) / (row.sd * root),
                                     detectable=DETECT * row.sd / root if r >= UNCHECKED else math.inf,
                                     separable=apart * row.sd / root if r >= UNCHECKED and not like else math.inf))
    return tuple(found)


def _typed_against_free(net: Network, accept: Sequence[str]) -> list[Problem]:
    """Adjust free of typed coordinates, then compare: a mistyped baseline is named, not a right reading."""
    free = [row for row in net.rows if isinstance(row, Seen)]
    fit = fitted_best(net, free) if free else None
    if fit is None or fit.deficient:
        return []
    problems = []
    for i, mark in enumerate(net.marks):
        if mark.at is None or mark.name in accept or i == net.first:
            continue
        d = np.array([mark.at.x, mark.at.y]) - fit.places[i]
        sd = math.sqrt(float(np.trace(fit.covariance[2 * i:2 * i + 2, 2 * i:2 * i + 2])) + 2 * TYPED_SD**2)
        gap = float(np.hypot(*d))
        if gap > LIMIT * sd:
            x, y = (round(float(v), 3) + 0.0 for v in fit.places[i])
            problems.append(Problem(
                f"the mark {mark.name} is typed at [{mark.at.x:.3f}, {mark.at.y:.3f}], but the readings put it at "
                f"[{x:.3f}, {y:.3f}], {gap * 1000:.0f} mm away (limit {LIMIT * sd * 1000:.0f} mm)",
                f"correct `at` of {mark.name}, or measure its readings again, or name it under setting_out: accept",
                "typed-against-readings"))
    return problems


def _suspect_problems(found: Suspicion, accepted: set[frozenset[str]]) -> list[Problem]:
    wrong, suspects = found.wrong, found.suspects
    if wrong <= 0.5 or not suspects or any(frozenset(n.split("-")) in accepted for s in suspects for n in s.names):
        return []
    top = suspects[0]
    if found.explained and top.probability >= SURE:
        if len(top.names) == len(top.readings):
            readings = " and ".join(f"{n} ({v:.3f} m)" for n, v in zip(top.names, top.readings, strict=True))
            should = ", ".join(f"{v:.3f} m" for v in top.should_be)
            what = (f"the reading {readings} does not agree with the others: {top.cause}, {top.probability:.0%} sure; "
                    f"it would fit as {should}")
        else:                                       # all readings of a mark, or its typed coordinates
            what = f"{top.names[0]} do not agree with the others: {top.cause}, {top.probability:.0%} sure"
        return [Problem(what, f"measure {' and '.join(top.names)} again, or name it under setting_out: accept",
                        "reading-suspect")]
    names = [" and ".join(s.names) for s in suspects[:3]]
    what = (f"the readings between marks do not agree ({wrong:.0%} sure that one is wrong); likeliest: "
            + ", ".join(f"{n} ({s.probability:.0%}: {s.cause})" for n, s in zip(names, suspects, strict=False)))
    return [Problem(what, f"measure {', '.join(names)} again; the readings cannot tell which", "readings-disagree")]


def _alike(readings: Sequence[ReadingAdjusted]) -> list[Problem]:
    """Say in which readings a decimetre misread would be seen, but might be blamed on another reading."""
    names = [r.name for r in readings if r.detectable <= DECIMETRE < r.separable]
    if not names:
        return []
    some = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    return [Problem(f"a decimetre misread between marks would show, but in {some} it might be blamed on another "
                    "reading", "read those twice, or measure in one more mark", "readings-alike", weight=Weight.ADVICE)]


def _limit_problems(readings: Sequence[ReadingAdjusted], accepted: set[frozenset[str]], told: bool) -> list[Problem]:
    problems = []
    for r in readings:
        if r.checked and r.standing > LIMIT and frozenset((r.start, r.end)) not in accepted and not told:
            limit = LIMIT * r.sd * math.sqrt(r.redundancy)
            problems.append(Problem(
                f"the reading {r.name} ({r.reading:.3f} m) is {abs(r.residual) * 1000:.0f} mm off the adjusted "
                f"distance (limit {limit * 1000:.0f} mm)",
                f"measure {r.name} again, or name it under setting_out: accept", "residual-limit"))
    return problems
