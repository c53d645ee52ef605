"""Shapes from what people state: three points, ends and a radius, rounded corners, ovals, smooth continuations.

Takes: points, lengths in metres, angles in radians. Gives: segments, paths and loops, or a GeometryError
that says why the shape cannot exist and what would make it possible.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from ..errors import GeometryError, refuse
from .path import Loop, Path
from .point import Point, Vec
from .segment import TURN, Arc, Line, Segment
from .tolerance import NODE


def _spot(point: Point) -> str:
    return f"({point.x:.3f}, {point.y:.3f})"


def _need_positive(value: float, what: str) -> None:
    if not (value > 0 and math.isfinite(value)):
        raise refuse(GeometryError, f"a {what} of {value:.3f} m", f"a {what} is more than nothing", "no-size")


def _round_three(a: Point, b: Point, c: Point) -> tuple[Point, float]:
    """Return centre and radius of the circle through three points (perpendicular bisectors, worked about `a`)."""
    u, v = b - a, c - a
    span = max(u.length, v.length, (c - b).length)
    if not min(u.length, v.length, (c - b).length) > NODE:
        what = f"a circle through {_spot(a)}, {_spot(b)} and {_spot(c)}, two of which are one point"
        raise refuse(GeometryError, what, "give three different points", "equal-points")
    twice = 2 * u.cross(v)
    if not abs(twice) > 2 * NODE * span:
        what = f"a circle through {_spot(a)}, {_spot(b)} and {_spot(c)}, which lie in one line"
        raise refuse(GeometryError, what, "move one point off the line, or draw a straight edge", "in-line")
    uu, vv = u.dot(u), v.dot(v)
    out = Vec((v.dy * uu - u.dy * vv) / twice, (u.dx * vv - v.dx * uu) / twice)
    return a + out, out.length


def arc_through(a: Point, via: Point, b: Point) -> Arc:
    """Return the arc from `a` through `via` to `b`; GeometryError if the points lie in one line or coincide."""
    centre, radius = _round_three(a, via, b)
    return Arc.between(centre, radius, a, b, left=(via - a).cross(b - a) > 0)


def circle_through(p: Point, q: Point, r: Point) -> Loop:
    """Return the circle through three points; GeometryError if they lie in one line or coincide."""
    centre, radius = _round_three(p, q, r)
    return Loop.circle(centre, radius)


def arc_by_radius(a: Point, b: Point, radius: float, left: bool, large: bool = False) -> Arc:
    """Return the arc of `radius` metres from `a` to `b`, bending left (anticlockwise) or right.

    `large` takes the arc of more than half a turn. GeometryError if the radius is shorter than half the chord.
    """
    chord = b - a
    length = chord.length
    if not length > NODE:
        raise refuse(GeometryError, f"an arc from {_spot(a)} to the same point",
                     "give two different ends", "equal-points")
    if not (math.isfinite(radius) and radius >= length / 2 - NODE):
        raise refuse(GeometryError, f"a radius of {radius:.3f} m between points {length:.3f} m apart",
                     f"give a radius of at least {length / 2:.3f} m", "short-radius")
    radius = max(radius, length / 2)
    height = math.sqrt((radius - length / 2) * (radius + length / 2))
    side = 1.0 if left != large else -1.0
    centre = a.toward(b, 0.5) + chord.unit().left() * (side * height)
    # The sweep follows from the half chord: near a half turn the ends alone could not tell which side is meant.
    half = math.atan2(length / 2, height)
    sweep = 2 * (math.pi - half if large else half)
    return Arc(centre, radius, (a - centre).heading, sweep if left else -sweep, a, b)


def tangent_segment(start: Point, heading: float, end: Point) -> Segment:
    """Return the arc (or line) that leaves `start` on `heading` radians and ends at `end`.

    The tangent and the chord enclose half the sweep. GeometryError if `end` lies straight behind.
    """
    chord = end - start
    length = chord.length
    if not length > NODE:
        raise refuse(GeometryError, f"a smooth continuation from {_spot(start)} to the same point",
                     "give two different ends", "equal-points")
    ahead = Vec.polar(heading)
    across, along = ahead.cross(chord), ahead.dot(chord)
    turn = math.atan2(across, along)
    if not abs(across) > 4 * NODE:
        if along > 0:
            return Line(start, end)
        what = f"a smooth continuation from {_spot(start)} to {_spot(end)}, which lies straight behind"
        raise refuse(GeometryError, what, "turn with two arcs, or begin in another direction", "straight-behind")
    signed = length / (2 * math.sin(turn))
    centre = start + ahead.left() * signed
    begin = heading - math.copysign(math.pi / 2, signed)
    return Arc(centre, abs(signed), begin, 2 * turn, start, end)


def rectangle(corner: Point, length: float, width: float, turn: float, corner_radius: float = 0.0) -> Loop:
    """Return the rectangle that runs `length` on heading `turn` from `corner` and `width` to its left, metres."""
    _need_positive(length, "length")
    _need_positive(width, "width")
    along, across = Vec.polar(turn, length), Vec.polar(turn, width).left()
    corners = (corner, corner + along, corner + along + across, corner + across)
    return rounded_polygon([(point, corner_radius) for point in corners])


def oval(centre: Point, length: float, width: float, turn: float) -> Loop:
    """Return the oval of four tangent arcs, `length` on heading `turn` and `width` across it, metres.

    The draughtsman's four-centred construction (common practice, no source): join the ends of the half axes,
    take their difference off this line from the short axis; the perpendicular bisector of what is left
    meets both axes in the centres. With half axes a > b and c = hypot(a, b), the radii are
    c (c - a + b) / 2a at the ends and c (c + a - b) / 2b at the sides.
    """
    _need_positive(length, "length")
    _need_positive(width, "width")
    if width > length:
        length, width, turn = width, length, turn + math.pi / 2
    a, b = length / 2, width / 2
    if not a - b > NODE:
        return Loop.circle(centre, a)
    c = math.hypot(a, b)
    ends, sides = c * (c - (a - b)) / (2 * a), c * (c + (a - b)) / (2 * b)
    lean = math.atan2(a, b)     # of the line through both centres: square to the line that joins the half axes
    return ring_of_arcs(centre, turn, [ends, sides], [lean], a, b)


def ring_of_arcs(centre: Point, turn: float, radii: Sequence[float], bends: Sequence[float],
                 a: float, b: float) -> Loop:
    """Return the symmetric ring of tangent arcs whose quarter has `radii` and changes them at normals `bends`.

    Half axes `a` (on heading `turn`) and `b`, metres; the normals' angles, radians, rise from 0 to a quarter
    turn. The centre of each arc lies on the normal at its joint, so that neighbours are tangent.
    """
    centres = [(a - radii[0], 0.0)]
    for (before, after), bend in zip(pairwise(radii), bends, strict=True):
        x, y = centres[-1]
        centres.append((x - (after - before) * math.cos(bend), y - (after - before) * math.sin(bend)))
    centres[-1] = (0.0, b - radii[-1])
    last = len(radii) - 1
    quarter = list(range(last + 1))
    around = quarter + quarter[-2::-1] + quarter[1:] + quarter[-2:0:-1]
    normals = [*bends, *(math.pi - e for e in reversed(bends)), *(math.pi + e for e in bends),
               *(TURN - e for e in reversed(bends))]
    starts = [-bends[0], *normals[:-1]]
    cos, sin = math.cos(turn), math.sin(turn)
    arcs: list[tuple[Point, float, float, float]] = []
    for which, begin, stop in zip(around, starts, normals, strict=True):
        middle = (begin + stop) / 2
        x = math.copysign(1.0, math.cos(middle)) * centres[which][0]
        y = math.copysign(1.0, math.sin(middle)) * centres[which][1]
        at = Point(centre.x + x * cos - y * sin, centre.y + x * sin + y * cos)
        arcs.append((at, radii[which], begin + turn, stop - begin))
    joints = [c + Vec.polar(begin, r) for c, r, begin, _ in arcs]
    return Loop(tuple(Arc(c, r, begin, sweep, p, q) for (c, r, begin, sweep), p, q
                      in zip(arcs, joints, joints[1:] + joints[:1], strict=True)))


def _fillet(before: Point, corner: Point, after: Point, radius: float) -> tuple[float, Arc | None]:
    """Return the tangent length that a corner's rounding takes off each leg, and its arc."""
    into, out = (corner - before).unit(), (after - corner).unit()
    turn = math.atan2(into.cross(out), into.dot(out))
    if not radius > 0 or not abs(turn) > 1e-9:
        return 0.0, None
    if not math.pi - abs(turn) > 1e-6:
        raise refuse(GeometryError, f"a corner at {_spot(corner)} that turns back on itself cannot be rounded",
                     "move the corner, or leave its radius out", "turn-back")
    taken = radius * math.tan(abs(turn) / 2)
    side = math.copysign(1.0, turn)
    start, end = corner + into * -taken, corner + out * taken
    # Along the bisector: exact for both legs, where a step square to one leg would load its error on the other.
    inward = (out - into).unit()
    centre = corner + inward * (radius / math.cos(turn / 2))
    return taken, Arc(centre, radius, into.heading - side * math.pi / 2, turn, start, end)


