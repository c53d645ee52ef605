"""Check measures: the independent third reading of each peg, and the lines that close a shape or the whole.

Takes: settings in working order, their spread, what can be seen. Gives: which mark checks a peg, its reading and limit.
The mark is the one that sees a blunder in either reading best: largest least |u . g_i| / sd over the readings, since a
mark in line with one tape is blind to the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from ..features import Purpose
from ..kernel.point import Point
from .ground import AUXILIARY, SECONDARY, Ground
from .linear import CHORD, LINE, OFFSET
from .peg import Check, CheckKind
from .reach import lowest
from .sight import Sight
from .spread import Spread
from .tape import Reading, Tape

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

NEAREST_CHECK = 0.5
"""A check over a shorter line shows nothing, metres (judgement)."""

MOST_MARKS = 8
MOST_LOOKED = 120
"""Marks, and pegs, weighed for a check: the nearest so many among the nearest so many of both."""

BLIND = 0.05
"""A mark that sees less than this share of a blunder in a reading checks nothing (judgement)."""

MOST_LINES = 10
"""Lines between control marks that are all measured; with more, each mark in three."""


@dataclass(frozen=True, slots=True)
class Third:
    """The third measure of a peg: from which number, its reading and limit (mm)."""

    source: int
    reading: Reading
    limit: int


class Checker:
    """Chooses check marks among what stands before a peg."""

    def __init__(self, ground: Ground, spread: Spread, sight: Sight, places: Sequence[Point]) -> None:
        self.ground, self.spread, self.sight, self.places = ground, spread, sight, places

    def thirds(self, pegs: Sequence[int], standing: Ints, before: Sequence[int]) -> dict[int, Third]:
        """Return the best independent check of each peg among what stands before it; none where nothing can check it.

        `standing` are marks and primary pegs in order (nothing hangs on the others), `before` how many of them stand.
        """
        if not len(pegs):
            return {}
        ground, tape = self.ground, self.ground.tape
        marks = np.array([ground.settings[k].standing <= AUXILIARY for k in standing.tolist()], dtype=bool)
        places = (ground.places[standing, 0], ground.places[standing, 1])
        found = [self._able(n, standing[:count], marks, places) for n, count in zip(pegs, before, strict=True)]
        peg = np.repeat(np.array(pegs, dtype=np.intp), [len(able) for able, _ in found])
        other = np.concatenate([able for able, _ in found])
        power = np.concatenate([power for _, power in found])
        free = self.sight.free(ground.places[other], ground.places[peg])
        peg, other, power = peg[free], other[free], power[free]
        sds = np.sqrt(self.spread.distance_variances(peg, other))
        order = np.lexsort((other, -np.round(power / sds, 6), peg))
        best = order[np.diff(peg[order], prepend=-1) > 0]
        out = {}
        for n, source, sd in zip(peg[best].tolist(), other[best].tolist(), sds[best].tolist(), strict=True):
            out[n] = Third(source, tape.reading(self.places[source].distance(self.places[n])), tape.limit(sd))
        return out

    def _able(self, n: int, known: Ints, marks: Flags, places: tuple[Floats, Floats]) -> tuple[Ints, Floats]:
        """Return the nearest of `known` that see a blunder in a reading of peg n, and how much of it."""
        ground = self.ground
        setting = ground.settings[n]
        taped = setting.sources[:1] if setting.method in (LINE, OFFSET, CHORD) else setting.sources
        x, y = setting.at[0] - places[0][:len(known)], setting.at[1] - places[1][:len(known)]
        reach = np.hypot(x, y)
        able = ((reach >= NEAREST_CHECK) & (reach <= ground.tape.length)).nonzero()[0]
        near = able[lowest(reach[able], MOST_LOOKED + len(taped))]
        for source in taped:
            near = near[known[near] != source]
        near = near[:MOST_LOOKED]
        mark = marks[near]
        use = np.concatenate([near[mark][:MOST_MARKS], near[~mark][:MOST_MARKS]])
        units = np.stack([x[use], y[use]], axis=1) / reach[use][:, None]
        power = self._power(ground.form(setting).noise, units, setting.method)
        sees = power > BLIND
        return known[use[sees]], power[sees]

    @staticmethod
    def _power(gain: Floats, units: Floats, method: int) -> Floats:
        """Return for each check the least share of a blunder in one taped reading that it sees."""
        taped = {LINE: 1, OFFSET: 2, CHORD: 2}.get(method, gain.shape[1])
        found: Floats = np.abs(units @ gain[:, :taped]).min(axis=1)
        return found


def check(
    a: str,
    b: str,
    pa: Point,
    pb: Point,
    sd: float,
    kind: CheckKind,
    tape: Tape,
    *,
    gate: int | None = None,
    element: str = "",
    proves: str = "",
    allowed: int | None = None,
) -> Check:
    """Return one row: the distance between two places as it should be, and how far it may be out."""
    distance = tape.reading(pa.distance(pb))
    limit = tape.limit(sd) if allowed is None else allowed
    low, high = tape.span(distance.metres, limit)
    return Check(
        start=a,
        end=b,
        distance=distance,
        allowed=limit,
        kind=kind,
        gate=gate,
        low=low,
        high=high,
        element=element,
        proves=proves,
    )


def control_pairs(marks: Sequence[int]) -> list[tuple[int, int]]:
    """Return the pairs of control marks to measure: all, or each mark in three at least."""
    pairs = list(combinations(marks, 2))
    if len(pairs) <= MOST_LINES:
        return pairs
    count = len(marks)
    ring = {tuple(sorted((marks[k], marks[(k + step) % count]))) for k in range(count) for step in (1, 2)}
    return sorted((a, b) for a, b in ring)


def closing_pairs(numbers: Sequence[int], ground: Ground, taken: Iterable[frozenset[int]]) -> list[tuple[int, int]]:
    """Return the sides and the next-but-one lines between a shape's primary pegs, lines that a step used left out."""
    firm = [n for n in numbers if ground.settings[n].standing != SECONDARY]
    used = set(taken)
    if len(firm) < 2:
        return []
    ring = [*firm, *firm[:2]] if len(firm) > 3 else firm
    found: list[tuple[int, int]] = []
    for a, b in [*pairwise(ring[: len(firm) + 1]), *zip(ring, ring[2:], strict=False)]:
        pair = frozenset((a, b))
        if a != b and pair not in used and (a, b) not in found and (b, a) not in found:
            found.append((a, b))
    return found


def proves_words(ground: Ground, a: int, b: int, step: int) -> str:
    """Return what a closing line proves, in words."""
    targets = [ground.settings[n].target for n in (a, b)]
    purposes = {t.purpose for t in targets if t}
    if purposes == {Purpose.CENTRE}:
        return "centre to centre"
    if purposes <= {Purpose.CORNER, Purpose.POST, Purpose.TANGENT}:
        return "side" if step == 1 else "diagonal"
    return "across"


__all__ = ["Checker", "Third", "check", "closing_pairs", "control_pairs", "proves_words"]
