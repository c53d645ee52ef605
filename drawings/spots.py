"""Where an area's or a line thing's name may stand: inside, turned with a strip, along the line, or on a leader.

Takes requests and the index of obstacles, gives options with their cost: the emptiest place is the
cheapest. Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import shapely

from ..geometry.kernel.flatten import line, polygon
from ..geometry.kernel.path import Loop, Path, Region
from .blocks import Block, in_one_line
from .candidates import (
    LEADERS_KEPT,
    MIDDLE,
    ROW,
    THIN_BASE,
    Feet,
    Options,
    claimed,
    clear_leaders,
    leader_options,
    options,
    thin_cost,
)
from .oblong import Flags, Floats, bounds
from .obstacles import FLAT, ObstacleIndex, polygons, straight
from .requests import LineLabel, Words

EDGE_CLEAR = 1.0
"""Clear space between lettering and the outline of its area, mm."""

ROOM_MOST = 8.0
"""Clear space beyond which one place is as empty as another, mm."""

ROOM_COST, OFF_MIDDLE, STRIP_COST, TURN_COST = 0.6, 0.02, 3.0, 1.0
KEPT = 80
STATION = 2.0
DOT_ROOM, WALL_ROOM = 1.0, 1.5
OUT_COST = 4.0
FOREIGN_COST = 24.0
"""What it costs a name on a leader to stand on another's ground, where it could be taken for that one's name."""



Lot: TypeAlias = tuple[Floats, shapely.Polygon]
"""Boxes of lettering, and the area that they are to stand in."""


@dataclass(frozen=True, slots=True)
class Named:
    """An area or a line that wants its name: its number among all requests, name, block and longest leader."""

    number: int
    name: str
    setting: Block
    leader: float


def _grid(shape: shapely.Polygon) -> Floats:
    """Points inside, spaced by the size of the area, from the lower left upwards."""
    x0, y0, x1, y1 = shape.bounds
    step = float(np.clip(math.sqrt(shape.area) / 14.0, 1.2, 6.0))
    xs = np.arange((x0 + x1) / 2 - math.floor((x1 - x0) / 2 / step) * step, x1, step)
    ys = np.arange((y0 + y1) / 2 - math.floor((y1 - y0) / 2 / step) * step, y1, step)
    x, y = (g.ravel() for g in np.meshgrid(xs, ys))
    inside = shapely.contains_xy(shape, x, y)
    return np.stack((x[inside], y[inside]), axis=1)


def _level(points: Floats, wide: float, high: float) -> Floats:
    count = len(points)
    return np.stack((points[:, 0], points[:, 1], np.full(count, wide / 2), np.full(count, high / 2), np.ones(count),
                     np.zeros(count)), axis=1)


def readable(turn: Floats) -> Floats:
    """Return directions turned so that lettering reads from below or from the right: in (-90, 90] degrees."""
    half = math.pi / 2
    out = (turn + half) % math.pi - half
    return np.where(out < -half + math.radians(1.0), out + math.pi, out)


def _room(lots: Sequence[Lot], index: ObstacleIndex) -> Floats:
    """Clear space round each box of all lots: to the outline, to lines and to lettering, at most ROOM_MOST."""
    shapes = [polygons(boxes) for boxes, _ in lots]
    room = np.minimum(np.concatenate([shapely.distance(shape.boundary, own)
                                      for own, (_, shape) in zip(shapes, lots, strict=True)]), ROOM_MOST)
    if len(index.everything.geometries):
        (which, _), gap = index.everything.query_nearest(np.concatenate(shapes), max_distance=ROOM_MOST,
                                                         return_distance=True, all_matches=False)
        room[which] = np.minimum(room[which], gap)
    return np.asarray(room)


def _in_areas(lots: Sequence[Lot], index: ObstacleIndex) -> list[Lot]:
    """Return of each lot the boxes that can stand: inside their area, clear of all that keeps lettering off."""
    held = [boxes[_held(boxes, shape)] for boxes, shape in lots]
    which = np.repeat(np.arange(len(lots)), [len(boxes) for boxes in held])
    boxes = np.concatenate(held)
    for bad in (lambda boxes: index.outside(bounds(boxes)), index.struck, index.on_signs,
                lambda boxes: claimed(boxes, index)):
        good = ~bad(boxes)
        boxes, which = boxes[good], which[good]
    return [(boxes[which == k], shape) for k, (_, shape) in enumerate(lots)]


def _held(boxes: Floats, shape: shapely.Polygon) -> Flags:
    """Say which boxes lie well inside an area."""
    inner = shape.buffer(-EDGE_CLEAR)
    if inner.is_empty or not len(boxes):
        return np.zeros(len(boxes), dtype=bool)
    shapely.prepare(inner)
    return np.asarray(shapely.contains(inner, polygons(boxes)), dtype=bool)


def _strip_boxes(points: Floats, shape: shapely.Polygon, wide: float, high: float) -> Floats:
    """Return turned boxes at grid points: along the whole shape, and along its nearest edge."""
    ring = shapely.get_coordinates(shapely.minimum_rotated_rectangle(shape))
    if len(ring) < 4:
        return np.zeros((0, 6))
    sides = ring[1:3] - ring[0:2]
    longest = sides[np.argmax(np.hypot(sides[:, 0], sides[:, 1]))]
    edges = shapely.get_coordinates(shape.exterior)
    steps = edges[1:] - edges[:-1]
    tree = shapely.STRtree(straight(np.concatenate((edges[:-1], edges[1:]), axis=1)))
    which, edge = tree.query_nearest(shapely.points(points))
    near = edge[np.unique(which, return_index=True)[1]]
    along = np.arctan2(steps[near, 1], steps[near, 0])
    turns = readable(np.concatenate((np.full(len(points), math.atan2(longest[1], longest[0])), along)))
    both = np.concatenate((points, points))
    return np.stack((both[:, 0], both[:, 1], np.full(len(both), wide / 2), np.full(len(both), high / 2), np.cos(turns),
                     np.sin(turns)), axis=1)


def _costed(asked: Sequence[Named], lots: Sequence[Lot], index: ObstacleIndex, align: int, way: str,
            extra: float) -> list[Options]:
    """Return the boxes of each lot, one of each that asks, as places with their cost, the cheapest first."""
    if not lots:
        return []
    room, boxes = _room(lots, index), np.concatenate([own for own, _ in lots])
    middles = np.repeat([shape.centroid.coords[0] for _, shape in lots], [len(own) for own, _ in lots], axis=0)
    off = np.hypot(boxes[:, 0] - middles[:, 0], boxes[:, 1] - middles[:, 1])
    cost = extra + ROOM_COST * (ROOM_MOST - room) + OFF_MIDDLE * off + thin_cost(boxes, index) \
        + TURN_COST * np.abs(boxes[:, 5])
    found, first = [], 0
    for named, (own, _) in zip(asked, lots, strict=True):
        lot = options(named.number, own.round(5), cost[first:first + len(own)], align, way)
        found.append(lot.kept(lot.cost.argsort(kind="stable")[:KEPT]))
        first += len(own)
    return found


def inside(asked: Sequence[tuple[Named, Sequence[Region], Sequence[Words]]], index: ObstacleIndex) -> list[Options]:
    """Return places inside areas, of each name asked for: the level block, or in a strip one row turned with it.

    Most of it is worked out for all of them together.
    """
    shapes = [[s for s in (polygon(region, FLAT) for region in regions) if not s.is_empty] for _, regions, _ in asked]
    grids = [[_grid(shape) for shape in own] for own in shapes]
    everyone = range(len(asked))
    level = _stood(asked, everyone, [[(_level(points, named.setting.width, named.setting.height), shape)
                                      for points, shape in zip(grids[k], shapes[k], strict=True)]
                                     for k, (named, _, _) in enumerate(asked)], index, (MIDDLE, "inside", 0.0))
    bare = [k for k in everyone if not len(level[k])]
    rows: list[list[Lot]] = []
    for k in bare:
        wide, above, below = in_one_line(asked[k][2])
        rows.append([(_strip_boxes(points, shape, wide, above + below), shape)
                     for points, shape in zip(grids[k], shapes[k], strict=True) if len(points)])
    for k, found in zip(bare, _stood(asked, bare, rows, index, (ROW, "strip", STRIP_COST)), strict=True):
        level[k] = found
    return level


def _stood(asked: Sequence[tuple[Named, Sequence[Region], Sequence[Words]]], which: Sequence[int],
           boxes: Sequence[Sequence[Lot]], index: ObstacleIndex, way: tuple[int, str, float]) -> list[Options]:
    """Return the places of those asked for, each of the lots of boxes of its areas."""
    lots = [lot for own in boxes for lot in own]
    names = [asked[k][0] for k, own in zip(which, boxes, strict=True) for _ in own]
    found = iter(_costed(names, _in_areas(lots, index), index, *way) if lots else ())
    return [Options.joined([Options.none(), *(next(found) for _ in own)]) for own in boxes]


EDGE_ROOM = 1.5
"""A leader's dot keeps this far inside its area if it can, mm: nearer, it could be taken for the neighbour's."""

ENOUGH, SLACK = 2, 0.5
"""Where so many dots stand well, none is offered that has less room than the best by more than this, mm."""


def dots(regions: Sequence[Region], index: ObstacleIndex, most: int = 6) -> Floats:
    """Return places for the dot of a leader inside an area: well inside, off signs and lines, apart from each other."""
    found: list[tuple[float, float, float]] = []
    for region in regions:
        shape = polygon(region, FLAT)
        points = _grid(shape)
        if not len(points):
            inner = shape.representative_point()
            points = np.array([[inner.x, inner.y]])
        spots = shapely.points(points)
        edge = shapely.distance(shape.boundary, spots)      # on an edge a dot could be of either side
        room = np.where(edge < EDGE_ROOM, edge - EDGE_ROOM, np.minimum(edge, 4.0))
        which, sign = index.sign_tree.query(spots, predicate="dwithin", distance=index.sign_reach + DOT_ROOM)
        if len(which):
            gap = np.hypot(*(points[which] - index.signs[sign, :2]).T) - index.signs[sign, 2]
            np.minimum.at(room, which, np.where(gap < DOT_ROOM, gap - DOT_ROOM, room[which]))
        gap = index.off_lines(points, DOT_ROOM)
        room = np.where(gap < DOT_ROOM, np.minimum(room, gap - DOT_ROOM), room)
        found += [(-float(r), float(y), float(x)) for r, (x, y) in zip(room, points, strict=True)]
    found.sort(key=lambda f: (round(f[0], 3), round(f[1], 3), round(f[2], 3)))
    least = min(-found[0][0], 0.0) - SLACK if found else 0.0
    kept: list[tuple[float, float]] = []
    for worse, y, x in found:
        if len(kept) == most or (len(kept) >= ENOUGH and -worse < least):
            break
        if all(math.hypot(x - a, y - b) >= 6.0 for a, b in kept):
            kept.append((x, y))
    return np.array(kept).reshape(-1, 2)


def led(wanting: Sequence[tuple[Named, Floats]], way: str, index: ObstacleIndex) -> Options:
    """Return blocks on leaders that end at one of the points of each label, by label and cost."""
    lots: list[Options] = []
    for longest in sorted({named.leader for named, _ in wanting if named.leader > 0}):
        mine = [(named, points) for named, points in wanting if named.leader == longest and len(points)]
        if mine:
            lots.append(leader_options(Feet.joined([Feet.of(named.number, points, named.setting)
                                                    for named, points in mine]), longest, way))
    # Lines below the first stand away from the leader that says whose they are.
    far = [named.number for named, _ in wanting if len(named.setting.lines) > 1]
    names = {named.number: named.name for named, _ in wanting}
    return clear_leaders(Options.joined(lots), names, index, LEADERS_KEPT * 2, far) if lots else Options.none()


def led_areas(wanting: Sequence[tuple[Named, Sequence[Region]]], index: ObstacleIndex) -> Options:
    """Return blocks outside areas on leaders that end in a dot inside; inside its own area one costs more."""
    found = led([(named, dots(regions, index)) for named, regions in wanting], "leader dot", index)
    cost = found.cost.copy()
    for named, regions in wanting:
        mine = np.flatnonzero(found.owner == named.number)
        shape = shapely.union_all([polygon(region, FLAT) for region in regions])
        shapely.prepare(shape)
        cost[mine[shapely.intersects(shape, polygons(found.boxes[mine]))]] += OUT_COST
    return found.costing(cost)


def off_foreign(found: Options, grounds: Sequence[tuple[int, shapely.Polygon]], only: int | None = None) -> Options:
    """Return the options with those dearer whose boxes lie on foreign ground; `grounds` with the numbers of theirs.

    With `only`, the options of that owner alone.
    """
    mine = np.arange(len(found)) if only is None else np.flatnonzero(found.owner == only)
    if not len(mine) or not grounds:
        return found
    owner = np.array([number for number, _ in grounds])
    boxes, ground = shapely.STRtree([shape for _, shape in grounds]).query(polygons(found.boxes[mine]),
                                                                           predicate="intersects")
    cost = found.cost.copy()
    cost[mine[np.unique(boxes[owner[ground] != found.owner[mine[boxes]]])]] += FOREIGN_COST
    return found.costing(cost)


def off_all(found: Options, grounds: Sequence[shapely.Polygon]) -> Options:
    """Return the options whose boxes lie on none of these grounds."""
    if not len(found) or not grounds:
        return found
    boxes, _ = shapely.STRtree(grounds).query(polygons(found.boxes), predicate="intersects")
    keep = np.ones(len(found), dtype=bool)
    keep[boxes] = False
    return found.kept(keep)


# ---- line things

def _stations(run: shapely.LineString, wide: float) -> Floats:
    """Return chords of the lettering's length along a line: start, end, how far it strays to both sides, off middle."""
    total = run.length
    if total < wide:
        return np.zeros((0, 6))
    middle = np.arange(wide / 2, total - wide / 2 + 1e-9, min(STATION, max(total - wide, 0.5)))
    steps = np.linspace(-0.5, 0.5, 9)
    at = shapely.get_coordinates(shapely.line_interpolate_point(run, (middle[:, None] + wide * steps[None, :]).ravel()))
    at = at.reshape(len(middle), 9, 2)
    chord = at[:, -1] - at[:, 0]
    size = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-9)
    rel = at - at[:, :1]
    left = (chord[:, None, 0] * rel[..., 1] - chord[:, None, 1] * rel[..., 0]) / size[:, None]
    off = np.abs(middle - total / 2)
    return np.column_stack((at[:, 0], at[:, -1], left.max(axis=1), left.min(axis=1), off))