def _rounded(corners: Sequence[tuple[Point, float]], closed: bool) -> tuple[Segment, ...]:
    count = len(corners)
    for point, radius in corners:
        if not (radius >= 0 and math.isfinite(radius)):
            raise refuse(GeometryError, f"a corner radius of {radius:.3f} m at {_spot(point)}",
                         "a corner radius is nothing or more", "bad-radius")
    inner = range(count) if closed else range(1, count - 1)
    cut: list[tuple[float, Arc | None]] = [(0.0, None)] * count
    for k in inner:
        cut[k] = _fillet(corners[k - 1][0], corners[k][0], corners[(k + 1) % count][0], corners[k][1])
    segments: list[Segment] = []
    for k in range(count if closed else count - 1):
        (here, _), (there, _) = corners[k], corners[(k + 1) % count]
        (taken, arc), (needed, following) = cut[k], cut[(k + 1) % count]
        room = here.distance(there) - taken - needed
        if not room >= -NODE:
            raise refuse(GeometryError, f"the rounded corners at {_spot(here)} and {_spot(there)} need "
                         f"{taken + needed:.3f} m of a side of {here.distance(there):.3f} m",
                         "make the radii smaller", "no-room")
        if arc:
            segments.append(arc)
        if room > NODE:
            segments.append(Line(arc.end if arc else here, following.start if following else there))
    return tuple(segments)


