"""Unions of circles against a method that shares nothing with ours: the open angles of each circle, summed by Green."""

import math
import random

import pytest

from pegbook.geometry.kernel.combine import union
from support.shapes import area, circle, girth


def area_and_girth(circles: list[tuple[float, float, float]]) -> tuple[float, float]:
    """Area and girth of a union of circles: per circle the angles that no other covers, then (1/2) of x dy - y dx."""
    area_terms: list[float] = []
    girth_terms: list[float] = []
    for k, (x, y, r) in enumerate(circles):
        covered: list[tuple[float, float]] = []
        hidden = False
        for m, (ox, oy, other) in enumerate(circles):
            d = math.hypot(ox - x, oy - y)
            if m == k or d >= r + other or d <= r - other:
                continue
            if d <= other - r:
                hidden = True
                break
            way, half = math.atan2(oy - y, ox - x), math.acos((d * d + r * r - other * other) / (2 * d * r))
            low = (way - half) % (2 * math.pi)
            covered += [(low, low + 2 * half)] if low + 2 * half <= 2 * math.pi else \
                [(low, 2 * math.pi), (0.0, low + 2 * half - 2 * math.pi)]
        if hidden:
            continue
        at = 0.0
        for low, high in [*sorted(covered), (2 * math.pi, 2 * math.pi)]:
            if low > at:
                area_terms.append(0.5 * r * (r * (low - at) + x * (math.sin(low) - math.sin(at))
                                             - y * (math.cos(low) - math.cos(at))))
                girth_terms.append(r * (low - at))
            at = max(at, high)
    return math.fsum(area_terms), math.fsum(girth_terms)


@pytest.mark.parametrize("seed", range(40))
def test_union_of_circles(seed: int) -> None:
    rng = random.Random(seed)
    count = rng.choice((2, 5, 20, 60))
    spread = 0.9 * math.sqrt(count) * rng.uniform(0.8, 2)
    circles = [(rng.uniform(0, spread), rng.uniform(0, spread), rng.uniform(0.3, 1.5)) for _ in range(count)]
    both = union([circle(*c) for c in circles])
    want_area, want_girth = area_and_girth(circles)
    assert area(both) == pytest.approx(want_area, abs=1e-10)
    assert girth(both) == pytest.approx(want_girth, abs=1e-9)