def along(named: Named, request: LineLabel, lines: Sequence[Words], index: ObstacleIndex) -> Options:
    """Return rows set straight along a line thing: inside it or in a gap of it, and beside it on both sides."""
    wide, above, below = in_one_line(lines)
    rows = _stations(line(request.path, FLAT), wide)
    if not len(rows):
        return Options.none()
    half, high, low = (above + below) / 2, rows[:, 4], rows[:, 5]
    width, bend = request.width, high - low
    lots: list[tuple[Floats, Floats, str]] = []
    if width > 0:
        fits = half * 2 + bend + 2 * 0.7 <= width
        lots.append(((high + low) / 2, np.where(fits, bend, np.inf), "along"))
    elif request.on_line:
        lots.append(((high + low) / 2, np.where(bend < STRAIGHT, bend, np.inf), "on it"))
    extra = 1.5 if lots else 0.0
    lots.append((high + width / 2 + request.gap + half, extra + bend, "beside"))
    lots.append((low - width / 2 - request.gap - half, extra + 0.3 + bend, "beside"))
    found = Options.joined([_rowed(named, rows, (wide, half), lot, index) for lot in lots])
    on = found.way == "on it"
    return found.kept(on | (found.cost < THIN_BASE)) if on.any() else found     # rather there than beside on lines


