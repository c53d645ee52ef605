"""What wants lettering on one view while its places are found: blocks, places offered, what hangs in columns.

Places are worked out once against what is fixed; what comes to hang in a column takes those in its way off.
Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from ..geometry.errors import DrawingError
from ..geometry.kernel.flatten import polygon
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from . import spots
from .blocks import Block, block
from .candidates import Anchor, Options, led, touching
from .columns import Hung, hang
from .labelled import as_obstacles, placed_in_column
from .obstacles import FLAT, ObstacleIndex, polygons
from .requests import (
    AreaLabel,
    Column,
    ColumnLabel,
    LineLabel,
    Obstacles,
    Placed,
    PointLabel,
    Request,
    Sign,
    Words,
    is_small,
    small_lines,
)

SAME_POINT = 0.05
RISES = (0.0, 6.0, -6.0, 12.0, -12.0, 18.0, -18.0, 24.0, -24.0, 30.0, -30.0)
"""How far above or below its thing a label may hang in the column so that its leader passes over less, mm."""

SMALL_COST = 2.0
"""What it costs a name to be set small where the plan is crowded."""


def _rounded(at: Point) -> Point:
    return Point(round(at.x, 3), round(at.y, 3))


def with_signs(requests: Sequence[Request], obstacles: Obstacles) -> Obstacles:
    """Let every labelled point count as a sign; one that is among the obstacles already becomes its own."""
    labels = [r for r in requests if isinstance(r, PointLabel)]
    cells: dict[tuple[int, int], list[PointLabel]] = {}
    for label in labels:
        cells.setdefault((round(label.at.x), round(label.at.y)), []).append(label)

    def owner(sign: Sign) -> str:
        i, j = round(sign.at.x), round(sign.at.y)
        near = (r for a in (i - 1, i, i + 1) for b in (j - 1, j, j + 1) for r in cells.get((a, b), ()))
        return next((r.name for r in near if r.at.distance(sign.at) < SAME_POINT), sign.owner)

    signs = [replace(sign, owner=owner(sign)) for sign in obstacles.signs]
    owned = {sign.owner for sign in signs}
    signs += [Sign(at=_rounded(r.at), radius=r.radius, owner=r.name) for r in labels if r.name not in owned]
    signs.sort(key=lambda s: (round(s.at.x, 3), round(s.at.y, 3), s.owner))
    return replace(obstacles, signs=tuple(signs))


@dataclass(slots=True)
class Wanted:
    """The labels of one view, in the order of their names, with what is fixed; numbers are places in that order."""

    requests: tuple[Request, ...]
    obstacles: Obstacles
    within: Box
    columns: tuple[Column, ...]
    plain: ObstacleIndex
    in_column: set[int] = field(default_factory=set)
    refused: set[int] = field(default_factory=set)      # by the column
    level: set[int] = field(default_factory=set)        # hung level with their things
    rises: dict[int, float] = field(default_factory=dict)
    hanging: ObstacleIndex | None = None                # what hangs in columns
    settings: dict[tuple[int, bool], Block] = field(default_factory=dict)
    offered: dict[tuple[int, str], Options] = field(default_factory=dict)
    aims: dict[int, tuple[Point, ...]] = field(default_factory=dict)
    inner: dict[tuple[int, str], Options] = field(default_factory=dict)     # worked out, not yet asked for
    near: Options | None = None
    known: list[tuple[int, shapely.Polygon]] | None = None

    @classmethod
    def of(cls, requests: tuple[Request, ...], obstacles: Obstacles, within: Box, columns: Sequence[Column]) -> Wanted:
        """Return the labels of a view before any is placed."""
        fixed = with_signs(requests, obstacles)
        hung = {k for k, r in enumerate(requests) if isinstance(r, ColumnLabel)}
        return cls(requests, fixed, within, tuple(columns), ObstacleIndex(fixed, within), hung)

    def again(self) -> Wanted:
        """Return the labels before any is placed; the places that have been worked out for them are known still."""
        hung = {k for k, r in enumerate(self.requests) if isinstance(r, ColumnLabel)}
        return replace(self, in_column=hung, refused=set(), level=set(), hanging=None)

    def searched(self) -> list[int]:
        """Return the labels that do not hang in a column."""
        return [k for k in range(len(self.requests)) if k not in self.in_column]

    def setting(self, number: int, way: str = "") -> Block:
        """Return the block of a label as it is set this way."""
        small = is_small(way)
        if (number, small) not in self.settings:
            request = self.requests[number]
            lines = small_lines(request) if small else request.lines
            under = isinstance(request, PointLabel) and request.underlined
            self.settings[number, small] = block(lines, under)
        return self.settings[number, small]

    # ---- columns

    def hung(self) -> list[Placed]:
        """Hang the labels that go to a column, and remember what they stand in the way of."""
        ready = [self._hung(k) for k in sorted(self.in_column)]
        found = [placed_in_column(self.requests[s.hung.number], s) for s in hang(ready, self.columns, self.plain)]
        self.hanging = ObstacleIndex(as_obstacles(found), self.within) if found else None
        return found

    def _hung(self, number: int) -> Hung:
        request = self.requests[number]
        side = request.side if isinstance(request, ColumnLabel) else ""
        dot = isinstance(request, AreaLabel) or (isinstance(request, ColumnLabel) and request.dot)
        return Hung(number, request.name, self.setting(number, "column"), self._targets(number), side, dot,
                    self._rise(number))

    def _rise(self, number: int) -> float:
        """Return how far above its thing a label would hang best."""
        if number in self.level or isinstance(self.requests[number], ColumnLabel):
            return 0.0
        if number not in self.rises:
            self.rises[number] = min(RISES, key=lambda rise: (self._passed(number, rise), abs(rise)))
        return self.rises[number]

    def _targets(self, number: int) -> tuple[Point, ...]:
        if number not in self.aims:
            self.aims[number] = _aims(self.requests[number], self.plain)
        return self.aims[number]

    def one_hangs(self, crowded: Sequence[int]) -> bool:
        """Let one of the crowded labels go to the column, if any finds room there: its leader passes over the least."""
        able = [k for k in crowded if getattr(self.requests[k], "column", False) and k not in self.refused]
        for number in sorted(able, key=lambda k: (self._passed(k), round(self._room(k), 3), k)):
            if self._goes(number) or (self._rise(number) and self._goes(number, level=True)):
                return True
            self.refused.add(number)
        return False

    def _goes(self, number: int, level: bool = False) -> bool:
        """Let a label go to the column, `level` with its thing if so wished; say whether it finds room there."""
        self.in_column.add(number)
        if level:
            self.level.add(number)
        try:
            self.hung()
        except DrawingError:
            self.in_column.remove(number)
            return False
        return True

    def _passed(self, number: int, rise: float = 0.0) -> int:
        """Return how many named grounds of others, and cut walls, a leader from a thing to its column would pass.

        One that runs along a drawn line passes another.
        """
        at = self._targets(number)[0]
        edge = min((column.edge for column in self.columns), key=lambda x: round(abs(x - at.x), 3), default=at.x)
        way = shapely.LineString([(at.x, at.y), (edge, at.y + rise)])
        walls = len(self.plain.cut.query(way, predicate="intersects"))
        walls += int(self.plain.run_along(np.array([(at.x, at.y, edge, at.y + rise)]))[0])
        return walls + sum(1 for k, ground in self.grounds() if k != number and ground.intersects(way))

    def _room(self, number: int) -> float:
        request = self.requests[number]
        if isinstance(request, AreaLabel):
            return sum(r.area for r in request.regions)
        return request.path.box.width * request.path.box.height if isinstance(request, LineLabel) else 0.0

    # ---- places offered

    def anchors(self) -> dict[int, Anchor]:
        """Return the points that want labels."""
        return {k: Anchor(k, r.name, round(r.at.x, 3), round(r.at.y, 3), r.radius, self.setting(k), r.gaps, r.places,
                          r.leader)
                for k, r in enumerate(self.requests) if isinstance(r, PointLabel)}

    def touching(self, anchors: dict[int, Anchor]) -> Options:
        """Return the places at which labels of points touch their points."""
        if self.near is None:
            self.near = self._at_home(touching(list(anchors.values()), self.plain))
        return self.near

    def hopeless(self, anchors: dict[int, Anchor]) -> list[int]:
        """Return the points whose labels can stand nowhere, however the others stand."""
        having = set(self.touching(anchors).owner.tolist())
        bare = [k for k in anchors if k not in having]
        for fine in (False, True):
            led_ones = set(self.leaders(bare, anchors, fine).owner.tolist()) if bare else set()
            bare = [k for k in bare if k not in led_ones]
        return bare

    def spreads(self, numbers: Sequence[int], way: str = "") -> list[Options]:
        """Return the places of names without a leader (see `spread`); those inside areas are worked out together."""
        asked = [self._asked(k, way) for k in numbers if k not in self.in_column and (k, way) not in self.offered]
        areas = [one for one in asked if one is not None]
        if areas:
            places = spots.inside(areas, self.plain)
            self.inner |= {(one[0].number, way): found for one, found in zip(areas, places, strict=True)}
        return [self.spread(k, way) for k in numbers]

    def _asked(self, number: int, way: str) -> tuple[spots.Named, Sequence[Region], Sequence[Words]] | None:
        """Return what an area wants to stand inside it."""
        request = self.requests[number]
        if not isinstance(request, AreaLabel):
            return None
        named = spots.Named(number, request.name, self.setting(number, way), request.leader)
        return named, request.regions, small_lines(request) if way else request.lines

    def spread(self, number: int, way: str = "") -> Options:
        """Return the places of an area's or a line's name without a leader; `way` 'small' sets it in small lines."""
        return self._offer([number], way, lambda numbers: self._spread(numbers[0], way))

    def leaders(self, numbers: Sequence[int], anchors: dict[int, Anchor], fine: bool = False) -> Options:
        """Return the places of labels on leaders."""
        points = [k for k in numbers if k in anchors]
        lots = [self._offer(points, "fine" if fine else "led",
                            lambda fresh: self._at_home(led([anchors[k] for k in fresh], self.plain, fine)))]
        lots.append(self._offer([k for k in numbers if k not in anchors], "led", self._leaders))
        return Options.joined(lots)

    def thinner(self, numbers: Sequence[int], anchors: dict[int, Anchor]) -> Options:
        """Return more places for labels where the plan is crowded: small, or on a leader and on no named ground."""
        lots = [self.leaders([k for k in numbers if k in anchors], anchors)]
        names = [k for k in numbers if k not in anchors]
        lots.append(spots.off_all(self.leaders(names, anchors), [shape for _, shape in self.grounds()]))
        lots += self.spreads([k for k in names if small_lines(self.requests[k]) != self.requests[k].lines], "small")
        return Options.joined(lots)

    def _offer(self, numbers: Sequence[int], way: str, make: Callable[[Sequence[int]], Options]) -> Options:
        """Return the places of labels that do not hang in a column, each worked out once by `make`."""
        here = [k for k in numbers if k not in self.in_column]
        fresh = [k for k in here if (k, way) not in self.offered]
        if fresh:
            made = self._out_of_doors(make(fresh))
            for k in fresh:
                self.offered[k, way] = made.kept(made.owner == k)
        return self.clear(Options.joined([Options.none(), *(self.offered[k, way] for k in here)]))

    def clear(self, found: Options) -> Options:
        """Return the options that nothing in a column bars."""
        if self.hanging is None or not len(found):
            return found
        found = found.kept(~self.hanging.struck(found.boxes))
        led_ones = ~np.isnan(found.leaders[:, 0])
        barred = led_ones.copy()
        barred[led_ones] = self.hanging.blocked_leaders(found.leaders[led_ones], [""] * int(led_ones.sum()))
        return found.kept(~barred)

    def _spread(self, number: int, way: str) -> Options:
        request = self.requests[number]
        if isinstance(request, PointLabel | ColumnLabel):
            return Options.none()
        named = spots.Named(number, request.name, self.setting(number, way), request.leader)
        lines = small_lines(request) if way else request.lines
        if isinstance(request, AreaLabel):
            known = self.inner.pop((number, way), None)
            found = known if known is not None else spots.inside([(named, request.regions, lines)], self.plain)[0]
            found = spots.off_foreign(found, self._smaller(number))
        else:
            found = spots.along(named, request, lines, self.plain)
            on = found.way == "on it"
            found = Options.joined([found.kept(on), spots.off_foreign(found.kept(~on), self.grounds())])
        if way:
            return found.small(SMALL_COST)
        smaller = small_lines(request) != request.lines
        return self._spread(number, "small") if smaller and not len(found) else found

    def _smaller(self, number: int) -> list[tuple[int, shapely.Polygon]]:
        """Return the grounds that are smaller than one's own: crowns that hang over it."""
        own = sum(shape.area for k, shape in self.grounds() if k == number)
        return [(k, shape) for k, shape in self.grounds() if k != number and shape.area < own]

    def _leaders(self, numbers: Sequence[int]) -> Options:
        """Return the places on leaders of names of areas and lines, dearer on ground that is not their own."""
        areas: list[tuple[spots.Named, Sequence[Region]]] = []
        lines: list[tuple[spots.Named, Path | Loop]] = []
        for number in numbers:
            request = self.requests[number]
            if isinstance(request, AreaLabel | LineLabel):
                named = spots.Named(number, request.name, self.setting(number, "leader"), request.leader)
                if isinstance(request, AreaLabel):
                    areas.append((named, request.regions))
                else:
                    lines.append((named, request.path))
        found = Options.joined([spots.led_areas(areas, self.plain), spots.led_lines(lines, self.plain)])
        return spots.off_foreign(found, self.grounds())

    def _out_of_doors(self, found: Options) -> Options:
        """Return the places that are not inside the buildings of others."""
        for k, room in self.grounds():
            request = self.requests[k]
            if isinstance(request, AreaLabel) and request.alone:
                found = found.kept(~shapely.intersects(room, polygons(found.boxes)) | (found.owner == k))
        return found

    def _at_home(self, found: Options) -> Options:
        """Return the places of points' labels, dearer on named ground that the point does not stand on."""
        for k, request in enumerate(self.requests):
            if isinstance(request, PointLabel) and request.at_home:
                at = shapely.Point(request.at.x, request.at.y)
                found = spots.off_foreign(found, [(j, ground) for j, ground in self.grounds()
                                                  if not ground.intersects(at)], k)
        return found

    def grounds(self) -> list[tuple[int, shapely.Polygon]]:
        """Return the ground of each named area, with the number of its request."""
        if self.known is None:
            self.known = [(k, polygon(region, FLAT)) for k, r in enumerate(self.requests) if isinstance(r, AreaLabel)
                          for region in r.regions]
        return self.known


def _aims(request: Request, index: ObstacleIndex) -> tuple[Point, ...]:
    """Return the points that a leader from a column may end at, the best first."""
    if isinstance(request, AreaLabel):
        found = tuple(_rounded(Point(x, y)) for x, y in spots.dots(request.regions, index).tolist())
        return found or (_rounded(request.regions[0].box.centre),)
    if isinstance(request, LineLabel):
        segments = request.path.segments
        return tuple(_rounded(s.point(0.5)) for s in sorted(segments, key=lambda s: -round(s.length, 3))[:4])
    return (_rounded(request.at),)
