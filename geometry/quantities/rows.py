"""Equal bays along a line: posts, bays, rafters, the lengths between them, on straights and on curves.

Takes: lengths and limits. Gives: counts and lengths. On a curve a limit of spacing applies to the outer line.
Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import GeometryError, refuse
from ..kernel.segment import Arc, Segment

TAKEN_UP = 0.005
"""A rest of fence under this is taken up by the posts, m (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bays:
    """Equal spaces along a line: how many, how long each is (m), and how many posts bound them."""

    count: int
    size: float
    posts: int


def equal_bays(length: float, most: float, closed: bool = False) -> Bays:
    """Return equal bays of at most `most` along a length: n = ceil(length / most); posts n + 1, on a ring n."""
    if not (length > 0 and most > 0):
        raise refuse(GeometryError, f"bays of {most:g} m along {length:g} m", "give both, more than nothing", "bad-bay")
    n = max(3 if closed else 1, math.ceil(length / most - 1e-9))
    return Bays(count=n, size=length / n, posts=n if closed else n + 1)


def outer_length(segments: Sequence[Segment], half_width: float) -> float:
    """Return the longer of the two side lines of a band along `segments`, arcs at their outer radius, m."""
    left = right = 0.0
    for s in segments:
        turn = s.sweep if isinstance(s, Arc) else 0.0
        left += s.length - turn * half_width
        right += s.length + turn * half_width
    return max(left, right)


def chord_of(radius: float, angle: float) -> tuple[float, float]:
    """Return the chord of an arc (m) and how far the arc bulges from it: r (1 - cos(angle/2))."""
    return 2 * radius * math.sin(angle / 2), radius * (1 - math.cos(angle / 2))


@dataclass(frozen=True, slots=True, kw_only=True)
class Panels:
    """A run of fence: whole panels, the widths of the cut ones (m), posts."""

    whole: int
    cut: tuple[float, ...]
    posts: int

    @property
    def panels(self) -> int:
        """Panels to buy: a cut one is bought whole."""
        return self.whole + len(self.cut)


def fence_panels(runs: Sequence[float], panel: float, post: float, closed: bool = False) -> Panels:
    """Return panels and posts along straight runs (m, from corner to corner); corner posts are shared.

    Whole panels = floor((run - post) / (panel + post)), the rest one cut panel; posts = bays + 1, on a ring
    bays. A rest under TAKEN_UP is shared among the posts.
    """
    if not (panel > 0 and post >= 0 and all(run > 0 for run in runs) and runs):
        raise refuse(GeometryError, "a fence without a length, panel or post", "give panel and post sizes", "bad-fence")
    whole = bays = 0
    rests = []
    for k, run in enumerate(runs):
        # a line ends in the middle of a corner post; a free end is the outside of its post
        free = 0 if closed else (k == 0) + (k == len(runs) - 1)
        room = run - free * post / 2
        n = max(0, math.floor(room / (panel + post) + 1e-9))
        rest = room - n * (panel + post) - post
        whole += n
        bays += n
        if rest > TAKEN_UP:
            rests.append(rest)
            bays += 1
    posts = bays if closed else bays + 1
    return Panels(whole=whole, cut=tuple(rests), posts=posts)
