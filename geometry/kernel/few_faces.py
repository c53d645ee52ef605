"""The planar map of few edges and what turns about its points, in plain Python: the same bits as `planar` has."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from . import planar
from .noding import Edges
from .planar import PlanarMap, by_reach, cycles_of
from .table import Table

TURN = 2 * math.pi


def planar_map(edges: Edges, table: Table, eps: float) -> PlanarMap:
    """Return the planar map of `edges`, noded within `eps` metres, as `planar.planar_map` does."""
    if not len(edges.a):
        return PlanarMap([], [], [], [], np.empty(0), [])
    nodes: list[list[float]] = edges.nodes.tolist()
    radii: list[float] = table.radius.tolist()
    origin: list[int] = []
    sweeps: list[float] = []
    bulge: list[float] = []
    for a, b, sweep, row in zip(edges.a.tolist(), edges.b.tolist(), edges.sweep.tolist(), edges.row.tolist(),
                                strict=True):
        origin += (a, b)
        sweeps += (sweep, -sweep)
        more = bulge_of(radii[row], sweep) if sweep else 0.0
        bulge += (more, 0.0 - more)
    around: dict[int, list[int]] = {}
    for half, node in enumerate(origin):
        around.setdefault(node, []).append(half)
    following = [0] * len(origin)
    for halves in around.values():
        # Of two, each follows the other, whatever their directions.
        order = _sorted(halves, nodes, origin, sweeps, eps) if len(halves) > 2 else halves
        before = order[-1]
        for half in order:
            following[half ^ 1] = before
            before = half
    cycle, cycles = cycles_of(following)
    return PlanarMap(origin, following, cycle, cycles, np.array(_areas(nodes, origin, cycles, cycle, bulge)), bulge)


def _sorted(halves: list[int], nodes: list[list[float]], origin: list[int], sweeps: list[float],
            eps: float) -> list[int]:
    """Return the half edges about one node by direction."""
    angle: dict[int, float] = {}
    chord: dict[int, float] = {}
    sweep: dict[int, float] = {}
    for half in halves:
        (x, y), (ex, ey) = nodes[origin[half & -2]], nodes[origin[half | 1]]
        dx, dy = ex - x, ey - y
        way, sweep[half] = math.atan2(dy, dx), sweeps[half]
        # As `planar` has it: both directions from that of the edge.
        angle[half] = (way + math.pi - sweeps[half] / 2 if half & 1 else way - sweeps[half] / 2) % TURN
        chord[half] = math.sqrt(dx * dx + dy * dy)
    return _untied(sorted(halves, key=angle.__getitem__), angle, chord, sweep, eps)


def bulge_of(radius: float, sweep: float) -> float:
    """Return twice the area between an arc and its chord, m2."""
    if abs(sweep) > planar.SMALL_SWEEP:
        return radius * radius * (sweep - math.sin(sweep))
    square = sweep * sweep
    return radius * radius * (square * sweep / 6 * (1 - square / 20 * (1 - square / 42)))


def _untied(order: list[int], angle: Mapping[int, float], chord: Mapping[int, float], sweep: Mapping[int, float],
            eps: float) -> list[int]:
    """Return the half edges about one node with nearly equal directions sorted, as `planar` does for all nodes."""
    doubt = [min(planar.TIE + 4 * eps / chord[half], planar.MOST_DOUBT) for half in order]
    near = [angle[b] - angle[a] < max(p, q) for (a, b), (q, p) in zip(pairwise(order), pairwise(doubt), strict=True)]
    near.append(angle[order[0]] + TURN - angle[order[-1]] < max(doubt[0], doubt[-1]))
    return by_reach(order, near, angle, chord, sweep) if any(near) else order


def _areas(nodes: list[list[float]], origin: list[int], cycles: list[list[int]], cycle: list[int],
           bulge: list[float]) -> list[float]:
    """Return the signed area of each cycle, summed in the order of half edges about its first node."""
    bases = [nodes[origin[members[0]]] for members in cycles]
    twice = [0.0] * len(cycles)
    for half in range(0, len(cycle), 2):
        (x, y), (ex, ey) = nodes[origin[half]], nodes[origin[half + 1]]
        number, other = cycle[half], cycle[half + 1]
        bx, by = bases[number]
        twice[number] += (x - bx) * (ey - by) - (y - by) * (ex - bx) + bulge[half]
        bx, by = bases[other]
        twice[other] += (ex - bx) * (y - by) - (ey - by) * (x - bx) + bulge[half + 1]
    return [double / 2 for double in twice]


def turns_about(edges: Edges, table: Table, spots: Sequence[int],
                piece_of: Sequence[int]) -> Iterator[tuple[int, int, int]]:
    """Yield (place in `spots`, edge, turns): what edges add to the winding about nodes, as `winding` counts it.

    Edges of the connected piece that has a spot's own place are left out.
    """
    nodes: list[list[float]] = edges.nodes.tolist()
    centres: list[list[float]] = table.centre.tolist()
    radii: list[float] = table.radius.tolist()
    given = [(edge, *nodes[a], *nodes[b], sweep, row) for edge, (a, b, sweep, row) in enumerate(
        zip(edges.a.tolist(), edges.b.tolist(), edges.sweep.tolist(), edges.row.tolist(), strict=True))]
    for place, spot in enumerate(spots):
        x, y = nodes[spot]
        for edge, px, py, qx, qy, sweep, row in given:
            if piece_of[edge] == place:
                continue
            up, down = py <= y < qy, qy <= y < py
            if not (sweep or up or down):
                continue
            dx, dy = qx - px, qy - py
            side = dx * (y - py) - dy * (x - px)
            turns = int(up and side > 0) - int(down and side < 0)
            if sweep and 0 <= (x - px) * dx + (y - py) * dy <= dx * dx + dy * dy:
                cx, cy = centres[row]
                ox, oy = x - cx, y - cy
                if math.sqrt(ox * ox + oy * oy) < radii[row]:
                    right = side < 0 or (side == 0 and (dy > 0 or (dy == 0 and dx < 0)))
                    turns += int(sweep > 0) if right else -int(sweep < 0)
            if turns:
                yield place, edge, turns
