"""A point from taped readings: where two tapes cross, or where three and more nearly do. Metres.

Plain Gauss-Newton on the differences, all of one weight: people take the middle of the little triangle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from ..errors import GeometryError, Place, Problem, Weight, refuse
from ..kernel.point import Point, Vec

FLAT = math.radians(5)
"""Tapes that meet at less than this cannot fix a point: a millimetre becomes more than eleven."""

APART = 0.25
"""Metres; ties that disagree by more than this hold a mistake and fix nothing."""

ROUNDS = 50


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape hooked on a mark: its name, its place, and the reading in metres."""

    mark: str
    at: Point
    reading: float


@dataclass(frozen=True, slots=True)
class Closed:
    """A point of three ties or more, with the difference of each (reading less distance, m) by mark."""

    at: Point
    differences: tuple[tuple[str, float], ...]

    @property
    def misclosure(self) -> float:
        """The largest difference, metres."""
        return max(abs(difference) for _, difference in self.differences)


def crossing(first: Tape, second: Tape, *, left: bool) -> Point:
    """Return where two tapes cross, on the stated side of the line from the first mark to the second.

    GeometryError if they do not meet, or meet so flatly (under 5 degrees) that the place cannot be trusted.
    """
    spots = _crossings(first, second)
    base = first.at.distance(second.at)
    if not spots:
        long = first.reading + second.reading < base
        raise refuse(
            GeometryError,
            f"tapes of {first.reading:.3f} m from {first.mark} and {second.reading:.3f} m from "
            f"{second.mark}, {base:.3f} m apart, do not meet",
            "lengthen one of them" if long else "shorten the longer one",
            "no-crossing",
        )
    spot = spots[0] if left else spots[1]
    angle = abs(math.remainder((first.at - spot).heading - (second.at - spot).heading, 2 * math.pi))
    if not FLAT <= angle <= math.pi - FLAT:
        raise refuse(
            GeometryError,
            f"the tapes from {first.mark} and {second.mark} meet at only "
            f"{math.degrees(min(angle, math.pi - angle)):.1f} degrees",
            "tie the point to marks that see it more from the side",
            "flat-crossing",
        )
    return spot


def _crossings(first: Tape, second: Tape) -> tuple[Point, Point] | None:
    """Return both crossings, the left one first; None if the circles do not meet."""
    base = first.at.distance(second.at)
    if not base > 0:
        return None
    along = (base**2 + first.reading**2 - second.reading**2) / (2 * base)
    square = first.reading**2 - along**2
    if not square >= 0:
        return None
    way = (second.at - first.at).unit()
    foot, out = first.at + way * along, way.left() * math.sqrt(square)
    return foot + out, foot + -out


def closest(tapes: Sequence[Tape], left: bool | None = None) -> Closed:
    """Return the point with the least sum of squared differences to three tapes or more.

    `left` holds the start to one side of the first two marks. GeometryError if no two tapes meet, or if
    they disagree by more than 0.25 m.
    """
    starts = [spot for one, other in combinations(tapes, 2) for spot in _crossings(one, other) or ()]
    if left is not None:
        base = tapes[1].at - tapes[0].at
        starts = [spot for spot in starts if (base.cross(spot - tapes[0].at) >= 0) == left]
    if not starts:
        raise refuse(GeometryError, "none of these tapes meet", "measure the ties again", "no-crossing")
    start = min(starts, key=lambda spot: sum(d * d for _, d in _differences(spot, tapes)))
    closed = _settled(start, tapes)
    if not closed.misclosure <= APART:
        told = ", ".join(f"{mark} {difference * 1000:+.0f} mm" for mark, difference in closed.differences)
        raise refuse(
            GeometryError,
            f"the ties disagree: {told} (reading less distance)",
            "one reading is likely wrong by a metre or a decimetre: measure them again",
            "ties-disagree",
        )
    return closed


def _differences(spot: Point, tapes: Sequence[Tape]) -> tuple[tuple[str, float], ...]:
    return tuple((tape.mark, tape.reading - spot.distance(tape.at)) for tape in tapes)


def _settled(spot: Point, tapes: Sequence[Tape]) -> Closed:
    for _ in range(ROUNDS):
        step = _step(spot, tapes)
        spot += step
        if step.length < 1e-10:
            break
    return Closed(spot, _differences(spot, tapes))


def _step(spot: Point, tapes: Sequence[Tape]) -> Vec:
    """Return one Gauss-Newton step (normal equations of two unknowns)."""
    xx = xy = yy = x = y = 0.0
    for tape in tapes:
        away = spot - tape.at
        if not away.length > 0:
            continue
        unit = away.unit()
        difference = tape.reading - away.length
        xx, xy, yy = xx + unit.dx**2, xy + unit.dx * unit.dy, yy + unit.dy**2
        x, y = x + unit.dx * difference, y + unit.dy * difference
    size = xx * yy - xy * xy
    if not size > 1e-9:
        raise refuse(
            GeometryError,
            "the marks of these ties lie in one line with the point",
            "tie it to a mark off that line",
            "flat-crossing",
        )
    step = Vec((yy * x - xy * y) / size, (xx * y - xy * x) / size)
    return step if step.length <= 2 else step.unit() * 2


def misclosure_advice(closed: Closed, place: Place | None) -> Problem:
    """Return the advice that says how well three ties or more agree."""
    told = ", ".join(f"{mark} {difference * 1000:+.0f} mm" for mark, difference in closed.differences)
    within = f"{len(closed.differences)} ties close within {closed.misclosure * 1000:.0f} mm"
    return Problem(
        f"{within} ({told}, reading less distance)",
        "measure again if that is more than the tape can be blamed for",
        "misclosure",
        place,
        Weight.ADVICE,
    )
