"""Rows of a table as plain tuples, and which of them come near each other: the ground of the way for few rows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import islice
from typing import NamedTuple, TypeAlias

Spot: TypeAlias = tuple[float, float]
Spots: TypeAlias = list[Spot]


class Row(NamedTuple):
    """A row of a table: ends, chord, circle (radius, sign of the sweep; 0 for lines) and box grown by eps."""

    x: float
    y: float
    ex: float
    ey: float
    dx: float
    dy: float
    length: float
    cx: float
    cy: float
    radius: float
    turn: float
    x0: float
    y0: float
    x1: float
    y1: float


def rows_of(points: Spots, given: Iterable[tuple[int, int, Sequence[float], float, float]], eps: float) -> list[Row]:
    """Return rows from first and last point, centre, radius and sweep (0 for lines), boxes grown by `eps` metres."""
    rows: list[Row] = []
    for first, last, (cx, cy), r, sweep in given:
        (x, y), (ex, ey) = points[first], points[last]
        dx, dy = ex - x, ey - y
        x0, x1 = (x, ex) if x < ex else (ex, x)
        y0, y1 = (y, ey) if y < ey else (ey, y)
        turn = 0.0
        if sweep:
            turn = 1.0 if sweep > 0 else -1.0
            left, right, low, high = cx - r, cx + r, cy - r, cy + r
            if turn * (dx * (cy - y) - dy * (left - x)) <= 0:
                x0 = left
            if turn * (dx * (low - y) - dy * (cx - x)) <= 0:
                y0 = low
            if turn * (dx * (cy - y) - dy * (right - x)) <= 0:
                x1 = right
            if turn * (dx * (high - y) - dy * (cx - x)) <= 0:
                y1 = high
        rows.append(Row(x, y, ex, ey, dx, dy, math.sqrt(dx * dx + dy * dy), cx, cy, r, turn,
                        x0 - eps, y0 - eps, x1 + eps, y1 + eps))
    return rows


def pairs_near(rows: list[Row]) -> list[tuple[int, int]]:
    """Return the pairs i < j of rows whose boxes meet, in that order."""
    boxes = sorted([(*row[11:], k) for k, row in enumerate(rows)])
    pairs: list[tuple[int, int]] = []
    for n, (_, y0, x1, y1, i) in enumerate(boxes, 1):
        for ox0, oy0, _, oy1, j in islice(boxes, n, None):
            if ox0 > x1:
                break
            if oy0 <= y1 and oy1 >= y0:
                pairs.append((i, j) if i < j else (j, i))
    pairs.sort()
    return pairs
