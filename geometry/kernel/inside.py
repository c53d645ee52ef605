"""How much of a region lies in upright rectangles: exact, with no topology at all.

    area(R in [x0, x1] x [y0, y1]) = contour integral of (clamp(x, x0, x1) - x0) dy
                                     over the part of the boundary with y in [y0, y1]

(Green's theorem.) Lines and the monotone runs of arcs integrate in closed form, so no tolerance appears.
A bucket grid finds the few rectangles that the boundary can touch; all others are wholly in or out.
Lengths in metres, areas in m2. Rectangles are rows x0, y0, x1, y1 of one array.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from .runs import Flags, Floats, Ints, Runs

CHUNK = 1_000_000
"""The most rectangle and run pairs looked at in one go (bounds the memory)."""

MOST_BUCKETS = 4_000_000


@dataclass(frozen=True, slots=True, eq=False)
class Windows:
    """The stretch of one run inside one rectangle, by pairs: its y from `low` to `high`, with x at both."""

    rectangle: Ints
    run: Ints
    low: Floats
    high: Floats
    x_low: Floats
    x_high: Floats
    right: Floats  # height of the stretch that lies right of the rectangle


def _x_at(runs: Runs, p: Ints, y: Floats) -> Floats:
    """Return x where run `p` has height `y`; its stored ends come back bit for bit."""
    r, span = runs.r[p], runs.yu[p] - runs.yl[p]
    # runs without height give nonsense here; they have no window, and their ends are set below
    with np.errstate(all="ignore"):
        straight = runs.xl[p] + (y - runs.yl[p]) / span * (runs.xu[p] - runs.xl[p])
    h = y - runs.cy[p]
    curved = runs.cx[p] + runs.sx[p] * np.sqrt(np.maximum((r - h) * (r + h), 0.0))
    x = np.where(r > 0, curved, straight)
    x = np.where(y <= runs.yl[p], runs.xl[p], np.where(y >= runs.yu[p], runs.xu[p], x))
    return np.clip(x, runs.x_least[p], runs.x_most[p])


def _split(runs: Runs, p: Ints, x: Floats) -> Floats:
    """Return the height at which run `p` passes from one side of the upright at `x` to the other."""
    r, dx = runs.r[p], runs.xu[p] - runs.xl[p]
    with np.errstate(all="ignore"):
        straight = runs.yl[p] + (x - runs.xl[p]) / dx * (runs.yu[p] - runs.yl[p])
    h = x - runs.cx[p]
    curved = runs.cy[p] + runs.sy[p] * np.sqrt(np.maximum((r - h) * (r + h), 0.0))
    y = np.where(r > 0, curved, straight)
    below = np.where(dx >= 0, -np.inf, np.inf)  # the run lies wholly right of x
    return np.where(x <= runs.x_least[p], below, np.where(x >= runs.x_most[p], -below, y))


def _pairs(runs: Runs, boxes: Floats) -> Iterator[tuple[Ints, Ints]]:
    """Yield, in chunks, the pairs of rectangle and run of which the run can count for the rectangle."""
    size = max(1, CHUNK // max(1, len(runs.xl)))
    most = runs.x_most
    for first in range(0, len(boxes), size):
        b = boxes[first : first + size]
        mask = (runs.yl < b[:, 3:4]) & (runs.yu > b[:, 1:2]) & (most > b[:, 0:1])
        u, p = np.nonzero(mask)
        yield u + first, p


def _windows(runs: Runs, boxes: Floats, u: Ints, p: Ints) -> Windows:
    x0, y0, x1, y1 = boxes[u].T
    low, high = np.maximum(runs.yl[p], y0), np.minimum(runs.yu[p], y1)
    at_left = np.clip(_split(runs, p, x0), low, high)
    at_right = np.clip(_split(runs, p, x1), low, high)
    grows = runs.xu[p] >= runs.xl[p]
    begin, end = np.where(grows, at_left, at_right), np.where(grows, at_right, at_left)
    x_begin, x_end = np.clip(_x_at(runs, p, begin), x0, x1), np.clip(_x_at(runs, p, end), x0, x1)
    # where an upright of the rectangle cuts the run, x is that upright and not a rounded root
    x_begin = np.where((begin > low) & (begin < high), np.where(grows, x0, x1), x_begin)
    x_end = np.where((end > low) & (end < high), np.where(grows, x1, x0), x_end)
    return Windows(u, p, begin, end, x_begin, x_end, np.where(grows, high - at_right, at_right - low))


def segment_areas(chord: Floats, radius: Floats) -> Floats:
    """Return the area between chords (m) and their arcs of at most a half turn, 0 for radius 0."""
    safe = np.where(radius > 0, radius, 1.0)
    s = 2 * np.arcsin(np.minimum(np.where(radius > 0, chord, 0.0) / (2 * safe), 1.0))
    bulge = np.where(s > 0.02, s - np.sin(s), s**3 / 6 * (1 - s * s / 20 * (1 - s * s / 42)))
    return np.where(radius > 0, safe * safe / 2 * bulge, 0.0)


def areas(runs: Runs, boxes: Floats) -> Floats:
    """Return the exact area of the region of `runs` inside each rectangle, m2."""
    total = np.zeros(len(boxes))
    for u, p in _pairs(runs, boxes):
        w = _windows(runs, boxes, u, p)
        x0, x1 = boxes[u, 0], boxes[u, 2]
        rise = w.high - w.low
        bulge = segment_areas(np.hypot(w.x_high - w.x_low, rise), runs.r[p])
        part = ((w.x_low + w.x_high) / 2 - x0) * rise + runs.sx[p] * bulge + (x1 - x0) * w.right
        total += np.bincount(u, runs.up[p] * part, minlength=len(boxes))
    return total


@dataclass(frozen=True, slots=True, eq=False)
class Stretches:
    """Stretches of the boundary inside rectangles, as walked; `cut_in`, `cut_out`: not at the run's own end."""

    rectangle: Ints
    run: Ints
    xa: Floats
    ya: Floats
    xb: Floats
    yb: Floats
    cut_in: Flags
    cut_out: Flags


