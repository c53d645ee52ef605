"""Plants in a group: bounds from geometry, and counts that never come from area alone."""

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon, contains_xy

from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.planting.cells import turned
from pegbook.geometry.planting.grids import TRIANGLE, best_grid, nominal, scattered
from pegbook.geometry.planting.ground import Clear, ground_of
from pegbook.geometry.planting.settle import settled


def convex(seed: int, size: float) -> Region:
    dice = random.Random(seed)
    hull = MultiPoint([(dice.uniform(0, 2 * size), dice.uniform(0, size)) for _ in range(9)]).convex_hull
    return Region(Loop.polygon([Point(x, y) for x, y in hull.exterior.coords[:-1]]))


def nearest(points: np.ndarray) -> float:
    away = np.hypot(points[:, None, 0] - points[None, :, 0], points[:, None, 1] - points[None, :, 1])
    np.fill_diagonal(away, np.inf)
    return float(away.min()) if len(points) > 1 else math.inf


@given(st.integers(0, 10_000), st.floats(1.0, 2.5))
@settings(max_examples=25, deadline=None)
def test_no_more_than_geometry_allows(seed: int, size: float) -> None:
    """N. Oler, Acta Mathematica 105 (1961) 19 (from memory): at most 2 / sqrt(3) area / s2 + edge / (2 s) + 1."""
    spacing = 0.4
    ground = ground_of(convex(seed, size), spacing)
    if ground.is_empty:
        return
    bound = ground.area / (float(TRIANGLE) * spacing**2) + ground.length / (2 * spacing) + 1
    grid = best_grid(ground, spacing, 0.0)
    (fitted,) = settled([ground], [grid], [spacing])
    assert len(grid) <= len(fitted) <= bound + 1e-6
    assert nearest(grid) >= spacing - 1e-9
    assert nearest(fitted) >= spacing - 1e-3
    assert max(ground.distance(p) for p in MultiPoint(fitted).geoms) < 1e-4


def test_mean_over_random_grids_is_area_over_the_ground_of_a_plant() -> None:
    """A lattice laid at random covers area / (0.866 s2) points of any shape in the mean (derived: its cell area)."""
    dice = np.random.default_rng(5)
    spacing = 0.5
    shape = Polygon([(0, 0), (4, 0.5), (3.5, 2.5), (2, 1.8), (0.5, 3)]).buffer(-spacing / 2)
    reach = 20
    i, j = np.meshgrid(np.arange(-reach, reach), np.arange(-reach, reach))
    base = np.column_stack([((i + 0.5 * (j % 2)) * spacing).ravel(), (j * float(TRIANGLE) * spacing).ravel()])
    counts = []
    for _ in range(600):
        spots = turned(base + dice.random(2) * (spacing, 2 * float(TRIANGLE) * spacing), float(dice.random() * math.pi))
        counts.append(int(contains_xy(shape, spots[:, 0] + 2, spots[:, 1] + 1.5).sum()))
    assert np.mean(counts) == pytest.approx(nominal(shape.area, spacing), rel=0.03)


def test_settling_gains_on_the_best_grid_in_small_groups() -> None:
    """In ground for 8 to 15 plants by area, settled plants reach 0.66 of that figure, the best grid well under."""
    grids = fitted = plain = 0.0
    for seed in range(12):
        region = convex(seed + 100, 1.4)
        spacing = math.sqrt(region.area / (float(TRIANGLE) * 12))
        ground = ground_of(region, spacing)
        grid = best_grid(ground, spacing, 0.0)
        (more,) = settled([ground], [grid], [spacing])
        plain, grids, fitted = plain + 12, grids + len(grid), fitted + len(more)
    assert fitted / plain >= 0.66
    assert fitted > 1.1 * grids


def test_scattered_plants_keep_apart_and_to_their_number() -> None:
    ground = ground_of(convex(3, 3.0), 0.2)
    spots = scattered(ground, 0.2, 4, 30)
    assert len(spots) == 30
    assert nearest(spots) >= 0.2
    assert np.array_equal(spots, scattered(ground, 0.2, 4, 30))
    assert not np.array_equal(spots, scattered(ground, 0.2, 5, 30))


def test_ground_is_clear_of_single_plants() -> None:
    region = convex(8, 3.0)
    at = Point(*ground_of(region, 0.4).representative_point().coords[0])
    ground = ground_of(region, 0.4, [Clear(at, 0.5)])
    assert ground.distance(MultiPoint([(at.x, at.y)])) >= 0.5 + 0.2 - 1e-6
