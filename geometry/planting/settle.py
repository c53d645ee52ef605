"""Lets the plants of groups settle: more of them than any grid holds, still a full spacing apart.

Takes for each group its ground and a first grid. A plant is put into the largest gap, plants that crowd push each
other away by half of what they lack, strays go back to the nearest edge of the ground; if all come to rest the plant
stays, else it is taken out again. All groups of a bed settle together in one set of arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from .cells import Bools, Floats, Ints, settled_figures
from .ground import edges_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

ROUNDS = 160
LOOK = 8
"""Every so many rounds it is seen who has come to rest, and every third time who never will."""

REST = 3e-4
"""Plants that lack no more than this (m) are at rest: well within the 1 mm that is promised."""

AIM = 2e-4
"""Plants push until they are this much (m) over their spacing, so that they come to rest in finite time."""

FRESH = 4
"""When nothing more can be put in, so many fresh layouts with one plant more are tried."""

HOPELESS = 0.82
"""Crowding that has not fallen to this part since the last look will not end."""


@dataclass(slots=True, eq=False)
class _Stand:
    """One group on its way: its plants in spacings, the free spots to try, how many to add at once."""

    spacing: float
    edges: Floats
    spots: Floats
    ground: BaseGeometry
    plants: Floats
    add: int
    fresh: int = 0
    done: bool = False


def settled(grounds: Sequence[BaseGeometry], starts: Sequence[Floats], spacings: Sequence[float]) -> list[Floats]:
    """Return the plants (rows, metres) of each group after settling; `starts` are kept where nothing more fits."""
    stands = [_stand(g, p, s) for g, p, s in zip(grounds, starts, spacings, strict=True)]
    while True:
        active = [s for s in stands if not s.done]
        if not active:
            break
        tried = _come_to_rest(active, [_with_more(s) for s in active])
        for stand, plants in zip(active, tried, strict=True):
            if plants is not None and len(plants) > len(stand.plants):
                stand.plants = plants
            elif stand.add > 1:
                stand.add //= 2
            else:
                stand.fresh += 1
                stand.done = stand.fresh > FRESH
    return [s.plants for s in stands]


def _stand(ground: BaseGeometry, plants: Floats, spacing: float) -> _Stand:
    from shapely import contains_xy, prepare

    if ground.is_empty or not len(plants):
        return _Stand(spacing, np.zeros((0, 4)), np.zeros((0, 2)), ground, plants, 0, done=True)
    prepare(ground)
    x0, y0, x1, y1 = ground.bounds
    pitch = max(spacing / 4, float(np.sqrt(max((x1 - x0) * (y1 - y0), 1e-9) / 6000)))
    xs, ys = np.meshgrid(np.arange(x0, x1 + pitch, pitch), np.arange(y0, y1 + pitch, pitch))
    inside = contains_xy(ground, xs.ravel(), ys.ravel())
    edges = edges_of(ground)
    spots = np.vstack([np.column_stack([xs.ravel()[inside], ys.ravel()[inside]]), edges[:, :2]])
    return _Stand(spacing, edges, spots, ground, plants, max(1, len(plants) // 10))


def _with_more(stand: _Stand) -> Floats:
    """Return the plants with `add` more, each in the largest gap that is left; a fresh layout begins with one plant."""
    plants, more = stand.plants, stand.add
    if stand.fresh:
        start = (stand.fresh * len(stand.spots)) // (FRESH + 1)
        plants, more = stand.spots[start: start + 1], len(plants)
    away = np.full(len(stand.spots), np.inf)
    for plant in plants:
        away = np.minimum(away, np.hypot(*(stand.spots - plant).T))
    for _ in range(more):
        pick = int(np.argmax(away))
        plants = np.vstack([plants, stand.spots[pick]])
        away = np.minimum(away, np.hypot(*(stand.spots - stand.spots[pick]).T))
    return plants


def _come_to_rest(stands: Sequence[_Stand], tries: Sequence[Floats]) -> list[Floats | None]:
    """Push and pull all tries together; None for those that do not come to rest."""
    out: list[Floats | None] = [None] * len(stands)
    going = list(range(len(stands)))
    plants = list(tries)
    last = dict.fromkeys(going, np.inf)
    for look in range(ROUNDS // LOOK):
        crowd = _Crowd([stands[k] for k in going], [plants[k] for k in going])
        crowd.move(LOOK)
        lacks = crowd.lacks()
        still = []
        for k, moved, lack in zip(going, crowd.parted(), lacks, strict=True):
            plants[k] = moved
            if lack <= REST:
                out[k] = moved
            elif look % 3 == 2 and lack > HOPELESS * last[k]:
                continue
            else:
                still.append(k)
            if look % 3 == 2:
                last[k] = lack
        going = still
        if not going:
            break
    return out


class _Crowd:
    """The plants of several groups in one array, each group in its own place and its own spacings."""

    def __init__(self, stands: Sequence[_Stand], plants: Sequence[Floats]) -> None:
        self.stands = stands
        self.sizes = np.array([len(p) for p in plants])
        self.group = np.repeat(np.arange(len(stands)), self.sizes)
        self.spacing = np.array([s.spacing for s in stands])
        self.at = np.concatenate(plants)
        most = max(len(s.edges) for s in stands)
        self.edges = np.stack([np.vstack([s.edges, np.repeat(s.edges[:1] * (1, 1, 0, 0), most - len(s.edges), axis=0)])
                               for s in stands])

    def _pairs(self) -> tuple[Ints, Ints, Floats, Floats]:
        """Return pairs nearer than their spacing: both numbers, the way between, what they lack (m)."""
        from scipy.spatial import cKDTree

        spacing = self.spacing[self.group]
        scaled = np.column_stack([self.at / (spacing + AIM)[:, None], self.group * 4.0])
        pairs = cKDTree(scaled).query_pairs(1.0, output_type="ndarray")
        pairs = pairs[np.lexsort((pairs[:, 1], pairs[:, 0]))]
        i, j = pairs[:, 0], pairs[:, 1]
        way = self.at[i] - self.at[j]
        gap = np.hypot(way[:, 0], way[:, 1])
        same = gap < 1e-9
        way[same] = (1e-3, 5e-4)
        lack = spacing[i] + AIM - gap
        return i, j, way / np.hypot(way[:, 0], way[:, 1])[:, None], lack

    def move(self, rounds: int) -> None:
        """Push crowding plants apart and strays back in, so many times."""
        count = len(self.at)
        for _ in range(rounds):
            i, j, way, lack = self._pairs()
            push = way * (0.5 * lack)[:, None]
            for axis in (0, 1):
                self.at[:, axis] += np.bincount(i, push[:, axis], count) - np.bincount(j, push[:, axis], count)
            self._pull_in()
        self.at = settled_figures(self.at)

    def _pull_in(self) -> None:
        """Move plants that have left their ground to its nearest edge."""
        edges = self.edges[self.group]
        dx = self.at[:, None, 0] - edges[:, :, 0]
        dy = self.at[:, None, 1] - edges[:, :, 1]
        ex, ey = edges[:, :, 2], edges[:, :, 3]
        outside = ~_inside(dx, dy, ex, ey)
        if not outside.any():
            return
        dx, dy, ex, ey = dx[outside], dy[outside], ex[outside], ey[outside]
        share = np.clip((dx * ex + dy * ey) / np.maximum(ex * ex + ey * ey, 1e-18), 0.0, 1.0)
        off_x, off_y = dx - share * ex, dy - share * ey
        nearest = np.argmin(off_x * off_x + off_y * off_y, axis=1)
        row = np.arange(len(nearest))
        self.at[outside] -= np.column_stack([off_x[row, nearest], off_y[row, nearest]])

    def lacks(self) -> Floats:
        """Return for each group the most that any pair of its plants lacks, metres."""
        i, _, _, lack = self._pairs()
        worst = np.zeros(len(self.stands))
        np.maximum.at(worst, self.group[i], lack - AIM)
        return worst

    def parted(self) -> list[Floats]:
        """Return the plants of each group."""
        return np.split(self.at, np.cumsum(self.sizes)[:-1])


def _inside(dx: Floats, dy: Floats, ex: Floats, ey: Floats) -> Bools:
    """Say which points lie inside by counting crossings of a ray to +x with edges from (0, 0) to (ex, ey).

    `dx`, `dy` are the points as seen from each edge's start. Edges of no length, which pad the rows, cross nothing.
    """
    crosses = (dy < 0) != (dy < ey)
    left = (dx * ey - dy * ex) * np.sign(ey) < 0
    inside: Bools = (np.count_nonzero(crosses & left, axis=1) % 2) == 1
    return inside
