"""Shadows of the presentation copy: one light from the upper left, what stands throws to the lower right.

Takes: a stage. Gives: fills in paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Loop, Region
from ..geometry.kernel.point import Point, Vec
from .draft import moved_loop, rectangle
from .planned import Stage
from .sheet import Fill

THROW = {Role.CROWN: 2.6, Role.POST: 2.2, Role.HEDGE: 1.6, Role.WALL: 0.8}
"""How far things throw their shadow to the lower right, mm."""


def shadows(on: Stage) -> Iterator[Fill]:
    """Yield the shadows, united so that none is darker than another, inside the plot and not on the thing itself."""
    from ..geometry.kernel.combine import common, difference, union

    thrown: list[Region] = []
    for feature in on.brief.features:
        body = _body(feature, on)
        if body is not None:
            by = Vec(THROW[feature.role], -THROW[feature.role]) * math.sqrt(0.5)
            cast = [Region(moved_loop(body.outer, by), tuple(moved_loop(h, by) for h in body.holes))]
            if feature.role is Role.POST:       # the shadow begins at its foot
                cast.append(_streak(body.box.centre, by, body.box.width / 2))
            thrown += difference(union(cast), (body,))
    if not thrown:
        return
    inside = common(union(thrown), (_plot(on),))
    yield from (Fill(layer="shadows", region=region, opacity=0.16, classes=("shadow",)) for region in inside)


def _streak(at: Point, by: Vec, half: float) -> Region:
    """Return the straight part of the shadow of a slender thing."""
    side = by.unit().left() * half
    return Region(Loop.polygon((at + -side, at + by + -side, at + by + side, at + side)))


def _body(feature: Feature, on: Stage) -> Region | None:
    """Return what throws a shadow, on paper."""
    if feature.role not in THROW or feature.status is Status.REMOVE:
        return None
    if isinstance(feature.shape, Region):
        return on.view.region(feature.shape)
    if not isinstance(feature.shape, Point):
        return None
    at, size = on.view.point(feature.shape), feature.size * on.view.factor
    return Region(Loop.circle(at, max(size, 1.3) / 2))


def _plot(on: Stage) -> Region:
    boundary = next((f.shape for f in on.brief.of(Role.BOUNDARY)), None)
    if isinstance(boundary, Region):
        return on.view.region(boundary)
    if boundary is not None and not isinstance(boundary, Point) and boundary.start.distance(boundary.end) < 1e-6:
        return Region(Loop.of(on.view.path(boundary).segments))
    return Region(rectangle(on.plot))
