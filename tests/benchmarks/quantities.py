"""Units laid, cut and paired: times, and ratios to shapely on the same machine in the same run.

    python tests/benchmarks/quantities.py

Targets: 15,000 blocks of 200 x 100 on 300 m2 classed in under 20 ms, counted with cuts and pairs in under
0.3 s; the sum of the cells equal to the area of the outline within 1e-9 m2. Times are those of the processor.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import shapely

sys.path.insert(0, str(Path(__file__).parents[1]))

from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.quantities.cuts import cut_units
from pegbook.geometry.quantities.joint_lines import pattern
from pegbook.geometry.quantities.laying import Layout, lay
from pegbook.geometry.quantities.origin import offers
from pegbook.geometry.quantities.pairing import Reuse, pair
from pegbook.geometry.quantities.patterns import Bond
from support.areas import disc, rectangle, unit


def terrace(area: float) -> tuple[Region, ...]:
    """Return a rectangle of 4 : 3 with a round pond and a tree pit, of about `area` m2."""
    width = math.sqrt(area * 4 / 3 / 0.93)
    height = width * 3 / 4
    holes = (disc(width * 0.13, width * 0.4, height * 0.55)[0].outer, disc(0.6, width * 0.8, height * 0.3)[0].outer)
    return rectangle(width, height, holes=holes)


def best(work: Callable[[], object], times: int = 5) -> float:
    """Return the least time of some runs in milliseconds."""
    least = math.inf
    for _ in range(times):
        begin = time.process_time()
        work()
        least = min(least, time.process_time() - begin)
    return least * 1000


def flat(region: Region, gap: float) -> shapely.Polygon:
    """Return the region on chords that stray by at most `gap`."""
    rings = []
    for ring in region.rings():
        points = []
        for s in ring:
            n = max(2, math.ceil(abs(s.sweep) / (2 * math.acos(1 - gap / s.radius)))) if isinstance(s, Arc) else 1
            points += [(s.point(k / n).x, s.point(k / n).y) for k in range(n)]
        rings.append(points)
    return shapely.Polygon(rings[0], rings[1:])


def overlay(layout: Layout, regions: tuple[Region, ...]) -> float:
    """Return the time of shapely's overlay of the same units with the outline at 0.1 mm, in milliseconds."""
    c, s = layout.frame.axis
    x, y = layout.boxes[:, [0, 2, 2, 0]], layout.boxes[:, [1, 1, 3, 3]]
    at = layout.lay_from
    corners = np.stack([at.x + c * x - s * y, at.y + s * x + c * y], axis=-1)

    def work() -> None:
        ground = flat(regions[0], 1e-4)
        shapely.area(shapely.intersection(shapely.polygons(corners), ground))

    return best(work, 2)


def main() -> None:
    """Print the table."""
    heads = ("class", "pieces", "pairs", "total", "draw", "overlay", "ratio")
    print(f"{'case':<36}{'units':>7}{'cut':>6}" + "".join(f"{head:>9}" for head in heads) + "  misfit m2")
    cases = [
        ("600 slabs, 100 m2, stack 17", 100, unit(600, 600, 10), "stack", 17),
        ("200 x 100, 100 m2, stretcher 17", 100, unit(200, 100, 2), "stretcher", 17),
        ("200 x 100, 300 m2, stretcher 17", 300, unit(200, 100, 2), "stretcher", 17),
        ("200 x 100, 300 m2, herringbone 45", 300, unit(200, 100, 2), "herringbone", 45),
        ("200 x 100, 1200 m2, herringbone 45", 1200, unit(200, 100, 2), "herringbone", 45),
    ]
    for name, area, kind, bond, turn in cases:
        ground = terrace(area)
        at, angle, how = Point(0.013, 0.007), math.radians(turn), Bond(bond)
        layout = lay(ground, kind, how, at, angle)
        cuts = cut_units(layout)
        classing = best(lambda g=ground, k=kind, h=how, p=at, t=angle: lay(g, k, h, p, t))
        pieces = best(lambda w=layout: cut_units(w))
        pairs = best(lambda w=layout, c=cuts: pair(c, w, Reuse.STRAIGHT))
        draw = best(lambda w=layout, c=cuts: pattern(w, c), 2)
        other = overlay(layout, ground)
        figures = (classing, pieces, pairs, classing + pieces + pairs, draw, other, other / classing)
        row = "".join(f"{v:>9.1f}" for v in figures)
        print(f"{name:<36}{layout.count:>7}{len(cuts):>6}{row}  {layout.misfit:.1e}")
    print("times in ms; overlay: shapely's intersection of the same units at 0.1 mm; ratio: overlay / class")
    for name, ground, kind in (
        ("origin search, 100 slabs", rectangle(7.3, 4.9), unit(600, 600, 10)),
        ("origin search, 15,000 blocks", terrace(300), unit(200, 100, 2)),
    ):
        layout = lay(ground, kind, Bond("stretcher"), Point(0, 0))
        print(f"{name}: {best(lambda w=layout: offers(w), 3):.0f} ms")


if __name__ == "__main__":
    main()
