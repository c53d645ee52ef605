"""More points of an arc between its pegs, found with string and rule alone: half way out by the rise, then a quarter.

Half way along the string between two pegs the arc stands out by its rise; half way again, from the new point to a peg,
by about a quarter of that. The quarter is a rule of thumb and errs by a known amount, so it is offered only where that
is less than the tape can show. Takes: a peg set. Gives: for each arc without a centre the rise, the quarter and how
wrong it is. Metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from ..features import Purpose
from ..kernel.segment import Arc
from .curves import halving_error
from .peg import Peg, PegSet
from .tape import Reading

HELD = (Purpose.CORNER, Purpose.TANGENT, Purpose.CURVE, Purpose.LINE)
ON = 0.0015
"""A peg within this of an arc stands on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Halving:
    """Two pegs of an arc, the farthest apart that follow each other on it, and what stands out of their string.

    `rise` is taken half way, `quarter` half way again, both to the fineness of a rule, 1 mm or 1/16 in; `error` is how
    far a point so found stands beside the arc at most: by the rule of thumb and by the rounding of both (m).
    """

    start: str
    end: str
    rise: Reading
    quarter: Reading
    error: float


def halvings(pegs: PegSet, element: str) -> tuple[Halving, ...]:
    """Return how each arc of an element that is not swung from a centre is halved; none whose error would show."""
    centres = [p.at for p in pegs.pegs if p.purpose is Purpose.CENTRE]
    stand = [p for p in pegs.pegs if p.purpose in HELD]
    found: dict[tuple[str, str], Halving] = {}
    for outline in pegs.outlines.get(element, ()):
        for segment in outline.segments:
            if isinstance(segment, Arc) and not any(c.distance(segment.centre) <= ON for c in centres):
                halving = _of(segment, stand, pegs)
                if halving is not None:
                    found.setdefault((halving.start, halving.end), halving)
    return tuple(found.values())


def _of(arc: Arc, stand: list[Peg], pegs: PegSet) -> Halving | None:
    held = sorted(_on(arc, stand))
    if len(held) < 2:
        return None
    tape = pegs.options.tape
    (first, start), (last, end) = max(pairwise(held), key=lambda two: round(two[1][0] - two[0][0], 9))
    half = (last - first) * abs(arc.sweep) / 2
    rise = arc.radius * (1 - math.cos(half))
    error = abs(halving_error(arc.radius, 2 * arc.radius * math.sin(half)))
    if half > math.pi / 2 or not rise >= tape.step or not error < tape.step:
        return None
    rule = tape.rule()
    first_out, then_out = rule.reading(rise), rule.reading(rise / 4)
    aside, true = abs(first_out.metres - rise), arc.radius * (1 - math.cos(half / 2))
    return Halving(start=start, end=end, rise=first_out, quarter=then_out,
                   error=max(aside, aside / 2 + abs(then_out.metres - true)))


def _on(arc: Arc, stand: list[Peg]) -> Iterator[tuple[float, str]]:
    """Yield the pegs on an arc: the share of its sweep, and the name."""
    for peg in stand:
        if abs(peg.at.distance(arc.centre) - arc.radius) <= ON:
            turn = math.copysign(1.0, arc.sweep) * ((peg.at - arc.centre).heading - arc.begin)
            share = ((turn + ON / arc.radius) % (2 * math.pi) - ON / arc.radius) / abs(arc.sweep)
            if share <= 1 + 2 * ON / (arc.radius * abs(arc.sweep)):
                yield share, peg.name


__all__ = ["Halving", "halvings"]
