"""Marks driven where both tapes read whole, so that they have no rounding shift. Metres."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from .ground import Ground
from .linear import SHARPEST, ties_form
from .sight import Sight
from .standing import Site

Floats = NDArray[np.float64]


def whole_ties(ground: Ground, sight: Sight, site: Site, near: Floats,
               marks: tuple[int, int]) -> tuple[Floats, tuple[float, ...]]:
    """Return the place nearest to `near` whose readings from two marks are whole: 0.1 m or 6 in, else one tape step.

    With the place go its readings, metres; without any that fits, `near` itself and none.
    """
    tape = ground.tape
    pa, pb = ground.places[marks[0]], ground.places[marks[1]]
    side = float((pb - pa)[0] * (near - pa)[1] - (pb - pa)[1] * (near - pa)[0])
    coarse = 0.1524 if tape.feet else 0.1
    for step in (coarse, tape.step):
        r1, r2 = (round(float(np.hypot(*(near - p))) / step) for p in (pa, pb))
        found = []
        for k1 in (r1, r1 - 1, r1 + 1):
            for k2 in (r2, r2 - 1, r2 + 1):
                readings = tape.reading(k1 * step).metres, tape.reading(k2 * step).metres
                place = cross(pa, pb, *readings, left=side > 0)
                if place is not None:
                    found.append((round(float(np.hypot(*(place - near))), 6), readings, place))
        for _, readings, place in sorted(found, key=lambda f: f[:2]):
            spot = place[None]
            ends = np.vstack([pa, pb])
            if site.holds(spot)[0] and sight.free(ends, np.vstack([place, place])).all():
                form = ties_form(place, [pa, pb], tape)
                if abs(float(np.linalg.det(form.noise))) <= 1 / SHARPEST:
                    return place, readings
    return near, ()


def cross(a: Floats, b: Floats, r1: float, r2: float, *, left: bool) -> Floats | None:
    """Return where two tapes cross, left or right of the line from a to b; None if they do not meet."""
    d = float(np.hypot(*(b - a)))
    if not abs(r1 - r2) < d < r1 + r2:
        return None
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    out = math.sqrt(max(r1 * r1 - along * along, 0.0)) * (1 if left else -1)
    u = (b - a) / d
    place: Floats = a + along * u + out * np.array([-u[1], u[0]])
    return place
