"""Which reading of the control network is wrong, and by what mistake.

Takes: a network and its fit. Gives: the probability that something is wrong, and the readings to measure
again. Each reading in turn is left out and the network fitted anew (exact for whole metres on short
sides); what it then differs by is compared with the few mistakes people make.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from .causes import ANY_SD, ANYTHING, PRIOR_ANY, PRIOR_FAULT, PRIOR_NONE, PRIOR_ZERO, log_sum, slips, weigh_reading
from .network import Fit, Network, Row, Typed, fitted, fitted_best
from .placing import Seen, places_without

Floats = NDArray[np.float64]

TWO_FROM = 6
"""Two blunders are named only with this many redundant readings or more."""
PAIR_TOP = 6
WORTH_NAMING = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """Readings that may be wrong (one, or two together): names, readings (m), likely cause, what they should be (m)."""

    names: tuple[str, ...]
    readings: tuple[float, ...]
    should_be: tuple[float, ...]
    cause: str
    probability: float


@dataclass(frozen=True, slots=True)
class Suspicion:
    """The probability that something is wrong, the suspects, likeliest first, and whether the first explains all."""

    wrong: float
    suspects: tuple[Suspect, ...]
    explained: bool = True


@dataclass(frozen=True, slots=True)
class _Guess:
    names: tuple[str, ...]
    readings: tuple[float, ...]
    should_be: tuple[float, ...]
    cause: str
    log: float


def suspects_of(net: Network, fit: Fit, feet: bool = False) -> Suspicion:
    """Return what the residuals of `fit` say; nothing is suspected without redundancy."""
    if fit.redundant < 1:
        return Suspicion(0.0, ())
    none = -fit.omega / 2 + math.log(PRIOR_NONE)
    prior = PRIOR_FAULT / max(len([r for r in net.rows if isinstance(r, Seen)]), 1)
    guesses = [*_single(net, fit, prior, feet), *_typed(net, fit, prior), *_zero(net, fit, prior, feet)]
    single_best = max((g.log for g in guesses), default=-math.inf)
    if fit.redundant >= TWO_FROM and none < single_best and _still_bad(guesses, prior, fit):
        guesses += _pairs(net, fit, guesses, prior, feet)
    found = _posterior(none, guesses)
    return Suspicion(found.wrong, found.suspects, not _still_bad(guesses, prior, fit))


def _posterior(none: float, guesses: list[_Guess]) -> Suspicion:
    if not guesses:
        return Suspicion(0.0, ())
    total = log_sum([none, *(g.log for g in guesses)])
    by_names: dict[tuple[str, ...], list[_Guess]] = {}
    for g in guesses:
        by_names.setdefault(g.names, []).append(g)
    found = []
    for names, group in by_names.items():
        top = max(group, key=lambda g: g.log)
        found.append(Suspect(names=names, readings=top.readings, should_be=top.should_be, cause=top.cause,
                             probability=math.exp(log_sum([g.log for g in group]) - total)))
    found.sort(key=lambda s: (-round(s.probability, 9), s.names))
    wrong = 1 - math.exp(none - total)
    return Suspicion(wrong, tuple(s for s in found if s.probability >= WORTH_NAMING)[:6])


def _without(net: Network, fit: Fit, leave: Sequence[int]) -> tuple[Fit, Floats, Floats] | None:
    """Fit without some rows; return it, what they differ by (read less computed) and the covariance of that.

    Where the readings clash, the fit also begins from places that those rows had no part in.
    """
    rows = [r for k, r in enumerate(net.rows) if k not in leave]
    other = fitted_best(net, rows)
    if other.omega > _usual(fit.redundant) and all(isinstance(net.rows[k], Seen) for k in leave):
        start = places_without(net.marks, net.baseline, [r for r in rows if isinstance(r, Seen)], net.start)
        again = fitted(net, start, rows) if start is not None else other
        other = min((other, again), key=lambda f: (f.deficient, f.omega))
    if other.deficient:
        return None
    gone = [net.rows[k] for k in leave]
    jac = np.array([_gradient(r, other.places) for r in gone])
    b = np.array([_difference(r, other.places) for r in gone])
    cov = jac @ other.covariance @ jac.T + np.diag([r.sd**2 for r in gone])
    return other, b, cov


def _usual(freedom: int) -> float:
    """Return what the weighted sum of squares stays under when nothing is wrong: mean and three deviations."""
    return freedom + 3 * math.sqrt(2 * freedom)


def _gradient(row: Row, places: Floats) -> Floats:
    full = np.zeros(places.size)
    if isinstance(row, Typed):
        full[2 * row.i + row.axis] = 1.0
        return full
    d = places[row.j] - places[row.i]
    d = d / max(float(np.hypot(*d)), 1e-9)
    full[2 * row.j:2 * row.j + 2] = d
    full[2 * row.i:2 * row.i + 2] = -d
    return full


def _difference(row: Row, places: Floats) -> float:
    if isinstance(row, Typed):
        return row.value - float(places[row.i, row.axis])
    return row.value - float(np.hypot(*(places[row.j] - places[row.i])))


def _single(net: Network, fit: Fit, prior: float, feet: bool) -> list[_Guess]:
    found: list[_Guess] = []
    for k, row in enumerate(net.rows):
        if not isinstance(row, Seen):
            continue
        out = _without(net, fit, (k,))
        if out is None:
            continue
        other, b, cov = out
        weights = weigh_reading(float(b[0]), math.sqrt(float(cov[0, 0])), other.omega, row.value, prior, feet)
        found += [_Guess((row.name,), (row.value,), (row.value - (w.change if w.change is not None else float(b[0])),),
                         w.cause, w.log) for w in weights]
    return found


def _typed(net: Network, fit: Fit, prior: float) -> list[_Guess]:
    """Weigh that the typed coordinates of a mark are what is wrong."""
    found = []
    for i, mark in enumerate(net.marks):
        leave = [k for k, r in enumerate(net.rows) if isinstance(r, Typed) and r.i == i]
        out = _without(net, fit, leave) if leave else None
        if out is None:
            continue
        other, b, cov = out
        spread = cov + ANY_SD**2 * np.eye(len(leave))
        log = (-other.omega / 2 + math.log(prior * PRIOR_ANY)
               - float(np.linalg.slogdet(spread)[1] - np.linalg.slogdet(cov)[1]) / 2
               - float(b @ np.linalg.solve(spread, b)) / 2)
        values = tuple(net.rows[k].value for k in leave)
        found.append(_Guess((mark.name,), values, tuple(v - float(d) for v, d in zip(values, b, strict=True)),
                            "its typed coordinates", log))
    return found


def _zero(net: Network, fit: Fit, prior: float, feet: bool) -> list[_Guess]:
    """All readings of one mark may be out alike: the tape's zero was not on it."""
    sizes = (0.0254, 0.3048) if feet else (0.1, 1.0)
    rows = [r.value for r in net.rows]
    found = []
    for i, mark in enumerate(net.marks):
        own = [k for k, r in enumerate(net.rows) if isinstance(r, Seen) and i in (r.i, r.j)]
        if len(own) < 2:
            continue
        for change in (s * size for size in sizes for s in (1, -1)):
            readings = np.array(rows)
            readings[own] -= change
            other = fitted_best(net, net.rows, readings)
            log = -other.omega / 2 + math.log(prior * len(rows) / len(net.marks) * PRIOR_ZERO / 4)
            found.append(_Guess((f"all readings of {mark.name}",), tuple(rows[k] for k in own),
                                tuple(rows[k] - change for k in own),
                                f"the tape's zero was {abs(change):.3f} m off at {mark.name}", log))
    return found