def _walked(runs: Runs, boxes: Floats, numbers: Ints) -> Stretches:
    parts = [_windows(runs, boxes, u, p) for u, p in _pairs(runs, boxes)]
    u, p, low, high, xl, xh = (
        np.concatenate([getattr(w, name) for w in parts])
        for name in ("rectangle", "run", "low", "high", "x_low", "x_high")
    )
    keep = high > low
    u, p, low, high, xl, xh = (column[keep] for column in (u, p, low, high, xl, xh))
    up = runs.up[p] > 0
    cut_low = (low != runs.yl[p]) | (xl != runs.xl[p])
    cut_high = (high != runs.yu[p]) | (xh != runs.xu[p])
    return Stretches(
        u,
        numbers[p],
        np.where(up, xl, xh),
        np.where(up, low, high),
        np.where(up, xh, xl),
        np.where(up, high, low),
        np.where(up, cut_low, cut_high),
        np.where(up, cut_high, cut_low),
    )


def stretches(runs: Runs, boxes: Floats) -> Stretches:
    """Return every stretch of the boundary inside the rectangles, ordered by rectangle and run.

    Steep runs are cut by height, flat ones by width, so that no stretch is lost in a rounded ordinate.
    """
    steep = np.abs(runs.yu - runs.yl) >= np.abs(runs.xu - runs.xl)
    numbers = np.arange(len(runs.xl))
    found = [_walked(runs.part(steep), boxes, numbers[steep])] if steep.any() else []
    if not steep.all():
        f = _walked(runs.part(~steep).mirrored(), boxes[:, [1, 0, 3, 2]], numbers[~steep])
        found.append(Stretches(f.rectangle, f.run, f.ya, f.xa, f.yb, f.xb, f.cut_in, f.cut_out))
    names = ("rectangle", "run", "xa", "ya", "xb", "yb", "cut_in", "cut_out")
    columns = [np.concatenate([getattr(f, name) for f in found]) for name in names]
    order = np.lexsort((columns[1], columns[0]))
    return Stretches(*(column[order] for column in columns))


def _steps(runs: Runs, step: float) -> tuple[Floats, Floats]:
    """Return the two ends (rows x, y) of short steps along all runs; the box of a step holds its edge."""
    chord = np.hypot(runs.xu - runs.xl, runs.yu - runs.yl)
    count = np.ceil(np.where(runs.r > 0, chord * 1.2, chord) / step).astype(np.int64) + 1
    p = np.repeat(np.arange(len(count)), count)
    k = np.arange(len(p)) - np.repeat(np.cumsum(count) - count, count)
    begin = np.arctan2(runs.yl - runs.cy, runs.xl - runs.cx)
    turn = np.arctan2(runs.yu - runs.cy, runs.xu - runs.cx) - begin
    turn = (turn + np.pi) % (2 * np.pi) - np.pi

    def at(share: Floats) -> Floats:
        angle = begin[p] + turn[p] * share
        x = np.where(runs.r[p] > 0, runs.cx[p] + runs.r[p] * np.cos(angle), runs.xl[p] + (runs.xu - runs.xl)[p] * share)
        y = np.where(runs.r[p] > 0, runs.cy[p] + runs.r[p] * np.sin(angle), runs.yl[p] + (runs.yu - runs.yl)[p] * share)
        return np.stack((x, y))

    return at(k / count[p]), at((k + 1) / count[p])


