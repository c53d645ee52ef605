"""How firm a count of units is: what it comes to when the outline, the start and the turn are built a little off.

Takes: a layout. Gives: the fewest and the most units over small errors of the site, by the quick estimate of the
origin search, beside the count by real pieces. Metres, radians.
"""

from __future__ import annotations

import math

from ..kernel.offset import Corners, grown
from ..kernel.path import Region
from ..kernel.runs import Frame, area_of, runs_of
from .laying import Layout
from .origin import Search

OUTLINE = 0.010
"""Edges built this far out or in, m: a usual tolerance of paved edges (common practice, no source)."""

START = 0.010
"""The first unit set this far off, m."""

TURN = math.radians(0.15)
"""Courses turned by this much: 10 mm over 4 m."""

WORDS = "built 10 mm off each way"

MANY = 1500
"""Units above which the share of the cuts is small and the question is left to the search for layouts."""


def _built(layout: Layout) -> list[tuple[Region, ...]]:
    """Return the outline as drawn, and what is left of it built larger and smaller."""
    found = [layout.regions, grown(layout.regions, OUTLINE, Corners.SQUARE), grown(layout.regions, -OUTLINE)]
    return [regions for regions in found if regions]


def firmness(layout: Layout, units: int) -> tuple[int, int]:
    """Return the fewest and the most units that the layout may take on the ground; `units` are those as drawn."""
    grid, frame = layout.lattice, layout.frame
    drawn = Search(layout.runs, layout.region_area, layout.unit, grid, layout.ease).score(0.0, 0.0).units
    found = [drawn]
    for regions in _built(layout):
        for turn, offsets in ((0.0, (0.0,)), (TURN, (-START, START)), (-TURN, (-START, START))):
            runs = runs_of(regions, Frame(frame.origin, frame.turn + turn))
            search = Search(runs, area_of(regions), layout.unit, grid, layout.ease)
            found += [search.score(offset, offset).units for offset in offsets]
    return units + min(found) - drawn, units + max(found) - drawn
