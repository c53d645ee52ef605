"""The ring of tangent arcs that comes nearest to an ellipse.

For two convex shapes the greatest distance equals the greatest difference of their support functions (how far
each reaches in a direction). The support function of a quarter ellipse is sqrt((a cos t)^2 + (b sin t)^2), that of
tangent arcs r1 .. rn that change at normals t1 .. t(n-1) is
a cos t + r1 (1 - cos t) + sum over tj < t of (r(j+1) - rj) (1 - cos(t - tj)).
So the best arcs are the smallest greatest difference of two functions of one angle. Lengths in units of
the half length a; only b / a matters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
QUARTER = math.pi / 2
PER_PIECE = 24
MOST_RADII = 40
FIGURES = 10    # of the answer that are kept, so that every machine prints the same arcs


@dataclass(frozen=True, slots=True)
class Quarter:
    """Radii of a quarter's arcs from the long apex to the short one, normals of the joints, greatest deviation."""

    radii: tuple[float, ...]
    bends: tuple[float, ...]
    deviation: float


def _reach(radii: Floats, bends: Floats, angles: Floats) -> Floats:
    """Return the support function of the arcs at `angles`."""
    past = np.maximum(angles[:, None] - bends[None, :], 0.0)
    out: Floats = np.cos(angles) + radii[0] * (1 - np.cos(angles)) + (1 - np.cos(past)) @ np.diff(radii)
    return out


def _slopes(radii: Floats, bends: Floats, angles: Floats) -> Floats:
    """Return the derivatives of the support function by each radius and each bend, a row for each angle."""
    past = np.maximum(angles[:, None] - bends[None, :], 0.0)
    rise = np.column_stack([1 - np.cos(angles), 1 - np.cos(past)])
    by_radius = rise.copy()
    by_radius[:, :-1] -= rise[:, 1:]
    return np.column_stack([by_radius, -np.diff(radii) * np.sin(past)])


def _closed(radii: Floats, bends: Floats, short: float) -> Floats:
    """Return the radii with the last two chosen so that the quarter ends square on the short apex."""
    past = np.concatenate([[QUARTER], QUARTER - bends])
    value, slope = 1 - np.cos(past), np.sin(past)
    value[:-1] -= value[1:].copy()
    slope[:-1] -= slope[1:].copy()
    free = radii[:-2]
    want = np.array([short - value[:-2] @ free, 1 - slope[:-2] @ free])
    last = np.linalg.solve(np.array([value[-2:], slope[-2:]]), want)
    return np.concatenate([free, last])


def _deviation(radii: Floats, bends: Floats, short: float) -> float:
    angles = np.concatenate([np.linspace(p, q, 200) for p, q in
                             zip([0.0, *bends], [*bends, QUARTER], strict=True)])
    truth = np.hypot(np.cos(angles), short * np.sin(angles))
    return float(np.max(np.abs(_reach(radii, bends, angles) - truth)))


def _first_guess(count: int, short: float) -> tuple[Floats, Floats]:
    """Return radii and bends that share the cube root of the change of curvature evenly."""
    eccentric = np.linspace(0.0, QUARTER, 4001)
    speed = np.hypot(np.sin(eccentric), short * np.cos(eccentric))
    curvature = short / speed**3
    weight = np.cbrt(np.abs(np.gradient(curvature, eccentric)) / speed) * speed
    share = np.concatenate([[0.0], np.cumsum((weight[1:] + weight[:-1]) / 2)])
    # The arcs at both apexes are halves: they get half a share.
    cuts = np.interp(np.arange(0.5, count - 1) / (count - 1), share / share[-1], eccentric)
    middles = np.interp(np.arange(0, count) / (count - 1), share / share[-1], eccentric)
    bends = np.arctan2(np.sin(cuts), short * np.cos(cuts))
    radii = np.hypot(np.sin(middles), short * np.cos(middles)) ** 3 / short
    return radii, bends


