"""Where a point's label may stand: touching its point, or at the end of a leader.

Takes requests measured as blocks and the index of obstacles; gives options with their cost. Only what
can stand is offered: inside the field, clear of everything fixed, clearly its own point's. Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from .blocks import Block
from .oblong import Flags, Floats, Indices, bounds, point_distance
from .obstacles import SOLID_CLEAR, ObstacleIndex

OWN_MARGIN = 0.6
"""A label lies this much nearer to its own point than to any other."""

BEARING = 0.1
"""Ink of a line starts and ends up to this share of its capitals inside its advance (bearings of the sheet's faces,
read from the faces: 0.07 of the em at the most for letters and figures in bold)."""

LEADER_GAP = 0.8
"""Clear space between the end of a leader and its lettering."""

SIGN_GAP = 0.35
"""Clear space between a point's own sign and its label or leader."""

LEADER_BASE, LEADER_PER_MM, CROSSED_HEAVY, NEAR_UPRIGHT = 10.0, 0.8, 4.0, 1.5
THIN_BASE, THIN_PER_MM, THIN_MOST = 14.0, 1.0, 22.0
"""Costs. Lettering on a thin line is as dear as a leader; a leader costs by its length."""

STRING_COST, STRINGS_MOST = 12.0, 4.0
"""What it costs lettering to lie on a string, beyond what a thin line costs, and of how many that is counted."""

PLACE_STEP, GAP_STEP = 0.4, 0.8
"""Cost of each step down the order of places, and of each further gap."""

LEADERS_KEPT = 40

START, MIDDLE, END, ROW = 0, 1, 2, 3
ALIGNED = ("start", "middle", "end")
"""How lettering stands in its box: level lines flush left, centred or flush right, or one turned row."""

Names: TypeAlias = NDArray[np.str_]
WAY = "U16"
"""Ways of setting a label are names no longer than this."""

_DIAGONAL = math.sqrt(0.5)
_PLACES: dict[str, tuple[float, float, float, float, int]] = {
    # sign of the side in x and y, share of the gap, shift along the free axis in half sizes, alignment
    "right": (1, 0, 1, 0, START), "left": (-1, 0, 1, 0, END),
    "above": (0, 1, 1, 0, MIDDLE), "below": (0, -1, 1, 0, MIDDLE),
    "right-above": (1, 1, _DIAGONAL, 0, START), "right-below": (1, -1, _DIAGONAL, 0, START),
    "left-above": (-1, 1, _DIAGONAL, 0, END), "left-below": (-1, -1, _DIAGONAL, 0, END),
    "right-high": (1, 0, 1, 0.8, START), "right-low": (1, 0, 1, -0.8, START),
    "left-high": (-1, 0, 1, 0.8, END), "left-low": (-1, 0, 1, -0.8, END),
    "above-right": (0, 1, 1, 0.6, MIDDLE), "above-left": (0, 1, 1, -0.6, MIDDLE),
    "below-right": (0, -1, 1, 0.6, MIDDLE), "below-left": (0, -1, 1, -0.6, MIDDLE),
}


@dataclass(frozen=True, slots=True)
class Options:
    """Places offered: whose they are, box, leader (not-a-number without one), cost, alignment and way."""

    owner: Indices
    boxes: Floats
    leaders: Floats
    cost: Floats
    align: Indices
    way: Names

    def __len__(self) -> int:
        return len(self.owner)

    def kept(self, which: Flags | Indices) -> Options:
        """Return the options that `which` picks."""
        index = which.nonzero()[0] if which.dtype == bool else which
        return Options(self.owner[index], self.boxes[index], self.leaders[index], self.cost[index], self.align[index],
                       self.way[index])

    def costing(self, cost: Floats) -> Options:
        """Return the options at other costs."""
        return Options(self.owner, self.boxes, self.leaders, cost.round(3), self.align, self.way)

    def small(self, extra: float) -> Options:
        """Return the options as ways of small lettering, so much dearer."""
        return Options(self.owner, self.boxes, self.leaders, np.round(self.cost + extra, 3), self.align,
                       np.char.add(self.way, " small"))

    @staticmethod
    def joined(parts: Sequence[Options]) -> Options:
        """Return several lots of options as one."""
        parts = [p for p in parts if len(p)] or parts[:1]
        if len(parts) == 1:
            return parts[0]
        return Options(np.concatenate([p.owner for p in parts]), np.concatenate([p.boxes for p in parts]),
                       np.concatenate([p.leaders for p in parts]), np.concatenate([p.cost for p in parts]),
                       np.concatenate([p.align for p in parts]), np.concatenate([p.way for p in parts]))

    @staticmethod
    def none() -> Options:
        """Return no options."""
        return Options(np.zeros(0, dtype=np.int64), np.zeros((0, 6)), np.zeros((0, 4)), np.zeros(0),
                       np.zeros(0, dtype=np.int64), np.zeros(0, dtype=WAY))


