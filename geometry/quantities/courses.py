"""Rectangular units along curves: joints inside and outside, whole rings, chains of lines and arcs.

With width w along the course, depth d across it, the inner face's middle at radius r and the half pitch t
(pi / n in a full ring of n):

    joint inside  = 2 r sin t - w cos t
    joint outside = 2 (r + d) sin t - w cos t

Derived; equal to the built geometry to 1e-6 mm. Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..errors import GeometryError, refuse
from ..kernel.segment import Arc, Segment

CORNER = 1e-3
"""Headings (radians) that differ by more than this break a course; less is a tangent joint."""


def _checked(width: float, depth: float, joints: tuple[float, float]) -> None:
    if not (width > 0 and depth > 0 and 0 <= joints[0] < joints[1]):
        raise refuse(
            GeometryError,
            f"units of {width * 1000:.0f} × {depth * 1000:.0f} mm with joints {joints[0] * 1000:.0f} "
            f"to {joints[1] * 1000:.0f} mm",
            "give a unit with two sides and a range of joints, the smaller first",
            "bad-course",
        )


def joints_on_arc(radius: float, width: float, depth: float, half_pitch: float) -> tuple[float, float]:
    """Return the joint at the inner and at the outer face (m); a negative one means that the units overlap."""
    s, c = math.sin(half_pitch), math.cos(half_pitch)
    return 2 * radius * s - width * c, 2 * (radius + depth) * s - width * c


def least_radius(width: float, depth: float, joints: tuple[float, float]) -> float:
    """Return the least inner radius (m) on which units lie without cutting, joints within the range."""
    _checked(width, depth, joints)
    gap = joints[1] - joints[0]
    q = gap / (2 * depth)
    if q >= 1:
        return 0.0
    return max(0.0, depth * (joints[0] + width * math.sqrt(1 - q * q)) / gap)


def face_radius(width: float, stray: float = 0.003) -> float:
    """Return the radius (m) from which a straight face strays from the curve by at most `stray`: w^2 / (8 stray)."""
    return width * width / (8 * stray)


@dataclass(frozen=True, slots=True)
class RingCourse:
    """A ring, or part of one: number of units and its joints inside and outside, m."""

    units: int
    inside: float
    outside: float


def ring(radius: float, width: float, depth: float, joints: tuple[float, float]) -> RingCourse | None:
    """Return the full ring at inner radius `radius` whose mean joint is nearest the middle of the range.

    None when no whole number of units closes it within the range.
    """
    _checked(width, depth, joints)
    if not radius > 0:
        raise refuse(GeometryError, f"a ring of radius {radius:.3f} m", "a radius is more than nothing", "bad-radius")
    outer = radius + depth
    fewest = math.ceil(
        math.pi / (math.atan(width / (2 * outer)) + math.asin(min(1.0, joints[1] / math.hypot(2 * outer, width))))
        - 1e-9
    )
    most = math.floor(
        math.pi / (math.atan(width / (2 * radius)) + math.asin(min(1.0, joints[0] / math.hypot(2 * radius, width))))
        + 1e-9
    )
    wish = sum(joints) / 2
    found = [RingCourse(n, *joints_on_arc(radius, width, depth, math.pi / n)) for n in range(max(3, fewest), most + 1)]
    return min(found, key=lambda r: (abs((r.inside + r.outside) / 2 - wish), r.units), default=None)


def closing_radius(units: int, width: float, depth: float, joint: float) -> float:
    """Return the inner radius (m) at which `units` close a full ring with this mean joint."""
    t = math.pi / units
    return (joint + width * math.cos(t)) / (2 * math.sin(t)) - depth / 2


def nearest_closing_radius(radius: float, width: float, depth: float, joints: tuple[float, float]) -> float | None:
    """Return the radius nearest `radius` at which a full ring closes within the joints; None if none is within 20 %."""
    wish = sum(joints) / 2
    around = max(3, round(2 * math.pi * (radius + depth / 2) / (width + wish)))
    radii = [closing_radius(n, width, depth, wish) for n in range(max(3, int(around * 0.8)), int(around * 1.2) + 2)]
    good = [r for r in radii if r > 0 and ring(r, width, depth, joints) is not None]
    return min(good, key=lambda r: (abs(r - radius), r), default=None)


def tapered(radius: float, width: float, depth: float, joint: float) -> tuple[int, float]:
    """Return the units of a ring of taper-cut units, and their width at the inner face (m), for one even joint.

    Whole units all used, two cuts each: n from the outer joint, w inside = 2 (r tan t - joint / (2 cos t)).
    """
    outer = radius + depth
    n = math.ceil(
        math.pi / (math.atan(width / (2 * outer)) + math.asin(min(1.0, joint / math.hypot(2 * outer, width))))
    )
    t = math.pi / n
    return n, 2 * (radius * math.tan(t) - joint / (2 * math.cos(t)))


@dataclass(frozen=True, slots=True)
class ChainCourse:
    """A course along one smooth chain: its length, units, pitch, and the tightest joints on its arcs (m)."""

    length: float
    units: int
    pitch: float
    least_joint: float
    most_joint: float
    tightest: float  # inner radius of the tightest arc, infinite when straight
    fits: bool


def _smooth(a: Segment, b: Segment) -> bool:
    turn = (b.heading(0) - a.heading(1) + math.pi) % (2 * math.pi) - math.pi
    return abs(turn) <= CORNER


def chains(segments: Sequence[Segment], closed: bool) -> tuple[tuple[tuple[Segment, ...], ...], int]:
    """Return the smooth chains of a line or outline, broken at corners only, and the number of corners."""
    breaks = [k for k in range(1, len(segments)) if not _smooth(segments[k - 1], segments[k])]
    if closed and not _smooth(segments[-1], segments[0]):
        breaks = [0, *breaks]
    if not breaks:
        return (tuple(segments),), 0
    if closed:
        ends = [*breaks[1:], breaks[0] + len(segments)]
        doubled = [*segments, *segments]
        return tuple(tuple(doubled[a:b]) for a, b in zip(breaks, ends, strict=True)), len(breaks)
    ends = [0, *breaks, len(segments)]
    return tuple(tuple(segments[a:b]) for a, b in pairwise(ends)), len(breaks)


def chain_course(
    segments: Sequence[Segment],
    width: float,
    depth: float,
    joint: float,
    joints: tuple[float, float],
    closed: bool = False,
) -> ChainCourse:
    """Return the course of whole units along the middle line of one smooth chain.

    n = round(length / (w + joint)) on a ring, with one joint less on an open chain; placed at equal steps of
    the middle line. `fits` says whether all joints stay in the range.
    """
    _checked(width, depth, joints)
    length = math.fsum(s.length for s in segments)
    wish = max(1, round((length if closed else length + joint) / (width + joint)))
    tried = [
        _chain_of(n, segments, length, width, depth, joint, joints, closed) for n in range(max(1, wish - 2), wish + 3)
    ]
    return min(tried, key=lambda c: (not c.fits, abs(c.units - wish), c.units))


def _chain_of(
    units: int,
    segments: Sequence[Segment],
    length: float,
    width: float,
    depth: float,
    joint: float,
    joints: tuple[float, float],
    closed: bool,
) -> ChainCourse:
    pitch = length / units if closed else (length + joint) / units
    inner, outer, tightest = pitch - width, pitch - width, math.inf
    for s in segments:
        if isinstance(s, Arc):
            radius = s.radius - depth / 2
            t = pitch / (2 * s.radius)
            low, high = joints_on_arc(radius, width, depth, t)
            inner, outer, tightest = min(inner, low), max(outer, high), min(tightest, radius)
    fits = inner >= joints[0] - 1e-9 and outer <= joints[1] + 1e-9
    return ChainCourse(length, units, pitch, inner, outer, tightest, fits)
