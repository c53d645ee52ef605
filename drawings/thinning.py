"""Lettering spread out where a plan is crowded: what may stand elsewhere makes room, until no square is too full.

Takes a search that has found places and the ink that stands already. Counts lettering and lines in squares of
20 mm, and moves one label at a time to the free place that thins the crowd most for its cost. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.kernel.flatten import polygon
from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box
from .blocks import Block, drop, rise
from .candidates import Options
from .lettering import width
from .oblong import Flags, Floats, Indices
from .obstacles import FLAT, ObstacleIndex
from .placing import Search
from .requests import Lettered

SQUARE, CELL = 20.0, 5.0
SIDE = round(SQUARE / CELL)
SAMPLE = 1.2
"""Ink is put down at points this far apart along a line, mm."""

SIGN_PENS = 1.4
"""A sign is counted as a ring of its size drawn so many pens wide: strokes across it and fillings come to that."""

WORTH = 3000.0
"""What it is worth in the cost of places that a square is less full: times its excess over the limit, squared."""

SLACK = 0.045
"""A square that is fuller than the limit by less is let stand."""

MOVES = 80
LEAST_GAIN = 1e-6
"""A move that lowers the squared excess by less does not help."""


def ink_of(setting: Block) -> float:
    """Return the area of the ink boxes of a block's lines, mm²."""
    return sum(width(w.words, w.style, w.capitals) * (rise(w) + drop(w)) for w in setting.lines)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A plan field in cells of 5 mm: its lower left corner, and how many cells it is wide and high."""

    x0: float
    y0: float
    across: int
    up: int

    @classmethod
    def of(cls, field: Box) -> Sheet:
        """Return the cells of a field, from its upper left corner; the last ones hang over its rim."""
        across, up = (max(SIDE, int(-(-size // CELL))) for size in (field.width, field.height))
        return cls(field.x0, field.y1 - up * CELL, across, up)

    def cells(self, x: Floats, y: Floats) -> Indices:
        """Return the number of the cell of each point; points outside count in the nearest one."""
        i = np.clip(((x - self.x0) // CELL).astype(np.int64), 0, self.across - 1)
        j = np.clip(((y - self.y0) // CELL).astype(np.int64), 0, self.up - 1)
        return np.asarray(j * self.across + i, dtype=np.int64)

    def squares(self, ink: Floats) -> Floats:
        """Return the share of every square of 4 × 4 cells that is ink; `ink` holds cells in its last two axes."""
        sums = np.cumsum(np.cumsum(ink, axis=-2), axis=-1)
        sums = np.pad(sums, [(0, 0)] * (ink.ndim - 2) + [(1, 0), (1, 0)])
        rows = sums[..., SIDE:, :] - sums[..., :-SIDE, :]
        return np.asarray((rows[..., SIDE:] - rows[..., :-SIDE]) / SQUARE**2)

    def standing(self, texts: Sequence[Lettered], index: ObstacleIndex, pen: float) -> Floats:
        """Return the ink of what is drawn already, signs with a `pen`, a row of cells after the other, mm²."""
        ink: Floats = np.zeros(self.across * self.up)
        rows = [(t.corner.x, t.corner.y, t.width, t.height, t.turn) for t in texts]
        if rows:
            x, y, wide, high, turn = np.array(rows).T
            cos, sin = np.cos(turn), np.sin(turn)
            boxes = np.column_stack((x + wide / 2 * cos - high / 2 * sin, y + wide / 2 * sin + high / 2 * cos,
                                     wide / 2, high / 2, cos, sin))
            which, cells, parts = self.spots(boxes, 1)
            np.add.at(ink, cells, (wide * high / parts)[which])
        if len(index.signs):
            x, y, radius = index.signs.T
            np.add.at(ink, self.cells(x, y), 2 * np.pi * SIGN_PENS * pen * radius)
        for run in (*index.heavy, *index.thin):
            self._lines(ink, run.ends, max(run.width, 0.13))
        return ink

    def shaded(self, shades: Sequence[tuple[Region, float]]) -> Floats:
        """Return the ink of textures: areas (mm) and the share of each that is ink, a row of cells after the other."""
        import shapely

        ink: Floats = np.zeros(self.across * self.up)
        half = CELL / 2
        x, y = (g.ravel() for g in np.meshgrid(self.x0 + (np.arange(2 * self.across) + 0.5) * half,
                                               self.y0 + (np.arange(2 * self.up) + 0.5) * half))
        for region, share in shades:
            box = region.box
            near = np.flatnonzero((x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1))
            near = near[shapely.contains_xy(polygon(region, FLAT), x[near], y[near])]
            np.add.at(ink, self.cells(x[near], y[near]), share * half**2)
        return ink

    def _lines(self, ink: Floats, ends: Floats, wide: float) -> None:
        ends = ends[self._here(ends)]
        size = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1])
        count = np.maximum(1, np.ceil(size / SAMPLE)).astype(np.int64)
        which = np.repeat(np.arange(len(ends)), count)
        share = (np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count) + 0.5) / count[which]
        x, y = (ends[which, k] + (ends[which, k + 2] - ends[which, k]) * share for k in (0, 1))
        np.add.at(ink, self.cells(x, y), (size / count * wide)[which])

    def _here(self, ends: Floats) -> Flags:
        x1, y1 = self.x0 + self.across * CELL, self.y0 + self.up * CELL
        return np.asarray((np.minimum(ends[:, 0], ends[:, 2]) < x1) & (np.maximum(ends[:, 0], ends[:, 2]) > self.x0)
                          & (np.minimum(ends[:, 1], ends[:, 3]) < y1) & (np.maximum(ends[:, 1], ends[:, 3]) > self.y0))

    def spots(self, boxes: Floats, rows: int) -> tuple[Indices, Indices, Floats]:
        """Return sample points of boxes: which box, which cell, and how many samples each box has."""
        along = max(2, int(np.ceil(2 * float(boxes[:, 2].max(initial=1.0)) / SAMPLE)))
        u = (np.arange(along) + 0.5) / along * 2 - 1
        v = (np.arange(rows) + 0.5) / rows * 2 - 1
        u, v = (g.ravel() for g in np.meshgrid(u, v))
        dx, dy = boxes[:, 2:3] * u, boxes[:, 3:4] * v
        x = boxes[:, 0:1] + dx * boxes[:, 4:5] - dy * boxes[:, 5:6]
        y = boxes[:, 1:2] + dx * boxes[:, 5:6] + dy * boxes[:, 4:5]
        which = np.repeat(np.arange(len(boxes)), len(u))
        return which, self.cells(x.ravel(), y.ravel()), np.full(len(boxes), float(len(u)))


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of the cells: rows and columns of cells that some options can reach, and the squares about them."""

    low: int
    high: int
    left: int
    right: int