def options(owner: int | Indices, boxes: Floats, cost: Floats, align: int | Indices, way: str,
            leaders: Floats | None = None) -> Options:
    """Return options of one way; costs are rounded so that equal ones stay equal on every machine."""
    count = len(boxes)
    return Options(np.full(count, owner, dtype=np.int64), boxes,
                   np.full((count, 4), np.nan) if leaders is None else leaders, cost.round(3),
                   np.full(count, align, dtype=np.int64), np.full(count, way, dtype=WAY))


@dataclass(frozen=True, slots=True)
class Anchor:
    """A point that wants a label: number among all requests, name, place, radius of its sign, and its block."""

    number: int
    name: str
    x: float
    y: float
    radius: float
    setting: Block
    gaps: tuple[float, ...]
    places: tuple[str, ...]
    leader: float


def _template(places: tuple[str, ...], count: int) -> Floats:
    """Rows of side x, side y, share of gap, shift, alignment, rank of the place, index of the gap."""
    rows = [(*_PLACES[place], rank, gap) for gap in range(count) for rank, place in enumerate(places)]
    return np.array(rows, dtype=float)


def _touching_boxes(anchors: Sequence[Anchor]) -> Options:
    first = anchors[0]
    shape = _template(first.places, len(first.gaps))
    side_x, side_y, share, shift = (shape[None, :, k] for k in range(4))
    at = np.array([(a.x, a.y, a.setting.width / 2, a.setting.height / 2, a.radius + SIGN_GAP) for a in anchors])
    x, y, hx, hy, least = (at[:, k, None] for k in range(5))
    gap = np.maximum(np.array(first.gaps)[shape[:, 6].astype(int)][None, :], least)
    cx = x + side_x * (gap * share + hx) + np.where(side_x == 0, shift * hx, 0.0)
    cy = y + side_y * (gap * share + hy) + np.where(side_y == 0, shift * hy, 0.0)
    count = len(anchors) * len(shape)
    halves = np.broadcast_to(hx, cx.shape).ravel(), np.broadcast_to(hy, cx.shape).ravel()
    boxes = np.stack((cx.ravel(), cy.ravel(), *halves, np.ones(count), np.zeros(count)), axis=1)
    cost = np.broadcast_to(PLACE_STEP * shape[:, 5] + GAP_STEP * shape[:, 6], cx.shape).ravel()
    owner = np.repeat(np.array([a.number for a in anchors], dtype=np.int64), len(shape))
    align = np.broadcast_to(shape[:, 4].astype(np.int64), cx.shape).ravel()
    return options(owner, np.round(boxes, 3), cost, align, "touching")


def _foreign(found: Options, points: Floats, names: Sequence[str], bearings: Floats, index: ObstacleIndex) -> Flags:
    """Say which touching boxes lie on a foreign sign or nearly as near to it as their ink is to their own point."""
    inked = found.boxes.copy()
    inked[:, 2] -= np.minimum(bearings, inked[:, 2])
    own = point_distance(inked, points[:, 0], points[:, 1])
    bad: Flags = np.zeros(len(found), dtype=bool)
    if not len(found):
        return bad
    reach = max(float(own.max(initial=0.0)) + OWN_MARGIN, index.sign_reach + SOLID_CLEAR)
    which, sign = index.beside.near(found.boxes, reach)
    x, y, radius = index.signs[sign].T
    need = np.maximum(own[which] + OWN_MARGIN, radius + SOLID_CLEAR)
    # Two signs on one point (a corner that is also a centre) leave nothing to choose between.
    other = np.hypot(x - points[which, 0], y - points[which, 1]) > 0.05
    owners = np.array(index.owners, dtype=object)[sign] if len(sign) else np.zeros(0, dtype=object)
    other &= owners != np.array(names, dtype=object)[which] if len(sign) else True
    bad[which[other & (point_distance(found.boxes[which], x, y) < need)]] = True
    return bad


