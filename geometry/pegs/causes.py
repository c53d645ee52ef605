"""The few mistakes people make with a tape, and how likely each is to explain a difference.

Takes: a difference b (m) with its standard deviation q. Gives: log weights of hypotheses. The prior
weights are a judgement (common practice, no source); they were set once and are not tuned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

PRIOR_NONE = 0.9
PRIOR_FAULT = 0.1
ANY_SD = 0.4
"""Standard deviation (m) of a mistake of no known kind: wrong mark, a snag."""
PRIOR_ANY = 0.30
PEN_SD = 20.0
PRIOR_PEN = 0.01
"""A slip of the pen: a figure more or less, a number from elsewhere; standard deviation in metres (judgement)."""
PRIOR_SLOPE = 0.08
SLOPE_LEAST, SLOPE_MOST = 0.002, 0.025
"""A tape that slopes or sags reads this share too long, evenly likely."""
PRIOR_ZERO = 0.02
"""All readings from one mark out alike: the tape's zero was not on it."""

ANYTHING = "the wrong mark, or a snag"
PEN = "a slip of the pen"
SLOPE = "the tape sloped or sagged"


@dataclass(frozen=True, slots=True)
class Slip:
    """A mistake of fixed size: `change` is what it adds to the true reading, metres."""

    cause: str
    change: float
    prior: float


def _swaps(reading: float) -> list[float]:
    """Return what swapping two neighbouring figures of a printed metric reading changes."""
    text = f"{abs(reading):.3f}".removesuffix("0")
    places = [i for i, ch in enumerate(text) if ch != "."]
    found: list[float] = []
    for a, b in pairwise(places):
        if text[a] != text[b]:
            other = list(text)
            other[a], other[b] = other[b], other[a]
            found.append(abs(reading) - float("".join(other)))
    return [c for c in found if abs(c) >= 0.01]


def _six_for_nine(reading: float) -> list[float]:
    text = f"{abs(reading):.3f}"
    swap = {"6": "9", "9": "6"}
    found = [abs(reading) - float(text[:i] + swap[ch] + text[i + 1:]) for i, ch in enumerate(text) if ch in swap]
    return [c for c in found if abs(c) >= 0.01]


def slips(reading: float, feet: bool = False) -> tuple[Slip, ...]:
    """Return the mistakes of fixed size that could stand behind `reading` (m)."""
    whole, part = (0.3048, 0.0254) if feet else (1.0, 0.1)
    names = ("a whole foot", "an inch") if feet else ("a whole metre", "a decimetre")
    found = [Slip(names[0], sign * whole, 0.20) for sign in (1, -1)]
    found += [Slip(names[1], sign * part, 0.12) for sign in (1, -1)]
    others = [k * whole for k in (2, 10)] + [whole / 2]
    found += [Slip(f"{size / whole:g} {'feet' if feet else 'metres'}", sign * size, 0.01)
              for size in others for sign in (1, -1)]
    if not feet:
        for cause, share, changes in (("two figures swapped", 0.12, _swaps(reading)),
                                      ("6 read for 9", 0.04, _six_for_nine(reading))):
            found += [Slip(cause, c, share / len(changes)) for c in changes]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Weight:
    """One hypothesis weighed: its cause, the change it stands for (m; None if free), and its log weight."""

    cause: str
    change: float | None
    log: float


def _slope_log(b: float, q: float, reading: float) -> float:
    low, high = SLOPE_LEAST * abs(reading), SLOPE_MOST * abs(reading)
    if not high - low > 0:
        return -math.inf
    root = q * math.sqrt(2)
    mass = math.erf((high - b) / root) - math.erf((low - b) / root)
    mean = mass * q * math.sqrt(math.pi / 2) / (high - low)
    return math.log(mean) if mean > 0 else -math.inf


def weigh_reading(b: float, q: float, omega: float, reading: float, prior: float, feet: bool = False) -> list[Weight]:
    """Weigh every mistake in one reading: b its estimated blunder (m), q its sd, omega what remains without it.

    Log weights against the same scale as `-omega/2 + ln prior`: a fixed change c adds -((b-c)/q)^2/2; a free
    one, normal with ANY_SD, adds ln of the ratio of densities.
    """
    base = -omega / 2 + math.log(prior)
    found = [Weight(s.cause, s.change, base + math.log(s.prior) - ((b - s.change) / q) ** 2 / 2)
             for s in slips(reading, feet)]
    for cause, sd, share in ((ANYTHING, ANY_SD, PRIOR_ANY), (PEN, PEN_SD, PRIOR_PEN)):
        spread = q * q + sd**2
        free = math.log(share) - math.log(spread / (q * q)) / 2 - b * b / (2 * spread)
        found.append(Weight(cause, None, base + free))
    slope = _slope_log(b, q, reading)
    if slope > -math.inf:
        found.append(Weight(SLOPE, None, base + math.log(PRIOR_SLOPE) + slope))
    return found


def log_sum(logs: list[float]) -> float:
    """Return ln of the sum of exponentials, without overflow."""
    top = max(logs)
    return top if top == -math.inf else top + math.log(math.fsum(math.exp(v - top) for v in logs))