class Thinning:
    """One search, the ink of each of its labels' ways, and the cells in which it is counted."""

    def __init__(self, search: Search, sheet: Sheet, standing: Floats, settings: Callable[[int, str], Block],
                 most: float) -> None:
        self.search, self.sheet, self.settings, self.most = search, sheet, settings, most
        self.ink = standing.reshape(sheet.up, sheet.across).copy()
        self.stuck: set[int] = set()
        for label in np.flatnonzero(search.chosen >= 0).tolist():
            found = search.chosen[label:label + 1]
            part = self._part(found)
            self._cut(part)[...] += self._of(found, part)[0]

    def _cut(self, part: _Part) -> Floats:
        return self.ink[part.low:part.high, part.left:part.right]

    def _part(self, found: Indices) -> _Part:
        """Return the cells that options reach, with those of every square that they can be in."""
        area = self.search.area[found]
        ends = np.array([[area[:, 0].min(), area[:, 1].min()], [area[:, 2].max(), area[:, 3].max()]])
        (j0, i0), (j1, i1) = (divmod(int(k), self.sheet.across) for k in self.sheet.cells(ends[:, 0], ends[:, 1]))
        left, low = max(0, i0 - SIDE + 1), max(0, j0 - SIDE + 1)
        right, high = min(self.sheet.across, i1 + SIDE), min(self.sheet.up, j1 + SIDE)
        return _Part(min(low, self.sheet.up - SIDE), max(high, SIDE), min(left, self.sheet.across - SIDE),
                     max(right, SIDE))

    def _of(self, found: Indices, part: _Part) -> Floats:
        """Return the ink of options of one label in a part of the cells."""
        pool, wide, high = self.search.pool, part.right - part.left, part.high - part.low
        out: Floats = np.zeros((len(found), high * wide))
        ways = pool.way[found]
        for way in sorted(set(ways.tolist())):
            mine = np.flatnonzero(ways == way)
            setting = self.settings(int(pool.owner[found[0]]), way)
            which, at, parts = self.sheet.spots(pool.boxes[found[mine]], 1 if "strip" in way else len(setting.lines))
            j, i = np.divmod(at, self.sheet.across)
            np.add.at(out, (mine[which], (j - part.low) * wide + i - part.left), (ink_of(setting) / parts)[which])
        return out.reshape(len(found), high, wide)

    def excess(self, ink: Floats) -> Floats:
        """Return by how much squares are fuller than they may be, squared and summed."""
        over = np.maximum(self.sheet.squares(ink) - self.most, 0.0)
        return np.asarray((over**2).sum(axis=(-1, -2)))

    def fullest(self) -> tuple[Box, int]:
        """Return the fullest square that is too full and can still be helped, and its number; -1 if there is none."""
        squares = self.sheet.squares(self.ink)
        order = np.argsort(-squares.ravel(), kind="stable")[:len(self.stuck) + 1].tolist()
        at = next((int(k) for k in order if int(k) not in self.stuck), -1)
        if at < 0 or squares.ravel()[at] <= self.most:
            return Box(0.0, 0.0, 1.0, 1.0), -1
        j, i = divmod(at, squares.shape[1])
        x, y = self.sheet.x0 + i * CELL, self.sheet.y0 + j * CELL
        return Box(x, y, x + SQUARE, y + SQUARE), at

    def inside(self, box: Box) -> list[int]:
        """Return the labels whose lettering reaches into a square."""
        search = self.search
        standing = np.flatnonzero(search.chosen >= 0)
        area = search.area[search.chosen[standing]]
        meets = (area[:, 0] < box.x1) & (box.x0 < area[:, 2]) & (area[:, 1] < box.y1) & (box.y0 < area[:, 3])
        found: list[int] = standing[meets].tolist()
        return found

    def run(self, offer: Callable[[Sequence[int]], Options]) -> list[int]:
        """Move labels out of full squares as long as that helps; return the labels in the fullest one left."""
        offered: set[int] = set()
        for _ in range(MOVES):
            box, at = self.fullest()
            if at < 0:
                break
            labels = self.inside(box)
            fresh = offer([k for k in labels if k not in offered])
            offered.update(labels)
            if len(fresh):
                self.search.offer(fresh)
            if not self._eased(labels):
                self.stuck.add(at)
        self.stuck.clear()
        self.most += SLACK
        box, at = self.fullest()
        return self.inside(box) if at >= 0 else []

    @property
    def share(self) -> float:
        """Share of the fullest square that is ink."""
        return float(self.sheet.squares(self.ink).max(initial=0.0))

    def _eased(self, labels: Sequence[int]) -> bool:
        """Make the one move that helps most for its cost; say whether there was one."""
        best: tuple[float, int, _Part, Floats] | None = None
        search = self.search
        for label in labels:
            now = search.chosen[label:label + 1].copy()
            free = search.free(label)
            free = free[free != now[0]]
            if not len(free):
                continue
            part = self._part(np.concatenate((now, free)))
            ink = self._cut(part) - self._of(now, part)[0] + self._of(free, part)
            eased = float(self.excess(self._cut(part))) - self.excess(ink)
            value = np.where(eased > LEAST_GAIN, WORTH * eased - (search.pool.cost[free] - search.pool.cost[now[0]]),
                             -np.inf)
            k = int(np.argmax(np.round(value, 6)))
            if value[k] > 0 and (best is None or value[k] > best[0] + 1e-9):
                best = float(value[k]), int(free[k]), part, ink[k]
        if best is None:
            return False
        search.leave(int(search.pool.owner[best[1]]))
        search.take(best[1])
        self._cut(best[2])[...] = best[3]
        return True
