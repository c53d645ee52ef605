"""Nodes against the same crossings worked in sixty figures (mpmath)."""

import random

import mpmath
import pytest

from pegbook.geometry.kernel.combine import common
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point


def exact(a: tuple[float, float, float], b: tuple[float, float, float]) -> list[tuple[mpmath.mpf, mpmath.mpf]]:
    """Both crossings of two circles by elimination, in sixty figures."""
    with mpmath.workdps(60):
        (x, y, r), (u, v, s) = [tuple(mpmath.mpf(n) for n in c) for c in (a, b)]
        dx, dy = u - x, v - y
        d2 = dx * dx + dy * dy
        along = (d2 + r * r - s * s) / (2 * d2)
        across = mpmath.sqrt(r * r / d2 - along * along)
        return [(x + along * dx - k * across * dy, y + along * dy + k * across * dx) for k in (1, -1)]


@pytest.mark.parametrize("seed", range(30))
def test_where_circles_cross(seed: int) -> None:
    rng = random.Random(seed)
    r, s, way = rng.uniform(0.5, 6), rng.uniform(0.5, 6), rng.uniform(0.15, 0.85)
    d = abs(r - s) + way * (r + s - abs(r - s))
    a = (rng.uniform(-9, 9), rng.uniform(-9, 9), r)
    b = (a[0] + d * 0.6, a[1] + d * 0.8, s)
    lens = common([Region(Loop.circle(Point(a[0], a[1]), r))], [Region(Loop.circle(Point(b[0], b[1]), s))])
    corners = sorted((p.x, p.y) for p in lens[0].outer.vertices())
    for (x, y), (tx, ty) in zip(corners, sorted(exact(a, b)), strict=True):
        assert abs(x - float(tx)) < 5e-14 * 20
        assert abs(y - float(ty)) < 5e-14 * 20
        with mpmath.workdps(60):    # and on both circles to the last figure but one
            for cx, cy, radius in (a, b):
                off = mpmath.hypot(mpmath.mpf(x) - mpmath.mpf(cx), mpmath.mpf(y) - mpmath.mpf(cy)) - mpmath.mpf(radius)
                assert abs(off) < 2e-14
