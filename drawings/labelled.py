"""Labels that have found their place, as marks: lettering, leaders, and what they now stand in the way of.

Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point, Vec
from .blocks import Block, block_marks, corner_box, row_marks
from .candidates import ALIGNED, ROW
from .columns import Set
from .obstacles import lettered
from .placing import Search
from .requests import Obstacles, Placed, Request, is_small, small_lines
from .sheet import Fill, Group, Mark, Stroke, Text, flat

DOT = 0.5
"""Radius of the dot in which a leader ends inside an area."""


def leader_marks(points: Sequence[Point], dot: bool) -> tuple[Mark, Path]:
    """Return a leader from its thing to its lettering, with a dot at the thing if that is an area."""
    path = Path.through(points)
    marks: list[Mark] = [Stroke(layer="leaders", path=path, pen="thin", classes=("leader",))]
    if dot:
        marks.append(Fill(layer="leaders", region=Region(Loop.circle(points[0], DOT)), classes=("leader-dot",)))
    return Group(layer="leaders", classes=("leader",), marks=tuple(marks)), path


def ink_regions(marks: Sequence[Mark]) -> tuple[Region, ...]:
    """Return the ink box of every line of lettering among marks."""
    texts = [lettered(mark) for mark in flat(tuple(marks)) if isinstance(mark, Text)]
    return tuple(corner_box(t.corner, t.width, t.height, t.turn) for t in texts)


def placed_by_search(request: Request, settings: Callable[[str], Block], search: Search, number: int) -> Placed:
    """Return a searched label as it stands; `settings` gives its block by its way, `number` is its number there."""
    option, pool = int(search.chosen[number]), search.pool
    lines = small_lines(request) if is_small(pool.way[option]) else request.lines
    cx, cy, hx, hy, cos, sin = pool.boxes[option].tolist()
    corner = Point(cx, cy) + Vec(-hx * cos + hy * sin, -hx * sin - hy * cos)
    marks: tuple[Mark, ...]
    if pool.align[option] == ROW:
        marks = row_marks(lines, corner, math.atan2(sin, cos), request.layer, request.classes)
    else:
        setting, align = settings(pool.way[option]), ALIGNED[pool.align[option]]
        marks = block_marks(setting, corner, align, request.layer, request.classes)
    boxes, path = ink_regions(marks), None
    way = pool.way[option]
    way = way.removesuffix(" small")
    if way.startswith("leader"):
        x0, y0, x1, y1 = pool.leaders[option].tolist()
        mark, path = leader_marks((Point(x0, y0), Point(x1, y1)), way.endswith("dot"))
        marks, way = (mark, *marks), "leader"
    return Placed(name=request.name, marks=marks, boxes=boxes, way=way, leader=path, cost=float(pool.cost[option]))


def placed_in_column(request: Request, done: Set) -> Placed:
    """Return a label as it hangs in its column."""
    text = block_marks(done.hung.setting, done.corner, done.align, request.layer, request.classes)
    mark, path = leader_marks(list(done.leader.vertices()), done.hung.dot)
    return Placed(name=request.name, marks=(mark, *text), boxes=ink_regions(text), way="column", leader=path)


def as_obstacles(placed: Sequence[Placed]) -> Obstacles:
    """Return what placed labels put in the way of whatever is set later."""
    texts = tuple(lettered(mark) for p in placed for mark in flat(p.marks) if isinstance(mark, Text))
    dots = tuple(mark.region for p in placed for mark in flat(p.marks) if isinstance(mark, Fill))
    return Obstacles(texts=texts, bodies=dots, leaders=tuple(p.leader for p in placed if p.leader is not None))
