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
RIM = SIDE - 1
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
        i = np.minimum(np.maximum(((x - self.x0) // CELL).astype(np.int64), 0), self.across - 1)
        j = np.minimum(np.maximum(((y - self.y0) // CELL).astype(np.int64), 0), self.up - 1)
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
            which, cells, parts = self.spots(boxes, np.ones(len(boxes), dtype=np.int64))
            np.add.at(ink, cells, (wide * high / parts)[which])
        if len(index.signs):
            x, y, radius = index.signs.T
            np.add.at(ink, self.cells(x, y), 2 * np.pi * SIGN_PENS * pen * radius)
        for run in (*index.heavy, *index.thin):
            self._lines(ink, run.ends, max(run.width, 0.13))
        x, y, area = index.solids.T
        np.add.at(ink, self.cells(x, y), area)
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

    def spots(self, boxes: Floats, rows: Indices) -> tuple[Indices, Indices, Floats]:
        """Return sample points of boxes with so many rows each: which box, which cell, and the samples of each box."""
        along = np.maximum(2, np.ceil(2 * boxes[:, 2] / SAMPLE)).astype(np.int64)
        count = along * rows
        which = np.repeat(np.arange(len(boxes)), count)
        row, place = np.divmod(np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count), along[which])
        box = boxes[which]
        dx = box[:, 2] * ((place + 0.5) / along[which] * 2 - 1)
        dy = box[:, 3] * ((row + 0.5) / rows[which] * 2 - 1)
        x = box[:, 0] + dx * box[:, 4] - dy * box[:, 5]
        y = box[:, 1] + dx * box[:, 5] + dy * box[:, 4]
        return which, self.cells(x, y), count.astype(float)


@dataclass(frozen=True, slots=True)
class _Prints:
    """Options of one label and the share of squares that each would be: the squares from a first row and column on."""

    options: Indices
    low: Indices
    left: Indices
    share: Floats       # options × rows × columns

    def at(self, which: Indices) -> tuple[Indices, Indices]:
        """Return the rows and columns of the squares of some of the options."""
        _, high, wide = self.share.shape
        return ((self.low[which, None] + np.arange(high))[:, :, None],
                (self.left[which, None] + np.arange(wide))[:, None, :])


class Thinning:
    """One search, the ink of each of its labels' ways, and the squares in which it is counted.

    Squares are told by their lower left cell; a rim of squares beyond the sheet is never full.
    """

    def __init__(self, search: Search, sheet: Sheet, standing: Floats, shade: Floats,
                 settings: Callable[[int, str], Block], most: float) -> None:
        self.search, self.sheet, self.settings, self.most = search, sheet, settings, most
        self.bare = 1 - np.minimum(shade / CELL**2, 1.0)    # of each cell: lettering takes the place of a texture
        self.stuck: set[int] = set()
        self._prints: dict[int, list[_Prints]] = {}
        self._at: dict[int, tuple[_Prints, int]] = {}               # the print of an option and its place in it
        self._inks: dict[tuple[int, str], tuple[int, float]] = {}   # rows of samples and ink of a label set in a way
        ink = standing + shade
        placed = search.chosen[search.chosen >= 0]
        _, cells, share = self._spots(placed)
        np.add.at(ink, cells, share)
        squares = sheet.squares(ink.reshape(sheet.up, sheet.across))
        self.full: Floats = np.pad(squares, RIM, constant_values=-np.inf)

    @property
    def squares(self) -> Floats:
        """Share of each square that is ink."""
        return self.full[RIM:-RIM, RIM:-RIM]

    def _spots(self, options: Indices) -> tuple[Indices, Indices, Floats]:
        """Return the ink of options in spots: which of the options, which cell, mm² of ink."""
        pool = self.search.pool
        set_as = list(zip(pool.owner[options].tolist(), pool.way[options].tolist(), strict=True))
        for label, way in set_as:
            if (label, way) not in self._inks:
                setting = self.settings(label, way)
                self._inks[label, way] = 1 if "strip" in way else len(setting.lines), ink_of(setting)
        rows = np.array([self._inks[one][0] for one in set_as], dtype=np.int64)
        ink = np.array([self._inks[one][1] for one in set_as])
        which, cells, count = self.sheet.spots(pool.boxes[options], rows)
        return which, cells, (ink / count)[which] * self.bare[cells]

    def _printed(self, label: int) -> list[_Prints]:
        """Return the prints of all options of a label, worked out once for each."""
        known = self._prints.setdefault(label, [])
        own = self.search.of[label][sum(len(lot.options) for lot in known):]
        if len(own):
            which, cells, ink = self._spots(own)
            j, i = np.divmod(cells, self.sheet.across)
            low, left = (np.full(len(own), most) for most in (self.sheet.up, self.sheet.across))
            np.minimum.at(low, which, j)
            np.minimum.at(left, which, i)
            high, wide = int((j - low[which]).max()) + 1, int((i - left[which]).max()) + 1
            low, left = np.minimum(low, self.sheet.up - high), np.minimum(left, self.sheet.across - wide)
            j, i = j - low[which], i - left[which]
            share: Floats = np.zeros((len(own), high + 2 * RIM, wide + 2 * RIM))
            np.add.at(share, (which, j + RIM, i + RIM), ink)
            # A square holds the cells from its own to three further: sums over four rows, then over four columns.
            rows = np.stack([share[:, k:k + high + RIM] for k in range(SIDE)]).sum(axis=0)
            share = np.stack([rows[:, :, k:k + wide + RIM] for k in range(SIDE)]).sum(axis=0)
            known.append(_Prints(own, low, left, share / SQUARE**2))
            self._at |= {option: (known[-1], k) for k, option in enumerate(own.tolist())}
        return known

    def _excess(self, share: Floats) -> Floats:
        """Return by how much squares are fuller than they may be, squared."""
        return np.asarray(np.maximum(share - self.most, 0.0)**2)

    def fullest(self) -> tuple[Box, int]:
        """Return the fullest square that is too full and can still be helped, and its number; -1 if there is none."""
        squares = self.squares
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

    def run(self, offer: Callable[[Sequence[int]], Options], hung: bool = False) -> list[int]:
        """Move labels out of full squares as long as that helps; return the labels in the fullest one left.

        `hung` says that others hang in a column: a square that holds only such is passed over.
        """
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
        return self._left(hung)

    def _left(self, hung: bool) -> list[int]:
        """Return the labels in the fullest square left."""
        while (found := self.fullest())[1] >= 0:
            labels = self.inside(found[0])
            if labels or not hung:
                return labels
            self.stuck.add(found[1])
        return []

    @property
    def share(self) -> float:
        """Share of the fullest square that is ink."""
        return float(self.squares.max(initial=0.0))

    def _eased(self, labels: Sequence[int]) -> bool:
        """Make the one move that helps most for its cost; say whether there was one."""
        best: tuple[float, int] | None = None
        for label in labels:
            found = self._best(label)
            if found is not None and (best is None or found[0] > best[0] + 1e-9):
                best = found
        if best is None:
            return False
        label = int(self.search.pool.owner[best[1]])
        self._count(int(self.search.chosen[label]), -1.0)
        self.search.leave(label)
        self.search.take(best[1])
        self._count(best[1], 1.0)
        return True

    def _count(self, option: int, times: float) -> None:
        """Count the ink of an option in, or out."""
        share, at = self._print(option)
        self.full[at] += times * share

    def _print(self, option: int) -> tuple[Floats, tuple[Indices, Indices]]:
        """Return the share of squares that an option is, and where they are."""
        if option not in self._at:
            self._printed(int(self.search.pool.owner[option]))
        lot, k = self._at[option]
        here = np.array([k])
        return lot.share[here], lot.at(here)

    def _best(self, label: int) -> tuple[float, int] | None:
        """Return by how much the free option of a label that helps most helps, for its cost, and the option itself."""
        search, now = self.search, int(self.search.chosen[label])
        share, at = self._print(now)
        without = self.full.copy()
        without[at] -= share
        over = self._excess(without)
        relief = float((self._excess(self.full[at]) - over[at]).sum())
        best: tuple[float, int] | None = None
        for lot in self._printed(label):
            which = ((search.blocked[lot.options] == 0) & (lot.options != now)).nonzero()[0]
            if not len(which):
                continue
            at = lot.at(which)
            eased = relief - (self._excess(without[at] + lot.share[which]) - over[at]).sum(axis=(1, 2))
            dearer = search.pool.cost[lot.options[which]] - search.pool.cost[now]
            value = np.round(np.where(eased > LEAST_GAIN, WORTH * eased - dearer, -np.inf), 6)
            if value.max() > max(best[0] if best else 0.0, 0.0):
                best = float(value.max()), int(lot.options[which[np.argmax(value)]])
        return best
