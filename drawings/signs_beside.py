"""Signs of points beside lettering: which lie near many boxes and leaders, asked at once.

A few pairs are all measured; of many, those whose bounds meet. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from .oblong import Flags, Floats, Indices, bounds, foot_distance, point_distance
from .requests import Sign

DENSE = 20_000
"""So many pairs of boxes and signs are measured without looking first for those that are near each other."""


class Signs:
    """Signs that stand: `rows` of their place and radius, their `owners`, and the largest radius, `reach`."""

    def __init__(self, signs: Sequence[Sign]) -> None:
        self.rows: Floats = np.array([(s.at.x, s.at.y, s.radius) for s in signs], dtype=float).reshape(-1, 3)
        self.owners = tuple(sign.owner for sign in signs)
        self.tree = shapely.STRtree(np.asarray(shapely.points(self.rows[:, :2]), dtype=object))
        self.reach = float(self.rows[:, 2].max(initial=0.0))

    def near(self, boxes: Floats, reach: float) -> tuple[Indices, Indices]:
        """Return pairs of boxes and signs whose middle lies within `reach` of them: place of the one, of the other."""
        which, sign = self._meeting(bounds(boxes), reach)
        x, y, _ = self.rows[sign].T
        hit = point_distance(boxes[which], x, y) <= reach
        return which[hit], sign[hit]

    def under(self, boxes: Floats, clear: float) -> Flags:
        """Say which boxes lie on a sign, or nearer to it than `clear`."""
        which, sign = self._meeting(bounds(boxes), self.reach + clear)
        x, y, radius = self.rows[sign].T
        bad: Flags = np.zeros(len(boxes), dtype=bool)
        bad[which[point_distance(boxes[which], x, y) < radius + clear]] = True
        return bad

    def met(self, paths: Floats, owned: Sequence[str], clear: float) -> Flags:
        """Say which leaders meet a sign that is not their own, or pass nearer than `clear`; all, where '' owns one."""
        ends = paths[:, :2], paths[:, 2:]
        which, sign = self._meeting(np.concatenate((np.minimum(*ends), np.maximum(*ends)), axis=1), self.reach + clear)
        x, y, radius = self.rows[sign].T
        hit = foot_distance(paths[which], x, y) < radius + clear
        which, sign = which[hit], sign[hit]
        bad: Flags = np.zeros(len(paths), dtype=bool)
        if len(which):
            own, owner = np.array(owned)[which], np.array(self.owners)[sign]
            foreign = (owner != own) | (own == "")
            bad[which[foreign & ~_leaving(paths[which], self.rows[sign, :2], self.rows[sign, 2] + clear)]] = True
        return bad

    def _meeting(self, around: Floats, reach: float) -> tuple[Indices, Indices]:
        """Return pairs of upright bounds and signs within `reach` of them along each axis."""
        x0, y0, x1, y1 = (around + np.array([-reach, -reach, reach, reach])).T
        x, y, _ = self.rows.T
        if len(around) * len(x) <= DENSE:
            meet = (x0[:, None] <= x) & (x <= x1[:, None]) & (y0[:, None] <= y) & (y <= y1[:, None])
            which, sign = meet.nonzero()
        else:
            which, sign = self.tree.query(np.asarray(shapely.box(x0, y0, x1, y1), dtype=object))
        return which, sign


AWAY = 0.7
"""Least cosine between a leader and the way out of a foreign sign in whose reach its own point stands."""


def _leaving(paths: Floats, middles: Floats, reach: Floats) -> Flags:
    """Say which leaders begin within reach of a sign, because their own point does, and go straight away from it."""
    way, off = paths[:, 2:] - paths[:, :2], paths[:, :2] - middles
    far = np.hypot(*off.T)
    along = (way * off).sum(axis=1)
    leaving: Flags = (far < reach) & (far > reach / 2) & (along > AWAY * far * np.hypot(*way.T))
    return leaving
