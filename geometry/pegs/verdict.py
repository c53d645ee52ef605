"""What taped readings say of a set of pegs. Lengths in metres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..kernel.point import Vec

Floats = NDArray[np.float64]

SURE = 0.9


@dataclass(frozen=True, slots=True)
class Measure:
    """One taped reading between two points, with what it should read and how far it may be out (m)."""

    start: str
    end: str
    reading: float
    design: float
    allowed: float
    when: str = ""

    @property
    def over(self) -> float:
        """How much it reads too long, metres (negative: too short)."""
        return self.reading - self.design

    @property
    def good(self) -> bool:
        """Whether it lies within its limit."""
        return abs(self.over) <= self.allowed + 1e-9


@dataclass(frozen=True, slots=True)
class Fault:
    """What may be wrong: a peg, or one of the measures itself (`start-end`); its cause, probability, shift in m."""

    subject: str
    cause: str
    probability: float
    shift: Vec | None = None             # where the peg stands less where it should; None for a misread measure


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict: measures, the probability that something is wrong, faults likeliest first, advice in words."""

    measures: tuple[Measure, ...]
    wrong: float
    faults: tuple[Fault, ...]
    advice: tuple[str, ...]

    @property
    def good(self) -> bool:
        """Whether everything is within its limits, or most likely so."""
        return self.wrong <= 0.5

    @property
    def sure(self) -> bool:
        """Whether one fault is named with confidence."""
        return not self.good and surely(self.faults)


def surely(faults: Sequence[Fault]) -> bool:
    """Say whether the first fault stands alone: a misread measure does not, if a peg at its end may have moved."""
    return bool(faults) and faults[0].probability >= SURE and not either_way(faults)


def either_way(faults: Sequence[Fault]) -> tuple[str, str] | None:
    """Return a measure and the peg at its end that explain the readings alike, so that no other reading tells them."""
    subjects = [f.subject for f in faults[:3]]
    for measure in subjects:
        ends = measure.split("-")
        pegs = [name for name in subjects if name in ends] if len(ends) == 2 else []
        if pegs:
            return measure, pegs[0]
    return None
