"""One label for each group, for like groups that touch, for near single plants, for what grows through others.

Takes what is planted. Gives labels whose numbers are the points placed, so that they add up to the schedule.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from ..kernel.flatten import polygon
from .labels import Label, label_of
from .planted import Group, Scatter, Single

CHORD = 2e-3
TOUCH = 0.02
"""Like groups nearer than this (m) have one label."""

NEAR = 2.0
"""Single plants of one kind within this many spacings of each other have one label."""


def labels_of(groups: Sequence[Group], singles: Sequence[Single], scatters: Sequence[Scatter]) -> tuple[Label, ...]:
    """Return one label for each set of like groups that touch, for near single plants, for what grows through."""
    found = []
    for cluster in _clusters(groups):
        members = [groups[k] for k in cluster]
        largest = max(members, key=lambda g: (g.radius, -g.number))
        found.append(label_of(sum(len(g.points) for g in members), largest.plant.name,
                              tuple(g.number for g in members), largest.region))
    for near in _near(singles):
        one = near[0]
        found.append(Label(len(near), one.plant.name, (), one.at, one.plant.width / 2, 0.0))
    for scatter in scatters:
        within = [g for g in groups if g.number in scatter.groups]
        if within and scatter.points:
            largest = max(within, key=lambda g: (g.radius, -g.number))
            found.append(replace(label_of(len(scatter.points), scatter.plant.name, scatter.groups, largest.region),
                                 through=True))
    return tuple(found)


def _clusters(groups: Sequence[Group]) -> list[list[int]]:
    """Return like groups that touch, each once, in their order."""
    shapes = [polygon(g.region, CHORD) for g in groups]
    head = list(range(len(groups)))
    for a in range(len(groups)):
        for b in range(a):
            if groups[a].plant.name == groups[b].plant.name and shapes[a].distance(shapes[b]) < TOUCH:
                head = [head[b] if h == head[a] else h for h in head]
    return [[k for k in range(len(groups)) if head[k] == h] for h in dict.fromkeys(head)]


def _near(singles: Iterable[Single]) -> list[list[Single]]:
    """Return single plants of one kind that stand within NEAR spacings of each other, together."""
    sets: list[list[Single]] = []
    for single in singles:
        for near in sets:
            if near[0].plant.name == single.plant.name and any(
                    s.at.distance(single.at) <= NEAR * max(s.spacing, single.spacing) for s in near):
                near.append(single)
                break
        else:
            sets.append([single])
    return sets
