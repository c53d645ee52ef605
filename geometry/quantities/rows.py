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
    """The panels between posts: whole ones, and the widths of those that are cut (m)."""

    whole: int
    cut: tuple[float, ...]

    @property
    def panels(self) -> int:
        """Panels to buy: a cut one is bought whole."""
        return self.whole + len(self.cut)


def panel_stations(length: float, step: float, least: float) -> tuple[float, ...]:
    """Return where posts stand along a straight run (m from its start, the start left out).

    Every `step` (a panel and a post) from the start; the last bay is what remains. A bay under `least` would
    be a sliver, so the last two then share their length. A rest under TAKEN_UP is shared by all.
    """
    if not (length > 0 and step > 0):
        raise refuse(
            GeometryError, f"panels every {step:g} m along {length:g} m", "give both, more than nothing", "bad-bay"
        )
    whole = math.floor(length / step + 1e-9)
    rest = length - whole * step
    if whole and rest <= TAKEN_UP:
        return (*(length * k / whole for k in range(1, whole)), length)
    stations = [k * step for k in range(1, whole + 1)]
    if whole and rest < least:
        stations[-1] = (whole - 1) * step + (step + rest) / 2
    return (*stations, length)


def panels_between(bays: Sequence[float], panel: float, post: float) -> Panels:
    """Return the panels in bays given from post to post (m, middle to middle): cut where a bay is under a panel."""
    if not (panel > 0 and post >= 0 and bays and all(bay > post for bay in bays)):
        raise refuse(
            GeometryError, "a fence with a bay no wider than its post", "give panel and post sizes", "bad-fence"
        )
    cut = tuple(bay - post for bay in bays if bay - post < panel - TAKEN_UP)
    if any(bay - post > panel + 2 * TAKEN_UP for bay in bays):
        raise refuse(GeometryError, "a bay wider than a panel and a post", "set the posts closer", "bad-fence")
    return Panels(whole=len(bays) - len(cut), cut=cut)