STRAIGHT = 0.5
"""Lettering stands in a gap of a line that strays no more than this from its middle, mm."""


def _rowed(named: Named, rows: Floats, size: tuple[float, float], lot: tuple[Floats, Floats, str],
           index: ObstacleIndex) -> Options:
    """Return the rows of lettering of a size (width, half height) so far to the left of the chords of a line."""
    (wide, half), (offset, cost, way) = size, lot
    x, y = (rows[:, 0] + rows[:, 2]) / 2, (rows[:, 1] + rows[:, 3]) / 2
    turn = np.arctan2(rows[:, 3] - rows[:, 1], rows[:, 2] - rows[:, 0])
    good = np.isfinite(cost) & (rows[:, 4] - rows[:, 5] < 0.12 * wide)
    read = readable(turn)
    boxes = np.column_stack((x - offset * np.sin(turn), y + offset * np.cos(turn), np.full(len(x), wide / 2),
                             np.full(len(x), half), np.cos(read), np.sin(read)))
    good &= ~index.outside(bounds(boxes))
    good[good] = ~index.struck(boxes[good])
    good[good] = ~index.on_signs(boxes[good])
    good[good] = ~claimed(boxes[good], index)
    boxes = boxes[good]
    price = cost[good] + OFF_MIDDLE * rows[good, 6] + TURN_COST * np.abs(boxes[:, 5])
    price += thin_cost(boxes, index, wide + OWN_LINE if way == "on it" else 0.0)
    found = options(named.number, np.round(boxes, 5), price, ROW, way)
    return found.kept(np.argsort(found.cost, kind="stable")[:KEPT])


OWN_LINE = 1.0
"""A line under lettering is longer than it by less than this: the ends of its pieces reach beyond it, mm."""


def led_lines(wanting: Sequence[tuple[Named, Path | Loop]], index: ObstacleIndex) -> Options:
    """Return blocks on leaders to points of line things, not where they run under or beside a cut wall."""
    shares = np.linspace(0.15, 0.85, 8)[[3, 4, 2, 5, 1, 6, 0, 7]]
    feet: list[tuple[Named, Floats]] = []
    for named, path in wanting:
        points = shapely.get_coordinates(shapely.line_interpolate_point(line(path, FLAT), shares, normalized=True))
        walled = index.cut.query(shapely.points(points), predicate="dwithin", distance=WALL_ROOM)[0]
        clear = np.setdiff1d(np.arange(len(points)), walled)
        feet.append((named, points[clear] if len(clear) else points))
    return led(feet, "leader", index)
