"""Two tapes back to a peg for which no string can be stretched.

Takes: what still stands after the dig, and where it stands. Gives: the two hooks whose tapes cross best, with readings
as the tape shows them. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..kernel.point import Point
from .rebuild import across
from .sight import Sight
from .tape import Reading, Tape

NEAREST = 8
"""Hooks that are looked at."""

LONGEST = 20.0
LEAST_ANGLE = math.sin(math.radians(40))
"""Tapes that cross flatter than this give no peg back without a third."""

SHIFT = 0.004
"""Readings as printed must put the peg within this, metres."""


@dataclass(frozen=True, slots=True)
class Ties:
    """Two hooks with their readings; the peg lies left or right of the line from the first to the second."""

    hooks: tuple[tuple[str, Reading], tuple[str, Reading]]
    left: bool


def best_ties(at: Point, hooks: Mapping[str, Point], sight: Sight, tape: Tape) -> Ties | None:
    """Return the best two ties to a peg, None where no two hooks see it and cross at 40 degrees or more."""
    near = sorted((round(at.distance(p), 4), name) for name, p in hooks.items())
    names = [name for far, name in near if 0.3 < far <= LONGEST]
    if len(names) < 2:
        return None
    free = sight.free(np.array([[at.x, at.y]] * len(names)), np.array([[hooks[n].x, hooks[n].y] for n in names]))
    seen = [name for name, sees in zip(names, free, strict=True) if sees][:NEAREST]
    best: tuple[float, Ties] | None = None
    for one, two in combinations(seen, 2):
        u, v = at - hooks[one], at - hooks[two]
        sine = abs(u.unit().cross(v.unit()))
        if not sine >= LEAST_ANGLE:
            continue
        first, second = tape.reading(u.length), tape.reading(v.length)
        left = (hooks[two] - hooks[one]).cross(u) > 0
        comes = across(hooks[one], hooks[two], first.metres, second.metres, left)
        if comes is None or not comes.distance(at) <= SHIFT:
            continue
        score = round(math.hypot(tape.sd(u.length), tape.sd(v.length)) / sine, 6)
        if best is None or score < best[0]:
            best = score, Ties(((one, first), (two, second)), left)
    return None if best is None else best[1]
