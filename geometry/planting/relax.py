"""Smooths the network of borders and moves it until every drift has its area.

Takes the traced network and the edge of the bed. Gives the same network with smooth chains whose ends stand on the
edge. Areas are put right as in a foam: each drift has a pressure and a border moves by the difference of its two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..kernel.point import Point
from .cells import Floats, settled_figures
from .edges import LEAST_STRETCH, Foot, Ring, nearest_foot
from .trace import EDGE, Chain, Network

SMOOTH = 8.0
"""Strength of the smoothing; its reach is about the root of this in points of a chain."""

FARTHEST = 0.25
"""A border moves by at most this part of its length in one step of putting areas right."""


@dataclass(frozen=True, slots=True, eq=False)
class Border:
    """A chain with both its ends: `points` holds them too. `feet` are the ends that stand on the edge (else None)."""

    left: int
    right: int
    start: int
    end: int
    points: Floats
    feet: tuple[Foot | None, Foot | None]


def smoothed(network: Network, rings: Sequence[Ring], strength: float = SMOOTH) -> list[Border]:
    """Return the borders with smooth points, junctions drawn to the middle of their three chains, ends on the edge."""
    from scipy.sparse import coo_array, eye_array
    from scipy.sparse.linalg import splu

    chains = network.chains
    if not chains:
        return []
    many = len(network.junctions)
    places, rows, columns = [network.junctions], [], []
    offset = many
    spans = []
    for chain in chains:
        count = len(chain.points)
        line = list(range(offset, offset + count))
        walk = [chain.start] * (chain.start != EDGE) + line + [chain.end] * (chain.end != EDGE)
        rows += walk[:-1]
        columns += walk[1:]
        places.append(chain.points)
        spans.append((offset, offset + count))
        offset += count
    links = coo_array((np.ones(len(rows)), (rows, columns)), shape=(offset, offset)).tocsr()
    links = links + links.T
    laplace = links * -1.0
    laplace.setdiag(links.sum(axis=1))
    spots = settled_figures(splu((eye_array(offset) + strength * laplace).tocsc()).solve(np.concatenate(places)))
    borders = [_with_ends(chain, spots[a:b], spots[:many], rings) for chain, (a, b) in zip(chains, spans, strict=True)]
    return _parted(borders, rings)


def _with_ends(chain: Chain, points: Floats, junctions: Floats, rings: Sequence[Ring]) -> Border:
    """Add both ends to a chain's points: its junctions, or the feet of its last points on the edge."""
    ends: list[Floats] = []
    feet: list[Foot | None] = []
    for node, near in ((chain.start, points[0]), (chain.end, points[-1])):
        if node != EDGE:
            ends.append(junctions[node])
            feet.append(None)
            continue
        foot = nearest_foot(rings, Point(float(near[0]), float(near[1])))
        spot = rings[foot.ring].point(foot.station)
        ends.append(np.array([spot.x, spot.y]))
        feet.append(foot)
    inner = points
    if len(inner) > 2:          # the last points before an edge or junction crowd it: leave room for a clean arrival
        inner = inner[1:-1]
    return Border(chain.left, chain.right, chain.start, chain.end, np.vstack([ends[0], inner, ends[1]]),
                  (feet[0], feet[1]))


def _parted(borders: list[Border], rings: Sequence[Ring]) -> list[Border]:
    """Push ends that stand too close together on one ring apart."""
    ends = sorted((foot.ring, foot.station, b, e) for b, border in enumerate(borders)
                  for e, foot in enumerate(border.feet) if foot is not None)
    moved: dict[tuple[int, int], Foot] = {}
    for k, (ring, station, b, e) in enumerate(ends):
        if k and ends[k - 1][0] == ring:
            last = moved.get(ends[k - 1][2:], Foot(ring, ends[k - 1][1])).station
            if station - last < LEAST_STRETCH:
                moved[b, e] = Foot(ring, last + LEAST_STRETCH)
    for (b, e), foot in moved.items():
        borders[b] = _ended(borders[b], e, foot, rings)
    return borders


def _ended(border: Border, end: int, foot: Foot, rings: Sequence[Ring]) -> Border:
    spot = rings[foot.ring].point(foot.station)
    points = border.points.copy()
    points[0 if end == 0 else -1] = (spot.x, spot.y)
    feet = (foot, border.feet[1]) if end == 0 else (border.feet[0], foot)
    return replace(border, points=points, feet=feet)


def moved_for_areas(borders: Sequence[Border], lack: Floats) -> list[Border]:
    """Move borders sideways so that each drift gains its `lack` (m2); ends stay. One step, right to first order."""
    lengths = np.array([float(np.hypot(*np.diff(b.points, axis=0).T).sum()) for b in borders])
    count = len(lack)
    swell = lengths * (2 / np.pi)
    matrix = np.zeros((count, count))
    for border, gain in zip(borders, swell, strict=True):
        if border.left != border.right:
            matrix[border.left, border.left] += gain
            matrix[border.right, border.right] += gain
            matrix[border.left, border.right] -= gain
            matrix[border.right, border.left] -= gain
    pressure = settled_figures(np.linalg.lstsq(matrix, lack - lack.mean(), rcond=None)[0])
    return [_shifted(b, float(np.clip(pressure[b.left] - pressure[b.right], -FARTHEST * n, FARTHEST * n)))
            for b, n in zip(borders, lengths, strict=True)]


def _shifted(border: Border, by: float) -> Border:
    """Move a border to its right (its left drift gains) by `by` metres in the middle, less toward both ends."""
    points = border.points
    if len(points) < 3:
        return border
    steps = np.hypot(*np.diff(points, axis=0).T)
    share = np.concatenate([[0.0], np.cumsum(steps)]) / steps.sum()
    way = np.gradient(points, axis=0)
    way /= np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    aside = np.column_stack([way[:, 1], -way[:, 0]])
    shifted = settled_figures(points + aside * (by * np.sin(np.pi * share))[:, None])
    shifted[0], shifted[-1] = points[0], points[-1]
    return replace(border, points=shifted)
