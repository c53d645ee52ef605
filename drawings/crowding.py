"""How crowded the labels of points are before any is placed, and which enlarged views would help.

Lettering is counted with 1 mm around it, in squares of 40 mm; experience of many sheets: up to 0.35 of a
square is always solved, above 0.55 hardly ever. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry.kernel.point import Box
from .blocks import block
from .requests import REPLAN_FROM, Crowding, Inset, PointLabel, Request

SQUARE = 40.0
STEP = 10.0
AROUND = 1.0
CLOSE, CLOSE_PEGS = 4.0, 2
"""Pegs closer than 4 mm on paper to more than two others go to an enlarged view."""

INSET_MARGIN = 6.0
LEAST_TIMES, MOST_TIMES = 2, 5


def _shares(points: Sequence[tuple[float, float, float]]) -> tuple[float, Box]:
    """Return the fullest square's share and place; rows of x, y and lettering area."""
    if not points:
        return 0.0, Box(0.0, 0.0, SQUARE, SQUARE)
    cells: dict[tuple[int, int], float] = {}
    for x, y, area in points:
        key = (int(x // STEP), int(y // STEP))
        cells[key] = cells.get(key, 0.0) + area
    side = round(SQUARE / STEP)
    sums: dict[tuple[int, int], float] = {}
    for (i, j), area in cells.items():
        for a in range(i - side + 1, i + 1):
            for b in range(j - side + 1, j + 1):
                sums[a, b] = sums.get((a, b), 0.0) + area
    (i, j), most = max(sums.items(), key=lambda item: (round(item[1], 6), -item[0][0], -item[0][1]))
    return most / SQUARE**2, Box(i * STEP, j * STEP, i * STEP + SQUARE, j * STEP + SQUARE)


def _clusters(labels: Sequence[PointLabel]) -> list[list[int]]:
    """Return groups of points that stand close to more than two others, with those near them."""
    at = np.array([(label.at.x, label.at.y) for label in labels]).reshape(-1, 2)
    gap = np.hypot(at[:, None, 0] - at[None, :, 0], at[:, None, 1] - at[None, :, 1])
    near = gap < CLOSE
    crowded = near.sum(axis=1) - 1 > CLOSE_PEGS
    group = np.full(len(labels), -1)
    found: list[list[int]] = []
    for first in np.flatnonzero(crowded).tolist():
        if group[first] >= 0:
            continue
        members, todo = [], [first]
        while todo:
            k = todo.pop()
            if group[k] >= 0:
                continue
            group[k] = len(found)
            members.append(k)
            if crowded[k]:
                todo += np.flatnonzero(near[k] & (group < 0)).tolist()
        found.append(sorted(members))
    return found


def _times(window: Box, labels: Sequence[PointLabel], within: Sequence[tuple[float, float, float]]) -> int:
    """Return the least enlargement at which the window's lettering is no longer too full."""
    inside = [(x, y, a) for x, y, a in within if window.x0 <= x <= window.x1 and window.y0 <= y <= window.y1]
    for times in range(LEAST_TIMES, MOST_TIMES):
        if _shares([(x * times, y * times, a) for x, y, a in inside])[0] <= REPLAN_FROM * 0.6:
            return times
    return MOST_TIMES if len(labels) else LEAST_TIMES


def _inset(members: Sequence[PointLabel], rows: Sequence[tuple[float, float, float]]) -> Inset:
    window = Box.of(label.at for label in members).grown(INSET_MARGIN)
    return Inset(window=window, times=_times(window, members, rows), names=tuple(sorted(m.name for m in members)))


def crowding(requests: Sequence[Request]) -> Crowding:
    """Return how full the fullest square of a view is, and the enlarged views that would thin it out."""
    labels = sorted((r for r in requests if isinstance(r, PointLabel)), key=lambda r: r.name)
    rows = []
    for label in labels:
        setting = block(label.lines)
        rows.append((label.at.x, label.at.y, (setting.width + AROUND) * (setting.height + AROUND)))
    fill, fullest = _shares(rows)
    insets = [_inset([labels[k] for k in lot], rows) for lot in _clusters(labels)]
    if fill > REPLAN_FROM and not any(inset.window.meets(fullest) for inset in insets):
        members = [r for r in labels if fullest.x0 <= r.at.x <= fullest.x1 and fullest.y0 <= r.at.y <= fullest.y1]
        insets.append(_inset(members, rows))
    return Crowding(fill=round(fill, 4), fullest=fullest, insets=tuple(insets))
