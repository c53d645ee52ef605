"""Every method in one linear form: dp = G e + sum of S_j dq_j, and the same for many ways at once.

e are independent reading errors with standard deviations s (m), dq_j shifts of the sources. With
u = (p - q)/r for a tape and u, n along and left of a line of length L:

- two tapes: G the inverse of the rows u_i, u_j; S_i = G[:, i] u_i
- along t and out o: G = u, n, -o u, n (tape, tape, right angle, string); S_b = (t n - o u) n / L, S_a = I - S_b
- three tapes of one weight: G = (J^T J)^-1 J^T; S the same way

Derived here; the sum of all S_j is the identity for every method. det J = sin of the cut angle, which gives the
textbook error sqrt(s_i^2 + s_j^2) / sin g of a two-tape fix (e.g. Kahmen, Vermessungskunde, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .tape import FIXED_SHARE, PER_METRE_SHARE, SQUARE, STRING, Tape

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

EYE = np.eye(2)
SHARPEST = 0.5
"""Sine of the least angle between two tapes: 30 degrees (and at most 150)."""
LONGEST_OUT = 4.0
"""Longest offset, metres."""
BEYOND = 0.3
BEYOND_LINE = 1.5
"""How far past an end of the line, as a share of its length: offsets, and pegs in line."""
IN_LINE = 0.0005
SHORTEST_LINE = 0.5
NEAREST = 0.25
"""A hook nearer than this is of no use (m)."""

TIES, RADIUS, OFFSET, CHORD, LINE, THREE = 0, 1, 2, 3, 4, 5
EFFORT = np.array([3.0, 2.5, 3.0, 2.0, 1.5, 4.5])
"""Person-minutes of a method (judgement): two tapes want two or three people, a line one."""
EFFORT_PER_METRE = 0.05
EFFORT_PER_HOOKED_PEG = 0.3


@dataclass(frozen=True, slots=True)
class Form:
    """The linear form of one way: G (2 x k), sd of its k errors (m), sources' S (2 x 2 each)."""

    noise: Floats
    sds: Floats
    shifts: tuple[Floats, ...]


def ties_form(p: Floats, sources: Sequence[Floats], tape: Tape) -> Form:
    """Return the form of two tapes, or three of one weight."""
    if len(sources) == 2:
        return _two_tapes(p.tolist(), sources[0].tolist(), sources[1].tolist(), tape)
    away = np.array([p - q for q in sources])
    reach = np.hypot(away[:, 0], away[:, 1])
    units = away / reach[:, None]
    gain = np.linalg.solve(units.T @ units, units.T)
    return Form(gain, np.array([tape.sd(float(r)) for r in reach]),
                tuple(np.outer(gain[:, k], units[k]) for k in range(len(sources))))


def _two_tapes(p: list[float], a: list[float], b: list[float], tape: Tape) -> Form:
    ux, uy, vx, vy = p[0] - a[0], p[1] - a[1], p[0] - b[0], p[1] - b[1]
    r, s = math.hypot(ux, uy), math.hypot(vx, vy)
    ux, uy, vx, vy = ux / r, uy / r, vx / s, vy / s
    det = ux * vy - uy * vx
    gx, gy, hx, hy = vy / det, -vx / det, -uy / det, ux / det
    return Form(np.array([[gx, hx], [gy, hy]]), np.array([tape.sd(r), tape.sd(s)]),
                (np.array([[gx * ux, gx * uy], [gy * ux, gy * uy]]),
                 np.array([[hx * vx, hx * vy], [hy * vx, hy * vy]])))


def line_form(p: Floats, a: Floats, b: Floats, tape: Tape, out: bool) -> Form:
    """Return the form of a reading along a to b, with an offset (`out`) or on the line."""
    (px, py), (ax, ay), (bx, by) = p.tolist(), a.tolist(), b.tolist()
    length = math.hypot(bx - ax, by - ay)
    x, y = (bx - ax) / length, (by - ay) / length
    t = (px - ax) * x + (py - ay) * y
    o = (py - ay) * x - (px - ax) * y if out else 0.0
    turned_x, turned_y = (-t * y - o * x) / length, (t * x - o * y) / length
    shift_b = np.array([[-turned_x * y, turned_x * x], [-turned_y * y, turned_y * x]])
    if not out:
        return Form(np.array([[x, -y], [y, x]]), np.array([tape.sd(t), STRING]), (EYE - shift_b, shift_b))
    noise = np.array([[x, -y, -o * x, -y], [y, x, -o * y, x]])
    return Form(noise, np.array([tape.sd(t), tape.sd(o), SQUARE, STRING]), (EYE - shift_b, shift_b))


def reading_variance(d: Floats, tape: Tape) -> Floats:
    """Return s(d)^2 of readings, m2."""
    variance: Floats = (FIXED_SHARE * tape.error) ** 2 + (PER_METRE_SHARE * tape.error * d) ** 2
    return variance


def cut_angle(p: Floats, a: Floats, b: Floats) -> float:
    """Return the angle at p between the tapes from a and b, degrees."""
    (x, y), (ax, ay), (bx, by) = p.tolist(), a.tolist(), b.tolist()
    ax, ay, bx, by = ax - x, ay - y, bx - x, by - y
    return abs(math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by)))
