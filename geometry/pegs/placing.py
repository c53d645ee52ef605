"""Where to begin the adjustment: every mark placed roughly, so that one wrong reading cannot lead it astray.

Takes: marks and the readings between them. Gives: places (n x 2, metres). Marks are placed one after another from the
baseline. Where a reading is far from what the places then say, the figure is built anew from other pairs of marks, and
the one that most readings agree with is laid on the baseline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, islice, product

import numpy as np
from numpy.typing import NDArray

from ..errors import ModelError, refuse
from ..features import MarkGiven

Floats = NDArray[np.float64]
Spot = tuple[float, float]
Known = dict[int, Spot]

FAR = 0.06
"""A reading further than this from the places is taken for wrong while marks are placed, metres."""
WRONG_SIDE = 0.5
"""What a mark on the other side than stated counts for, beside readings that are out (see `_soft`)."""
ASIDE = 0.3
"""A mark nearer than this to the line that its side is stated of may be on either, metres."""
PAIRS = 8
"""Pairs of ties, sharpest first, that a mark is placed from."""
SHARP_ENOUGH = 0.02
APART = 0.25
"""Figures with a mark further apart than this are different ones, metres."""
FLIPPED, WAITING = tuple(range(1, 16)), 8
"""Ways to grow a figure where the plain one fails: which of the first three marks that two crossings suit alike are
placed on the other one (bits 1, 2, 4), and whether marks whose ties clash wait for those that two ties fix (bit 8)."""
CLASH = 0.5
"""What ties that clash count for at least: one of them is wrong by a metre or more (see `_soft`)."""
FIGURES = 4
TRIED = 8
ONE_WRONG, EACH_WRONG, AS_GOOD = 1.2, 0.2, 0.75
"""What figures may cost (see `_soft`): about one wrong reading, or a share of the redundant ones; how alike two are."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A taped reading from mark i to mark j: metres, and its standard deviation."""

    i: int
    j: int
    start: str
    end: str
    value: float
    sd: float

    @property
    def name(self) -> str:
        """`A-C`."""
        return f"{self.start}-{self.end}"


def first_places(marks: Sequence[MarkGiven], baseline: tuple[str, str], index: dict[str, int],
                 rows: Sequence[Seen]) -> tuple[Floats, ...]:
    """Place every mark: typed, else along the baseline, else by its readings and the side; likeliest figure first.

    There is more than one figure only where readings disagree by far. ModelError for a mark that its readings do not
    fix, or whose only two ties cannot meet.
    """
    base = _Placing(marks, index, rows, 1)
    known: Known = {i: (m.at.x, m.at.y) for i, m in enumerate(marks) if m.at is not None}
    first, second = index[baseline[0]], index[baseline[1]]
    known.setdefault(first, (0.0, 0.0))
    if second not in known and frozenset((first, second)) in base.read:
        x, y = known[first]
        known[second] = (x + base.read[frozenset((first, second))], y)
    if second not in known:
        raise refuse(ModelError, f"the baseline {baseline[0]}-{baseline[1]} has no length",
                     f"type `at` for {baseline[1]}, or tape {baseline[0]}-{baseline[1]}", "mark-unfixed")
    try:
        plain, fault = [base.grown(known)], None
    except ModelError as error:
        plain, fault = [], error
    if plain and base.out(plain[0]) == 0:
        return (_array(plain[0]),)
    found = _figures(base, plain, [_laid(f, known, (first, second)) for f in base.figures()])
    if not found:
        found = _figures(base, [], [_laid(f, known, (first, second)) for f in base.figures(FLIPPED)])
    if not found:
        raise fault or AssertionError("a figure or a fault")
    return tuple(_array(f) for f in found)


def places_without(marks: Sequence[MarkGiven], baseline: tuple[int, int], rows: Sequence[Seen],
                   start: Floats) -> Floats | None:
    """Return the figure that `rows` alone give, laid on the baseline of `start`; None where they give none."""
    base = _Placing(marks, {m.name: i for i, m in enumerate(marks)}, rows, 1)
    known: Known = {i: (float(start[i][0]), float(start[i][1])) for i in baseline}
    best: tuple[float, Known] | None = None
    for figure in islice(base.figures(), TRIED):
        laid = _laid(figure, known, baseline)
        cost = base.cost(laid)
        if best is None or cost < best[0]:
            best = (cost, laid)
        if base.out(laid) == 0:
            break
    return _array(best[1]) if best else None


def _array(places: Known) -> Floats:
    return np.array([places[i] for i in range(len(places))])


