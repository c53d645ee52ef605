"""Speed of the kernel as ratios to shapely overlays of the same shapes flattened at 0.1 mm, flattening included.

Run: python tests/benchmarks/kernel.py. Both sides start from the same regions and end in their own result;
the best of several runs counts on both, in time of the processor, so that what else runs there matters little. No
time is asserted anywhere.
"""

import math
import random
import resource
import time
from collections.abc import Callable

import numpy as np
import shapely

from pegbook.geometry.kernel.combine import difference, partition, union
from pegbook.geometry.kernel.construct import rectangle
from pegbook.geometry.kernel.fit import flowing_path
from pegbook.geometry.kernel.offset import band, grown
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc

GAP = 1e-4


def best(work: Callable[[], object], seconds: float = 0.6) -> float:
    times: list[float] = []
    until = time.perf_counter() + seconds
    while time.perf_counter() < until or len(times) < 3:
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def flattened(region: Region) -> shapely.Polygon:
    """The region with chords within GAP, in numpy, as quick as we could make it."""
    rings = []
    for loop in (region.outer, *region.holes):
        parts = []
        for s in loop.segments:
            if isinstance(s, Arc):
                count = max(1, math.ceil(abs(s.sweep) / (2 * math.acos(1 - GAP / s.radius))))
                angles = np.linspace(s.begin, s.begin + s.sweep, count + 1)[:-1]
                parts.append(np.column_stack([s.centre.x + s.radius * np.cos(angles),
                                              s.centre.y + s.radius * np.sin(angles)]))
            else:
                parts.append(np.array([[s.start.x, s.start.y]]))
        rings.append(np.concatenate(parts))
    return shapely.Polygon(rings[0], rings[1:])


def circles(count: int, spread: float) -> list[Region]:
    rng = random.Random(count)
    return [Region(Loop.circle(Point(rng.uniform(0, spread), rng.uniform(0, spread)), rng.uniform(0.5, 2)))
            for _ in range(count)]


def small_garden() -> tuple[list[Region], list[Region]]:
    """A plot and five elements that lie over each other's edges."""
    plot = Region(rectangle(Point(0, 0), 20, 12, 0))
    lawn = Region(Loop.circle(Point(8, 6), 3.6))
    patio = Region(rectangle(Point(1, 1), 5, 4, 0, 0.5))
    pond = Region(Loop.circle(Point(13, 8), 1.8))
    bed = Region(rectangle(Point(10, 2), 6, 3, 0.2, 1.2))
    tree = Region(Loop.circle(Point(17, 10), 1.1))
    return [plot], [lawn, patio, pond, bed, tree]


def large_garden(count: int) -> dict[str, list[Region]]:
    """A plot with room for `count` elements at the density of a full garden, named."""
    rng = random.Random(count)
    side = 3.0 * math.sqrt(count)
    named = {"plot": [Region(rectangle(Point(0, 0), side, side, 0))]}
    for k in range(count - 1):
        x, y = rng.uniform(0, side - 3), rng.uniform(0, side - 3)
        kind = k % 3
        if kind == 0:
            named[f"e{k}"] = [Region(Loop.circle(Point(x + 1.5, y + 1.5), rng.uniform(0.4, 1.5)))]
        elif kind == 1:
            named[f"e{k}"] = [Region(rectangle(Point(x, y), rng.uniform(0.5, 2.5), rng.uniform(0.5, 2.5), 0))]
        else:
            named[f"e{k}"] = [Region(rectangle(Point(x, y), rng.uniform(1, 2.5), rng.uniform(1, 2.5), 0, 0.4))]
    return named


def compared(name: str, goal: str, ours: Callable[[], object], theirs: Callable[[], object]) -> None:
    a, b = best(ours), best(theirs)
    print(f"{name:<42}{a * 1e3:>10.2f}{b * 1e3:>12.2f}{a / b:>9.2f}   {goal}")


def main() -> None:
    print(f"{'case':<42}{'ours ms':>10}{'shapely ms':>12}{'ratio':>9}   goal")
    plot, elements = small_garden()
    compared("6 elements, plot less 5", "2", lambda: difference(plot, elements),
             lambda: shapely.difference(flattened(plot[0]), shapely.union_all([flattened(e) for e in elements])))
    for count, spread, goal in ((2, 1.5, "-"), (20, 8.0, "1"), (200, 30.0, "-"), (500, 50.0, "0.5")):
        shapes = circles(count, spread)
        compared(f"union of {count} circles", goal, lambda s=shapes: union(s),  # type: ignore[misc]
                 lambda s=shapes: shapely.union_all([flattened(c) for c in s]))  # type: ignore[misc]
    rounded = [Region(rectangle(Point(0, 0), 20, 10, 0.3, 2.0))]
    compared("rounded rectangle grown by 0.15", "-", lambda: grown(rounded, 0.15),
             lambda: flattened(rounded[0]).buffer(0.15, quad_segs=32))
    walk = flowing_path([Point(0, 0), Point(4, 2), Point(8, -1), Point(12, 1), Point(16, 0)])
    print(f"{'band 1.2 m of a flowing path':<42}{best(lambda: band(walk, 1.2)) * 1e3:>10.2f}")
    each: dict[int, float] = {}
    for count in (100, 300, 1000):
        named = large_garden(count)
        taken = best(lambda n=named: partition(n), 2.0)  # type: ignore[misc]
        each[count] = taken / count
        faces = len(partition(named))
        print(f"{f'partition of {count} elements, {faces} faces':<42}{taken * 1e3:>10.2f}"
              f"{'':>12}{each[count] / each[100]:>9.2f}   {'1.5 an element, < 1 s' if count == 1000 else ''}")
    print(f"most memory of this run: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB (goal 300)")


if __name__ == "__main__":
    main()
