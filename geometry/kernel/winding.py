"""Winding numbers: how often each column's outlines run round a place.

The numbers of a component's outside come from the edges of all others; the rest of it is flooded edge by edge, and
must come out the same by every way (the last part of the certificate).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

import numpy as np

from .noding import Delta, Edges
from .path import Region
from .planar import Planar, Uncertain
from .point import Point
from .segment import Arc
from .table import Floats, Ints, Table

Label: TypeAlias = tuple[tuple[int, int], ...]
"""Windings that are not 0, as (column, number), by column."""


def _turns(ax: Floats, ay: Floats, bx: Floats, by: Floats, cx: Floats, cy: Floats, radius: Floats, sweep: Floats,
           x: float, y: float) -> Ints:
    """Return how much each edge from a to b adds to the winding round (x, y): chord rule, half open in y,
    and the piece between chord and arc. Arcs turn by half a turn at most.
    """  # noqa: D205
    cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
    up = (ay <= y) & (y < by) & (cross > 0)
    down = (by <= y) & (y < ay) & (cross < 0)
    # A point on the chord itself belongs to its right exactly where the chord rule puts it.
    right = (cross < 0) | ((cross == 0) & ((by > ay) | ((by == ay) & (bx < ax))))
    inside = np.hypot(x - cx, y - cy) < radius
    found: Ints = (up.astype(np.int64) - down.astype(np.int64) + ((sweep > 0) & inside & right)
                   - ((sweep < 0) & inside & ~right))
    return found


def labels(table: Table, graph: Planar) -> list[Label]:
    """Return the label of every cycle's left side; Uncertain where two ways disagree."""
    outer = _outsides(table, graph)
    found: list[Label | None] = [None] * len(graph.area)
    cycle, deltas = graph.cycle, graph.edges.deltas
    members: list[list[int]] = [[] for _ in graph.area]
    for h, c in enumerate(cycle):
        members[c].append(h)
    for component, start in enumerate(graph.outside):
        found[start] = outer[component]
        waiting = [start]
        while waiting:
            c = waiting.pop()
            here = found[c]
            assert here is not None
            for h in members[c]:
                beyond = cycle[h ^ 1]
                if found[beyond] is None:
                    found[beyond] = _across(here, deltas[h >> 1], -1 if h & 1 == 0 else 1)
                    waiting.append(beyond)
    return _consistent(graph, [label or () for label in found])


def _across(label: Label, delta: Delta, sign: int) -> Label:
    """Return the label after crossing an edge: plus `sign` times its difference."""
    if not delta:
        return label
    counts = dict(label)
    for column, difference in delta:
        counts[column] = counts.get(column, 0) + sign * difference
    return tuple(sorted((c, n) for c, n in counts.items() if n))


def _consistent(graph: Planar, found: list[Label]) -> list[Label]:
    for e, delta in enumerate(graph.edges.deltas):
        if found[graph.cycle[2 * e]] != _across(found[graph.cycle[2 * e + 1]], delta, 1):
            raise Uncertain(int(graph.edges.a[e]))
    return found


def _outsides(table: Table, graph: Planar) -> list[Label]:
    """Return the label of each component's outside, from the edges of all other components."""
    if len(graph.outside) <= 1:
        return [()] * len(graph.outside)
    edges = graph.edges
    owner = np.array([graph.component[c] for c in graph.cycle[0::2]], dtype=np.int64)
    first = {graph.component[c]: h for h, c in reversed(list(enumerate(graph.cycle)))}
    spans = _spans(edges, owner, len(graph.outside))
    found: list[Label] = []
    for component in range(len(graph.outside)):
        x, y = edges.nodes[graph.origin[first[component]]].tolist()
        near = np.flatnonzero((spans[:, 0] <= x) & (x <= spans[:, 2]) & (spans[:, 1] <= y) & (y <= spans[:, 3]))
        near = near[near != component]
        if not len(near):
            found.append(())
            continue
        found.append(_round(table, edges, np.flatnonzero(np.isin(owner, near)), x, y))
    return found


def _spans(edges: Edges, owner: Ints, components: int) -> Floats:
    """Return a generous box of each component: chords grown by half their length (arcs of half a turn at most)."""
    a, b = edges.nodes[edges.a], edges.nodes[edges.b]
    reach = np.hypot(*(b - a).T)[:, None] / 2
    spans = np.empty((components, 4))
    spans[:, :2], spans[:, 2:] = np.inf, -np.inf
    np.minimum.at(spans[:, :2], owner, np.minimum(a, b) - reach)
    np.maximum.at(spans[:, 2:], owner, np.maximum(a, b) + reach)
    return spans


def _round(table: Table, edges: Edges, held: Ints, x: float, y: float) -> Label:
    (ax, ay), (bx, by) = edges.nodes[edges.a[held]].T, edges.nodes[edges.b[held]].T
    row = edges.row[held]
    cx, cy = table.centre[row].T
    turns = _turns(ax, ay, bx, by, cx, cy, table.radius[row], edges.sweep[held], x, y)
    counts: dict[int, int] = {}
    for k in np.flatnonzero(turns).tolist():
        for column, difference in edges.deltas[int(held[k])]:
            counts[column] = counts.get(column, 0) + int(turns[k]) * difference
    return tuple(sorted((c, n) for c, n in counts.items() if n))


def winding(regions: Iterable[Region], point: Point) -> int:
    """Return how many of the regions hold `point` (on an edge: one side or the other, always the same)."""
    total = 0
    for region in regions:
        box = region.box
        if box.x0 <= point.x <= box.x1 and box.y0 <= point.y <= box.y1:
            rings = [region.outer.segments, *(tuple(s.reversed() for s in h.segments) for h in region.holes)]
            total += sum(_one(segment, point) for ring in rings for segment in ring)
    return total


def _one(segment: object, point: Point) -> int:
    """Return what one segment adds to the winding round a point, exactly as `_turns` counts it."""
    if isinstance(segment, Arc) and abs(segment.sweep) > 3.0:
        return sum(_one(segment.part(k / 3, (k + 1) / 3), point) for k in range(3))
    ax, ay, bx, by = segment.start.x, segment.start.y, segment.end.x, segment.end.y  # type: ignore[attr-defined]
    x, y = point.x, point.y
    cross = (bx - ax) * (y - ay) - (by - ay) * (x - ax)
    count = int(ay <= y < by and cross > 0) - int(by <= y < ay and cross < 0)
    if isinstance(segment, Arc) and segment.centre.distance(point) < segment.radius:
        right = cross < 0 or (cross == 0 and (by > ay or (by == ay and bx < ax)))
        count += int(segment.sweep > 0 and right) - int(segment.sweep < 0 and not right)
    return count
