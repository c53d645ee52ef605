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

Floats = NDArray[np.float64]

READ_FIXED = 0.003
READ_PER_METRE = 0.0004
"""A measured-in reading: fixed part (m) and part per metre; the limit of a class III tape, and a judgement."""
MOST_ROUNDS = 60
STEP_CUT = 2.0


@dataclass(frozen=True, slots=True)
class Seen:
    """A taped reading from mark i to mark j: metres, and its standard deviation."""

    i: int
    j: int
    start: str
    end: str
    value: float
    sd: float

    @property
    def name(self) -> str:
        """`A-C`."""
        return f"{self.start}-{self.end}"


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
    """Marks, rows, start values (n x 2), and the basis of what may move (2n x p)."""

    marks: tuple[MarkGiven, ...]
    rows: tuple[Row, ...]
    start: Floats
    basis: Floats
    first: int

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
    for k, row in enumerate(rows):
        if isinstance(row, Typed):
            values[k] = places[row.i, row.axis]
            full[k, 2 * row.i + row.axis] = 1.0
            continue
        d = places[row.j] - places[row.i]
        length = max(float(np.hypot(d[0], d[1])), 1e-9)
        values[k] = length
        full[k, 2 * row.j:2 * row.j + 2] = d / length
        full[k, 2 * row.i:2 * row.i + 2] = -d / length
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
    inverse = np.linalg.pinv(normal, hermitian=True)
    return Fit(places=places, covariance=net.basis @ inverse @ net.basis.T, residuals=residuals,
               omega=float(np.sum((residuals / sds) ** 2)), redundant=max(len(rows) - rank, 0), design=design,
               inverse=inverse, deficient=rank < net.basis.shape[1])


def network_of(marks: Sequence[MarkGiven], baseline: tuple[str, str], step: float, typed_sd: float) -> Network:
    """Return the network of `marks`; ModelError for names, readings or ties that make no sense."""
    index = {m.name: i for i, m in enumerate(marks)}
    if len(index) < len(marks):
        double = next(m.name for i, m in enumerate(marks) if index[m.name] != i)
        raise refuse(ModelError, f"two control marks are called {double}", "give each its own name", "mark-twice")
    _check_names(marks, baseline, index)
    rows: list[Row] = [_seen(m, t, index, step) for m in marks for t in m.ties]
    start = _start(marks, baseline, index, rows)
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
    net = Network(tuple(marks), tuple(rows), start, np.hstack(columns), first)
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


def _start(marks: Sequence[MarkGiven], baseline: tuple[str, str], index: dict[str, int], rows: Sequence[Row]) -> Floats:
    """Place every mark roughly: typed, else along the baseline, else by two readings and the side."""
    read: dict[frozenset[int], float] = {frozenset((r.i, r.j)): r.value for r in rows if isinstance(r, Seen)}
    known: dict[int, tuple[float, float]] = {i: (m.at.x, m.at.y) for i, m in enumerate(marks) if m.at is not None}
    first, second = index[baseline[0]], index[baseline[1]]
    known.setdefault(first, (0.0, 0.0))
    if second not in known and frozenset((first, second)) in read:
        x, y = known[first]
        known[second] = (x + read[frozenset((first, second))], y)
    if second not in known:
        raise refuse(ModelError, f"the baseline {baseline[0]}-{baseline[1]} has no length",
                     f"type `at` for {baseline[1]}, or tape {baseline[0]}-{baseline[1]}", "mark-unfixed")
    while len(known) < len(marks):
        best = None
        for i, m in enumerate(marks):
            if i not in known:
                ties = [(j, read[frozenset((i, j))]) for j in known if frozenset((i, j)) in read]
                if len(ties) >= 2 and (best is None or len(ties) > len(best[2])):
                    best = (i, m, ties)
        if best is None:
            loose = next(m for i, m in enumerate(marks) if i not in known)
            raise refuse(ModelError, f"the mark {loose.name} is not fixed: fewer than two readings to marks that are",
                         "tape it to two marks at least, better four", "mark-unfixed")
        known[best[0]] = _placed(best[1], best[2], known, marks, index)
    return np.array([known[i] for i in range(len(marks))])