def _still_bad(guesses: list[_Guess], prior: float, fit: Fit) -> bool:
    """Whether even the best guess leaves more than the readings' own error (mean plus 3 deviations)."""
    if not guesses:
        return False
    best = max(guesses, key=lambda g: g.log)
    count = 2 if "; " in best.cause else 1
    left = -2 * (best.log - count * math.log(prior) + 3.0)
    freedom = max(fit.redundant - count, 1)
    return left > _usual(freedom)


def _pairs(net: Network, fit: Fit, guesses: list[_Guess], prior: float, feet: bool) -> list[_Guess]:
    """Two readings may be wrong together: every pair that holds one of the likeliest few."""
    best: dict[str, float] = {}
    for g in guesses:
        best[g.names[0]] = max(best.get(g.names[0], -math.inf), g.log)
    seen = [k for k, r in enumerate(net.rows) if isinstance(r, Seen)]
    name = {k: f"{row.start}-{row.end}" for k in seen if isinstance(row := net.rows[k], Seen)}
    top = set(sorted(seen, key=lambda k: -best.get(name[k], -math.inf))[:PAIR_TOP])
    found: list[_Guess] = []
    for pair in combinations(seen, 2):
        out = _without(net, fit, pair) if top & set(pair) else None
        if out is None:
            continue
        other, b, cov = out
        values = tuple(net.rows[k].value for k in pair)
        base = -other.omega / 2 + 2 * math.log(prior)
        names = (name[pair[0]], name[pair[1]])
        found += _weigh_pair(b, cov, base, values, names, feet)
    return found


def _choices(reading: float, feet: bool) -> list[tuple[str, float, float, float]]:
    """Causes of one reading: name, change, spread, prior."""
    fixed = [(s.cause, s.change, 0.0, s.prior) for s in slips(reading, feet)]
    return [*fixed, (ANYTHING, 0.0, ANY_SD, PRIOR_ANY)]


def _weigh_pair(b: Floats, cov: Floats, base: float, values: tuple[float, ...], names: tuple[str, str],
                feet: bool) -> list[_Guess]:
    density: Callable[[Floats], float] = lambda m: float(np.linalg.slogdet(m)[1])  # noqa: E731
    found = []
    for cause_1, c_1, s_1, p_1 in _choices(values[0], feet):
        for cause_2, c_2, s_2, p_2 in _choices(values[1], feet):
            spread = cov + np.diag([s_1**2, s_2**2])
            d = b - np.array([c_1, c_2])
            log = (base + math.log(p_1 * p_2) - (density(spread) - density(cov)) / 2
                   - float(d @ np.linalg.solve(spread, d)) / 2)
            should = tuple(v - (c if s == 0 else float(e)) for v, c, s, e in
                           zip(values, (c_1, c_2), (s_1, s_2), b, strict=True))
            found.append(_Guess(names, values, should, f"{cause_1}; {cause_2}", log))
    return found
