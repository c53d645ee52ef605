"""Beds as the planting plan shows them: outlines of groups, each border once, and the mark of every plant."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..geometry.features import Role
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from .brief import Brief
from .once import Drawn
from .plan import inside, shown_at
from .requests import Inked
from .schedule import mark_at
from .sheet import Ground, Group, Mark, Stroke, View

PLANT_REACH, HEAVY = 0.6, 0.36
"""Plants count as small heavy rings: lettering keeps off them, a leader may pass between and, at a price, over them."""


def outlines(brief: Brief, view: View, once: Drawn) -> Iterator[Mark]:
    """Yield the outlines of groups, each border once."""
    for bed in brief.beds:
        for group in bed.groups:
            pieces = [p for ring in (group.region.outer, *group.region.holes) for p in inside(ring, brief.window)]
            rings = [view.path(p) if isinstance(p, Path) else view.loop(p) for p in pieces]
            strokes = tuple(
                Stroke(layer="edges", path=piece, pen="edge", classes=("plant-group",))
                for ring in rings
                for piece in once.once(ring)
            )
            ground = Ground(
                shape=group.region,
                role=Role.PLANT_GROUP.value,
                element=bed.name,
                kind="bed",
                part=f"{len(group.points)} {group.plant.name}",
            )
            yield Group(
                layer="edges",
                classes=("plant-group",),
                marks=strokes,
                title=f"{len(group.points)} {group.plant.name}",
                ground=ground,
            )


def plants(brief: Brief, view: View, marks_of: Mapping[str, str]) -> tuple[list[Mark], tuple[Inked, ...]]:
    """Return every plant's mark, single plants in the circle of their spread, and where marks stand."""
    marks: list[Mark] = []
    spots: list[Inked] = []
    for bed in brief.beds:
        for single in bed.singles:
            if not shown_at(single.at, brief):
                continue
            at, reach = view.point(single.at), max(1.6, single.plant.width / 2 * view.factor)
            ring = Loop.circle(at, reach)
            marks.append(
                _plant(
                    single.plant.name,
                    single.at,
                    bed.name,
                    (Stroke(layer="plants", path=ring, pen="edge"), *mark_at(marks_of[single.plant.name], at)),
                )
            )
            spots += [Inked(ring, HEAVY), Inked(Loop.circle(at, PLANT_REACH), HEAVY)]
        for plant, points in (*((g.plant, g.points) for g in bed.groups), *((s.plant, s.points) for s in bed.scatters)):
            for point in points:
                if not shown_at(point, brief):
                    continue
                at = view.point(point)
                marks.append(_plant(plant.name, point, bed.name, mark_at(marks_of[plant.name], at)))
                spots.append(Inked(Loop.circle(at, PLANT_REACH), HEAVY))
    return marks, tuple(spots)


def _plant(name: str, at: Point, bed: str, marks: tuple[Mark, ...]) -> Group:
    return Group(
        layer="plants",
        classes=("plant",),
        marks=marks,
        title=name,
        ground=Ground(shape=at, role=Role.PLANT.value, element=bed, kind="bed", part=name),
    )
