"""The edge of a bed by stations: where chains meet it, and the exact stretches between.

Takes the rings of a region. Gives feet on them, and rings cut at stations into whole segments and parts that keep
their arcs' centres and radii.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from ..kernel.path import Region
from ..kernel.point import Point
from ..kernel.segment import Segment
from ..kernel.station import nearest_share
from ..kernel.tolerance import NODE

LEAST_STRETCH = 0.01
"""Ends of chains stand at least so far apart on the edge (m)."""

CORNER_SNAP = 0.02
"""An end nearer than this (m) to a corner of the edge moves on to it."""


@dataclass(frozen=True, slots=True)
class Foot:
    """A place on a ring: its number and the station, metres."""

    ring: int
    station: float


class Ring:
    """One ring of a region, walked with the area on the left."""

    def __init__(self, segments: Sequence[Segment]) -> None:
        self.segments = tuple(segments)
        self.marks = [0.0]
        for segment in self.segments:
            self.marks.append(self.marks[-1] + segment.length)

    @property
    def length(self) -> float:
        """Girth in metres."""
        return self.marks[-1]

    def nearest(self, point: Point) -> tuple[float, float]:
        """Return the station of the foot of `point` and its distance, metres."""
        best = (float("inf"), 0.0)
        for k, segment in enumerate(self.segments):
            box = segment.box
            gap = max(box.x0 - point.x, point.x - box.x1, box.y0 - point.y, point.y - box.y1)
            if gap > best[0]:
                continue
            share = nearest_share(segment, point)
            best = min(best, (point.distance(segment.point(share)), self.marks[k] + share * segment.length))
        return best[1], best[0]

    def _locate(self, station: float) -> tuple[int, float]:
        station %= self.length
        k = min(bisect_right(self.marks, station) - 1, len(self.segments) - 1)
        share = (station - self.marks[k]) / self.segments[k].length
        if share * self.segments[k].length < NODE:
            return k, 0.0
        if (1 - share) * self.segments[k].length < NODE:
            return (k + 1) % len(self.segments), 0.0
        return k, share

    def point(self, station: float) -> Point:
        """Return the point at `station` (taken round the ring)."""
        k, share = self._locate(station)
        return self.segments[k].point(share)

    def stretch(self, start: float, stop: float) -> list[Segment]:
        """Return the segments from station `start` on to `stop`; equal stations give the whole ring."""
        k, share = self._locate(start)
        last, end = self._locate(stop)
        if k == last and share < end:
            return [self.segments[k].part(share, end)]
        pieces = [self.segments[k].part(share, 1.0) if share > 0 else self.segments[k]]
        k = (k + 1) % len(self.segments)
        while k != last:
            pieces.append(self.segments[k])
            k = (k + 1) % len(self.segments)
        if end > 0:
            pieces.append(self.segments[k].part(0.0, end))
        return pieces


def rings_of(region: Region) -> list[Ring]:
    """Return the rings of a region: outer first."""
    return [Ring(ring) for ring in region.rings()]


def nearest_foot(rings: Sequence[Ring], point: Point) -> Foot:
    """Return the foot of a point on the nearest ring."""
    found = [(ring.nearest(point), k) for k, ring in enumerate(rings)]
    (station, _), k = min(found, key=lambda f: (f[0][1], f[1]))
    return Foot(k, station)
