"""What is built over the boundary: said, since it may be meant, and pegs beyond it stand in a neighbour's ground.

Takes: the elements placed and the plot's boundary. Gives: advice. Metres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from ..errors import Problem, Weight
from ..kernel.combine import contains
from ..kernel.flatten import points_of
from ..kernel.path import Loop, Region
from ..kernel.station import project
from ..kinds.base import Placed

LEAST = 0.005
"""What lies less than this beyond the boundary is on it, m (the usual step of a tape)."""

GAP = 0.002
"""Arcs are looked at in points so near that none bulges more than this between two of them, m."""


def over_boundary(elements: Iterable[Placed], boundary: Loop | None) -> Iterator[Problem]:
    """Yield advice for each new element whose ground goes beyond the boundary, with how far."""
    if boundary is None:
        return
    plot = (Region(boundary),)
    for placed in elements:
        if not placed.built:
            continue
        outside = [p for ring in placed.loops() for p in points_of(ring, GAP) if not contains(plot, p)]
        far = max(((project(boundary, p).distance, p) for p in outside), key=lambda f: f[0], default=None)
        if far is not None and far[0] > LEAST:
            yield Problem(
                f"{placed.name} goes {far[0]:.2f} m beyond the boundary, near ({far[1].x:.2f}, {far[1].y:.2f})",
                "keep it inside, or correct the boundary; what is beyond needs the neighbour's word",
                "over-boundary", placed.place, Weight.ADVICE)
