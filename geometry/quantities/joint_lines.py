"""The drawing of a layout: joint lines clipped to the region and merged, and the cut pieces with true arcs.

Takes: a layout and its cut units. Gives: a UnitPattern made from the same rectangles that were counted.
Lines within CLEAR of the outline are left out, for the outline is drawn already. Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from ..features import UnitPattern
from ..kernel.path import Path
from ..kernel.runs import Floats, Frame, Runs
from ..kernel.segment import Line
from .cuts import CutUnit, regions_of
from .laying import Layout

CLEAR = 1e-3
"""A joint nearer to the outline than this is not drawn beside it."""

SAME = 1e-6
"""Joint lines nearer than this are one line."""


def _crossings(runs: Runs, y: float) -> list[float]:
    """Return where the level line at `y` crosses the boundary, in order along x."""
    at = np.nonzero((runs.yl <= y) & (runs.yu > y))[0]
    r = runs.r[at]
    share = (y - runs.yl[at]) / (runs.yu[at] - runs.yl[at])
    h = y - runs.cy[at]
    curved = runs.cx[at] + runs.sx[at] * np.sqrt(np.maximum((r - h) * (r + h), 0.0))
    x = np.where(r > 0, curved, runs.xl[at] + share * (runs.xu[at] - runs.xl[at]))
    return sorted(np.clip(x, runs.x_least[at], runs.x_most[at]).tolist())


def _meet(first: Sequence[tuple[float, float]], second: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    found = ((max(a, c), min(b, d)) for a, b in first for c, d in second)
    return [(a, b) for a, b in found if b - a > SAME]


def spans_at(runs: Runs, y: float) -> list[tuple[float, float]]:
    """Return the stretches of the level line at `y` that lie in the region, with CLEAR on both sides."""
    sides = []
    for level in (y - CLEAR, y + CLEAR):
        x = _crossings(runs, level)
        sides.append(list(zip(x[::2], x[1::2], strict=False)))
    return _meet(*sides)


def _merged(spans: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    merged: list[tuple[float, float]] = []
    for a, b in sorted(spans):
        if merged and a <= merged[-1][1] + SAME:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]))
        else:
            merged.append((a, b))
    return merged


def _levels(cells: Floats) -> Iterator[tuple[float, list[tuple[float, float]]]]:
    """Yield each level of the cells' lower and upper sides with the merged spans on it."""
    y = np.concatenate([cells[:, 1], cells[:, 3]])
    x0, x1 = np.tile(cells[:, 0], 2), np.tile(cells[:, 2], 2)
    order = np.argsort(y, kind="stable")
    y, x0, x1 = y[order], x0[order], x1[order]
    breaks = [0, *(np.nonzero(np.diff(y) > SAME)[0] + 1).tolist(), len(y)]
    for first, last in pairwise(breaks):
        yield float(y[first]), _merged(list(zip(x0[first:last].tolist(), x1[first:last].tolist(), strict=True)))


def _clipped(runs: Runs, cells: Floats) -> list[tuple[float, float, float]]:
    """Return the level joint lines inside the region as (y, from x, to x)."""
    return [(y, a, b) for y, spans in _levels(cells) for a, b in _meet(spans, spans_at(runs, y))]


def _path(frame: Frame, a: tuple[float, float], b: tuple[float, float]) -> Path:
    return Path((Line(frame.outward(*a), frame.outward(*b)),))


def level_lines(runs: Runs, frame: Frame, cells: Floats) -> list[Path]:
    """Return the level joint lines of `cells` inside the region, as paths of the garden."""
    return [_path(frame, (a, y), (b, y)) for y, a, b in _clipped(runs, cells)]


def pattern(layout: Layout, cuts: Sequence[CutUnit], name: str = "") -> UnitPattern:
    """Return the layout for drawing; `courses` are the long joints of a bond laid in courses."""
    frame = layout.frame
    level = level_lines(layout.runs, frame, layout.cells)
    upright = [
        _path(frame, (x, a), (x, b)) for x, a, b in _clipped(layout.runs.mirrored(), layout.cells[:, [1, 0, 3, 2]])
    ]
    slivers = [cut for cut in cuts if cut.sliver]
    return UnitPattern(
        joints=(*level, *upright),
        cut=regions_of(cuts, layout),
        slivers=regions_of(slivers, layout),
        length=layout.unit.length,
        width=layout.unit.width,
        courses=() if layout.bond.woven else tuple(level),
        shifts=tuple(place.x / layout.lattice.period for place in layout.lattice.places),
        lay_from=layout.lay_from,
        turn=layout.frame.turn,
        name=name,
    )
