"""Where typical sections are cut: across an edge or a line, at the middles of their longest stretches first.

Takes: regions and paths, metres. Gives: Cut values in the order of preference; the sheets choose among them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..features import Cut
from ..kernel.path import Path, Region
from ..kernel.point import Vec
from ..kernel.segment import Segment

SHARES = (0.5, 0.3, 0.7)
"""Where along a stretch a cut may lie: its middle first."""

MOST = 24
"""So many places are offered for one section, and no more."""

REACH = 0.4
"""How far a cut reaches each way where nothing says more, metres."""


def edge_cuts(regions: Sequence[Region], reach: float = REACH) -> tuple[Cut, ...]:
    """Return cuts across the edges of regions, holes too: the thing at the left, what is outside it at the right."""
    return _across((s for region in regions for ring in region.rings() for s in ring), reach)


def line_cuts(path: Path, reach: float = REACH) -> tuple[Cut, ...]:
    """Return cuts across a path: what lies to the left of it at the left."""
    return _across(path.segments, reach)


def _across(segments: Iterable[Segment], reach: float) -> tuple[Cut, ...]:
    """Return cuts square across segments, from their left to their right; those of the longest first."""
    ordered = sorted(segments, key=lambda s: -round(s.length, 6))
    found = (Cut(s.point(share), -Vec.polar(s.heading(share)).left(), reach) for share in SHARES for s in ordered)
    return tuple(cut for cut, _ in zip(found, range(MOST), strict=False))


__all__ = ["REACH", "edge_cuts", "line_cuts"]
