"""The planar map of noded edges: what follows what round each face, and how much each face encloses.

Half edge 2e runs along edge e from a to b, 2e + 1 back. Going on from a half edge means taking the last one before its
twin, anticlockwise round the end node; so a face lies left of all its half edges.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from .crossings import Flags
from .noding import Edges
from .table import Floats, Ints, Table, angles, sized

TIE = 1e-3          # radians: directions nearer than this are told apart away from the node
MOST_DOUBT = 0.5    # radians
SMALL_SWEEP = 0.02  # radians: below, sweep less sine loses figures and a series does not


@dataclass(frozen=True, slots=True)
class PlanarMap:
    """Half edges: their origins, what follows each, what each bulges over its chord (m2, doubled); and the cycles."""

    origin: list[int]
    following: list[int]
    cycle: list[int]            # of each half edge
    cycles: list[list[int]]     # half edges of each
    areas: Floats               # m2, negative for the outside of a connected piece
    bulge: list[float]          # twice the area between each half edge and its chord


def bulges(radius: Floats, sweep: Floats) -> Floats:
    """Return twice the area between each arc and its chord, m2."""
    square = sweep * sweep
    sines = np.array(list(map(math.sin, sweep.tolist())))
    flat = np.abs(sweep) <= SMALL_SWEEP
    beyond = np.where(flat, square * sweep / 6 * (1 - square / 20 * (1 - square / 42)), sweep - sines)
    out: Floats = radius * radius * beyond + 0.0
    return out


def _directions(edges: Edges) -> tuple[Floats, Floats]:
    """Return direction (0 to a full turn) and chord of each half edge at its origin, from the nodes as they are."""
    chord = edges.nodes.take(edges.b, axis=0) - edges.nodes.take(edges.a, axis=0)
    angle = angles(chord[:, 1], chord[:, 0])
    both = np.empty(2 * len(angle))
    both[0::2] = angle - edges.sweep / 2
    both[1::2] = angle + math.pi + edges.sweep / 2
    return np.mod(both, 2 * math.pi), np.repeat(sized(chord[:, 0], chord[:, 1]), 2)


def changes(values: Ints) -> Flags:
    """Return where a run of equal values begins."""
    fresh = np.ones(len(values), dtype=np.bool_)
    fresh[1:] = values[1:] != values[:-1]
    return fresh


def _untied(order: Ints, node: Ints, angle: Floats, chord: Floats, sweep: Floats, eps: float) -> Ints:
    """Return `order` with nearly equal directions about a node sorted by where the edges are a little further out.

    Edges do not cross between nodes, so their order on any circle about the node that all of them reach is the true
    one; half the shortest chord tells them apart best. theta(rho) = theta + asin(curvature rho / 2).
    """
    where, way = node[order], angle[order]
    starts = changes(where).nonzero()[0]
    ends = np.empty_like(starts)
    ends[:-1], ends[-1] = starts[1:], len(order)
    near = np.empty(len(order), dtype=bool)
    # A node that was moved by eps turns a short edge by as much as eps over its chord.
    doubt = np.minimum(TIE + 4 * eps / chord[order], MOST_DOUBT)
    near[:-1] = (way[1:] - way[:-1] < np.maximum(doubt[1:], doubt[:-1])) & (where[1:] == where[:-1])
    near[ends - 1] = way[starts] + 2 * math.pi - way[ends - 1] < np.maximum(doubt[starts], doubt[ends - 1])
    near[ends - 1] &= ends - starts > 1
    if not near.any():
        return order
    result: list[int] = order.tolist()
    group = np.repeat(np.arange(len(starts)), ends - starts)
    for g in np.unique(group[near]).tolist():
        low, high = int(starts[g]), int(ends[g])
        if high - low > 2:
            result[low:high] = by_reach(result[low:high], near[low:high].tolist(), angle, chord, sweep)
    return np.array(result, dtype=np.int64)


def by_reach(around: list[int], near: list[bool], angle: Mapping[int, float] | Floats,
             chord: Mapping[int, float] | Floats, sweep: Mapping[int, float] | Floats) -> list[int]:
    """Sort each run of nearly equal directions in `around` (cyclic; near[k]: k and its follower are close)."""
    count = len(around)
    gap = next((k for k in range(count) if not near[k - 1]), 0)     # a run must not straddle the end of the list
    around, near = around[gap:] + around[:gap], near[gap:] + near[:gap]
    sorted_: list[int] = []
    run: list[int] = []
    for half, close in zip(around, near, strict=True):
        run.append(half)
        if close and half != around[-1]:
            continue
        if len(run) > 1:
            rho = 0.5 * min(float(chord[h]) for h in run)
            base = float(angle[run[0]])
            keys = {h: math.remainder(float(angle[h]) - base, 2 * math.pi)
                    + math.asin(math.sin(float(sweep[h]) / 2) * rho / float(chord[h])) for h in run}
            run.sort(key=keys.__getitem__)
        sorted_ += run
        run = []
    return sorted_


def planar_map(edges: Edges, table: Table, eps: float) -> PlanarMap:
    """Return the planar map of `edges`, noded within `eps` metres."""
    count = 2 * len(edges.a)
    if not count:                   # everything cancels: one face, the whole plane
        return PlanarMap([], [], [], [], np.empty(0), [])
    origin = np.empty(count, dtype=np.int64)
    origin[0::2], origin[1::2] = edges.a, edges.b
    sweep = np.empty(count)
    sweep[0::2], sweep[1::2] = edges.sweep, -edges.sweep
    angle, chord = _directions(edges)
    order = _untied(np.lexsort((angle, origin)), origin, angle, chord, sweep, eps)
    where = origin[order]
    first = changes(where)
    last = np.ones_like(first)
    last[:-1] = first[1:]
    before = np.empty(count, dtype=np.int64)        # the half edge clockwise next about the origin
    before[order[1:]] = order[:-1]
    before[order[first]] = order[last]
    following: list[int] = before[np.arange(count) ^ 1].tolist()
    cycle, cycles = cycles_of(following)
    bulge = np.empty(count)
    bulge[0::2] = bulges(table.radius[edges.row], edges.sweep)
    bulge[1::2] = 0.0 - bulge[0::2]
    areas = _areas(edges, origin, cycle, cycles, bulge)
    return PlanarMap(origin.tolist(), following, cycle, cycles, areas, bulge.tolist())


def cycles_of(following: list[int]) -> tuple[list[int], list[list[int]]]:
    """Return the number of each half edge's cycle, and the half edges of each cycle."""
    cycle = [-1] * len(following)
    cycles: list[list[int]] = []
    for first in range(len(following)):
        if cycle[first] >= 0:
            continue
        number, members, half = len(cycles), [first], following[first]
        cycle[first] = number
        while half != first:
            cycle[half] = number
            members.append(half)
            half = following[half]
        cycles.append(members)
    return cycle, cycles


def _areas(edges: Edges, origin: Ints, cycle: list[int], cycles: list[list[int]], bulge: Floats) -> Floats:
    """Return the signed area of each cycle, summed about its first node so that slivers keep their sign."""
    number = np.asarray(cycle)
    at = edges.nodes.take(origin, axis=0)
    base = at.take(np.array([members[0] for members in cycles]), axis=0).take(number, axis=0)
    p, q = at - base, at.take(np.arange(len(origin)) ^ 1, axis=0) - base
    twice = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] + bulge
    out: Floats = np.bincount(number, weights=twice, minlength=len(cycles)) / 2
    return out