def _one_end(segments: tuple[Segment, ...]) -> tuple[Segment, ...]:
    """Weld neighbouring roundings of one circle, so that a rounded end is pegged as one arc."""
    kept: list[Segment] = list(segments)
    k = 0
    while k < len(kept) and len(kept) > 1:
        first, second = kept[k - 1], kept[k]
        if (isinstance(first, Arc) and isinstance(second, Arc) and first.radius == second.radius
                and first.centre.distance(second.centre) <= NODE and first.sweep * second.sweep > 0):
            if abs(first.sweep + second.sweep) > TURN - NODE:
                return (Arc.swung(first.centre, first.radius, first.begin, math.copysign(TURN, first.sweep)),)
            sweep = first.sweep + second.sweep
            kept[k - 1] = Arc(first.centre, first.radius, first.begin, sweep, first.start, second.end)
            del kept[k]
        else:
            k += 1
    return tuple(kept)


def rounded_polygon(corners: Sequence[tuple[Point, float]]) -> Loop:
    """Return the polygon through `corners`, each rounded with its radius in metres (0 stays sharp).

    GeometryError if a radius is negative or two roundings need more than the side between them.
    """
    if len(corners) < 3:
        raise refuse(GeometryError, f"an outline with {len(corners)} corners",
                     "give three corners or more", "few-corners")
    return Loop.of(_one_end(_rounded(corners, closed=True)))


def rounded_path(corners: Sequence[tuple[Point, float]]) -> Path:
    """Return the path through `corners`, each rounded with its radius in metres; those of both ends do nothing."""
    if len(corners) < 2:
        raise refuse(GeometryError, f"a line with {len(corners)} points", "give two points or more", "few-corners")
    return Path(_rounded(corners, closed=False))
