"""Windings: how often each column encloses each face, found once outside and carried across edges.

A state is a tuple of (column, count) for the columns that enclose; states are numbered, so that carrying one across an
edge is one look-up, however many columns there are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from . import few_faces
from .crossings import BROADCAST, expanded
from .noding import Delta, Edges
from .planar import PlanarMap
from .table import Floats, Ints, Table, sized

State = tuple[tuple[int, int], ...]
Steps: TypeAlias = dict[int, tuple[dict[Delta, int], dict[Delta, int]]]
"""From a state across an edge of a difference: taken off, added."""

NOTHING = 0
REACH = 1e-5        # metres: more than the nodes of an arc are off it
FEW_PAIRS = 300     # of edges and points: fewer are quicker tried one by one


class UncertainError(Exception):
    """The map contradicts itself: some node was judged wrongly at this eps. `nodes` are near the fault."""

    def __init__(self, why: str, half_edges: Iterable[int]) -> None:
        super().__init__(why)
        self.half_edges = list(half_edges)


@dataclass(slots=True)
class States:
    """The states met so far, numbered in the order of their first use; 0 is outside everything."""

    states: list[State] = field(default_factory=lambda: [()])
    _number: dict[State, int] = field(default_factory=lambda: {(): NOTHING})

    def stepped(self, state: int, delta: Delta, sign: int) -> int:
        """Return the state that lies across an edge: `delta` added (sign 1) or taken off (- 1)."""
        before = self.states[state]
        if not before and len(delta) == 1:
            column, by = delta[0]
            return self._numbered(((column, sign * by),))
        counts = dict(before)
        for column, by in delta:
            counts[column] = counts.get(column, 0) + sign * by
        after = [item for item in counts.items() if item[1]]
        if len(after) > 1:
            after.sort()
        return self._numbered(tuple(after))

    def _numbered(self, state: State) -> int:
        found = self._number.get(state)
        if found is None:
            found = self._number[state] = len(self.states)
            self.states.append(state)
        return found


@dataclass(frozen=True, slots=True)
class Labels:
    """The state of every cycle of a map (that of the face it bounds, which lies left of it)."""

    of_cycle: list[int]
    states: States
    components: int


def labelled(edges: Edges, map_: PlanarMap, table: Table) -> Labels:
    """Return the labels; UncertainError unless Euler holds, every piece has one outside and all edges agree."""
    states = States()
    steps: Steps = {}
    if not map_.cycles:
        return Labels([], states, 0)
    of_cycle = [-1] * len(map_.cycles)
    component = [-1] * len(map_.cycles)
    areas: list[float] = map_.areas.tolist()
    outsides = [c for c, area in enumerate(areas) if area <= 0]
    seeds = outsides + [c for c, area in enumerate(areas) if area > 0]
    pieces: list[int] = []
    for seed in seeds:
        if component[seed] >= 0:
            continue
        if areas[seed] > 0 and not _is_line(map_, seed):
            raise UncertainError("a connected piece without an outside", map_.cycles[seed])
        _flood(edges, map_, states, steps, of_cycle, component, seed, len(pieces))
        pieces.append(seed)
    if len(pieces) < len(outsides):
        inner = [c for c in outsides if c not in set(pieces)]
        raise UncertainError("a face that encloses less than nothing", map_.cycles[inner[0]])
    nodes = len(set(map_.origin))
    if nodes - len(edges.a) + len(map_.cycles) != 2 * len(pieces):
        shortest = int(np.argmin(np.hypot(*(edges.nodes[edges.b] - edges.nodes[edges.a]).T)))
        raise UncertainError("nodes, edges and faces do not add up", [2 * shortest])
    _agree(edges, map_, states, steps, of_cycle)
    if len(pieces) > 1:
        _nest(edges, map_, table, states, of_cycle, component, pieces)
    return Labels(of_cycle, states, len(pieces))


def _is_line(map_: PlanarMap, cycle: int) -> bool:
    """Say whether a cycle runs along every edge both ways: a tree of open lines, whose area is rounding."""
    members = set(map_.cycles[cycle])
    return all(half ^ 1 in members for half in members)


def _flood(edges: Edges, map_: PlanarMap, states: States, steps: Steps, of_cycle: list[int], component: list[int],
           seed: int, piece: int) -> None:
    """Carry windings from the outside `seed` through a connected piece; `_agree` compares them on all ways."""
    of_cycle[seed], component[seed] = NOTHING, piece
    waiting = [seed]
    cycle_of, deltas = map_.cycle, edges.deltas
    for here in waiting:
        state = of_cycle[here]
        for half in map_.cycles[here]:
            across = cycle_of[half ^ 1]
            if component[across] < 0:
                component[across] = piece
                of_cycle[across] = _stepped(states, steps, state, deltas[half >> 1], half & 1)
                waiting.append(across)


def _stepped(states: States, steps: Steps, state: int, delta: Delta, added: int) -> int:
    known = steps.get(state)
    if known is None:
        known = steps[state] = ({}, {})
    beyond = known[added].get(delta)
    if beyond is None:
        beyond = known[added][delta] = states.stepped(state, delta, 1 if added else -1)
    return beyond


def _agree(edges: Edges, map_: PlanarMap, states: States, steps: Steps, of_cycle: list[int]) -> None:
    """Compare the windings on both sides of every edge; UncertainError where they differ by something else."""
    of_half = [of_cycle[c] for c in map_.cycle]
    nothing: tuple[dict[Delta, int], ...] = ({},)
    for e, (left, right, delta) in enumerate(zip(of_half[::2], of_half[1::2], edges.deltas, strict=True)):
        # Most steps are known: they are looked up here, without a call.
        across = steps.get(left, nothing)[0].get(delta)
        if across is None:
            across = _stepped(states, steps, left, delta, 0)
        if across != right:
            raise UncertainError("windings that differ by the way", [2 * e])


def _nest(edges: Edges, map_: PlanarMap, table: Table, states: States, of_cycle: list[int], component: list[int],
          pieces: list[int]) -> None:
    """Add to each connected piece the windings of the others about it."""
    spots = [map_.origin[map_.cycles[c][0]] for c in pieces]
    about: list[dict[int, int]] = [{} for _ in pieces]
    for n, e, times in _turns(edges, map_, table, spots, component):
        if component[map_.cycle[2 * e]] == n:
            continue
        counts = about[n]
        for column, by in edges.deltas[e]:
            counts[column] = counts.get(column, 0) + times * by
    bases: list[Delta] = [tuple(sorted((c, n) for c, n in counts.items() if n)) for counts in about]
    for c, piece in enumerate(component):
        if bases[piece]:
            of_cycle[c] = states.stepped(of_cycle[c], bases[piece], 1)


def _turns(edges: Edges, map_: PlanarMap, table: Table, spots: list[int],
           component: list[int]) -> Iterable[tuple[int, int, int]]:
    if len(edges.a) * len(spots) <= FEW_PAIRS:
        return few_faces.turns_about(edges, table, spots, [component[c] for c in map_.cycle[::2]])
    point, edge, turns = turns_about(edges, table, edges.nodes[np.array(spots)])
    return zip(point.tolist(), edge.tolist(), turns.tolist(), strict=True)


def turns_about(edges: Edges, table: Table, points: Floats) -> tuple[Ints, Ints, Ints]:
    """Return (point, edge, turns): what edges add to the winding about each of `points`, where it is not nothing.

    The chord's crossing rule, half open in y, and the circular segment beside it: inside the circle and right of
    the chord of an anticlockwise arc adds one, left of that of a clockwise one takes one off. A point on the
    chord counts as the chord's rule has it.
    """
    p, q = edges.nodes.take(edges.a, axis=0), edges.nodes.take(edges.b, axis=0)
    rise = np.abs(sized(*(q - p).T) / 2 * np.tan(edges.sweep / 4)) * 1.001 + REACH
    low, high = np.minimum(p[:, 1], q[:, 1]) - rise, np.maximum(p[:, 1], q[:, 1]) + rise
    end = np.maximum(p[:, 0], q[:, 0]) + rise
    if len(points) * len(p) <= BROADCAST:
        x, y = points[:, :1], points[:, 1:]
        point, edge = np.divmod(np.flatnonzero((y >= low) & (y <= high) & (x <= end)), len(p))
        if not len(edge):
            return point, edge, edge
    else:
        order = np.argsort(points[:, 1], kind="stable")
        ys = points[order, 1]
        edge, point = expanded(np.searchsorted(ys, low), np.searchsorted(ys, high, side="right"))
        point = order[point]
        right_of = points[point, 0] <= end[edge]
        edge, point = edge[right_of], point[right_of]
    (x, y), (px, py), (qx, qy) = points.take(point, axis=0).T, p.take(edge, axis=0).T, q.take(edge, axis=0).T
    dx, dy, sweep, row = qx - px, qy - py, edges.sweep[edge], edges.row[edge]
    side = dx * (y - py) - dy * (x - px)
    up, down = (py <= y) & (y < qy), (qy <= y) & (y < py)
    centre = table.centre.take(row, axis=0)
    ahead = (x - px) * dx + (y - py) * dy
    beside = (sweep != 0) & (ahead >= 0) & (ahead <= dx * dx + dy * dy)     # no further than the chord
    inside = beside & (sized(x - centre[:, 0], y - centre[:, 1]) < table.radius[row])
    right = (side < 0) | ((side == 0) & ((dy > 0) | ((dy == 0) & (dx < 0))))
    turns: Ints = (up & (side > 0)).astype(np.int64) - (down & (side < 0))
    turns += inside & right & (sweep > 0)
    turns -= inside & ~right & (sweep < 0)
    some = turns.nonzero()[0]
    return point[some], edge[some], turns[some]
