"""The independent check of labels as they finally stand: from their marks alone, one pair at a time.

Shares no arithmetic with the search. What it finds is a fault of the search, and refused as such. Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from ..geometry.errors import DrawingError, Problem
from ..geometry.kernel.flatten import line
from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Box, Point
from .blocks import ink_corners
from .obstacles import FLAT, HEAVY, lettered
from .requests import Lettered, Obstacles, Placed, PointLabel, Request
from .sheet import Mark, Stroke, Text, flat

APART = 0.5
"""Texts closer than this run together (more than the space between letters, 2/14 of their height)."""

OFF_HEAVY = 0.2
OWN = 0.5
WITHIN = 0.05
"""Slack at the field's edge for rounding of places to 0.001 mm."""


@dataclass(frozen=True, slots=True)
class _Standing:
    placed: Placed
    texts: tuple[shapely.Polygon, ...]
    leader: shapely.LineString | None


def _texts(marks: Sequence[Mark]) -> tuple[shapely.Polygon, ...]:
    return tuple(_ink(lettered(mark)) for mark in flat(tuple(marks)) if isinstance(mark, Text))


def _ink(text: Lettered) -> shapely.Polygon:
    return shapely.Polygon(ink_corners(text.corner, text.width, text.height, text.turn))


def _standing(placed: Placed) -> _Standing:
    runs = [mark.path for mark in flat(placed.marks) if isinstance(mark, Stroke) and "leader" in mark.classes]
    paths = [run for run in runs if isinstance(run, Path)]
    return _Standing(placed, _texts(placed.marks), line(paths[0], FLAT) if paths else None)


def _fault(name: str, reason: str, shape: shapely.Geometry) -> Problem:
    at = shapely.centroid(shape)
    return Problem(f"the label '{name}' at ({at.x:.1f}, {at.y:.1f}) mm {reason}",
                   "take a larger scale or sheet, and report this: the search let it pass", "label-check")


def _joined(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    return shapes[0] if len(shapes) == 1 else shapely.union_all(shapes)


def _pairs(labels: Sequence[_Standing]) -> Iterator[Problem]:
    whole = [_joined([*s.texts, *([s.leader] if s.leader else [])]) for s in labels]
    tree = shapely.STRtree(whole)
    if not whole:
        return
    for a, b in sorted(zip(*(k.tolist() for k in tree.query(whole, predicate="dwithin", distance=APART)), strict=True)):
        if a < b:
            yield from _pair(labels[a], labels[b])


def _pair(one: _Standing, two: _Standing) -> Iterator[Problem]:
    name, other = one.placed.name, two.placed.name
    for text in one.texts:
        if any(text.distance(t) < APART - 1e-3 for t in two.texts):
            yield _fault(name, f"runs into the label '{other}'", text)
    for run, texts in ((one.leader, two.texts), (two.leader, one.texts)):
        if run is not None and any(run.distance(t) < OFF_HEAVY for t in texts):
            yield _fault(name, f"and '{other}': a leader runs through lettering", run)
    if one.leader is not None and two.leader is not None and one.leader.intersects(two.leader):
        yield _fault(name, f"has a leader that crosses that of '{other}'", one.leader)


def _against(labels: Sequence[_Standing], obstacles: Obstacles, field: Box) -> Iterator[Problem]:
    heavy = [(line(ink.path, FLAT), ink.width) for ink in obstacles.lines if ink.width >= HEAVY - 1e-6]
    heavy_tree = shapely.STRtree([run for run, _ in heavy])
    reach = max((width for _, width in heavy), default=0.0) / 2 + OFF_HEAVY
    texts = [_ink(text) for text in obstacles.texts]
    text_tree = shapely.STRtree(texts)
    room = shapely.box(field.x0 - WITHIN, field.y0 - WITHIN, field.x1 + WITHIN, field.y1 + WITHIN)
    for standing in labels:
        name = standing.placed.name
        for text in standing.texts:
            if standing.placed.way != "column" and not room.covers(text):
                yield _fault(name, "leaves the field", text)
            for k in heavy_tree.query(text, predicate="dwithin", distance=reach):
                if heavy[k][0].distance(text) < heavy[k][1] / 2 + OFF_HEAVY:
                    yield _fault(name, "lies on a heavy line", text)
            if len(text_tree.query(text, predicate="dwithin", distance=APART - 1e-3)):
                yield _fault(name, "runs into other lettering", text)
        run = standing.leader
        if run is not None and len(text_tree.query(run, predicate="dwithin", distance=OFF_HEAVY)):
            yield _fault(name, "has a leader through other lettering", run)


def _owned(labels: Sequence[_Standing], requests: Sequence[Request], obstacles: Obstacles) -> Iterator[Problem]:
    own = {r.name: r.at for r in requests if isinstance(r, PointLabel)}
    signs = {(round(s.at.x, 2), round(s.at.y, 2)) for s in obstacles.signs}
    signs |= {(round(p.x, 2), round(p.y, 2)) for p in own.values()}
    points = [shapely.Point(at) for at in sorted(signs)]
    tree = shapely.STRtree(points)
    for standing in labels:
        at = own.get(standing.placed.name)
        if at is None or standing.leader is not None:
            continue
        body = _joined(standing.texts)
        mine = body.distance(shapely.Point(at.x, at.y))
        for k in tree.query(body, predicate="dwithin", distance=mine + OWN):
            other = points[k]
            if math.hypot(other.x - at.x, other.y - at.y) > 0.1 and body.distance(other) < mine + OWN - 1e-3:
                yield _fault(standing.placed.name, "is nearly as near to another point as to its own", body)


def prove(placed: Sequence[Placed], requests: Sequence[Request], obstacles: Obstacles, field: Box) -> None:
    """Check labels as they stand; DrawingError with every fault found.

    No lettering in other lettering, outside the field or on a heavy line; no leader through lettering or across
    another; no label without a leader that another point could claim.
    """
    labels = [_standing(p) for p in placed]
    faults = [*_pairs(labels), *_against(labels, obstacles, field), *_owned(labels, requests, obstacles)]
    if faults:
        raise DrawingError(*faults)


def place_of(placed: Placed) -> Point:
    """Return the middle of a label's lettering, mm."""
    return Box.around(region.box for region in placed.boxes).centre