def _figures(base: _Placing, plain: list[Known], others: list[Known]) -> list[Known]:
    """Return the plain figure and those that are as good, different ones, best first.

    Those built elsewhere count only where readings are redundant, and where about one of them is wrong, or a few of
    many: else there is nothing that they are right about.
    """
    redundant = len(base.rows) - 2 * len(base.marks) + 3
    good = [f for f in others if base.cost(f) <= max(ONE_WRONG, EACH_WRONG * redundant)] if redundant > 0 else []
    ranked = sorted([*plain, *good], key=base.cost)
    found: list[Known] = []
    for figure in ranked:
        apart = all(max(math.dist(figure[i], other[i]) for i in figure) > APART for other in found)
        if apart and base.cost(figure) <= base.cost(ranked[0]) + AS_GOOD:
            found.append(figure)
    return found[:FIGURES]


def _laid(figure: Known, known: Known, baseline: tuple[int, int]) -> Known:
    """Lay a figure on the baseline: its first mark there, its second along it."""
    first, second = baseline
    (x0, y0), (x1, y1) = known[first], known[second]
    (u0, v0), (u1, v1) = figure[first], figure[second]
    turn = math.atan2(y1 - y0, x1 - x0) - math.atan2(v1 - v0, u1 - u0)
    c, s = math.cos(turn), math.sin(turn)
    return {i: (x0 + c * (u - u0) - s * (v - v0), y0 + s * (u - u0) + c * (v - v0)) for i, (u, v) in figure.items()}


