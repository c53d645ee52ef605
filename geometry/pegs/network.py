"""The network of readings between marks: what was read, where to start, and the least-squares fit.

Takes: marks as given. Gives: rows (readings and typed coordinates) and fits of them. Lengths in metres.
Datum: the baseline's first mark fixed, the second free along the baseline only (minimal, so that
residuals do not depend on it).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import ModelError, refuse
from ..features import MarkGiven, Tie
from .placing import Seen, first_places

Floats = NDArray[np.float64]

READ_FIXED = 0.003
READ_PER_METRE = 0.0004
"""A measured-in reading: fixed part (m) and part per metre; the limit of a class III tape, and a judgement."""
MOST_ROUNDS = 60
STEP_CUT = 2.0


@dataclass(frozen=True, slots=True)
class Typed:
    """One typed coordinate (axis 0 = x, 1 = y) of mark i, metres."""

    i: int
    axis: int
    mark: str
    value: float
    sd: float


Row = Seen | Typed


@dataclass(frozen=True, slots=True)
class Network:
    """Marks, rows, start values (n x 2), and the basis of what may move (2n x p); other starts where readings clash."""

    marks: tuple[MarkGiven, ...]
    rows: tuple[Row, ...]
    start: Floats
    basis: Floats
    first: int
    second: int = 1
    others: tuple[Floats, ...] = ()

    @property
    def baseline(self) -> tuple[int, int]:
        """The baseline's two marks, by number."""
        return self.first, self.second

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the marks in order."""
        return tuple(m.name for m in self.marks)


@dataclass(frozen=True, slots=True)
class Fit:
    """A least-squares fit: places (n x 2), covariance (2n x 2n, m2), residuals (read less fitted, m)."""

    places: Floats
    covariance: Floats
    residuals: Floats
    omega: float
    redundant: int
    design: Floats
    inverse: Floats
    deficient: bool


def _design(rows: Sequence[Row], places: Floats) -> tuple[Floats, Floats]:
    """Return computed values and the matrix of derivatives by all 2n coordinates."""
    values = np.zeros(len(rows))
    full = np.zeros((len(rows), places.size))
    typed = [(k, row.i, row.axis) for k, row in enumerate(rows) if isinstance(row, Typed)]
    if typed:
        at, i, axis = np.array(typed).T
        values[at] = places[i, axis]
        full[at, 2 * i + axis] = 1.0
    seen = [(k, row.i, row.j) for k, row in enumerate(rows) if isinstance(row, Seen)]
    if seen:
        at, i, j = np.array(seen).T
        way = places[j] - places[i]
        length = np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)
        values[at] = length
        for axis in (0, 1):
            share = way[:, axis] / length
            full[at, 2 * j + axis] = share
            full[at, 2 * i + axis] = -share
    return values, full


def fitted(net: Network, start: Floats, rows: Sequence[Row], readings: Floats | None = None) -> Fit:
    """Fit `rows` from `start`; `readings` replaces their values. `deficient` when they do not fix every mark."""
    read = np.array([row.value for row in rows]) if readings is None else readings
    sds = np.array([row.sd for row in rows])
    places = start.copy()
    for _ in range(MOST_ROUNDS):
        values, full = _design(rows, places)
        design = full @ net.basis
        step, *_ = np.linalg.lstsq(design / sds[:, None], (read - values) / sds, rcond=1e-10)
        size = float(np.max(np.abs(step), initial=0.0))
        places = places + (net.basis @ step).reshape(-1, 2) * min(1.0, STEP_CUT / max(size, 1e-12))
        if size < 1e-10:
            break
    values, full = _design(rows, places)
    design = full @ net.basis
    normal = design.T @ (design / (sds**2)[:, None])
    residuals = read - values
    rank = int(np.linalg.matrix_rank(design, tol=1e-4)) if design.size else 0
    deficient = rank < net.basis.shape[1]
    inverse = np.linalg.pinv(normal, hermitian=True) if deficient else _inverse(normal)
    return Fit(places=places, covariance=net.basis @ inverse @ net.basis.T, residuals=residuals,
               omega=float(np.sum((residuals / sds) ** 2)), redundant=max(len(rows) - rank, 0), design=design,
               inverse=inverse, deficient=deficient)


def _inverse(normal: Floats) -> Floats:
    """Return the inverse of a symmetric matrix, symmetric to the last digit."""
    found = np.linalg.inv(normal)
    inverse: Floats = (found + found.T) / 2
    return inverse


def fitted_best(net: Network, rows: Sequence[Row], readings: Floats | None = None) -> Fit:
    """Fit `rows` from each start, and return the fit with the least left over."""
    return min((fitted(net, start, rows, readings) for start in (net.start, *net.others)),
               key=lambda fit: (fit.deficient, fit.omega))


def network_of(marks: Sequence[MarkGiven], baseline: tuple[str, str], step: float, typed_sd: float) -> Network:
    """Return the network of `marks`; ModelError for names, readings or ties that make no sense."""
    index = {m.name: i for i, m in enumerate(marks)}
    if len(index) < len(marks):
        double = next(m.name for i, m in enumerate(marks) if index[m.name] != i)
        raise refuse(ModelError, f"two control marks are called {double}", "give each its own name", "mark-twice")
    _check_names(marks, baseline, index)
    rows: list[Row] = [_seen(m, t, index, step) for m in marks for t in m.ties]
    start, *others = first_places(marks, baseline, index, [r for r in rows if isinstance(r, Seen)])
    first, second = index[baseline[0]], index[baseline[1]]
    along = start[second] - start[first]
    if not float(np.hypot(*along)) > 0:
        raise refuse(ModelError, f"the baseline's marks {baseline[0]} and {baseline[1]} coincide at "
                     f"({start[first][0]:.3f}, {start[first][1]:.3f})", "give two different marks", "marks-coincide")
    for i, m in enumerate(marks):
        if m.at is not None and not m.ties and i != first:
            rows += _typed(m, i, along if i == second else None, m.error or typed_sd)
    columns = []
    for i in range(len(marks)):
        unit = np.eye(2 * len(marks))[:, 2 * i:2 * i + 2]
        if i == second:
            columns.append(unit @ (along / np.hypot(*along))[:, None])
        elif i != first:
            columns.append(unit)
    net = Network(tuple(marks), tuple(rows), start, np.hstack(columns), first, second, tuple(others))
    _refuse_loose(net)
    return net


def _typed(mark: MarkGiven, i: int, along: Floats | None, sd: float) -> list[Row]:
    """Typed coordinates as observations; one alone for the baseline's second mark, which has one freedom."""
    assert mark.at is not None
    values = (mark.at.x, mark.at.y)
    if along is None:
        return [Typed(i, axis, mark.name, values[axis], sd) for axis in (0, 1)]
    axis = int(np.argmax(np.abs(along)))
    return [Typed(i, axis, mark.name, values[axis], sd * float(abs(along[axis]) / np.hypot(*along)))]


