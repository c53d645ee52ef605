"""Lets the plants of groups settle: more of them than any grid holds, still a full spacing apart.

Takes for each group its ground and a first grid. Plants are put into the largest gaps, those that crowd push each
other away by what they lack, strays go back to the nearest edge of the ground; if all come to rest the layout
stands. Several tries of each group, and all groups of a bed, settle together in one set of arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from .cells import Floats, Ints, settled_figures
from .yard import Inside, Yard, Yards, yard_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

PUSH = 1.0
"""Of what a pair lacks each of it goes back by this part. By halves they would just touch; going farther they come to
rest sooner and more of them fit (measured: 2 % more plants, half the rounds)."""

ROUNDS = 160
LOOK = 8
"""Every so many rounds it is seen who has come to rest, and who never will."""

REST = 3e-4
"""Plants that lack no more than this (m) are at rest: well within the 1 mm that is promised."""

AIM = 2e-4
"""Plants push until they are this much (m) over their spacing, so that they come to rest in finite time."""

ASTRAY = 1e-6
"""Plants at rest lie inside their ground, or no farther outside it than this (m)."""

NEIGHBOURS = 1.3
"""Plants within this many spacings can come to push each other before the next look."""

FRESH = 4
"""So many fresh layouts, each grown from another corner of the ground, are tried beside the present one."""

FRESH_TO = 90
"""Above so many plants fresh layouts are not tried: they come to no more than a grid with a few plants added."""

PART = 20
"""At first one plant in so many is added at once."""

HOPELESS = 0.82
BACK = 2
"""Crowding that has not fallen to this part of what it was BACK looks before will not end."""


@dataclass(slots=True, eq=False)
class _Stand:
    """One group on its way: its number, its ground, the spots to try, its plants, how many to add at once."""

    number: int
    ground: BaseGeometry
    spacing: float
    yard: Yard
    spots: Floats
    plants: Floats
    add: int
    fresh: list[_Growth] = field(default_factory=list)
    done: bool = False


def settled(grounds: Sequence[BaseGeometry], starts: Sequence[Floats], spacings: Sequence[float]) -> list[Floats]:
    """Return the plants (rows, metres) of each group after settling; `starts` are kept where nothing more fits."""
    places = [k for k, (g, p) in enumerate(zip(grounds, starts, strict=True)) if len(p) and not g.is_empty]
    found = list(starts)
    if places:
        stands = [_stand(n, grounds[k], starts[k], spacings[k]) for n, k in enumerate(places)]
        _fill(stands)
        for k, stand in zip(places, stands, strict=True):
            found[k] = stand.plants
    return found


def _fill(stands: Sequence[_Stand]) -> None:
    """Let all stands take up plants until none can take one more."""
    yards = Yards([s.yard for s in stands])
    while True:
        tries = [(stand, plants) for stand in stands if not stand.done for plants in _tries(stand)]
        if not tries:
            return
        before = [len(s.plants) for s in stands]
        for (stand, _), plants in zip(tries, _come_to_rest(yards, tries), strict=True):
            if plants is not None and len(plants) > len(stand.plants):
                stand.plants = plants
        for stand, count in zip(stands, before, strict=True):
            if len(stand.plants) == count:
                stand.done = stand.done or stand.add == 1
                stand.add = 1


def _stand(number: int, ground: BaseGeometry, plants: Floats, spacing: float) -> _Stand:
    from shapely import contains_xy, prepare

    prepare(ground)
    yard = yard_of(ground, spacing)
    x0, y0, x1, y1 = ground.bounds
    pitch = max(spacing / 4, float(np.sqrt(max((x1 - x0) * (y1 - y0), 1e-9) / 6000)))
    xs, ys = np.meshgrid(np.arange(x0, x1 + pitch, pitch), np.arange(y0, y1 + pitch, pitch))
    inside = contains_xy(ground, xs.ravel(), ys.ravel())
    spots = np.vstack([np.column_stack([xs.ravel()[inside], ys.ravel()[inside]]), yard.edges[:, :2]])
    return _Stand(number, ground, spacing, yard, spots, plants, max(1, len(plants) // PART))


def _tries(stand: _Stand) -> list[Floats]:
    """Return layouts with more plants: the present one with a few in its largest gaps, and fresh ones."""
    count = len(stand.plants)
    steps = sorted({stand.add, 2 * stand.add, max(1, stand.add // 2)})
    fuller = _Growth(stand.spots, stand.plants).of(count + steps[-1])
    tries = [fuller[:count + step] for step in steps]
    if count <= FRESH_TO:
        if not stand.fresh:
            firsts = [(k * len(stand.spots)) // (FRESH + 1) for k in range(1, FRESH + 1)]
            stand.fresh = [_Growth(stand.spots, stand.spots[k: k + 1]) for k in firsts]
        tries += [growth.of(count + 1) for growth in stand.fresh]
    return tries


class _Growth:
    """A layout that grows: each plant on the spot farthest from all before it."""

    def __init__(self, spots: Floats, plants: Floats) -> None:
        from scipy.spatial import cKDTree

        self.x, self.y = np.ascontiguousarray(spots.T)
        self.plants = [(float(x), float(y)) for x, y in plants]
        self.away = np.asarray(cKDTree(plants).query(spots)[0]) ** 2

    def of(self, count: int) -> Floats:
        """Return its first `count` plants."""
        while len(self.plants) < count:
            k = int(self.away.argmax())
            x, y = float(self.x[k]), float(self.y[k])
            np.minimum(self.away, (self.x - x) ** 2 + (self.y - y) ** 2, out=self.away)
            self.plants.append((x, y))
        return np.array(self.plants[:count])


def _come_to_rest(yards: Yards, tries: Sequence[tuple[_Stand, Floats]]) -> list[Floats | None]:
    """Push and pull all tries together; None for those that do not come to rest."""
    out: list[Floats | None] = [None] * len(tries)
    going = list(range(len(tries)))
    plants = [p for _, p in tries]
    lacked: list[list[float]] = [[] for _ in tries]
    for _ in range(ROUNDS // LOOK):
        crowd = _Crowd(yards, [tries[k][0] for k in going], [plants[k] for k in going])
        lacks = crowd.move(LOOK)
        still = []
        for k, moved, lack in zip(going, crowd.parted(), lacks, strict=True):
            plants[k] = moved
            lacked[k].append(lack)
            if lack <= REST:
                out[k] = moved if _at_rest(tries[k][0], moved) else None
            elif len(lacked[k]) <= BACK or lack <= HOPELESS * lacked[k][-1 - BACK]:
                still.append(k)
        going = still
        if not going:
            break
    return out


def _at_rest(stand: _Stand, plants: Floats) -> bool:
    """Say whether all plants lie inside the ground and a spacing apart."""
    from scipy.spatial.distance import pdist
    from shapely import distance, points

    apart = len(plants) < 2 or float(pdist(plants).min()) >= stand.spacing - REST
    return apart and bool((distance(stand.ground, points(plants)) <= ASTRAY).all())


class _Crowd:
    """The plants of several tries in one array (x, y), each try in its own place and its own spacings."""

    def __init__(self, yards: Yards, stands: Sequence[_Stand], plants: Sequence[Floats]) -> None:
        self.sizes = np.array([len(p) for p in plants])
        self.owner: Ints = np.repeat(np.arange(len(stands)), self.sizes)
        self.count = len(stands)
        self.need = np.array([s.spacing + AIM for s in stands])[self.owner]
        self.at = np.concatenate(plants).T.copy()
        self.inside = Inside(yards, np.array([s.number for s in stands])[self.owner])

    def _pairs(self) -> tuple[Ints, Ints]:
        """Return the pairs of plants of one try that may come to crowd each other."""
        from scipy.spatial import cKDTree

        scaled = np.vstack([self.at / self.need, self.owner * 4.0]).T
        pairs = cKDTree(scaled).query_pairs(NEIGHBOURS, output_type="ndarray")
        pairs = pairs[np.argsort(pairs[:, 0] * len(scaled) + pairs[:, 1])]
        return pairs[:, 0], pairs[:, 1]

    def move(self, rounds: int) -> list[float]:
        """Push crowding plants apart and strays back in, so many times; return the most each try lacks (m)."""
        i, j = self._pairs()
        count, need = self.at.shape[1], self.need[i]
        ends = np.array([i, j, i + count, j + count])       # of the pushes: both plants' x, then both plants' y
        for _ in range(rounds):
            way = self.at.take(i, axis=1) - self.at.take(j, axis=1)
            gap = np.hypot(way[0], way[1])
            close = np.flatnonzero(gap < need)
            push = _pushes(way.take(close, axis=1), gap[close], need[close])
            self.at += np.bincount(ends.take(close, axis=1).ravel(), push.ravel(), 2 * count).reshape(2, count)
            self.inside.pull_in(self.at)
        self.at = settled_figures(self.at)
        worst = np.zeros(self.count)
        np.maximum.at(worst, self.owner[i], need - AIM - np.hypot(*(self.at[:, i] - self.at[:, j])))
        return [float(w) for w in worst]

    def parted(self) -> list[Floats]:
        """Return the plants of each try, a row each."""
        return np.split(self.at.T.copy(), np.cumsum(self.sizes)[:-1])


def _pushes(way: Floats, gap: Floats, need: Floats) -> Floats:
    """Return by how much both plants of each crowding pair go back: x of the first, of the second, then y of both."""
    same = gap < 1e-9
    if same.any():
        way[:, same] = [[1e-3], [5e-4]]
        gap[same] = np.hypot(1e-3, 5e-4)
    back = PUSH * (need - gap) / gap
    pushes: Floats = way[:, None] * np.array([back, -back])
    return pushes