def _cut_off(found: Options, points: Floats, radii: Floats, index: ObstacleIndex) -> Flags:
    """Say which boxes a heavy line parts from their point."""
    half = found.boxes[:, 2:4]
    near = np.clip(points, found.boxes[:, :2] - half, found.boxes[:, :2] + half)
    step = near - points
    size = np.hypot(step[:, 0], step[:, 1])
    share = np.minimum(radii / np.where(size > 0, size, 1.0), 0.95)
    start = points + step * share[:, None]
    return index.heavy_crossings(np.concatenate((start, near), axis=1)) > 0


def thin_cost(boxes: Floats, index: ObstacleIndex, own: float = 0.0) -> Floats:
    """Return what it costs boxes to lie on thin lines and on strings; `own` mm of line, a string, are the box's own."""
    lengths = np.maximum(index.thin_length(boxes) - own, 0.0)
    cost = np.where(lengths > 0, np.minimum(THIN_BASE + THIN_PER_MM * lengths, THIN_MOST), 0.0)
    crossed = np.flatnonzero(lengths > 0)
    under = index.strings_under(boxes[crossed]) - (1.0 if own else 0.0)
    cost[crossed] += STRING_COST * np.clip(under, 0.0, STRINGS_MOST)
    return cost


def touching(anchors: Sequence[Anchor], index: ObstacleIndex) -> Options:
    """Return every place at which these points' labels may stand without a leader."""
    groups: dict[tuple[tuple[str, ...], int, tuple[float, ...]], list[Anchor]] = {}
    for anchor in anchors:
        groups.setdefault((anchor.places, len(anchor.gaps), anchor.gaps), []).append(anchor)
    if not groups:
        return Options.none()
    found = Options.joined([_touching_boxes(lot) for lot in groups.values()])
    by_number = {anchor.number: anchor for anchor in anchors}
    found = found.kept(~index.outside(bounds(found.boxes)))
    found = found.kept(~index.struck(found.boxes))

    mine = [by_number[n] for n in found.owner.tolist()]
    places = np.array([(a.x, a.y, a.radius, BEARING * a.setting.lines[0].capitals) for a in mine]).reshape(-1, 4)
    good = ~_foreign(found, places[:, :2], [a.name for a in mine], places[:, 3], index)
    found, places = found.kept(good), places[good]
    found = found.kept(~_cut_off(found, places[:, :2], places[:, 2], index))
    found = found.costing(found.cost + thin_cost(found.boxes, index))
    return found.kept(np.lexsort((np.arange(len(found)), found.cost, found.owner)))


def _directions(step: float) -> Floats:
    """Angles from 15 to 75 degrees in every quarter, right ones first."""
    count = round(60 / step) + 1
    base = np.radians(15.0 + step * np.arange(count))
    return np.concatenate((base, -base, math.pi - base, base - math.pi))


def leader_lengths(longest: float, fine: bool) -> Floats:
    """Return the lengths of leaders tried, mm."""
    lengths = np.arange(4.0, longest + 0.01, 2.0) if fine else np.array([5.0, 7.0, 10.0, 14.0, 19.0, 24.0, 30.0, 40.0])
    return lengths[lengths <= longest + 1e-9]


@dataclass(frozen=True, slots=True)
class Feet:
    """Points that leaders start from: place, how far off it they start, and whose they are (a row an owner's label)."""

    x: Floats
    y: Floats
    start: Floats
    owner: Indices
    blocks: tuple[Block, ...]       # of each point

    @staticmethod
    def of(number: int, points: Floats, setting: Block) -> Feet:
        """Return the points that one label may lead to, each as it is."""
        count = len(points)
        return Feet(points[:, 0], points[:, 1], np.zeros(count), np.full(count, number, dtype=np.int64),
                    (setting,) * count)

    @staticmethod
    def joined(lots: Sequence[Feet]) -> Feet:
        """Return the points of several labels."""
        return Feet(np.concatenate([f.x for f in lots]), np.concatenate([f.y for f in lots]),
                    np.concatenate([f.start for f in lots]), np.concatenate([f.owner for f in lots]),
                    tuple(setting for f in lots for setting in f.blocks))


