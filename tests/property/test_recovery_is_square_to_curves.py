"""Recovery pegs of a peg on a curve stand square to it, outside every dig, inside the boundary, in nothing that stands.

Offset pegs square to the edge are how curves are kept while they are dug (common practice, no source).
"""

from __future__ import annotations

import pytest
import shapely

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.flatten import polygon
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.pegs.peg import Peg, PegSet
from pegbook.geometry.pegs.recovery import CLEAR_OF_OBSTACLES, INSIDE_BOUNDARY, LEAST_ARM
from support.aspegged import of_seed
from support.plots import Plot

SEEDS = range(300, 312)
ON = 0.0015


def stands(pegs: PegSet) -> dict[str, Point]:
    return {p.name: p.rebuilt or p.at for p in pegs.pegs}


def on_curves(pegs: PegSet) -> dict[str, Vec]:
    """Pegs where an arc begins or ends smoothly, whose centre has a peg, with the direction square to the arc."""
    centres = [p for p in pegs.pegs if p.purpose is Purpose.CENTRE]
    found: dict[str, Vec] = {}
    for element, outlines in pegs.outlines.items():
        arcs = [s for line in outlines for s in line.segments if isinstance(s, Arc)]
        for peg in pegs.of(element):
            if peg.purpose in (Purpose.TANGENT, Purpose.CURVE) and peg.primary:
                near = [a for a in arcs if min(peg.at.distance(a.start), peg.at.distance(a.end)) <= ON
                        and any(c.at.distance(a.centre) <= ON for c in centres)]
                if near:
                    found[peg.name] = (near[0].centre - peg.at).unit()
    return found


def open_ground(garden: Plot, clear: float) -> shapely.Geometry:
    """Where a recovery peg may stand, by other means than the program's own."""
    digs = [polygon(region, 0.002).buffer(clear, quad_segs=64) for p in garden.peggings for region in p.dug]
    things = [polygon(o.body, 0.002).buffer(max(o.clear, 0.0) + CLEAR_OF_OBSTACLES, quad_segs=64)
              for o in garden.obstacles]
    return polygon(garden.boundary, 0.002).buffer(-INSIDE_BOUNDARY).difference(shapely.union_all([*digs, *things]))


def directions(pegs: PegSet, peg: str) -> list[Vec]:
    at = stands(pegs)
    way = next(w for w in pegs.recovery if w.peg == peg)
    found = []
    for string in (way.from_1, way.from_2):
        if "-" in string:
            a, b = (at[n] for n in string.split("-"))
            found.append((b - a).unit())
    return found


def driven_off(pegs: PegSet) -> list[Peg]:
    return [p for p in pegs.pegs if p.purpose is Purpose.RECOVERY]


@pytest.mark.parametrize("seed", SEEDS)
def test_recovery_pegs_stand_on_open_ground(seed: int) -> None:
    garden, pegs = of_seed(seed)
    clear = pegs.options.recovery
    digs = shapely.union_all([polygon(region, 0.0005) for p in garden.peggings for region in p.dug])
    plot = polygon(garden.boundary, 0.002)
    bodies = shapely.union_all([polygon(o.body, 0.0005) for o in garden.obstacles])
    for peg in driven_off(pegs):
        spot = shapely.Point(peg.at.x, peg.at.y)
        assert digs.distance(spot) >= clear - 0.006, peg.name
        assert plot.buffer(-INSIDE_BOUNDARY + 0.006).covers(spot), peg.name
        assert bodies.distance(spot) >= CLEAR_OF_OBSTACLES - 0.016, peg.name


@pytest.mark.parametrize("seed", SEEDS)
def test_a_peg_on_a_curve_has_a_string_square_to_it(seed: int) -> None:
    garden, pegs = of_seed(seed)
    ground = open_ground(garden, pegs.options.recovery + 0.01)
    at = stands(pegs)
    kept = {w.peg for w in pegs.recovery}
    for name, square in on_curves(pegs).items():
        if name not in kept:
            continue
        rounding = (pegs.peg(name).bound + 4.0) / 1000 / LEAST_ARM          # radians: the peg's shift over an arm
        if any(abs(way.cross(square)) <= min(rounding, 0.012) for way in directions(pegs, name)):
            continue
        for side in (1.0, -1.0):            # else there is no ground for it within 2 m on one side or the other
            p = at[name]
            arm = shapely.LineString([(p.x + square.dx * side * d, p.y + square.dy * side * d) for d in (0.3, 2.0)])
            if arm.intersection(ground).length < 0.1:
                break
        else:
            raise AssertionError(name)


def test_most_pegs_on_curves_are_kept_square() -> None:
    square = every = 0
    for seed in range(300, 330):
        _, pegs = of_seed(seed)
        kept = {w.peg for w in pegs.recovery}
        for name, normal in on_curves(pegs).items():
            if name in kept:
                every += 1
                square += any(abs(way.cross(normal)) <= 0.012 for way in directions(pegs, name))
    assert every >= 30
    assert square / every >= 0.85
