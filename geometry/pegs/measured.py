"""Measured-in readings: which peg is wrong, by how much, how sure; or that all is within its limits.

Takes: a peg set and taped readings between its pegs and marks. Gives: a verdict. Every mistake that people make is
tried with its exact effect: the peg and all that hangs on it are rebuilt, and what the tapes should then read is
compared with what they read, all measures together and with their full covariance. Lengths in metres.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from ..errors import Problem, ReadingsError
from .advising import advice
from .causes import PRIOR_NONE, log_sum
from .expected import Expected
from .guesses import Guess, Guesses
from .peg import PegSet
from .taped import measures_of
from .verdict import Fault, Measure, Verdict

Floats = NDArray[np.float64]

WORTH = 0.02


def judge(pegs: PegSet, text: str, name: str = "readings") -> Verdict:
    """Return the verdict on the readings of a table `from, to, reading, when`; `name` stands in messages.

    ReadingsError for readings without a unit, of a peg that is none, or that no tape can give.
    """
    measures = measures_of(pegs, text, name)
    if not measures:
        raise ReadingsError(Problem(f"no reading in {name}", "write rows of from, to, reading", "no-readings"))
    return weighed(Expected(pegs, measures))


def weighed(net: Expected) -> Verdict:
    """Weigh every mistake against none."""
    guesses = Guesses(net).all()
    none = -net.none / 2 + math.log(PRIOR_NONE)
    total = log_sum([none, *(g.log for g in guesses)])
    by: dict[str, list[Guess]] = {}
    for g in guesses:
        by.setdefault(g.subject, []).append(g)
    faults = []
    for subject, own in by.items():
        top = max(own, key=lambda g: (g.log, g.cause))
        faults.append(Fault(subject, top.cause, math.exp(log_sum([g.log for g in own]) - total), top.shift))
    faults.sort(key=lambda f: (-round(f.probability, 9), f.subject))
    wrong = 1 - math.exp(none - total)
    kept = tuple(f for f in faults if f.probability >= WORTH)[:5]
    return Verdict(net.measures, wrong, kept, tuple(advice(net, wrong, kept)))


__all__ = ["Fault", "Measure", "Verdict", "judge", "measures_of"]
