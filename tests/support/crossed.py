"""Which tapes and strings of a set cross what stands in the garden, looked at with shapely alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import shapely

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.flatten import polygon
from pegbook.geometry.pegs.peg import Method, Peg, PegSet
from support.plots import Plot

Spot = tuple[float, float]

ALONG = 0.015
"""A tape may lie along a face, this far within the body as it is drawn (m)."""


def lines_of(p: Peg, pegs: Mapping[str, Peg]) -> list[tuple[Spot, Spot]]:
    """The tapes and strings of one step: both tapes; the string as far as it is used and the offset from it."""
    at = (p.at.x, p.at.y)
    ends = [(pegs[s].at.x, pegs[s].at.y) for s in p.sources]
    if p.method in (Method.TIES, Method.RADIUS):
        return [(e, at) for e in ends]
    if p.method is Method.LINE:
        return [(ends[0], at)]
    u = (pegs[p.sources[1]].at - pegs[p.sources[0]].at).unit()
    assert p.reading_1 is not None
    foot = pegs[p.sources[0]].at + u * p.reading_1.metres
    return [(ends[0], (foot.x, foot.y)), ((foot.x, foot.y), at)]


def crossed(garden: Plot, pegs: PegSet) -> Iterator[tuple[str, str]]:
    """Yield each peg with an obstacle that a tape or string of its step crosses, or comes nearer to than is clear.

    What begins or ends in an obstacle's band need keep out of its body only, and so need strings to recovery pegs.
    """
    named = pegs.by_name()
    things = [(o, body, body.buffer(-ALONG)) for o in garden.obstacles for body in [polygon(o.body, 0.001)]]
    for p in pegs.pegs:
        if p.method is Method.FIXED:
            continue
        for a, b in lines_of(p, named):
            line = shapely.LineString([a, b])
            for o, body, inner in things:
                banded = min(body.distance(shapely.Point(a)), body.distance(shapely.Point(b))) <= o.clear + 1e-6
                near = not banded and p.purpose is not Purpose.RECOVERY and body.distance(line) < o.clear - 0.01
                if near or line.intersection(inner).length >= 0.005:
                    yield p.name, o.element