def _improve(radii: Floats, bends: Floats, short: float) -> tuple[Floats, Floats]:
    """Return radii and bends with the smallest greatest deviation near the given ones."""
    from scipy import optimize
    minimize: Any = optimize.minimize     # its published types are narrower than what it takes
    count = len(radii)

    def grid(x: Floats) -> Floats:
        edges = [0.0, *x[count:-1], QUARTER]
        return np.concatenate([np.linspace(p, q, PER_PIECE) for p, q in pairwise(edges)])

    fixed = grid(np.concatenate([radii, bends, [0.0]]))
    truth = np.hypot(np.cos(fixed), short * np.sin(fixed))
    end = np.array([QUARTER])

    def room(x: Floats) -> Floats:
        off = _reach(x[:count], x[count:-1], fixed) - truth
        return np.concatenate([x[-1] - off, x[-1] + off])

    def room_slopes(x: Floats) -> Floats:
        slopes = _slopes(x[:count], x[count:-1], fixed)
        ones = np.ones((len(fixed), 1))
        return np.vstack([np.hstack([-slopes, ones]), np.hstack([slopes, ones])])

    def ends(x: Floats) -> Floats:
        past = np.concatenate([[QUARTER], QUARTER - x[count:-1]])
        steps = np.concatenate([[x[0]], np.diff(x[:count])])
        return np.array([_reach(x[:count], x[count:-1], end)[0] - short, steps @ np.sin(past) - 1])

    def end_slopes(x: Floats) -> Floats:
        past = np.concatenate([[QUARTER], QUARTER - x[count:-1]])
        sin = np.sin(past)
        by_radius = sin.copy()
        by_radius[:-1] -= sin[1:]
        second = np.concatenate([by_radius, -np.diff(x[:count]) * np.cos(past[1:]), [0.0]])
        return np.vstack([np.append(_slopes(x[:count], x[count:-1], end)[0], 0.0), second])

    first = np.concatenate([radii, bends, [_deviation(radii, bends, short)]])
    found = minimize(lambda x: x[-1], first, jac=lambda x: np.append(np.zeros(len(x) - 1), 1.0), method="SLSQP",
                     bounds=[(1e-9, None)] * count + [(1e-6, QUARTER - 1e-6)] * (count - 1) + [(0.0, None)],
                     constraints=[{"type": "ineq", "fun": room, "jac": room_slopes},
                                  {"type": "eq", "fun": ends, "jac": end_slopes}],
                     options={"maxiter": 200, "ftol": 1e-13})
    return np.asarray(found.x[:count]), np.asarray(found.x[count:-1])


def _least_radii(short: float, gap: float) -> int:
    """Return the radii of a quarter that can do at best.

    Free tangent arcs stray by k' h^3 / 1150 over a pair of length h (measured on ellipses of all ratios), so a
    quarter needs half the integral of the cube root of k' along it over the cube root of 1150 gaps.
    """
    eccentric = np.linspace(0.0, QUARTER, 2001)
    speed = np.hypot(np.sin(eccentric), short * np.cos(eccentric))
    change = np.abs(np.gradient(short / speed**3, eccentric)) / speed
    need = float(np.trapezoid(np.cbrt(change) * speed, eccentric)) * 2 / float(np.cbrt(1150 * gap))
    return max(2, int(need) + 1)


@lru_cache(maxsize=256)
def quarter(short: float, gap: float) -> Quarter | None:
    """Return the fewest arcs of a quarter ellipse with half axes 1 and `short` within `gap`, or None if none was found.

    Measured on the answer itself at 200 places an arc, not taken on trust from the search.
    """
    best: Quarter | None = None
    for count in range(_least_radii(short, gap), MOST_RADII):
        radii, bends = _first_guess(count, short)
        for _ in range(2):
            radii, bends = _improve(radii, bends, short)
        bends = np.round(bends, FIGURES)
        radii = _closed(np.round(radii, FIGURES), bends, short)
        off = _deviation(radii, bends, short)
        sound = bool(np.all(radii > 0) and np.all(np.diff(bends) > 0) and bends[0] > 0 and bends[-1] < QUARTER)
        if sound and off <= gap:
            best = Quarter(tuple(map(float, radii)), tuple(map(float, bends)), off)
            break
    return best
