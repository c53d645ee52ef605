"""Smooth chains of tangent arcs through rows of points: what a border between two drifts is made of.

Takes points in metres. Gives segments that stray from them by at most a stated gap, tangent at their joints.
A biarc is two tangent arcs between two points with given headings, here with equal tangent lengths.
Source: K. M. Bolton, Computer-Aided Design 7 (1975) 89 `[from memory]`.
"""

from __future__ import annotations

import math

import numpy as np

from ..kernel.construct import tangent_segment
from ..kernel.point import Point, Vec
from ..kernel.segment import Arc, Line, Segment
from ..kernel.tolerance import JOINT
from .cells import Floats

GAP = 0.010
"""Borders between drifts are drawn by sand and filled with pots: 10 mm is finer than either. Metres."""


def biarc(start: Point, first: Vec, end: Point, last: Vec) -> list[Segment]:
    """Return two tangent arcs (or lines) from `start` on unit heading `first` to `end` on unit heading `last`."""
    chord = end - start
    both = first + last
    turn = 2 * (1 - first.dot(last))
    reach = chord.dot(both)
    square = chord.dot(chord)
    if turn > 1e-9:
        tangent = (math.sqrt(reach * reach + turn * square) - reach) / turn
    else:
        ahead = chord.dot(last)
        tangent = square / (4 * ahead) if ahead > 1e-9 else 0.5 * chord.length
    middle = (start + first * tangent).toward(end + last * -tangent, 0.5)
    if min(middle.distance(start), middle.distance(end)) < 1e-4:
        return [Line(start, end)]
    back = tangent_segment(end, (-last).heading, middle).reversed()
    front = tangent_segment(start, first.heading, middle)
    return [front, back]


def chain_of(points: Floats, gap: float = GAP) -> list[Segment]:
    """Return tangent segments from the first of `points` (m) to the last, within `gap` of those between.

    None where both ends are one point: a border across a neck of no width.
    """
    if len(points) == 2 and math.dist(*points) < JOINT / 2:
        return []
    spots = [Point(x, y) for x, y in points.tolist()]
    ways = [Vec(x, y) for x, y in _headings(points).tolist()]
    found: list[Segment] = []
    stack = [(0, len(points) - 1)]
    while stack:
        a, b = stack.pop()
        start, end = spots[a], spots[b]
        pieces = biarc(start, ways[a], end, ways[b])
        tame = _tame(pieces, start.distance(end))
        if b - a == 1:
            found += pieces if tame else [Line(start, end)]
        elif tame and _stray(pieces, points[a + 1: b]) <= gap:
            found += pieces
        else:
            middle = (a + b) // 2
            stack += [(middle, b), (a, middle)]
    return found


def _headings(points: Floats) -> Floats:
    """Return unit headings at all points: the tangent of the parabola through a point and its neighbours."""
    steps = np.diff(points, axis=0)
    sizes = np.maximum(np.hypot(steps[:, 0], steps[:, 1]), 1e-12)[:, None]
    ways = steps / sizes
    if len(points) == 2:
        return np.vstack([ways, ways])
    inner = (ways[:-1] * sizes[1:] + ways[1:] * sizes[:-1]) / (sizes[1:] + sizes[:-1])
    first = 2 * ways[0] - inner[0]
    last = 2 * ways[-1] - inner[-1]
    headings = np.vstack([first, inner, last])
    unit: Floats = headings / np.maximum(np.hypot(headings[:, 0], headings[:, 1]), 1e-12)[:, None]
    return unit


def _tame(pieces: list[Segment], chord: float) -> bool:
    """Say whether a biarc goes about straight to its end: no arc turns by half or more."""
    turns = all(abs(p.sweep) < math.pi * 0.9 for p in pieces if isinstance(p, Arc))
    return turns and sum(p.length for p in pieces) < 1.6 * chord


def _stray(pieces: list[Segment], points: Floats) -> float:
    """Return the largest distance of points from the nearer of the pieces, metres."""
    away = np.full(len(points), np.inf)
    for piece in pieces:
        if isinstance(piece, Arc):
            out = np.hypot(points[:, 0] - piece.centre.x, points[:, 1] - piece.centre.y)
            away = np.minimum(away, np.abs(out - piece.radius))
        else:
            way = (piece.end - piece.start).unit()
            off = (points[:, 0] - piece.start.x) * way.dy - (points[:, 1] - piece.start.y) * way.dx
            away = np.minimum(away, np.abs(off))
    return float(away.max()) if len(away) else 0.0
