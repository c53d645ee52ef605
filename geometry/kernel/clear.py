"""The second half of the certificate: edges that were noded must not cross, and nothing may have been lost.

Where rows reach over each other and the noding made no node of it, the edges themselves are compared.
"""

from __future__ import annotations

import numpy as np

from .crossings import Rows, arcs_last, pairs_near
from .noding import Edges
from .planar import PlanarMap, bulges
from .reach import reached
from .table import Ints, Table, sized
from .winding import Labels, UncertainError

MOVED = 1.0
"""Areas may differ by this many eps along all outlines: what moving nodes can do."""

ROUNDING = 1e-13    # of the sum of the sizes of what is summed


def check(edges: Edges, map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Do nothing for a sound arrangement; UncertainError if edges cross between nodes or area was lost."""
    check_areas(map_, labels, table, eps)
    i, j = _crossed(edges, table, eps) if edges.suspect else (edges.a[:0], edges.a[:0])
    if len(i):
        raise UncertainError("edges that cross between their nodes", [2 * int(i[0]), 2 * int(j[0])])


def check_areas(map_: PlanarMap, labels: Labels, table: Table, eps: float) -> None:
    """Compare the areas of all faces, each as often as it is covered, with those of the outlines as given."""
    times = [sum(n for _, n in state) for state in labels.states.states]
    found = float(map_.areas @ np.array([times[s] for s in labels.of_cycle], dtype=np.float64)) if labels.of_cycle \
        else 0.0
    weight = np.array([s.weight for s in table.sources], dtype=np.float64)[np.array(table.source)]
    base = table.vertices[0]
    (x, y), (ex, ey) = (table.start - base).T, (table.end - base).T
    double = x * ey - y * ex
    given = float(weight @ (double + bulges(table.radius, table.sweep))) / 2
    rounding = ROUNDING * float(np.abs(double).sum())
    if abs(found - given) <= rounding:
        return
    length = sized(ex - x, ey - y) + table.radius * np.abs(table.sweep)
    cx, cy = (table.centre - base).T
    off = np.abs(sized(x - cx, y - cy) - table.radius) + np.abs(sized(ex - cx, ey - cy) - table.radius)
    off = np.where(table.sweep == 0, 0.0, off)
    if not abs(found - given) <= float((length * (MOVED * eps + off)).sum()) + rounding:
        raise UncertainError(f"areas that differ by {found - given:.3e} m2", range(len(map_.origin)))


def _crossed(edges: Edges, table: Table, eps: float) -> tuple[Ints, Ints]:
    """Return pairs of edges that reach more than DEPTH eps beyond each other on both sides of a place."""
    if not len(edges.a):
        return edges.a, edges.a
    rows = _rows(edges, table)
    i, j = arcs_last(rows, *pairs_near(rows))
    one, other = reached(rows, i, j, eps)
    bad = one | other
    return i[bad], j[bad]


def _rows(edges: Edges, table: Table) -> Rows:
    row = edges.row
    return Rows.of(Table((), table.origin, edges.nodes, (), [], edges.a, edges.b, table.centre[row], table.radius[row],
                         edges.sweep), 0.0)
