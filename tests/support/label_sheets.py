"""Made-up sheets to place labels on: the random page of the literature, and setting-out sheets with linework.

Everything comes from a seed. Paper millimetres.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from pegbook.drawings.requests import Inked, Obstacles, PointLabel, Sign, Words
from pegbook.geometry.kernel.path import Loop, Path
from pegbook.geometry.kernel.point import Box, Point, Vec

FIELDS = {"A3": Box(20, 10, 335, 287), "A2": Box(20, 10, 509, 410), "A1": Box(20, 10, 756, 584)}
"""The frame of each size less a strip of 75 mm for a table."""


@dataclass(frozen=True)
class LabelSheet:
    """What a test hands to the search."""

    requests: tuple[PointLabel, ...]
    obstacles: Obstacles
    field: Box


def _along(shape: Path | Loop, rng: random.Random, count: int) -> list[Point]:
    total = shape.length
    found = []
    for _ in range(count):
        left = rng.random() * total
        for segment in shape.segments:
            if left <= segment.length:
                found.append(segment.point(left / segment.length))
                break
            left -= segment.length
    return found


def _winding(rng: random.Random, field: Box, y: float, amplitude: float, shift: float) -> Path:
    steps = 60
    waves = rng.uniform(1.5, 2.5)
    return Path.through(Point(field.x0 + 12 + (field.width - 24) * k / steps,
                              y + shift + amplitude * math.sin(waves * 2 * math.pi * k / steps))
                        for k in range(steps + 1))


def setting_out_sheet(size: str, count: int, seed: int) -> LabelSheet:
    """Return a sheet with a plot, a house, a terrace with joints, a winding path, two circles, a bed, and pegs."""
    rng = random.Random(seed)
    field = FIELDS[size]
    w, h = field.width, field.height

    def box(x: float, y: float, wide: float, high: float) -> Loop:
        a = Point(field.x0 + x * w, field.y0 + y * h)
        return Loop.polygon((a, a + Vec(wide * w, 0), a + Vec(wide * w, high * h), a + Vec(0, high * h)))

    plot = box(0.03, 0.03, 0.94, 0.94)
    house = box(0.1, 0.05, 0.35, 0.2)
    terrace = box(0.1, 0.25, 0.35, 0.15)
    bed = box(0.6, 0.08, 0.3, 0.18)
    rings = [Loop.circle(Point(field.x0 + x * w, field.y0 + y * h), r * h)
             for x, y, r in ((0.28, 0.74, 0.13), (0.74, 0.72, 0.16))]
    middle = field.y0 + 0.5 * h
    swing = 0.05 * h
    state = rng.getstate()
    path = [_winding(rng, field, middle, swing, -0.016 * h)]
    rng.setstate(state)
    path.append(_winding(rng, field, middle, swing, 0.016 * h))
    joints = [Path.through((Point(field.x0 + (0.1 + 0.35 * k / 8) * w, field.y0 + 0.25 * h),
                            Point(field.x0 + (0.1 + 0.35 * k / 8) * w, field.y0 + 0.40 * h))) for k in range(1, 8)]
    pegged: list[Path | Loop] = [terrace, bed, *rings, *path]
    lines = [*(Inked(shape, 0.35) for shape in pegged), Inked(plot, 0.18), Inked(house, 0.25),
             *(Inked(joint, 0.13) for joint in joints)]
    edges = [*pegged, plot, house]
    lengths = [edge.length for edge in edges]
    points: list[Point] = []
    while len(points) < count:
        shape = rng.choices(edges, lengths)[0]
        for at in _along(shape, rng, 1):
            if all(at.distance(p) >= 2.2 for p in points):
                points.append(at)
    requests = []
    for k, at in enumerate(points):
        kind = rng.random()
        level, radius = f"{rng.uniform(10, 13):.2f}", f"R {rng.uniform(1, 9):.2f}"
        words = f"P{100 + k}" if kind < 0.8 else level if kind < 0.9 else radius
        requests.append(PointLabel(name=f"P{100 + k}", at=at, lines=(Words(words),), radius=0.8))
    signs = tuple(Sign(at=r.at, radius=0.8, owner=r.name) for r in requests)
    return LabelSheet(tuple(requests), Obstacles(lines=tuple(lines), signs=signs), field)


PAGE = Box(0.0, 0.0, 792.0, 612.0)
LABEL = (30.0, 7.0)
"""Page and label of the usual benchmark (Christensen, Marks, Shieber 1995; sizes from memory)."""


def random_points(count: int, seed: int) -> list[Point]:
    """Return points at chance over the benchmark page."""
    rng = random.Random(seed)
    return [Point(round(rng.uniform(0.0, PAGE.x1), 3), round(rng.uniform(0.0, PAGE.y1), 3)) for _ in range(count)]
