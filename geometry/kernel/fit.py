"""Ellipses and flowing curves as tangent arcs within a stated gap (metres, 1 mm unless said otherwise).

Neighbouring arcs share their heading, so edges and offsets of the result are arcs again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import GeometryError, refuse
from . import biarc, minimax, spline
from .construct import ring_of_arcs
from .path import Ellipse, Loop, Path
from .point import Point, Vec
from .segment import Arc, Line, Segment
from .tolerance import FIT, NODE

MARGIN = 0.98       # of the gap that is used: the curve is measured at places, not everywhere


def _need_gap(gap: float) -> None:
    if not gap > 10 * NODE:
        raise refuse(GeometryError, f"a curve within {gap * 1000:g} mm of its arcs",
                     "give a gap of 0.01 mm or more", "bad-gap")


def ellipse(centre: Point, length: float, width: float, turn: float, gap: float = FIT) -> Loop:
    """Return the ellipse of `length` (on heading `turn`, radians) and `width` metres as tangent arcs within `gap`.

    The fewest that were found; both axes are reached exactly and `.ellipse` keeps the true one. Equal axes
    give a circle. GeometryError for axes of nothing.
    """
    _need_gap(gap)
    for value, what in ((length, "length"), (width, "width")):
        if not (value > 0 and math.isfinite(value)):
            raise refuse(GeometryError, f"an ellipse with a {what} of {value:.3f} m", f"a {what} is more than nothing",
                         "no-size")
    if width > length:
        length, width, turn = width, length, turn + math.pi / 2
    a, b = length / 2, width / 2
    if not a - b > NODE:
        return Loop.circle(centre, a)
    true = Ellipse(centre, a, b, turn)
    best = minimax.quarter(b / a, gap / a)
    if best is None:
        return ellipse_by_biarcs(centre, length, width, turn, gap)
    ring = ring_of_arcs(centre, turn, [r * a for r in best.radii], best.bends, a, b)
    return Loop(ring.segments, true)


def ellipse_by_biarcs(centre: Point, length: float, width: float, turn: float, gap: float = FIT) -> Loop:
    """Return the ellipse as pairs of tangent arcs that touch it, a few more than `ellipse` needs."""
    _need_gap(gap)
    a, b = length / 2, width / 2

    def curve(times: biarc.Floats) -> tuple[biarc.Floats, biarc.Floats]:
        cos, sin = np.cos(times), np.sin(times)
        return np.column_stack([a * cos, b * sin]), np.column_stack([-a * sin, b * cos])

    quarter = biarc.along(curve, math.pi / 2, gap * MARGIN, centre)
    half = quarter + [(-ex, ey, -x, y, -heading - sweep, sweep) for x, y, ex, ey, heading, sweep in reversed(quarter)]
    bows = half + [(-x, -y, -ex, -ey, heading + math.pi, sweep) for x, y, ex, ey, heading, sweep in half]
    return Loop(_segments(bows, centre, turn, closed=True), Ellipse(centre, a, b, turn))


def flowing_path(points: Sequence[Point], start_heading: float | None = None, end_heading: float | None = None,
                 gap: float = FIT) -> Path:
    """Return the smooth line through `points` as tangent arcs within `gap` metres of a cubic with even curvature.

    Headings (radians) at the ends may be given; left out, an end runs out unbent. GeometryError if two
    neighbours coincide.
    """
    _need_gap(gap)
    _need_apart(points, 2, closed=False)
    origin, values = _local(points)
    cubic = spline.through(values, closed=False, headings=(start_heading, end_heading))
    return Path(_segments(biarc.along(cubic.at, cubic.end, gap * MARGIN, origin), origin, 0.0, closed=False))


def flowing_loop(points: Sequence[Point], gap: float = FIT) -> Loop:
    """Return the smooth closed curve through three points or more as tangent arcs within `gap` metres.

    GeometryError if two neighbours coincide. It may cross itself: `simple.check` tells.
    """
    _need_gap(gap)
    _need_apart(points, 3, closed=True)
    origin, values = _local(points)
    cubic = spline.through(values, closed=True)
    bows = biarc.along(cubic.at, cubic.end, gap * MARGIN, origin, pieces=3)
    return Loop.of(_segments(bows, origin, 0.0, closed=True))


def _need_apart(points: Sequence[Point], least: int, closed: bool) -> None:
    if len(points) < least:
        raise refuse(GeometryError, f"a flowing curve through {len(points)} points", f"give {least} points or more",
                     "few-points")
    following = [*points[1:], *points[:1]] if closed else points[1:]
    for p, q in zip(points, following, strict=False):
        if not p.distance(q) > 1e-4:
            raise refuse(GeometryError, f"a flowing curve with two neighbouring points at ({p.x:.3f}, {p.y:.3f})",
                         "give each point once" + (", the curve closes itself" if closed else ""), "equal-points")


def _local(points: Sequence[Point]) -> tuple[Point, biarc.Floats]:
    """Return an origin among the points and the points about it: far from (0, 0) no figure of the shape is lost."""
    origin = points[0]
    return origin, np.array([[p.x - origin.x, p.y - origin.y] for p in points])


def _segments(bows: Sequence[biarc.Bow], origin: Point, turn: float, closed: bool) -> tuple[Segment, ...]:
    """Return the arcs and lines of `bows`, turned about and moved to `origin`, joints shared exactly."""
    cos, sin = math.cos(turn), math.sin(turn)

    def place(x: float, y: float) -> Point:
        return origin + Vec(x * cos - y * sin, x * sin + y * cos)

    joints = [place(bow[0], bow[1]) for bow in bows]
    joints.append(joints[0] if closed else place(bows[-1][2], bows[-1][3]))
    segments: list[Segment] = []
    for k, (x, y, ex, ey, heading, sweep) in enumerate(bows):
        if abs(sweep) < biarc.FLAT:
            segments.append(Line(joints[k], joints[k + 1]))
            continue
        radius = math.hypot(ex - x, ey - y) / (2 * math.sin(sweep / 2))
        centre = place(x - radius * math.sin(heading), y + radius * math.cos(heading))
        begin = heading + turn - math.copysign(math.pi / 2, sweep)
        segments.append(Arc(centre, abs(radius), begin, sweep, joints[k], joints[k + 1]))
    return tuple(_straightened(segments))


def _straightened(segments: list[Segment]) -> list[Segment]:
    """Join lines that continue each other."""
    kept: list[Segment] = []
    for segment in segments:
        last = kept[-1] if kept else None
        if isinstance(last, Line) and isinstance(segment, Line):
            kept[-1] = Line(last.start, segment.end)
        else:
            kept.append(segment)
    return kept
