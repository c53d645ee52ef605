"""Where a peg can stand: inside the boundary, and in nothing that is there already."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from ..features import Pegging
from ..kernel.point import Point
from ..kernel.segment import Arc
from .sight import Sight

ON_THE_LINE = 0.05
"""A peg may stand on the boundary, or this far beyond it (m)."""


class Footing:
    """Ground for pegs, stage by stage; centres that edges could be swung from are looked at together, once."""

    def __init__(self, area: Any, sights: Mapping[int, Sight], peggings: Sequence[Pegging]) -> None:
        """Take the boundary's area (None without one), what stands in each stage, and what is to be pegged."""
        self._area = None if area is None else area.buffer(ON_THE_LINE)
        self._sights = sights
        self._held: dict[tuple[Point, int], bool] = {}
        for stage in sights:
            own = [s for p in peggings if p.stage == stage for line in p.outlines for s in line.segments]
            self._look(list(dict.fromkeys(s.centre for s in own if isinstance(s, Arc))), stage)

    def holds(self, at: Point, stage: int) -> bool:
        """Say whether a peg can stand at a point in a stage."""
        if (at, stage) not in self._held:
            self._look([at], stage)
        return self._held[at, stage]

    def _look(self, points: Sequence[Point], stage: int) -> None:
        import shapely

        spots = np.array([(p.x, p.y) for p in points]).reshape(-1, 2)
        good = ~self._sights[stage].blocked_body(spots)
        if self._area is not None:
            good &= shapely.intersects(self._area, shapely.points(spots))
        self._held |= {(p, stage): bool(g) for p, g in zip(points, good, strict=True)}
