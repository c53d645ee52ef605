"""Labels of one view: the entry that drawings call. Places every label or refuses with label, place and reason.

Fixed things stand first; labels for columns are hung; the rest is searched together. Areas and lines that
find no room go to a column, the sheet is searched again, and the whole is proved by an independent check.
The order of the requests does not matter. Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import shapely

from ..geometry.errors import DrawingError, Problem, Weight, refuse
from ..geometry.kernel.flatten import polygon
from ..geometry.kernel.point import Box, Point
from . import spots
from .blocks import Block, block
from .candidates import Anchor, Options, led, touching
from .columns import Hung, hang
from .crowding import crowding
from .labelled import as_obstacles, placed_by_search, placed_in_column
from .obstacles import FLAT, ObstacleIndex
from .placing import Search
from .proving import prove
from .requests import (
    REPLAN_FROM,
    AreaLabel,
    Column,
    ColumnLabel,
    Crowding,
    LineLabel,
    Obstacles,
    Placed,
    Placement,
    PointLabel,
    Report,
    Request,
    Sign,
)

SAME_POINT = 0.05
WIDENINGS = 2
WIDEN_NEAR = 12.0
"""Labels this near to one that found no place are offered more leaders too."""

COLUMN_ROUNDS = 4


def _sorted(requests: Sequence[Request]) -> tuple[Request, ...]:
    found = tuple(sorted(requests, key=lambda r: r.name))
    twice = next((a.name for a, b in pairwise(found) if a.name == b.name), None)
    if twice is not None:
        raise refuse(DrawingError, f"two labels are named '{twice}'", "give each thing its own name", "label-twice")
    return found


def _rounded(at: Point) -> Point:
    return Point(round(at.x, 3), round(at.y, 3))


def _with_signs(requests: Sequence[Request], obstacles: Obstacles) -> Obstacles:
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
class _View:
    """One view while its labels are found."""

    requests: tuple[Request, ...]
    obstacles: Obstacles
    within: Box
    columns: tuple[Column, ...]
    settings: dict[int, Block] = field(default_factory=dict)
    in_column: set[int] = field(default_factory=set)
    known: list[tuple[int, shapely.Polygon]] | None = None

    def setting(self, number: int) -> Block:
        if number not in self.settings:
            request = self.requests[number]
            self.settings[number] = block(request.lines, isinstance(request, PointLabel) and request.underlined)
        return self.settings[number]

    def hung(self, number: int, index: ObstacleIndex) -> Hung:
        request = self.requests[number]
        side = request.side if isinstance(request, ColumnLabel) else ""
        dot = isinstance(request, AreaLabel) or (isinstance(request, ColumnLabel) and request.dot)
        return Hung(number, request.name, self.setting(number), self._targets(request, index), side, dot)

    @staticmethod
    def _targets(request: Request, index: ObstacleIndex) -> tuple[Point, ...]:
        if isinstance(request, AreaLabel):
            found = tuple(_rounded(Point(x, y)) for x, y in spots.dots(request.regions, index).tolist())
            return found or (_rounded(request.regions[0].box.centre),)
        if isinstance(request, LineLabel):
            segments = request.path.segments
            return tuple(_rounded(s.point(0.5)) for s in sorted(segments, key=lambda s: -round(s.length, 3))[:4])
        return (_rounded(request.at),)

    def anchors(self) -> dict[int, Anchor]:
        return {k: Anchor(k, r.name, round(r.at.x, 3), round(r.at.y, 3), r.radius, self.setting(k), r.gaps, r.places,
                          r.leader)
                for k, r in enumerate(self.requests) if isinstance(r, PointLabel)}

    def spread(self, number: int, index: ObstacleIndex) -> Options:
        """Return the places of an area's or a line's name without a leader."""
        request = self.requests[number]
        if number in self.in_column or isinstance(request, PointLabel | ColumnLabel):
            return Options.none()
        named = spots.Named(number, request.name, self.setting(number), request.leader)
        if isinstance(request, AreaLabel):
            return spots.inside(named, request.regions, request.lines, index)
        return spots.along(named, request.path, request.lines, request.width, request.gap, index)

    def leaders(self, number: int, index: ObstacleIndex, anchors: dict[int, Anchor], fine: bool = False) -> Options:
        """Return the places of a label on leaders."""
        request = self.requests[number]
        if number in anchors:
            return led(anchors[number], index, fine)
        if number in self.in_column or isinstance(request, PointLabel | ColumnLabel):
            return Options.none()
        named = spots.Named(number, request.name, self.setting(number), request.leader)
        if isinstance(request, AreaLabel):
            found = spots.led_area(named, request.regions, index)
        else:
            found = spots.led_line(named, request.path, index)
        return spots.off_foreign(found, [shape for k, shape in self.grounds() if k != number])

    def grounds(self) -> list[tuple[int, shapely.Polygon]]:
        """Return the ground of each named area, with the number of its request."""
        if self.known is None:
            self.known = [(k, polygon(region, FLAT)) for k, r in enumerate(self.requests) if isinstance(r, AreaLabel)
                          for region in r.regions]
        return self.known


def _search(view: _View, index: ObstacleIndex, wanted: Sequence[int]) -> Search:
    """Search places for the wanted labels (numbers of requests)."""
    anchors = view.anchors()
    lots = [touching(list(anchors.values()), index), *(view.spread(k, index) for k in wanted if k not in anchors)]
    search = Search(len(view.requests), Options.joined(lots))
    search.run(wanted, lambda k: view.leaders(k, index, anchors))
    sought = set(wanted)

    def missing() -> list[int]:
        return [k for k in search.unplaced() if k in sought]

    for _ in range(WIDENINGS):
        if not missing():
            break
        _widen(search, view, index, anchors, missing())
    return search


def _widen(search: Search, view: _View, index: ObstacleIndex, anchors: dict[int, Anchor],
           missing: Sequence[int]) -> None:
    """Offer finer and longer leaders to labels without a place and to points near them, then try again."""
    near = [k for k, a in anchors.items() if k not in missing
            and any(j in anchors and math.hypot(a.x - anchors[j].x, a.y - anchors[j].y) <= WIDEN_NEAR for j in missing)]
    lots = [view.leaders(k, index, anchors, k in anchors) for k in sorted((*near, *missing)) if k in anchors]
    lots = [lot for lot in lots if len(lot)]
    if lots:
        search.offer(Options.joined(lots))
    for k in missing:
        if search.chosen[k] < 0:
            search.settle(k, 3, frozenset(), 120)
    search.polish(2)


# ---- the entry

def refused(crowd: Crowding) -> DrawingError:
    """Return the refusal of a view that is too full, with the place and what would help."""
    at = crowd.fullest
    ways = "".join(f"; or an enlarged view, {i.times} times, round {', '.join(i.names[:6])}"
                   f"{' and others' if len(i.names) > 6 else ''}" for i in crowd.insets[:2])
    return DrawingError(Problem(
        "the plan is too full for its labels: in the square from "
        f"({at.x0:.0f}, {at.y0:.0f}) to ({at.x1:.0f}, {at.y1:.0f}) mm lettering takes "
        f"{100 * crowd.fill:.0f} per cent of the paper, {100 * REPLAN_FROM:.0f} is the most",
        f"take a larger scale or a larger sheet{ways}", "sheet-too-full"))


def _no_place(view: _View, numbers: Sequence[int], crowd: Crowding) -> DrawingError:
    problems = []
    for k in numbers:
        request = view.requests[k]
        if isinstance(request, PointLabel | ColumnLabel):
            at = request.at
        else:
            at = (request.path if isinstance(request, LineLabel) else request.regions[0]).box.centre
        helps = next((i for i in crowd.insets if request.name in i.names), None)
        inset = f", or an enlarged view, {helps.times} times, of its neighbourhood" if helps else ""
        problems.append(Problem(
            f"the label '{request.name}' finds no place near ({at.x:.0f}, {at.y:.0f}) mm: every place is taken, "
            "on a heavy line or nearer to another point", f"take a larger scale or sheet{inset}", "label-no-place"))
    return DrawingError(*problems)


def _advice(crowd: Crowding) -> tuple[Problem, ...]:
    if not crowd.numbers_only:
        return ()
    return (Problem(f"labels fill {100 * crowd.fill:.0f} per cent of the fullest square of the plan",
                    "write numbers on the plan and their values in a table", "sheet-crowded", weight=Weight.ADVICE),)


def _report(placed: Sequence[Placed], crowd: Crowding) -> Report:
    lengths = [p.leader.length for p in placed if p.leader is not None and p.way == "leader"]
    return Report(labels=len(placed), leaders=len(lengths), longest_leader=max(lengths, default=0.0),
                  mean_leader=math.fsum(lengths) / len(lengths) if lengths else 0.0,
                  cost=round(math.fsum(p.cost for p in placed), 3), crowding=crowd, advice=_advice(crowd))


def place(requests: Sequence[Request], obstacles: Obstacles, within: Box, columns: Sequence[Column] = ()) -> Placement:
    """Place every label of a view inside the box `within`, and those for columns in `columns`.

    Raises DrawingError, naming label, place, reason and what would help: the sheet is too full
    ('sheet-too-full'), a label finds no place ('label-no-place', 'label-column', 'label-wide', 'label-room'),
    two requests have one name ('label-twice'). Never drops a label and never lets two overlap.
    """
    ordered = _sorted(requests)
    crowd = crowding(ordered)
    if crowd.too_full:
        raise refused(crowd)
    view = _View(ordered, _with_signs(ordered, obstacles), within, tuple(columns))
    view.in_column = {k for k, r in enumerate(ordered) if isinstance(r, ColumnLabel)}
    plain = ObstacleIndex(view.obstacles, within)
    for _ in range(COLUMN_ROUNDS):
        hung = [placed_in_column(ordered[s.hung.number], s) for s in
                hang([view.hung(k, plain) for k in sorted(view.in_column)], view.columns, plain)]
        fixed = view.obstacles.joined(as_obstacles(hung))
        index = ObstacleIndex(fixed, within) if hung else plain
        wanted = [k for k in range(len(ordered)) if k not in view.in_column]
        search = _search(view, index, wanted)
        missing = [k for k in wanted if search.chosen[k] < 0]
        if not missing:
            break
        movable = {k for k in missing if getattr(ordered[k], "column", False)}
        if len(movable) < len(missing) or not columns:
            raise _no_place(view, [k for k in missing if not columns or k not in movable], crowd)
        view.in_column |= movable
    else:
        raise _no_place(view, missing, crowd)
    found = [placed_by_search(ordered[k], view.setting(k), search, k) for k in wanted]
    placed = tuple(sorted([*hung, *found], key=lambda p: p.name))
    prove(placed, ordered, view.obstacles, within)
    return Placement(labels=placed, report=_report(placed, crowd), obstacles=as_obstacles(placed))