def leader_options(feet: Feet, longest: float, way: str, fine: bool = False) -> Options:
    """Return blocks on leaders from each point, at what their length and direction cost.

    A leader ends 0.8 before the middle of the first line's near end.
    """
    angle, length = (g.ravel() for g in np.meshgrid(_directions(7.5 if fine else 15.0), leader_lengths(longest, fine),
                                                   indexing="ij"))
    cos: Floats = np.cos(angle)
    sin: Floats = np.sin(angle)
    side = np.where(cos > 0, 1.0, -1.0)
    start = feet.start[:, None]
    run = np.maximum(length - start, 1.0)
    x0, y0 = feet.x[:, None] + start * cos, feet.y[:, None] + start * sin
    x1, y1 = x0 + run * cos, y0 + run * sin
    sizes = np.array([(b.width / 2, b.height / 2, (b.above - b.below) / 2 - b.shoulder) for b in feet.blocks])
    wide, high, up = (sizes.reshape(-1, 3)[:, k, None] for k in range(3))
    shaped = [np.broadcast_to(v, x1.shape).ravel()
              for v in (x1 + side * (LEADER_GAP + wide), y1 + up, wide, high, np.ones(1), np.zeros(1))]
    upright = np.abs(sin) > math.sin(math.radians(70.0))
    cost = LEADER_BASE + LEADER_PER_MM * run + np.where(upright, NEAR_UPRIGHT, 0.0) + np.where(side < 0, 0.3, 0.0)
    leaders: Floats = np.stack([v.ravel() for v in (x0, y0, x1, y1)], axis=1).round(3)
    align = np.broadcast_to(np.where(side > 0, START, END), x1.shape).ravel()
    return options(np.repeat(feet.owner, len(angle)), np.stack(shaped, axis=1).round(3), cost.ravel(), align, way,
                   leaders)


def _cheapest(found: Options, keep: int) -> Options:
    """Return the `keep` cheapest options of each owner, by owner and cost."""
    order = np.lexsort((found.cost, found.owner))
    owner = found.owner[order]
    first = np.flatnonzero(np.concatenate((np.ones(min(1, len(owner)), dtype=bool), owner[1:] != owner[:-1])))
    count = np.diff(np.append(first, len(owner)))
    rank = np.arange(len(owner)) - np.repeat(first, count)
    return found.kept(order[rank < keep])


def clear_leaders(found: Options, names: Mapping[int, str], index: ObstacleIndex, keep: int = LEADERS_KEPT,
                  unclaimed: Sequence[int] = ()) -> Options:
    """Return the `keep` cheapest leader options of each owner that can stand, with what they cross in their cost.

    `names` holds the name of each owner by its number. Those of `unclaimed` lie within reach of one sign at the most.
    """
    found = found.kept(~index.outside(bounds(found.boxes)))
    found = _cheapest(found, keep * 12)
    found = found.kept(~index.struck(found.boxes))
    found = found.kept(~index.on_signs(found.boxes))
    if unclaimed:
        kept = ~np.isin(found.owner, unclaimed)
        kept[~kept] = ~claimed(found.boxes[~kept], index)
        found = found.kept(kept)
    found = found.kept(~index.blocked_leaders(found.leaders, [names[k] for k in found.owner.tolist()]))
    found = found.costing(found.cost + CROSSED_HEAVY * index.heavy_crossings(found.leaders)
                          + thin_cost(found.boxes, index))
    return _cheapest(found, keep)


def led(anchors: Sequence[Anchor], index: ObstacleIndex, fine: bool = False) -> Options:
    """Return the cheapest leader places of points' labels."""
    lots: list[Options] = []
    for longest in sorted({a.leader for a in anchors if a.leader > 0}):
        mine = [a for a in anchors if a.leader == longest]
        at = np.array([(a.x, a.y, a.radius + SIGN_GAP) for a in mine])
        feet = Feet(at[:, 0], at[:, 1], at[:, 2], np.array([a.number for a in mine], dtype=np.int64),
                    tuple(a.setting for a in mine))
        lots.append(leader_options(feet, longest, "leader", fine))
    if not lots:
        return Options.none()
    names = {a.number: a.name for a in anchors}
    return clear_leaders(Options.joined(lots), names, index, LEADERS_KEPT * (4 if fine else 1))


def claimed(boxes: Floats, index: ObstacleIndex, reach: float = 3.2) -> Flags:
    """Say which boxes lie within reach of two signs: a reader could take them for the label of either."""
    which, sign = index.beside.near(boxes, reach)
    if not len(which):
        return np.zeros(len(boxes), dtype=bool)
    pairs = np.unique(np.column_stack((which, index.signs[sign, :2].round(1))), axis=0)
    return np.bincount(pairs[:, 0].astype(np.int64), minlength=len(boxes)) > 1
