"""A column of labels at a side of the plan: sorted by height, leaders level where they can be, none crossing.

Blocks are pushed apart by the least that makes room (least squares, pooling neighbours that touch); if two
leaders would still cross, their labels change places. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Point
from .blocks import Block
from .candidates import LEADER_GAP
from .oblong import Floats, crossing
from .obstacles import ObstacleIndex
from .requests import Column

APART = (7.0, 4.5, 2.2)
"""Clear spaces between the blocks of a column, mm: the widest that it has room for."""

LEVEL = 0.05
"""Leaders that rise by less than this are drawn level."""

KNEES = (0.0, 4.0, 8.0, 14.0, 22.0)
"""Lengths of the level piece before the lettering that are tried, the straight leader first."""


@dataclass(frozen=True, slots=True)
class Hung:
    """A label for a column: name, block, the points its leader may end at (best first), whether with a dot.

    `rise` is how far above its thing it would hang, so that its leader passes over as little as can be.
    """

    number: int
    name: str
    setting: Block
    targets: tuple[Point, ...]
    side: str
    dot: bool
    rise: float = 0.0


@dataclass(frozen=True, slots=True)
class Set:
    """A label as hung: the lower left corner of its block, alignment, and its leader from thing to lettering."""

    hung: Hung
    corner: Point
    align: str
    leader: Path


def _nearest_side(hung: Hung, columns: Sequence[Column]) -> Column:
    sides = [c for c in columns if c.side == hung.side] or list(columns)
    return min(sides, key=lambda c: (round(abs(c.edge - hung.targets[0].x), 3), c.side))


def shared_out(labels: Sequence[Hung], columns: Sequence[Column]) -> dict[int, list[Hung]]:
    """Give every label to a column (by index): the wished or nearer side, the other one when that is full."""
    lots: dict[int, list[Hung]] = {k: [] for k in range(len(columns))}
    for hung in labels:
        lots[columns.index(_nearest_side(hung, columns))].append(hung)
    for k, column in enumerate(columns):
        others = [j for j in range(len(columns)) if j != k]
        free = [h for h in lots[k] if not h.side]
        free.sort(key=lambda h: (-round(abs(column.edge - h.targets[0].x), 3), h.name))
        while others and free and _needs(lots[k]) > column.high - column.low:
            moved = free.pop(0)
            lots[k].remove(moved)
            lots[others[0]].append(moved)
    return lots


def _needs(labels: Sequence[Hung], apart: float = APART[-1]) -> float:
    return sum(h.setting.height + apart for h in labels) - apart


def _apart(labels: Sequence[Hung], column: Column) -> float:
    """Return the clear space between the blocks of a column."""
    return next((a for a in APART if _needs(labels, a) <= column.high - column.low), APART[-1])


def heights(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float,
            apart: float = APART[-1]) -> list[float]:
    """Return tops of blocks stacked downward in their order, as near as can be to the tops wanted (least squares).

    Blocks `sizes` high (space `apart` below included) neither overlap nor leave low..high; pooling of neighbours that
    touch gives the exact least-squares answer (isotonic regression).
    """
    pools: list[tuple[float, int]] = []     # mean of shifted wishes, count
    depth = 0.0
    depths = []
    for want, size in zip(wanted, sizes, strict=True):
        depths.append(depth)
        mean, count = want + depth, 1
        while pools and pools[-1][0] < mean:
            above, many = pools.pop()
            mean, count = (mean * count + above * many) / (count + many), count + many
        pools.append((mean, count))
        depth += size
    tops = [mean for mean, count in pools for _ in range(count)]
    lowest = low + depth - apart
    return [max(min(top, high), lowest) - d for top, d in zip(tops, depths, strict=True)]


def spaced(stations: Sequence[float], apart: float) -> list[float]:
    """Return rising stations moved by the least (least squares) so that neighbours stand at least `apart` mm apart."""
    tops = heights([-s for s in stations], [apart] * len(stations), -1e9, 1e9)
    return [round(-top, 3) for top in tops]


def _tops(order: Sequence[Hung], column: Column) -> list[float]:
    # A block's top is its shoulder's height plus what stands above the shoulder.
    wanted = [h.targets[0].y + h.rise + h.setting.above - h.setting.shoulder for h in order]
    apart = _apart(order, column)
    return heights(wanted, [h.setting.height + apart for h in order], column.low, column.high, apart)


def _shoulders(order: Sequence[Hung], column: Column) -> list[float]:
    return [top - h.setting.above + h.setting.shoulder for h, top in zip(order, _tops(order, column), strict=True)]


def _uncrossed(order: list[Hung], column: Column) -> list[Hung]:
    """Swap labels whose leaders cross; each swap shortens the leaders, so this ends."""
    for _ in range(len(order) ** 2 + 1):
        ends = _shoulders(order, column)
        lines = np.array([(h.targets[0].x, h.targets[0].y, column.edge, y) for h, y in zip(order, ends, strict=True)])
        pair = next(((i, j) for i in range(len(order)) for j in range(i + 1, len(order))
                     if bool(crossing(lines[i], lines[j]))), None)
        if pair is None:
            break
        order[pair[0]], order[pair[1]] = order[pair[1]], order[pair[0]]
    return order


def _shapes(hung: Hung, column: Column, y: float) -> list[Floats]:
    """Return leaders to try, rows of straight pieces: straight from each target, then with a level piece at the end."""
    inward = 1.0 if column.side == "left" else -1.0
    found = []
    for knee in KNEES:
        for target in hung.targets:
            level = abs(target.y - y) < LEVEL
            x = column.edge + inward * knee
            if knee and (level or (target.x - x) * inward <= 1.0):
                continue
            pieces = [(target.x, target.y, x, y), (x, y, column.edge, y)] if knee else \
                [(target.x, y if level else target.y, column.edge, y)]
            found.append(np.array(pieces))
    return found


def _clear(pieces: Floats, name: str, index: ObstacleIndex, standing: Sequence[Floats]) -> bool:
    if index.blocked_leaders(pieces, [name] * len(pieces)).any():
        return False
    return not any(bool(crossing(pieces[:, None, :], other[None, :, :]).any()) for other in standing)


def _one(hung: Hung, column: Column, top: float, index: ObstacleIndex, standing: list[Floats]) -> Set:
    setting = hung.setting
    y = round(top - setting.above + setting.shoulder, 3)
    clear = [s for s in _shapes(hung, column, y) if _clear(s, hung.name, index, standing)]
    shape = next((s for s in clear if not index.run_along(s).any()), clear[0] if clear else None)
    if shape is None:
        at = hung.targets[0]
        raise refuse(DrawingError, f"the label '{hung.name}' in the column at the {column.side} has no free way for its"
                     f" leader to ({at.x:.0f}, {at.y:.0f}) mm from the sheet's lower left corner",
                     "take a larger scale or sheet, or fewer labels on this sheet", "label-column", hung.name)
    standing.append(shape)
    points = [Point(float(shape[0, 0]), float(shape[0, 1])), *(Point(float(x), float(y)) for x, y in shape[:, 2:])]
    left = column.side == "left"
    corner_x = column.edge - LEADER_GAP - setting.width if left else column.edge + LEADER_GAP
    return Set(hung, Point(round(corner_x, 3), round(top - setting.height, 3)), "end" if left else "start",
               Path.through(points))


def _fits(lot: Sequence[Hung], column: Column) -> None:
    """Refuse a column that is too short or too narrow for its labels."""
    high = column.high - column.low
    if _needs(lot) > high + 1e-9:
        raise refuse(DrawingError, f"{len(lot)} labels need a column of {_needs(lot):.0f} mm at the {column.side}; "
                     f"it is {high:.0f} mm high", "take a larger scale or sheet, or shorter notes", "label-column")
    room = abs(column.limit - column.edge) - LEADER_GAP
    for hung in lot:
        if hung.setting.width > room + 1e-9:
            raise refuse(DrawingError, f"the label '{hung.name}' is {hung.setting.width:.0f} mm wide and its column at "
                         f"the {column.side} has {room:.0f} mm", "break it into shorter lines", "label-wide", hung.name)


def hang(labels: Sequence[Hung], columns: Sequence[Column], index: ObstacleIndex) -> list[Set]:
    """Return labels hung in their columns; DrawingError where a column is too short or narrow, or a way is barred."""
    if labels and not columns:
        raise refuse(DrawingError, f"the label '{labels[0].name}' has no room in the plan and no column beside it",
                     "leave a margin of 44 mm at a side, or take a larger scale or sheet", "label-room",
                     labels[0].name)
    found: list[Set] = []
    for k, lot in sorted(shared_out(labels, columns).items()):
        column = columns[k]
        _fits(lot, column)
        lot.sort(key=lambda h: (-round(h.targets[0].y + h.rise, 3), round(abs(h.targets[0].x - column.edge), 3),
                                h.name))
        order = _uncrossed(lot, column)
        standing: list[Floats] = []
        found += [_one(h, column, top, index, standing) for h, top in zip(order, _tops(order, column), strict=True)]
    return found
