"""Crosses along the outline of a thing that is to go: its dashes alone could be another's.

Paper millimetres, radians.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Segment
from .draft import Nib
from .sheet import Stroke

DEGREE = math.pi / 180

LONE = 8.0
"""A side longer than this (mm) has a cross of its own."""


def crosses(path: Path | Loop, layer: str, done: list[Point] | None = None, every: float = 22.0) -> Iterator[Stroke]:
    """Yield small diagonal crosses along the outline of a thing that is to go, so that its dashes are no other's.

    A narrow band is crossed along its middle: two rows of crosses side by side are a blot. A cross keeps off those
    whose middles are `done`, and is added to them.
    """
    nib, longest = Nib(layer, "mark"), max(path.segments, key=lambda s: round(s.length, 6))
    inward, done = _inward(path), [] if done is None else done
    for segment in path.segments:
        count = round(segment.length / every)
        for i in range(max(count, 1) if count or segment is longest or segment.length > LONE else 0):
            at, heading = _free_spot(segment, (i + 0.5) / max(count, 1), inward, done)
            if at is None:
                continue
            done.append(at)
            for lean in (45 * DEGREE, -45 * DEGREE):
                arm = Vec.polar(heading + lean, CROSS + abs(inward) * 0.7)
                yield nib.line(at + -arm, at + arm)


def _free_spot(segment: Segment, share: float, inward: float, done: Sequence[Point]) -> tuple[Point | None, float]:
    """Return where a cross may stand, near a share of a segment and off the others, and the line's heading there."""
    heading = segment.heading(share)
    for shift in SHIFTS if not inward else SHIFTS[:1]:
        moved_on = share + shift / segment.length
        if shift == 0.0 or 2 * CROSS < moved_on * segment.length < segment.length - 2 * CROSS:
            heading = segment.heading(moved_on)
            at = segment.point(moved_on) + Vec.polar(heading + math.pi / 2, inward)
            if all(at.distance(other) > CROSSES_APART for other in done):
                return at, heading
    return None, heading


def _inward(path: Path | Loop) -> float:
    """Return how far to the left of a narrow band's outline its middle lies, mm; 0 of all that is wider."""
    if not isinstance(path, Loop):
        return 0.0
    wide = 2 * path.area / path.length
    return wide / 2 if abs(wide) < NARROW else 0.0


CROSS, NARROW = 1.1, 2.6
"""Half length of the strokes of a cross, and the width of a band that is crossed along its middle, mm."""

CROSSES_APART, SHIFTS = 2.5, (0.0, 3.5, -3.5, 7.0, -7.0)
"""Middles of crosses are further apart than this; how far a cross is moved along its line for that, mm."""