def _winding(runs: Runs, low: Floats, step: float, shape: tuple[int, int]) -> Flags:
    """Return which bucket centres lie inside: crossings of each bucket row, then a running sum."""
    rows, columns = shape
    first = np.ceil((runs.yl - low[1]) / step - 0.5).astype(np.int64)
    last = np.ceil((runs.yu - low[1]) / step - 0.5).astype(np.int64)
    first, last = np.clip(first, 0, rows), np.clip(last, 0, rows)
    count = last - first
    p = np.repeat(np.arange(len(count)), count)
    row = np.arange(len(p)) - np.repeat(np.cumsum(count) - count, count) + first[p]
    x = _x_at(runs, p, low[1] + (row + 0.5) * step)
    column = np.clip(np.ceil((x - low[0]) / step - 0.5).astype(np.int64), 0, columns)
    crossings = np.zeros((rows, columns + 1))
    np.add.at(crossings, (row, column), -runs.up[p])
    return np.asarray(np.cumsum(crossings, axis=1)[:, :columns] > 0.5)


def marked_buckets(runs: Runs, step: float) -> Floats:
    """Return the corners of all buckets of side `step` that the boundary touches, as rows x, y without repeats."""
    corner = np.array([runs.x_least.min(), runs.yl.min()]) - step
    a, b = _steps(runs, step * 0.999)
    low = np.floor((np.minimum(a, b) - 1e-9 - corner[:, None]) / step).astype(np.int64)
    high = np.floor((np.maximum(a, b) + 1e-9 - corner[:, None]) / step).astype(np.int64)
    spots = [np.stack((x, y), axis=1) for x in (low[0], high[0]) for y in (low[1], high[1])]
    buckets = np.unique(np.concatenate(spots), axis=0)
    grid = np.concatenate([buckets + np.array((dx, dy)) for dx in (0, 1) for dy in (0, 1)])
    return np.asarray(np.unique(grid, axis=0) * step + corner, dtype=np.float64)


def near_and_in(runs: Runs, boxes: Floats, step: float) -> tuple[Flags, Flags]:
    """Return which rectangles the boundary may touch, and which of the others lie wholly inside.

    `step` is the side of a bucket in metres; about half the shorter side of a rectangle is best.
    """
    corner = np.array([runs.x_least.min(), runs.yl.min()]) - step
    size = np.array([runs.x_most.max(), runs.yu.max()]) - corner + step
    step = max(step, float(np.sqrt(size[0] * size[1] / MOST_BUCKETS)))
    columns, rows = (int(np.ceil(v / step)) + 1 for v in size)
    a, b = _steps(runs, step * 0.999)
    low = np.floor((np.minimum(a, b) - 1e-9 - corner[:, None]) / step).astype(np.int64)
    high = np.floor((np.maximum(a, b) + 1e-9 - corner[:, None]) / step).astype(np.int64)
    marked = np.zeros((rows, columns), dtype=np.int64)
    for x in (low[0], high[0]):
        for y in (low[1], high[1]):
            marked[np.clip(y, 0, rows - 1), np.clip(x, 0, columns - 1)] = 1
    sums = np.zeros((rows + 1, columns + 1), dtype=np.int64)
    sums[1:, 1:] = marked.cumsum(0).cumsum(1)
    grid = np.floor((boxes - np.tile(corner, 2)) / step).astype(np.int64)
    x0, x1 = np.clip(grid[:, 0], 0, columns), np.clip(grid[:, 2] + 1, 0, columns)
    y0, y1 = np.clip(grid[:, 1], 0, rows), np.clip(grid[:, 3] + 1, 0, rows)
    near = sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0] > 0
    middle = np.floor(((boxes[:, :2] + boxes[:, 2:]) / 2 - corner) / step).astype(np.int64)
    on_grid = ((middle >= 0) & (middle < (columns, rows))).all(axis=1)
    inside = _winding(runs, corner, step, (rows, columns))
    mx, my = np.clip(middle[:, 0], 0, columns - 1), np.clip(middle[:, 1], 0, rows - 1)
    return near, inside[my, mx] & on_grid & ~near
