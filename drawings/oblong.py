"""Many lettering boxes and leaders at once: which touch, which cross. Plain arithmetic on arrays, mm.

A box is a row (centre x, centre y, half width, half height, cosine, sine of its turn); a leader is a row
(x0, y0, x1, y1), not-a-number where there is none.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]
Indices: TypeAlias = NDArray[np.int64]
Shapes: TypeAlias = NDArray[np.object_]


def bounds(boxes: Floats) -> Floats:
    """Return the upright bounds (x0, y0, x1, y1) of each box."""
    cos, sin = np.abs(boxes[..., 4]), np.abs(boxes[..., 5])
    wide = boxes[..., 2] * cos + boxes[..., 3] * sin
    high = boxes[..., 2] * sin + boxes[..., 3] * cos
    x, y = boxes[..., 0], boxes[..., 1]
    return np.stack((x - wide, y - high, x + wide, y + high), axis=-1)


def corners(boxes: Floats) -> Floats:
    """Return the four corners of each box, anticlockwise from the lower left of the lettering: shape (n, 4, 2)."""
    cos, sin = boxes[:, 4:5], boxes[:, 5:6]
    along = np.array([-1.0, 1.0, 1.0, -1.0]) * boxes[:, 2:3]
    up = np.array([-1.0, -1.0, 1.0, 1.0]) * boxes[:, 3:4]
    return np.stack((boxes[:, 0:1] + along * cos - up * sin, boxes[:, 1:2] + along * sin + up * cos), axis=-1)


def grown(boxes: Floats, by: float) -> Floats:
    """Return the boxes with every side moved out by `by`."""
    out = boxes.copy()
    out[..., 2:4] += by
    return out


def apart(a: Floats, b: Floats) -> Floats:
    """Return, for boxes that broadcast together, the widest gap along the axes of either: negative where they overlap.

    Exact separating-axis test: two rectangles are clear of each other when a side of one parts them.
    """
    dx, dy = b[..., 0] - a[..., 0], b[..., 1] - a[..., 1]
    gap: Floats = np.full(dx.shape, -np.inf)
    turn_cos = a[..., 4] * b[..., 4] + a[..., 5] * b[..., 5]
    turn_sin = a[..., 4] * b[..., 5] - a[..., 5] * b[..., 4]
    c, s = np.abs(turn_cos), np.abs(turn_sin)
    for own, other in ((a, b), (b, a)):
        along = np.abs(dx * own[..., 4] + dy * own[..., 5])
        up = np.abs(dy * own[..., 4] - dx * own[..., 5])
        gap = np.maximum(gap, along - own[..., 2] - other[..., 2] * c - other[..., 3] * s)
        gap = np.maximum(gap, up - own[..., 3] - other[..., 2] * s - other[..., 3] * c)
    return gap


def _local(boxes: Floats, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    dx, dy = x - boxes[..., 0], y - boxes[..., 1]
    return dx * boxes[..., 4] + dy * boxes[..., 5], dy * boxes[..., 4] - dx * boxes[..., 5]


def point_distance(boxes: Floats, x: Floats, y: Floats) -> Floats:
    """Return the distance of points from boxes (0 inside), broadcast together."""
    u, v = _local(boxes, x, y)
    return np.hypot(np.maximum(np.abs(u) - boxes[..., 2], 0.0), np.maximum(np.abs(v) - boxes[..., 3], 0.0))


def _spans(boxes: Floats, leaders: Floats) -> tuple[Floats, Floats, Flags]:
    """Return from which share to which each leader runs through a box, and whether it can (slab test)."""
    u0, v0 = _local(boxes, leaders[..., 0], leaders[..., 1])
    u1, v1 = _local(boxes, leaders[..., 2], leaders[..., 3])
    enter: Floats = np.zeros(u0.shape)
    leave: Floats = np.ones(u0.shape)
    inside: Flags = np.ones(u0.shape, dtype=bool)
    for p0, p1, half in ((u0, u1, boxes[..., 2]), (v0, v1, boxes[..., 3])):
        step = p1 - p0
        flat = np.abs(step) < 1e-9
        level = bool(flat.any())
        if level:
            step[flat] = 1.0
        near, far = (-half - p0) / step, (half - p0) / step
        first, last = np.maximum(enter, np.minimum(near, far)), np.minimum(leave, np.maximum(near, far))
        if level:
            first, last = np.where(flat, enter, first), np.where(flat, leave, last)
            inside &= ~flat | (np.abs(p0) < half)
        enter, leave = first, last
    return enter, leave, inside


def strikes(boxes: Floats, leaders: Floats) -> Flags:
    """Say which leaders run through which boxes; none where there is no leader."""
    enter, leave, inside = _spans(boxes, leaders)
    return np.asarray(inside & (enter < leave))


def inner_length(boxes: Floats, lines: Floats) -> Floats:
    """Return how much of each straight line (x0, y0, x1, y1) runs inside its box."""
    enter, leave, inside = _spans(boxes, lines)
    size = np.hypot(lines[..., 2] - lines[..., 0], lines[..., 3] - lines[..., 1])
    return np.where(inside, np.maximum(leave - enter, 0.0), 0.0) * size


def _side(ax: Floats, ay: Floats, bx: Floats, by: Floats, px: Floats, py: Floats) -> Floats:
    return (bx - ax) * (py - ay) - (by - ay) * (px - ax)


def crossing(a: Floats, b: Floats) -> Flags:
    """Say which leaders cross (a touch counts), broadcast together; false where either is missing."""
    ax, ay, bx, by = (a[..., k] for k in range(4))
    cx, cy, dx, dy = (b[..., k] for k in range(4))
    return (_side(ax, ay, bx, by, cx, cy) * _side(ax, ay, bx, by, dx, dy) <= 0) \
        & (_side(cx, cy, dx, dy, ax, ay) * _side(cx, cy, dx, dy, bx, by) <= 0)


def foot_distance(segments: Floats, x: Floats, y: Floats) -> Floats:
    """Return the distance of points from leaders, broadcast together."""
    x0, y0 = segments[..., 0], segments[..., 1]
    dx, dy = segments[..., 2] - x0, segments[..., 3] - y0
    square = dx * dx + dy * dy
    share = np.minimum(np.maximum(((x - x0) * dx + (y - y0) * dy) / np.where(square > 0, square, 1.0), 0.0), 1.0)
    return np.hypot(x - x0 - share * dx, y - y0 - share * dy)


def leader_distance(a: Floats, b: Floats) -> Floats:
    """Return the least distance of two leaders: 0 where they cross, infinite where one is missing."""
    ends = [foot_distance(b, a[..., 0], a[..., 1]), foot_distance(b, a[..., 2], a[..., 3]),
            foot_distance(a, b[..., 0], b[..., 1]), foot_distance(a, b[..., 2], b[..., 3])]
    least = np.minimum(np.minimum(ends[0], ends[1]), np.minimum(ends[2], ends[3]))
    least = np.where(crossing(a, b), 0.0, least)
    return np.where(np.isnan(least), np.inf, least)