class _Placing:
    """Marks placed one after another; `hand` -1 builds the figure mirrored, `flips` see FLIPPED."""

    def __init__(self, marks: Sequence[MarkGiven], index: dict[str, int], rows: Sequence[Seen], hand: int,
                 flips: int = 0) -> None:
        self.marks, self.index, self.rows, self.hand, self.flips = marks, index, rows, hand, flips
        self.read: dict[frozenset[int], float] = {frozenset((r.i, r.j)): r.value for r in rows}

    def misfits(self, places: Known) -> list[float]:
        """Return how far each reading is from the places, metres."""
        return [abs(r.value - math.dist(places[r.i], places[r.j])) for r in self.rows]

    def out(self, places: Known) -> int:
        """Return how many readings are far from the places."""
        return sum(v > FAR for v in self.misfits(places))

    def cost(self, places: Known) -> float:
        """Return the sum of what readings are out by, wrong ones counting little more than large ones, and of sides."""
        wrong = sum(self._wrong_side(mark, places[i], places) for i, mark in enumerate(self.marks))
        return sum(_soft(v) for v in self.misfits(places)) + WRONG_SIDE * wrong

    def _wrong_side(self, mark: MarkGiven, at: Spot, known: Known) -> bool:
        own = [self.index[t.mark] for t in mark.ties if self.index[t.mark] in known]
        if not mark.side or len(own) < 2:
            return False
        p, q = known[own[0]], known[own[1]]
        across = ((q[0] - p[0]) * (at[1] - p[1]) - (q[1] - p[1]) * (at[0] - p[0])) / max(math.dist(p, q), 1e-9)
        return (across if mark.side == "left" else -across) < -ASIDE

    def figures(self, flips: Sequence[int] = (0,)) -> Iterator[Known]:
        """Yield figures grown from each pair of marks that was taped, plain and mirrored."""
        for flip, hand in product(flips, (1, -1)):
            other = _Placing(self.marks, self.index, self.rows, hand, flip)
            for row in self.rows:
                try:
                    found = other.grown({row.i: (0.0, 0.0), row.j: (row.value, 0.0)}, strict=False)
                except ModelError:
                    continue
                yield {i: (x, hand * y) for i, (x, y) in found.items()}

    def grown(self, known: Known, *, strict: bool = True) -> Known:
        """Place all marks from those known; the best tied of the rest is next, or without `strict` the best agreed."""
        places, turn = dict(known), iter(range(len(self.marks)))
        while len(places) < len(self.marks):
            tied = {i: ties for i in range(len(self.marks)) if i not in places
                    for ties in [[(j, self.read[frozenset((i, j))]) for j in places if frozenset((i, j)) in self.read]]
                    if len(ties) >= 2}
            if not tied:
                loose = next(m for i, m in enumerate(self.marks) if i not in places)
                raise refuse(ModelError, f"the mark {loose.name} is not fixed: fewer than two readings to marks that "
                             "are", "tape it to two marks at least, better four", "mark-unfixed")
            if not strict:                      # two ties that do not meet wait for a third
                tied = {i: ties for i, ties in tied.items() if len(ties) > 2 or self._met(ties, places)} or tied
            best = max(tied, key=lambda i: len(tied[i]))
            if not strict and len(tied[best]) > 2:
                best, spot = self._agreed(tied, places, turn)
                places[best] = spot
            else:
                places[best] = self._placed(best, tied[best], places, strict, turn)
        return places

    @staticmethod
    def _met(ties: list[tuple[int, float]], known: Known) -> bool:
        (i, one), (j, two) = ties
        return _meet(known[i], known[j], one, two)

    def _agreed(self, tied: Mapping[int, list[tuple[int, float]]], known: Known,
                turn: Iterator[int]) -> tuple[int, Spot]:
        """Return the mark, of those with a tie to spare, whose ties agree best, and its place."""
        spots = {i: self._placed(i, ties, known, False, iter(())) for i, ties in tied.items() if len(ties) > 2}
        worst = {i: sum(_soft(math.dist(spot, known[j]) - r) for j, r in tied[i]) for i, spot in spots.items()}
        best = min(spots, key=lambda i: worst[i])
        if self.flips & WAITING and worst[best] > CLASH:
            best = next((i for i, ties in tied.items() if len(ties) == 2), best)
        return best, self._placed(best, tied[best], known, False, turn)

    def _placed(self, i: int, ties: list[tuple[int, float]], known: Known, strict: bool,
                turn: Iterator[int]) -> Spot:
        """Return the crossing of two ties that all ties agree with best; of two equal ones that on the stated side.

        Of two equal ones without a side, `flips` says which; `turn` counts them.
        """
        mark = self.marks[i]
        if len(ties) == 2:
            self._refuse_apart(mark, ties, known)
        pairs = sorted(combinations(ties, 2), key=lambda p: -_sharpness(known[p[0][0]], known[p[1][0]], p[0][1],
                                                                        p[1][1]))[:PAIRS]

        def misfit(spot: Spot) -> float:
            return sum(_soft(math.dist(spot, known[j]) - r) for j, r in ties)

        crossings = [_crossing(known[a[0]], known[b[0]], a[1], b[1]) for a, b in pairs
                     if _meet(known[a[0]], known[b[0]], a[1], b[1])]
        crossings = crossings or [_crossing(known[pairs[0][0][0]], known[pairs[0][1][0]], pairs[0][0][1],
                                            pairs[0][1][1])]
        spots = min(crossings, key=lambda both: min(misfit(both[0]), misfit(both[1])))
        gap = misfit(spots[0]) - misfit(spots[1])
        own = [self.index[t.mark] for t in mark.ties if self.index[t.mark] in known]
        if mark.side and len(own) >= 2 and (len(ties) == 2 or abs(gap) < SHARP_ENOUGH):
            p, q = known[own[0]], known[own[1]]
            want = self.hand if mark.side == "left" else -self.hand
            return max(spots, key=lambda s: want * ((q[0] - p[0]) * (s[1] - p[1]) - (q[1] - p[1]) * (s[0] - p[0])))
        if strict and abs(gap) < 1e-3 and math.dist(*spots) > 0.02:
            raise refuse(ModelError, f"the ties of {mark.name} cross at two places, ({spots[0][0]:.3f}, "
                         f"{spots[0][1]:.3f}) and ({spots[1][0]:.3f}, {spots[1][1]:.3f})",
                         "write side: left or right, of the line from "
                         f"{self.marks[own[0]].name if own else 'the first mark'} to the next", "no-side")
        flip = not strict and abs(gap) < SHARP_ENOUGH and self.flips % WAITING >> next(turn, WAITING) & 1
        return spots[0] if (gap <= 0) != bool(flip) else spots[1]

    def _refuse_apart(self, mark: MarkGiven, ties: list[tuple[int, float]], known: Known) -> None:
        (i, r1), (j, r2) = ties
        a, b, d = self.marks[i].name, self.marks[j].name, math.dist(known[i], known[j])
        if abs(r1 - r2) <= d <= r1 + r2:
            return
        if d > r1 + r2:
            why = f"{r1:.3f} + {r2:.3f} = {r1 + r2:.3f} m does not reach over {a}-{b}, {d:.3f} m"
        else:
            why = f"{max(r1, r2):.3f} - {min(r1, r2):.3f} = {abs(r1 - r2):.3f} m is more than {a}-{b}, {d:.3f} m"
        raise refuse(ModelError, f"the ties of {mark.name} to {a} and {b} cannot meet: {why}",
                     f"measure {mark.name}-{a} and {mark.name}-{b} again", "ties-apart")


def _soft(out: float) -> float:
    """Return what a reading that is `out` (m) counts for: 20 m no more than twice what 1 m does."""
    return abs(out) / (1 + abs(out))


def _sharpness(p: Spot, q: Spot, r1: float, r2: float) -> float:
    d = math.dist(p, q)
    cos = (r1 * r1 + r2 * r2 - d * d) / (2 * r1 * r2)
    return 1 - min(abs(cos), 2.0)


def _meet(p: Spot, q: Spot, r1: float, r2: float) -> bool:
    return abs(r1 - r2) <= math.dist(p, q) <= r1 + r2


def _crossing(p: Spot, q: Spot, r1: float, r2: float) -> tuple[Spot, Spot]:
    d = max(math.dist(p, q), 1e-9)
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    out = math.sqrt(max(r1 * r1 - along * along, 0.0))
    ux, uy = (q[0] - p[0]) / d, (q[1] - p[1]) / d
    one, two = [(p[0] + along * ux - s * out * uy, p[1] + along * uy + s * out * ux) for s in (1, -1)]
    return one, two
