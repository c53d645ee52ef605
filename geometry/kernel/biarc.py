"""Pairs of tangent arcs along a smooth curve, each pair as long as a stated gap allows.

All pairs of arcs that leave one point and reach another with given tangents meet on one circle through both
points; taking the joint where the curve itself crosses that circle keeps both arcs close to it (Meek and Walton 1992,
Approximation of discrete data by G1 arc splines, Computer-Aided Design 24(6); from memory). The greatest deviation
is about k' h^3 / 324 for a length h and a change of curvature k'.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from ..errors import GeometryError, refuse
from .point import Point

Floats: TypeAlias = NDArray[np.float64]
Curve: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]
"""Positions and velocities (rows) of a smooth curve at given times."""

Bow: TypeAlias = tuple[float, float, float, float, float, float]
"""Start x and y, end x and y, heading at the start and signed sweep; sweep 0 is a straight line."""

SAMPLES = 60        # places of the curve that are measured against each pair
WIDEST = 2.6        # radians that one arc may turn
FLAT = 1e-10        # an arc that turns less is a straight line
LEAST_SHARE = 1e-5  # of the whole time: a pair that must be shorter than this means a cusp


@dataclass(frozen=True, slots=True)
class Pair:
    """Two tangent arcs and how far the curve strays from them, metres."""

    bows: tuple[Bow, Bow]
    deviation: float


def _between(angle: float) -> float:
    return math.remainder(angle, 2 * math.pi)


def _sinc(x: float) -> float:
    return math.sin(x) / x if abs(x) > 1e-8 else 1.0


def _joint_time(curve: Curve, low: float, high: float, ends: Floats, half: float) -> float:
    """Return the time at which the curve crosses the circle of joints: there both chords enclose the angle `half`."""
    start, end = ends
    first, last = low, high
    for _ in range(4):      # four rounds of sixteen parts: 65,536th of the span
        times = np.linspace(first, last, 17)[1:-1]
        places, _ = curve(times)
        u, v = places - start, end - places
        across = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
        along = u[:, 0] * v[:, 0] + u[:, 1] * v[:, 1]
        off = across * math.cos(half) - along * math.sin(half)
        signs = np.flatnonzero(off[1:] * off[:-1] <= 0)
        if not len(signs):
            return (low + high) / 2
        k = int(signs[np.argmin(np.abs(signs - 6.5))])
        first, last = float(times[k]), float(times[k + 1])
    return (first + last) / 2


def _pair(curve: Curve, low: float, high: float) -> Pair | None:
    """Return the tangent arcs from one time to another with the joint on the curve; None where they would wind."""
    times = np.linspace(low, high, SAMPLES + 1)
    places, ways = curve(times)
    chord = places[-1] - places[0]
    length, toward = math.hypot(*chord), math.atan2(chord[1], chord[0])
    if not length > 0:
        return None
    leave = _between(math.atan2(ways[0, 1], ways[0, 0]) - toward)
    arrive = _between(math.atan2(ways[-1, 1], ways[-1, 0]) - toward)
    if not max(abs(leave), abs(arrive)) < WIDEST / 2:
        return None
    half = (arrive - leave) / 2
    middle = _joint_time(curve, low, high, places[[0, -1]], half)
    joint, _ = curve(np.array([middle]))
    ratio = math.hypot(*(joint[0] - places[0])) / math.hypot(*(places[-1] - joint[0]))
    share = math.atan2(ratio * math.sin(half), 1 + ratio * math.cos(half)) / half if abs(half) > 1e-8 else \
        ratio / (1 + ratio)
    # The joint itself is set on the circle of joints, not on the curve, so that both arcs agree in heading.
    first_chord = length * share * _sinc(half * share) / _sinc(half)
    first_way, second_way = -half * (1 - share), half * share
    x, y = float(places[0, 0]), float(places[0, 1])
    jx, jy = x + first_chord * math.cos(toward + first_way), y + first_chord * math.sin(toward + first_way)
    bows: tuple[Bow, Bow] = (
        (x, y, jx, jy, toward + leave, 2 * (first_way - leave)),
        (jx, jy, float(places[-1, 0]), float(places[-1, 1]), toward + 2 * first_way - leave, 2 * (arrive - second_way)))
    early = times <= middle
    off = max(_stray(bows[0], places[early]), _stray(bows[1], places[~early]))
    return Pair(bows, off)


def _stray(bow: Bow, places: Floats) -> float:
    """Return the greatest distance of `places` from the arc's circle or line, m."""
    x, y, ex, ey, heading, sweep = bow
    if not len(places):
        return 0.0
    if not abs(sweep) < WIDEST:
        return math.inf
    if abs(sweep) < FLAT:
        return float(np.max(np.abs((places[:, 1] - y) * math.cos(heading) - (places[:, 0] - x) * math.sin(heading))))
    radius = math.hypot(ex - x, ey - y) / (2 * math.sin(sweep / 2))
    cx, cy = x - radius * math.sin(heading), y + radius * math.cos(heading)
    return float(np.max(np.abs(np.hypot(places[:, 0] - cx, places[:, 1] - cy) - abs(radius))))


def _longest(curve: Curve, low: float, last: float, guess: float, gap: float, origin: Point) -> tuple[float, Pair]:
    """Return the latest time (at most `last`) that one pair reaches within `gap`."""
    least = LEAST_SHARE * last
    good: tuple[float, Pair] | None = None
    bad = last + guess
    reach = min(low + guess, last)
    while True:
        pair = _pair(curve, low, reach)
        if pair is not None and pair.deviation <= gap:
            good = (reach, pair)
            if reach >= last:
                return good
            reach = min(low + 1.5 * (reach - low), (reach + bad) / 2, last)
        else:
            bad = reach
            reach = (good[0] + bad) / 2 if good else low + (reach - low) / 2
        if good and bad - good[0] < 0.01 * (bad - low):
            return good
        if not good and reach - low < least:
            place, _ = curve(np.array([low]))
            x, y = origin.x + float(place[0, 0]), origin.y + float(place[0, 1])
            raise refuse(GeometryError, f"a flowing curve that turns on the spot near ({x:.3f}, {y:.3f})",
                         "move the points that lie close together, or add one", "cusp")


def along(curve: Curve, last: float, gap: float, origin: Point, pieces: int = 1) -> list[Bow]:
    """Return tangent arcs along `curve` from time 0 to `last`, nowhere further from it than `gap` metres.

    At least `pieces` pairs. GeometryError where the curve has a cusp; `origin` is added to the place that it names.
    """
    found: list[tuple[float, float, Pair]] = []
    low, guess = 0.0, last / (8 * pieces)
    while low < last:
        stop, pair = _longest(curve, low, min(last, low + last / pieces), guess, gap, origin)
        found.append((low, stop, pair))
        low, guess = stop, stop - low
    _even_out(curve, found, gap)
    return [bow for _, _, pair in found for bow in pair.bows]


def _even_out(curve: Curve, found: list[tuple[float, float, Pair]], gap: float) -> None:
    """Share the time of the last two pairs, so that the last is no stub."""
    if len(found) < 2:
        return
    low, _, high = found[-2][0], found[-2][1], found[-1][1]
    middle = (low + high) / 2
    first, second = _pair(curve, low, middle), _pair(curve, middle, high)
    if first and second and max(first.deviation, second.deviation) <= gap:
        found[-2:] = [(low, middle, first), (middle, high, second)]