def _check_names(marks: Sequence[MarkGiven], baseline: tuple[str, str], index: dict[str, int]) -> None:
    for name in baseline:
        if name not in index:
            raise refuse(ModelError, f"the baseline names {name}, which is no control mark",
                         f"the marks are {', '.join(index)}", "unknown-mark")
    for m in marks:
        for t in m.ties:
            if t.mark not in index or t.mark == m.name:
                word = "itself" if t.mark == m.name else f"{t.mark}, which is no control mark"
                raise refuse(ModelError, f"a tie of {m.name} is to {word}", f"the marks are {', '.join(index)}",
                             "unknown-mark")
            if not (t.reading > 0 and math.isfinite(t.reading)):
                raise refuse(ModelError, f"the tie {m.name}-{t.mark} reads {t.reading:.3f} m",
                             "a reading is more than nothing", "bad-reading")


def _seen(m: MarkGiven, t: Tie, index: dict[str, int], step: float) -> Seen:
    usual = math.sqrt(READ_FIXED**2 + (READ_PER_METRE * t.reading) ** 2 + step**2 / 12)
    return Seen(index[m.name], index[t.mark], m.name, t.mark, t.reading, t.error or m.error or usual)


def _refuse_loose(net: Network) -> None:
    """Refuse a network with a mark that its readings do not fix (its ties lie in one line), by name."""
    fit = fitted(net, net.start, net.rows)
    if not fit.deficient:
        return
    _, full = _design(net.rows, net.start)
    _, sizes, vectors = np.linalg.svd(full @ net.basis)
    weak = net.basis @ vectors[int(np.sum(sizes > 1e-4))]
    i = int(np.argmax(np.hypot(weak[0::2], weak[1::2])))
    raise refuse(ModelError, f"the readings do not fix the mark {net.marks[i].name}",
                 "tape it to one more mark that does not lie in line with the others", "mark-unfixed")
