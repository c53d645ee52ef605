"""The planting plan: groups with their numbers and names, single plants, the schedule with its months."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from ..geometry.features import Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point, Vec
from . import asks
from .brief import Brief
from .drafts import Draft
from .filling import caution_rows
from .lettering import width
from .once import Drawn
from .panel import COLUMN, notes
from .plan import AMONG_EDGES, Insert, in_window, inside, shown_at
from .planned import Stage, lettered, north, under
from .requests import AreaLabel, Inked, Obstacles, Request
from .schedule import kinds_of, mark_at, schedule_of
from .sheet import Ground, Group, Mark, Stroke, Text, View
from .sizes import sizes
from .warnings import cautions_for

KIND = "planting"
PLANT_REACH, HEAVY = 0.6, 0.36
"""Plants count as small heavy rings: lettering keeps off them, a leader may pass between and, at a price, over them."""


def planting_sheet(on: Stage) -> Draft:
    """Return the planting plan; a schedule that is too long for its panel goes on to a further sheet."""
    brief, view = on.brief, on.view
    _, marks = under(KIND, on, Insert(AMONG_EDGES, lambda once: tuple(_outlines(brief, view, once))))
    marks_of = {kind.plant.name: kind.mark for kind in kinds_of(brief.beds)}
    plants, spots = _plants(brief, view, marks_of)
    marks = (*marks, north(on))
    marks = (*marks, *sizes(KIND, on, marks))
    requests = [*_group_names(brief, view), *_places(on), *_trees(brief, view)]
    words = lettered(on, marks, requests, sides=("left", "right"), more=Obstacles(lines=spots))
    schedule = schedule_of(brief.beds)
    rows = caution_rows(cautions_for(KIND, brief.cautions), on.plate, notes(_notes(brief), COLUMN, "Planting"))
    return Draft(
        name=KIND,
        title="Planting plan",
        plate=on.plate,
        scale=view.scale,
        views=(view,),
        marks=(*marks, *plants, *(_bold_number(m) for m in words.marks)),
        rows=rows,
        tables=(schedule,) if schedule else (),
    )


def _outlines(brief: Brief, view: View, once: Drawn) -> Iterator[Mark]:
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


def _plants(brief: Brief, view: View, marks_of: Mapping[str, str]) -> tuple[list[Mark], tuple[Inked, ...]]:
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


def _group_names(brief: Brief, view: View) -> Iterator[Request]:
    """Yield number and name of every set of like groups, and of single plants."""
    for bed in brief.beds:
        regions = {g.number: g.region for g in bed.groups}
        for number, label in enumerate(bed.labels):
            if label.through or not shown_at(label.centre, brief):
                continue
            name, lines = f"plants {bed.name} {number:04d}", asks.small_lines(label.text, 40.0)
            if label.groups:
                yield AreaLabel(
                    name=name,
                    regions=tuple(view.region(r) for n in label.groups for r in in_window((regions[n],), brief.window)),
                    lines=lines,
                    classes=("label", "plant-name"),
                )
            else:
                ring = Loop.circle(view.point(label.centre), max(2.4, label.radius * view.factor))
                yield AreaLabel(name=name, regions=(Region(ring),), lines=lines, classes=("label", "plant-name"))


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


def _trees(brief: Brief, view: View) -> Iterator[Request]:
    for feature in brief.of(Role.CROWN):
        if feature.status is Status.PROPOSED and isinstance(feature.shape, Point) and shown_at(feature.shape, brief):
            ring = Loop.circle(view.point(feature.shape), 3.2)
            yield AreaLabel(
                name=f"name {feature.element}",
                regions=(Region(ring),),
                classes=("label", "plant-name"),
                lines=asks.small_lines(f"1 {brief.labels.get(feature.element) or feature.element}"),
            )


def _bold_number(mark: Mark) -> Mark:
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


def _notes(brief: Brief) -> list[str]:
    words = [
        "Stand all plants out in their pots, largest first. Adjust, then plant.",
        "Outer plants stand half a spacing inside the edge. Numbers are of plants drawn.",
    ]
    if any(f.status is Status.EXISTING for f in brief.of(Role.CROWN)):
        words.append("Under a tree that stays plant between its roots, by hand.")
    harmful = sorted(
        {g.plant.name: g.plant.caution for bed in brief.beds for g in bed.groups if g.plant.caution}.items()
    )
    words += [f"{name[:1].upper()}{name[1:]}: {caution}." for name, caution in harmful[:4]]
    through = [label.text for bed in brief.beds for label in bed.labels if label.through]
    if through:
        words.append(f"Grown through others: {', '.join(through[:6])}.")
    return words
