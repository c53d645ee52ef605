"""Windings: how often each column encloses each face, found once outside and carried across edges.

A state is a tuple of (column, count) for the columns that enclose; states are numbered, so that carrying one across an
edge is one look-up, however many columns there are.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from .noding import Delta, Edges
from .planar import PlanarMap
from .table import Floats, Table

State = tuple[tuple[int, int], ...]
NOTHING = 0
CHUNK = 1_000_000


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
    _steps: dict[tuple[int, Delta, int], int] = field(default_factory=dict)

    def stepped(self, state: int, delta: Delta, sign: int) -> int:
        """Return the state that lies across an edge: `delta` added (sign 1) or taken off (- 1)."""
        key = (state, delta, sign)
        found = self._steps.get(key)
        if found is None:
            counts = dict(self.states[state])
            for column, by in delta:
                counts[column] = counts.get(column, 0) + sign * by
            found = self._steps[key] = self.number(counts)
        return found

    def number(self, counts: dict[int, int]) -> int:
        """Return the number of the state with these counts."""
        state = tuple(sorted((column, n) for column, n in counts.items() if n))
        if state not in self._number:
            self._number[state] = len(self.states)
            self.states.append(state)
        return self._number[state]


@dataclass(frozen=True, slots=True)
class Labels:
    """The state of every cycle of a map (that of the face it bounds, which lies left of it)."""

    of_cycle: list[int]
    states: States
    components: int


def labelled(edges: Edges, map_: PlanarMap, table: Table) -> Labels:
    """Return the labels; UncertainError unless Euler holds, every piece has one outside and all edges agree."""
    states = States()
    if not map_.cycles:
        return Labels([], states, 0)
    of_cycle = [-1] * len(map_.cycles)
    component = [-1] * len(map_.cycles)
    outsides = [int(c) for c in np.flatnonzero(map_.areas <= 0)]
    seeds = outsides + [c for c in range(len(map_.cycles)) if map_.areas[c] > 0]
    pieces: list[int] = []
    for seed in seeds:
        if component[seed] >= 0:
            continue
        if map_.areas[seed] > 0 and not _is_line(map_, seed):
            raise UncertainError("a connected piece without an outside", map_.cycles[seed])
        _flood(edges, map_, states, of_cycle, component, seed, len(pieces))
        pieces.append(seed)
    if len(pieces) < len(outsides):
        inner = [c for c in outsides if c not in set(pieces)]
        raise UncertainError("a face that encloses less than nothing", map_.cycles[inner[0]])
    nodes = len(np.unique(np.concatenate([edges.a, edges.b])))
    if nodes - len(edges.a) + len(map_.cycles) != 2 * len(pieces):
        shortest = int(np.argmin(np.hypot(*(edges.nodes[edges.b] - edges.nodes[edges.a]).T)))
        raise UncertainError("nodes, edges and faces do not add up", [2 * shortest])
    if len(pieces) > 1:
        _nest(edges, map_, table, states, of_cycle, component, pieces)
    return Labels(of_cycle, states, len(pieces))


def _is_line(map_: PlanarMap, cycle: int) -> bool:
    """Say whether a cycle runs along every edge both ways: a tree of open lines, whose area is rounding."""
    members = set(map_.cycles[cycle])
    return all(half ^ 1 in members for half in members)


def _flood(edges: Edges, map_: PlanarMap, states: States, of_cycle: list[int], component: list[int],
           seed: int, piece: int) -> None:
    """Carry windings from the outside `seed` through a connected piece, and compare them wherever they meet again."""
    of_cycle[seed], component[seed] = NOTHING, piece
    waiting = [seed]
    cycle_of, deltas, stepped = map_.cycle, edges.deltas, states.stepped
    while waiting:
        here = waiting.pop()
        state = of_cycle[here]
        for half in map_.cycles[here]:
            across = cycle_of[half ^ 1]
            beyond = stepped(state, deltas[half >> 1], 1 if half & 1 else -1)
            if component[across] < 0:
                component[across], of_cycle[across] = piece, beyond
                waiting.append(across)
            elif of_cycle[across] != beyond:
                raise UncertainError("windings that differ by the way", [half])


def _nest(edges: Edges, map_: PlanarMap, table: Table, states: States, of_cycle: list[int], component: list[int],
          pieces: list[int]) -> None:
    """Add to each connected piece the windings of the others about it."""
    of_edge = np.asarray(component)[np.asarray(map_.cycle)[0::2]]
    spots = np.array([map_.origin[map_.cycles[c][0]] for c in pieces])
    about: list[dict[int, int]] = [{} for _ in pieces]
    step = max(1, CHUNK // max(1, len(edges.a)))
    for start in range(0, len(pieces), step):
        chosen = np.arange(start, min(start + step, len(pieces)))
        turns = turns_about(edges, table, edges.nodes[spots[chosen]])
        turns[of_edge[None, :] == chosen[:, None]] = 0
        for n, e in zip(*(k.tolist() for k in np.nonzero(turns)), strict=True):
            counts, times = about[start + n], int(turns[n, e])
            for column, by in edges.deltas[e]:
                counts[column] = counts.get(column, 0) + times * by
    bases: list[Delta] = [tuple(sorted((c, n) for c, n in counts.items() if n)) for counts in about]
    for c, piece in enumerate(component):
        if bases[piece]:
            of_cycle[c] = states.stepped(of_cycle[c], bases[piece], 1)


def turns_about(edges: Edges, table: Table, points: Floats) -> Floats:
    """Return what each edge (columns) adds to the winding about each point (rows).

    The chord's crossing rule, half open in y, and the circular segment beside it: inside the circle and right of
    the chord of an anticlockwise arc adds one, left of that of a clockwise one takes one off. A point on the
    chord counts as the chord's rule has it.
    """
    p, q = edges.nodes[edges.a], edges.nodes[edges.b]
    x, y = points[:, 0, None], points[:, 1, None]
    dx, dy = q[:, 0] - p[:, 0], q[:, 1] - p[:, 1]
    side = dx * (y - p[:, 1]) - dy * (x - p[:, 0])
    up, down = (p[:, 1] <= y) & (y < q[:, 1]), (q[:, 1] <= y) & (y < p[:, 1])
    turns: Floats = (up & (side > 0)).astype(np.float64) - (down & (side < 0))
    arcs = np.flatnonzero(edges.sweep)
    if len(arcs):
        row = edges.row[arcs]
        centre, radius = table.centre[row], table.radius[row]
        inside = np.hypot(x - centre[:, 0], y - centre[:, 1]) < radius
        on_right = (dy[arcs] > 0) | ((dy[arcs] == 0) & (dx[arcs] < 0))
        right = (side[:, arcs] < 0) | ((side[:, arcs] == 0) & on_right)
        turns[:, arcs] += inside & right & (edges.sweep[arcs] > 0)
        turns[:, arcs] -= inside & ~right & (edges.sweep[arcs] < 0)
    return turns
