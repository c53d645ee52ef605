"""Names on the planting plan: number and name of groups, single plants, trees and hedges, and of large places.

The numbers are those of the schedule: of the points that stand on the ground.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..geometry.features import Role
from ..geometry.kernel.path import Loop, Region
from ..geometry.kernel.point import Vec
from . import asks
from .brief import Brief
from .lettering import width
from .plan import in_window, shown_at
from .planned import Stage
from .requests import AreaLabel, PointLabel, Request
from .sheet import Group, Mark, Text, View

KIND = "planting"
CLASSES = ("label", "plant-name")
LONGEST = 40.0
"""A name is broken into lines over this width, mm."""


def planting_names(on: Stage, column: bool = False) -> list[Request]:
    """Return all that is to be lettered on the planting plan.

    A tree's name leads to the very point that it is planted at; or (with `column`) beside it, and in the column if need
    be.
    """
    brief, view = on.brief, on.view
    return [*_group_names(brief, view), *_places(on), *_trees(brief, view, column), *_hedges(brief, view)]


def _group_names(brief: Brief, view: View) -> Iterator[Request]:
    """Yield number and name of every set of like groups, and of single plants."""
    for bed in brief.beds:
        regions = {g.number: g.region for g in bed.groups}
        for number, label in enumerate(bed.labels):
            if label.through or not shown_at(label.centre, brief):
                continue
            name, lines = f"plants {bed.name} {number:04d}", asks.small_lines(label.text, LONGEST)
            if label.groups:
                yield AreaLabel(
                    name=name,
                    regions=tuple(view.region(r) for n in label.groups for r in in_window((regions[n],), brief.window)),
                    lines=lines,
                    classes=CLASSES,
                )
            else:
                ring = Loop.circle(view.point(label.centre), max(2.4, label.radius * view.factor))
                yield AreaLabel(name=name, regions=(Region(ring),), lines=lines, classes=CLASSES)


def _places(on: Stage) -> Iterator[Request]:
    """Yield the names of large places, for finding one's way: no areas, no beds."""
    planted = {bed.name for bed in on.brief.beds}
    for request in asks.names(KIND, on.brief, on.view, on.surfaces, areas=False):
        feature = next((f for f in on.brief.features if f"name {f.element}" == request.name), None)
        if (
            isinstance(request, AreaLabel)
            and feature is not None
            and feature.element not in planted
            and feature.role not in {Role.WALL, Role.HEDGE, Role.FENCE, Role.STEPS, Role.CROWN}
        ):
            yield request


def _trees(brief: Brief, view: View, column: bool) -> Iterator[Request]:
    for single in brief.singles:
        shown = [at for at in single.at if shown_at(at, brief)]
        if shown:
            at, name = view.point(shown[0]), f"name {single.name}"
            lines = asks.small_lines(f"{len(single.at)} {single.plants[single.plant].name}", LONGEST)
            if column:
                yield AreaLabel(name=name, regions=(Region(Loop.circle(at, 3.2)),), classes=CLASSES, lines=lines)
            else:
                yield PointLabel(name=name, at=at, radius=CROSS, leader=40.0, at_home=True, classes=CLASSES,
                                 lines=lines)


CROSS = 1.9
"""How far the cross at a tree's planting point reaches, mm."""


def _hedges(brief: Brief, view: View) -> Iterator[Request]:
    bodies = {line.name: [f.shape for f in brief.features if f.element == line.name and isinstance(f.shape, Region)]
              for line in brief.lines}
    for line in brief.lines:
        shown = tuple(view.region(r) for body in bodies[line.name] for r in in_window((body,), brief.window))
        if shown:
            yield AreaLabel(name=f"name {line.name}", regions=shown, classes=CLASSES,
                            lines=asks.small_lines(f"{line.count} {line.plant.name}", LONGEST))


def bold_number(mark: Mark) -> Mark:
    """Return a plant's name with its number bold: figures of both styles have one width, so nothing moves."""
    if not isinstance(mark, Text) or "plant-name" not in mark.classes:
        return mark
    number, _, name = mark.words.partition(" ")
    if not number.isdigit() or not name:
        return mark
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[mark.anchor] * width(mark.words, mark.style, mark.capitals)
    along = Vec.polar(mark.turn)
    start = mark.at + along * -back
    first = replace(mark, at=start, words=number, style="bold", anchor="start")
    space = width("a a", mark.style, mark.capitals) - 2 * width("a", mark.style, mark.capitals)
    ahead = width(number, "bold", mark.capitals) + space
    second = replace(mark, at=start + along * ahead, words=name, anchor="start")
    return Group(layer=mark.layer, classes=("plant-label",), marks=(first, second), title=mark.words)
