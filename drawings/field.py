"""The field that a texture is laid in: an area in mm with room left for lettering, and an even scatter over it.

Takes: regions and boxes on paper. Gives: which marks lie wholly inside, lines cut to the field, scattered
points. Flattened at GAP: marks are tested against it, edges are never drawn from it. Knows nothing of surfaces.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, TypeAlias

from ..geometry.kernel.flatten import polygon
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from .sheet import Dot

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

GAP = 0.05
"""How far chords may stray from an arc of the outline, mm on paper: a third of the thinnest pen."""

ROOM = 0.9
"""Room round the ink of lettering, mm."""

NECK = 1.6
"""Boxes of lettering nearer to each other than this are one gap, mm."""

EDGE_ROOM = 0.4
"""Scattered marks keep so far off the outline of their field, mm: half its pen and a little white."""

SCRAP = 1.1
"""Straight pieces that lettering leaves shorter than this are dropped, mm."""

Clear: TypeAlias = Box | Sequence[Point] | Region
Outline: TypeAlias = list[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Ink:
    """What a texture is made of, mm on paper: strokes of its pen, filled dots, filled areas."""

    strokes: tuple[Path | Loop, ...] = ()
    dots: tuple[Dot, ...] = ()
    solid: tuple[Region, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """One point of the scatter: where (mm), and a number from 0 to 1 that picks the kind and turn of its mark."""

    at: Point
    pick: float


@dataclass(frozen=True, slots=True)
class Field:
    """An area to fill: `whole` as outlined, `free` with room left for lettering."""

    whole: BaseGeometry
    free: BaseGeometry

    @staticmethod
    def of(regions: Region | Sequence[Region], clear: Sequence[Clear] = ()) -> Field:
        """Return the field of one region or more (mm) that leaves room round the boxes in `clear`."""
        import shapely
        all_ = [regions] if isinstance(regions, Region) else list(regions)
        shapes = [polygon(r, GAP) for r in all_]
        whole = shapes[0] if len(shapes) == 1 else shapely.union_all(shapes)
        if not shapely.is_valid(whole):
            whole = shapely.make_valid(whole)
        free = whole
        if clear:
            free = whole.difference(_rooms(clear))
        shapely.prepare(free)
        return Field(whole, free)

    @property
    def box(self) -> Box:
        """The smallest upright box (a point at the origin if the field is empty)."""
        return Box(0, 0, 0, 0) if self.whole.is_empty else Box(*self.whole.bounds)

    def holds_itself(self, about: Point, times: int) -> bool:
        """Say whether the area, so many times smaller about a point, lies in itself: a pattern grown so fills it."""
        from shapely.affinity import scale
        smaller = scale(self.whole, 1 / times, 1 / times, origin=(about.x, about.y))
        return bool(self.whole.buffer(EDGE_ROOM).covers(smaller))

    def holds(self, marks: Sequence[Sequence[tuple[float, float]]]) -> list[bool]:
        """Say of each mark, given as points joined in a line, whether it lies wholly in the free field, off its rim."""
        import numpy as np
        import shapely
        if not marks:
            return []
        lines = _lines(marks)
        good = np.atleast_1d(shapely.covers(self.free, lines))
        rim = self.whole.boundary
        shapely.prepare(rim)
        good[good] = ~shapely.dwithin(rim, lines[good], EDGE_ROOM)
        return [bool(v) for v in good]

    def holds_discs(self, spots: Sequence[Point], radius: float) -> list[bool]:
        """Say of each disc of one radius whether it lies wholly in the free field, off its rim."""
        import numpy as np
        import shapely
        if not spots:
            return []
        inner = self.free.buffer(-radius - EDGE_ROOM / 2)
        shapely.prepare(inner)
        good = shapely.contains_xy(inner, [p.x for p in spots], [p.y for p in spots])
        return [bool(v) for v in np.atleast_1d(good)]

    def cut(self, lines: Iterable[Outline], least: float = 0.3) -> list[Outline]:
        """Return the pieces of lines within the free field, scraps dropped."""
        import numpy as np
        import shapely
        drawn = [line for line in lines if len(line) > 1]
        if not drawn:
            return []
        source = shapely.multilinestrings(_lines(drawn))
        pieces = shapely.get_parts(shapely.intersection(source, self.free))
        length = shapely.length(pieces)
        keep = (shapely.get_type_id(pieces) == shapely.GeometryType.LINESTRING) & ~(length < least)
        if self.free is not self.whole:
            near_lettering = self.whole.difference(self.free)
            short = (keep & (length < SCRAP)).nonzero()[0]
            keep[short[shapely.distance(pieces[short], near_lettering) < 1e-6]] = False
        places, which = shapely.get_coordinates(pieces[keep], return_index=True)
        ends = np.bincount(which).cumsum().tolist() if len(which) else []
        points = list(map(tuple, places.tolist()))
        return sorted(points[start:end] for start, end in pairwise([0, *ends]))


def _lines(marks: Sequence[Sequence[tuple[float, float]]]) -> Any:
    """Return lines given by their points, all at once."""
    import numpy as np
    import shapely
    which = np.repeat(np.arange(len(marks)), [len(m) for m in marks])
    points = np.array([p for m in marks for p in m], dtype=float)
    return np.asarray(shapely.linestrings(points, indices=which), dtype=object)


def _rooms(clear: Sequence[Clear]) -> BaseGeometry:
    import shapely
    boxes = shapely.union_all([_shape(c) for c in clear])
    grown = boxes.buffer(ROOM, join_style="mitre")
    return grown.buffer(NECK / 2, join_style="mitre").buffer(-NECK / 2, join_style="mitre")


def _shape(clear: Clear) -> Polygon:
    import shapely
    if isinstance(clear, Box):
        return shapely.box(clear.x0, clear.y0, clear.x1, clear.y1)
    if isinstance(clear, Region):
        return polygon(clear, GAP)
    return shapely.Polygon([(p.x, p.y) for p in clear])


def path(points: Sequence[tuple[float, float]]) -> Path:
    """Return the straight-sided path through points (mm)."""
    return Path.through(Point(x, y) for x, y in points)


def scatter(box: Box, per: float, jitter: float = 0.72) -> list[Spot]:
    """Return points spread evenly over a box: one for each `per` mm2, a triangular net shaken by whole-number hashes.

    The net starts at the sheet's corner (0, 0), so that areas beside each other share it. No random numbers: the
    same points on every machine.
    """
    import numpy as np
    a = math.sqrt(per / 0.866)
    rise = 0.866 * a
    i = np.arange(math.floor(box.x0 / a) - 2, math.ceil(box.x1 / a) + 2)
    j = np.arange(math.floor(box.y0 / rise) - 2, math.ceil(box.y1 / rise) + 2)
    ii, jj = (m.ravel() for m in np.meshgrid(i, j))
    h = _hash(ii, jj)
    u, v, w = (h & 1023) / 1023, (h >> 10 & 1023) / 1023, (h >> 20) / 4095
    x = (ii + (jj % 2) / 2 + (u - 0.5) * jitter) * a
    y = (jj + (v - 0.5) * jitter) * rise
    inside = (x >= box.x0) & (x <= box.x1) & (y >= box.y0) & (y <= box.y1)
    return [Spot(Point(px, py), pw) for px, py, pw in
            zip(x[inside].tolist(), y[inside].tolist(), w[inside].tolist(), strict=True)]


def _hash(i: Any, j: Any) -> Any:
    """Return 32-bit hashes of pairs of whole numbers (multiply and fold, all arithmetic exact)."""
    import numpy as np
    low = np.int64(0xFFFFFFFF)

    def fold(a: Any, factor: int) -> Any:
        # the product of two 32-bit numbers needs 64 bits without a sign
        return ((a.astype(np.uint64) * np.uint64(factor)) & np.uint64(0xFFFFFFFF)).astype(np.int64)

    h = fold(i & low, 0x8DA6B343) ^ fold(j & low, 0xD8163841)
    h ^= h >> 15
    h = fold(h, 0x2C1B3C6D)
    h ^= h >> 12
    h = fold(h, 0x297A2D39)
    return h ^ (h >> 15)


__all__ = ["GAP", "Clear", "Field", "Ink", "Outline", "Spot", "path", "scatter"]