def _placed(mark: MarkGiven, ties: list[tuple[int, float]], known: dict[int, tuple[float, float]],
            marks: Sequence[MarkGiven], index: dict[str, int]) -> tuple[float, float]:
    """Return one of the two crossings of the best pair of ties: the stated side, or what the others say."""
    own = [index[t.mark] for t in mark.ties if index[t.mark] in known]
    pairs = [(a, b) for k, a in enumerate(ties) for b in ties[:k]]
    crossings = [(_sharpness(known[a[0]], known[b[0]], a[1], b[1]), a, b) for a, b in pairs]
    _, a, b = max(crossings, key=lambda c: c[0])
    if len(ties) == 2:
        _refuse_apart(mark, ties, known, marks)
    spots = _crossing(known[a[0]], known[b[0]], a[1], b[1])

    def misfit(spot: tuple[float, float]) -> float:
        return sum((math.dist(spot, known[j]) - r) ** 2 for j, r in ties)

    gap = misfit(spots[0]) - misfit(spots[1])
    if mark.side and len(own) >= 2 and (len(ties) == 2 or abs(gap) < 0.01):
        p, q = known[own[0]], known[own[1]]
        want = 1 if mark.side == "left" else -1
        return max(spots, key=lambda s: want * ((q[0] - p[0]) * (s[1] - p[1]) - (q[1] - p[1]) * (s[0] - p[0])))
    if abs(gap) < 1e-4 and math.dist(*spots) > 0.02:
        raise refuse(ModelError, f"the ties of {mark.name} cross at two places, ({spots[0][0]:.3f}, {spots[0][1]:.3f}) "
                     f"and ({spots[1][0]:.3f}, {spots[1][1]:.3f})",
                     f"write side: left or right, of the line from {marks[own[0]].name if own else 'the first mark'} "
                     "to the next", "no-side")
    return spots[0] if gap <= 0 else spots[1]


def _sharpness(p: tuple[float, float], q: tuple[float, float], r1: float, r2: float) -> float:
    d = math.dist(p, q)
    cos = (r1 * r1 + r2 * r2 - d * d) / (2 * r1 * r2)
    return 1 - min(abs(cos), 2.0)


def _crossing(p: tuple[float, float], q: tuple[float, float], r1: float, r2: float) -> list[tuple[float, float]]:
    d = max(math.dist(p, q), 1e-9)
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    out = math.sqrt(max(r1 * r1 - along * along, 0.0))
    ux, uy = (q[0] - p[0]) / d, (q[1] - p[1]) / d
    return [(p[0] + along * ux - s * out * uy, p[1] + along * uy + s * out * ux) for s in (1, -1)]


def _refuse_apart(mark: MarkGiven, ties: list[tuple[int, float]], known: dict[int, tuple[float, float]],
                  marks: Sequence[MarkGiven]) -> None:
    (i, r1), (j, r2) = ties
    a, b, d = marks[i].name, marks[j].name, math.dist(known[i], known[j])
    if abs(r1 - r2) <= d <= r1 + r2:
        return
    if d > r1 + r2:
        why = f"{r1:.3f} + {r2:.3f} = {r1 + r2:.3f} m does not reach over {a}-{b}, {d:.3f} m"
    else:
        why = f"{max(r1, r2):.3f} - {min(r1, r2):.3f} = {abs(r1 - r2):.3f} m is more than {a}-{b}, {d:.3f} m"
    raise refuse(ModelError, f"the ties of {mark.name} to {a} and {b} cannot meet: {why}",
                 f"measure {mark.name}-{a} and {mark.name}-{b} again", "ties-apart")


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
