"""Measured-in readings: which peg is wrong, by how much, how sure; or that all is within its limits.

Takes: a peg set and taped readings between its pegs and marks. Gives: a verdict. Every mistake that people make is
tried with its exact effect: the peg and all that hangs on it are rebuilt, and what the tapes should then read is
compared with what they read, all measures together and with their full covariance. Lengths in metres.
"""

from __future__ import annotations

import csv
import difflib
import io
import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ..errors import Problem, ReadingsError
from ..kernel.point import Point
from .advising import advice
from .causes import PRIOR_NONE, log_sum
from .expected import Expected
from .guesses import Guess, Guesses
from .peg import PegSet
from .verdict import Fault, Measure, Verdict

Floats = NDArray[np.float64]

WORTH = 0.02


def judge(pegs: PegSet, text: str) -> Verdict:
    """Return the verdict on the readings of a table `from, to, reading, when`.

    ReadingsError for readings without a unit, of a peg that is none, or that no tape can give.
    """
    measures = measures_of(pegs, text)
    if not measures:
        raise ReadingsError(Problem("no reading in the table", "write rows of from, to, reading", "no-readings"))
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


# -- reading the table -------------------------------------------------------------------------------------------


def measures_of(pegs: PegSet, text: str) -> list[Measure]:
    """Return the measures of a table; the last of several readings of one line counts."""
    rows = list(csv.DictReader(io.StringIO(text.lstrip("\ufeff"))))
    if rows and not {"from", "to", "reading"} <= set(rows[0]):
        raise ReadingsError(Problem("the table has no columns from, to, reading",
                                    "let the first line be: from,to,reading,when", "bad-table"))
    places = {p.name: p.rebuilt or p.at for p in pegs.pegs}
    allowed = {frozenset((c.start, c.end)): c.allowed / 1000 for c in pegs.checks}
    found: dict[frozenset[str], Measure] = {}
    problems: list[Problem] = []
    for number, row in enumerate(rows, 2):
        try:
            measure = _measure(pegs, row, places, allowed)
        except ReadingsError as error:
            problems += [replace(p, what=f"line {number}: {p.what}") for p in error.problems]
            continue
        found.pop(frozenset((measure.start, measure.end)), None)
        found[frozenset((measure.start, measure.end))] = measure
    if problems:
        raise ReadingsError(*problems)
    return list(found.values())


def _measure(pegs: PegSet, row: Mapping[str, str], places: Mapping[str, Point],
             allowed: Mapping[frozenset[str], float]) -> Measure:
    start, end = ((row[key] or "").strip() for key in ("from", "to"))
    for name in (start, end):
        if name not in places:
            near = difflib.get_close_matches(name, places, 1, 0.5)
            mend = f"did you mean {near[0]}?" if near else "use the names on the sheet"
            raise ReadingsError(Problem(f"there is no mark or peg {name!r}", mend, "unknown-mark"))
    if start == end:
        raise ReadingsError(Problem(f"a reading from {start} to itself", "name two different pegs", "same-peg"))
    tape = pegs.options.tape
    reading = tape.read(row["reading"] or "")
    design = places[start].distance(places[end])
    if not 0 < reading <= 2 * max(tape.length, design):
        raise ReadingsError(Problem(f"{start} to {end} reads {reading:.3f} m, which the tape of {tape.length:.0f} m "
                                    "cannot show", "look at the metre figure and the unit", "bad-reading"))
    limit = allowed.get(frozenset((start, end)), math.nan)
    return Measure(start, end, reading, design, limit, (row.get("when") or "").strip())


__all__ = ["Fault", "Measure", "Verdict", "judge", "measures_of"]
