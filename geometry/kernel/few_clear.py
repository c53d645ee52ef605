"""The second half of the certificate for few edges, in plain Python: the same formulas as `clear`."""

from __future__ import annotations

import math

from .clear import MOVED, ROUNDING
from .few_faces import bulge_of
from .few_reach import reached
from .few_rows import pairs_near, rows_of
from .noding import Edges
from .planar import PlanarMap
from .table import Table
from .winding import Labels, UncertainError


def check(edges: Edges, map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Do nothing for a sound arrangement; UncertainError if edges cross between nodes or area was lost."""
    check_areas(map_, labels, table, eps)
    if edges.suspect:
        _check_edges(edges, table, eps)


def _check_edges(edges: Edges, table: Table, eps: float) -> None:
    nodes = [(x, y) for x, y in edges.nodes.tolist()]
    centres: list[list[float]] = table.centre.tolist()
    radii: list[float] = table.radius.tolist()
    rows = rows_of(nodes, [(a, b, centres[row], radii[row], sweep) for a, b, sweep, row in zip(
        edges.a.tolist(), edges.b.tolist(), edges.sweep.tolist(), edges.row.tolist(), strict=True)], 0.0)
    for i, j in pairs_near(rows):
        if any(reached(rows[i], rows[j], eps)):
            raise UncertainError("edges that cross between their nodes", [2 * i, 2 * j])


def check_areas(map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Compare the areas of all faces, each as often as it is covered, with those of the outlines as given."""
    times = [sum([n for _, n in state]) for state in labels.states.states]
    found = sum([area * times[state] for area, state in zip(map_.areas.tolist(), labels.of_cycle, strict=True)])
    vertices: list[list[float]] = table.vertices.tolist()
    bx, by = vertices[0]
    given = size = 0.0
    rows = [(vertices[first], vertices[last], centre, r, sweep) for first, last, centre, r, sweep in zip(
        table.first.tolist(), table.last.tolist(), table.centre.tolist(), table.radius.tolist(),
        table.sweep.tolist(), strict=True)]
    for source, ((x, y), (ex, ey), _, r, sweep) in zip(table.source, rows, strict=True):
        double = (x - bx) * (ey - by) - (y - by) * (ex - bx)
        size += abs(double)
        given += table.sources[source].weight * (double + bulge_of(r, sweep) if sweep else double)
    apart, rounding = abs(found - given / 2), ROUNDING * size
    if apart <= rounding:
        return
    slack = 0.0
    for (x, y), (ex, ey), (cx, cy), r, sweep in rows:
        off = abs(math.hypot(x - cx, y - cy) - r) + abs(math.hypot(ex - cx, ey - cy) - r) if sweep else 0.0
        slack += (math.hypot(ex - x, ey - y) + r * abs(sweep)) * (MOVED * eps + off)
    if not apart <= slack + rounding:
        raise UncertainError(f"areas that differ by {found - given / 2:.3e} m2", range(len(map_.origin)))
