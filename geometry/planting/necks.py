"""Borders across necks: places where a bed is narrower than its cells, so that no border was seen in them.

Takes borders and the rings of a bed. Gives the borders with straight ones added where the edge would pass from one
drift to another unmarked: across the narrowest place between the two stretches of edge that do so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..kernel.flatten import line as flat_line
from ..kernel.path import Path
from ..kernel.point import Point
from .assemble import ahead, behind, stops_on
from .edges import LEAST_STRETCH, Foot, Ring
from .relax import Border
from .trace import EDGE

CHORD = 1e-3
"""Stretches of edge become chords within this gap (m) where the narrowest place between them is sought."""


@dataclass(frozen=True, slots=True)
class _Gap:
    """A stretch of a ring, from one station to another, on which the drift `before` turns into the drift `after`."""

    ring: int
    start: float
    stop: float
    before: int
    after: int


def across_necks(borders: Sequence[Border], rings: Sequence[Ring], widest: float) -> list[Border]:
    """Return the borders with those across necks no wider than `widest` metres; what cannot be paired is left."""
    gaps = [gap for number in range(len(rings)) for gap in _gaps(borders, rings, number)]
    added: list[Border] = []
    used: set[int] = set()
    for k, gap in enumerate(gaps):
        facing = [(m, _across(rings, gap, gaps[m])) for m in range(k + 1, len(gaps))
                  if m not in used and (gaps[m].before, gaps[m].after) == (gap.after, gap.before)]
        near = [(away, m, border) for m, (away, border) in facing if away <= widest]
        if k not in used and near:
            _, m, border = min(near, key=lambda n: n[:2])
            used |= {k, m}
            added.append(border)
    return [*borders, *added]


def _gaps(borders: Sequence[Border], rings: Sequence[Ring], number: int) -> list[_Gap]:
    stops = stops_on(borders, number)
    return [_Gap(number, at[0], then[0], ahead(at, borders), behind(then, borders))
            for at, then in zip(stops, stops[1:] + stops[:1], strict=True)
            if ahead(at, borders) != behind(then, borders)]


def _across(rings: Sequence[Ring], one: _Gap, other: _Gap) -> tuple[float, Border]:
    """Return the width of the neck between two stretches and the border across it."""
    from shapely import get_coordinates, shortest_line

    here, there = (flat_line(Path(tuple(rings[g.ring].stretch(g.start, g.stop))), CHORD) for g in (one, other))
    feet = [_foot(rings, gap, x, y) for gap, (x, y) in
            zip((one, other), get_coordinates(shortest_line(here, there)), strict=True)]
    ends = [rings[f.ring].point(f.station) for f in feet]
    points = np.array([[p.x, p.y] for p in ends])
    return ends[0].distance(ends[1]), Border(one.before, one.after, EDGE, EDGE, points, (feet[0], feet[1]))


def _foot(rings: Sequence[Ring], gap: _Gap, x: float, y: float) -> Foot:
    """Return the foot of a point on a stretch, clear of its ends."""
    ring = rings[gap.ring]
    station = ring.nearest(Point(x, y))[0]
    reach = (gap.stop - gap.start) % ring.length or ring.length
    way = min(max((station - gap.start) % ring.length, LEAST_STRETCH), max(reach - LEAST_STRETCH, reach / 2))
    return Foot(gap.ring, (gap.start + way) % ring.length)
