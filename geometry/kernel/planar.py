"""The planar map: edges that meet only in nodes become cycles of half-edges, each with one side on its left.

Half-edge 2e runs along edge e, 2e + 1 against it. The certificate (Euler's formula, one outer cycle in each
component) is checked on every map: an order round a node that is wrong anywhere breaks it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from .noding import Edges
from .table import Floats, Ints, Table

TIE = 1e-3              # radians: directions nearer than this are compared again at a distance from the node


class Uncertain(Exception):  # noqa: N818
    """The map is not one: to be tried again with another eps. Carries a node near the fault."""

    def __init__(self, node: int) -> None:
        super().__init__(node)
        self.node = node


@dataclass(frozen=True, slots=True)
class Planar:
    """A certified planar map. `origin` and `twin`-wise arrays go by half-edge, `area` (m2) and the rest by cycle.

    `following` is the next half-edge of the cycle, `cycle` the cycle on a half-edge's left, `component` the
    component of a cycle, `outside` the outer cycle of each component.
    """

    edges: Edges
    origin: Ints
    following: list[int]
    cycle: list[int]
    area: Floats
    component: list[int]
    outside: list[int]


def planar(table: Table, edges: Edges) -> Planar:
    """Return the planar map of `edges`; Uncertain when the certificate fails."""
    count = len(edges.a)
    origin = np.empty(2 * count, dtype=np.int64)
    origin[0::2], origin[1::2] = edges.a, edges.b
    if not count:           # everything cancels: one face, the whole plane
        return Planar(edges, origin, [], [], np.empty(0), [], [])
    following = _following(edges, origin)
    cycle, cycles = _cycles(following)
    area = _areas(table, edges, cycle, cycles)
    component, components = _components(edges, origin, cycle, cycles)
    outside = _certified(edges, origin, cycle, area, component, components)
    return Planar(edges, origin, following, cycle, area, component, outside)


def _directions(edges: Edges) -> tuple[Floats, Floats, Floats]:
    """Return start direction, curvature (1/m, + left) and chord of every half-edge."""
    a, b = edges.nodes[edges.a], edges.nodes[edges.b]
    dx, dy = (b - a).T
    chord = np.hypot(dx, dy)
    heading, sweep = np.arctan2(dy, dx), edges.sweep
    size = 2 * len(chord)
    theta, kappa, long = np.empty(size), np.empty(size), np.repeat(chord, 2)
    theta[0::2], theta[1::2] = heading - sweep / 2, heading + math.pi + sweep / 2
    bend = 2 * np.sin(sweep / 2) / np.where(chord > 0, chord, 1.0)
    kappa[0::2], kappa[1::2] = bend, -bend
    return np.mod(theta, 2 * math.pi), kappa, long


def _following(edges: Edges, origin: Ints) -> list[int]:
    """Return for each half-edge the next one with the same left side: just clockwise of its twin at its end."""
    theta, kappa, chord = _directions(edges)
    order = np.lexsort((theta, origin))
    nodes = origin[order]
    starts = np.flatnonzero(np.concatenate([[True], nodes[1:] != nodes[:-1]]))
    ends = np.append(starts[1:], len(order))
    angle = theta[order]
    gap = np.empty(len(order))
    gap[:-1] = angle[1:] - angle[:-1]
    gap[ends - 1] = angle[starts] + 2 * math.pi - angle[ends - 1]
    tied = np.unique(np.searchsorted(starts, np.flatnonzero(gap < TIE), side="right") - 1)
    for n in tied.tolist():
        low, high = int(starts[n]), int(ends[n])
        if high - low > 1:
            order[low:high] = _untied(order[low:high].tolist(), theta, kappa, chord)
    previous = np.empty(len(order), dtype=np.int64)
    previous[1:] = order[:-1]
    previous[starts] = order[ends - 1]
    before = np.empty(len(order), dtype=np.int64)
    before[order] = previous
    twins = np.arange(len(order)) ^ 1
    return [int(h) for h in before[twins].tolist()]


def _untied(around: list[int], theta: Floats, kappa: Floats, chord: Floats) -> list[int]:
    """Return half-edges round one node in true order: runs of like directions compared at half their shortest chord.

    Edges do not cross between nodes, so their order at any common radius is the order; half the shortest
    chord is where they stand furthest apart.
    """
    angles = [float(theta[h]) for h in around]
    gaps = [b - a for a, b in pairwise([*angles, angles[0] + 2 * math.pi])]
    widest = max(range(len(gaps)), key=lambda k: (gaps[k], -k))
    turned = around[widest + 1:] + around[:widest + 1]
    between = gaps[widest + 1:] + gaps[:widest]
    runs: list[list[int]] = [[turned[0]]]
    for h, gap in zip(turned[1:], between, strict=True):
        if gap < TIE:
            runs[-1].append(h)
        else:
            runs.append([h])
    return [h for run in runs for h in (_at_distance(run, theta, kappa, chord) if len(run) > 1 else run)]


def _at_distance(run: list[int], theta: Floats, kappa: Floats, chord: Floats) -> list[int]:
    rho = 0.5 * min(float(chord[h]) for h in run)
    base = float(theta[run[0]])

    def seen(h: int) -> float:
        lean = max(-1.0, min(1.0, float(kappa[h]) * rho / 2))
        turn = float(theta[h]) - base
        return math.remainder(turn, 2 * math.pi) + math.asin(lean)

    return sorted(run, key=lambda h: (seen(h), h))


def _cycles(following: list[int]) -> tuple[list[int], int]:
    cycle = [-1] * len(following)
    count = 0
    for start in range(len(following)):
        if cycle[start] >= 0:
            continue
        h = start
        while cycle[h] < 0:
            cycle[h] = count
            h = following[h]
        count += 1
    return cycle, count


def _areas(table: Table, edges: Edges, cycle: list[int], cycles: int) -> Floats:
    """Return the signed area of each cycle, m2, summed about a node near it."""
    a, b = edges.nodes[edges.a], edges.nodes[edges.b]
    which = np.array(cycle, dtype=np.int64)
    base = np.empty((cycles, 2))
    base[which[0::2]] = a
    base[which[1::2]] = b
    sweep, radius = edges.sweep, table.radius[edges.row]
    segment = radius * radius * np.where(np.abs(sweep) > 0.02, sweep - np.sin(sweep),
                                         sweep**3 / 6 * (1 - sweep**2 / 20 * (1 - sweep**2 / 42)))
    area = np.zeros(cycles)
    for side, sign in ((0, 1.0), (1, -1.0)):
        own = which[side::2]
        p, q = a - base[own], b - base[own]
        np.add.at(area, own, sign * (p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] + segment) / 2)
    return area


def _components(edges: Edges, origin: Ints, cycle: list[int], cycles: int) -> tuple[list[int], int]:
    """Return the component of each cycle and how many there are."""
    parent: dict[int, int] = {}

    def find(k: int) -> int:
        root = k
        while parent.setdefault(root, root) != root:
            root = parent[root]
        while parent[k] != root:
            parent[k], k = root, parent[k]
        return root

    for a, b in zip(edges.a.tolist(), edges.b.tolist(), strict=True):
        ra, rb = find(a), find(b)
        if ra != rb:
            parent[max(ra, rb)] = min(ra, rb)
    number: dict[int, int] = {}
    component = [0] * cycles
    for h, node in enumerate(origin.tolist()):
        component[cycle[h]] = number.setdefault(find(node), len(number))
    return component, len(number)


def _certified(edges: Edges, origin: Ints, cycle: list[int], area: Floats, component: list[int],
               components: int) -> list[int]:
    """Check Euler's formula and that each component has one cycle that is not positive; return those."""
    outside = [-1] * components
    shortest = int(edges.a[int(np.argmin(np.hypot(*(edges.nodes[edges.b] - edges.nodes[edges.a]).T)))])
    vertices = len(np.unique(origin))
    if vertices - len(edges.a) + len(area) != 2 * components:
        raise Uncertain(shortest)
    first = {c: h for h, c in reversed(list(enumerate(cycle)))}
    for c, size in enumerate(area.tolist()):
        if size > 0:
            continue
        if outside[component[c]] >= 0:
            raise Uncertain(int(origin[first[c]]))
        outside[component[c]] = c
    if min(outside, default=0) < 0:
        raise Uncertain(shortest)
    return outside
