"""How sure the pegs of a shape are once its own lines have been trued up, and which lines those are.

The first peg held never moves, the second only in line with it; the others move until all lines are good. Pegs between
them are set after that, from where the others then stand. Metres.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from .checks import closing_pairs
from .ground import PEG, Ground
from .linear import LINE
from .shape import shape_errors
from .sight import Sight
from .spread import Spread
from .truing import Truing, free_basis

Floats = NDArray[np.float64]
BESIDE = 4.0
"""Posts of two rows no farther apart than this are measured across, metres (judgement)."""

SHORTEST_CLOSING = 0.3
"""Closing lines under this length show nothing, metres."""


@dataclass(frozen=True, slots=True)
class Trued:
    """A shape trued up: its lines, the two pegs held, and each peg's error in position (as needed) and shape (m)."""

    lines: tuple[tuple[int, int], ...]
    held: tuple[int, int]
    square: dict[int, float]
    shape: dict[int, float]


class Shape:
    """One element's pegs as they stand: primary ones, posts of rows between them, and those set after truing up.

    `centres` gives for a post the centres of the arcs that it stands on.
    """

    def __init__(self, ground: Ground, spread: Spread, pegs: Sequence[int], centres: Mapping[int, Sequence[int]],
                 sight: Sight) -> None:
        self.ground, self.spread, self.pegs, self.centres, self.sight = ground, spread, pegs, centres, sight
        settings = ground.settings
        self.primary = [n for n in pegs if settings[n].standing == PEG]
        self.posts = [n for n in pegs if n not in self.primary and _row(ground, n) is not None]

    def lines(self) -> tuple[tuple[int, int], ...]:
        """Return what is measured: sides and next-but-one lines, post to post, post to its centre."""
        found = dict.fromkeys(closing_pairs(self.primary, self.ground, ()))
        for row in rows_of(self.ground, self.pegs):
            found |= dict.fromkeys(pairwise(row))
        found |= dict.fromkeys(self._beside())
        for n in self.posts:
            found |= dict.fromkeys((c, n) for c in self.centres.get(n, ()) if c in self.primary)
        pairs = [(a, b) for a, b in found if (b, a) not in found or a < b]
        ends = self.ground.places[np.array(pairs, dtype=np.intp).reshape(-1, 2)]
        reach = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
        seen = (reach >= SHORTEST_CLOSING) & (reach <= self.ground.tape.length)
        seen &= self.sight.free(ends[:, 0], ends[:, 1])
        return tuple(pair for pair, good in zip(pairs, seen, strict=True) if good)

    def _beside(self) -> list[tuple[int, int]]:
        """Return the lines from each post to the nearest one of another row."""
        rows = rows_of(self.ground, self.pegs)
        places = self.ground.places
        found = []
        for k, row in enumerate(rows):
            others = [n for j, other in enumerate(rows) if j != k for n in other]
            for n in row:
                apart = [round(float(np.hypot(*(places[n] - places[o]))), 4) for o in others]
                if apart and min(apart) <= BESIDE:
                    found.append((n, others[apart.index(min(apart))]))
        return found

    def true_up(self) -> Trued | None:
        """Return how sure the pegs are after truing up; None where no line can be measured."""
        lines = self.lines()
        if len(self.primary) < 2 or not lines:
            return None
        held = _farthest(self.ground, self.primary)
        moved = [*self.primary, *self.posts]
        later = [n for n in self.pegs if n not in moved]
        known = list(dict.fromkeys([*moved, *(s for n in later for s in self.ground.settings[n].sources)]))
        index = {n: k for k, n in enumerate(known)}
        along = {index[n]: _unit(self.ground, *self.ground.settings[n].sources)
                 for n in self.posts if self.ground.settings[n].method == LINE}
        along[index[held[1]]] = _unit(self.ground, *held)
        free = [k for n in moved if n not in held and (k := index[n]) not in along]
        truing = Truing(self.ground.places[known], tuple((index[a], index[b]) for a, b in lines),
                        free_basis(len(known), free, along))
        after = truing.after(self.spread.joint(known), self.ground.tape)
        joint = _with_others(self.ground, after, index, self.pegs)
        normals = [_normal(self.ground, n) for n in self.pegs]
        shape = shape_errors(self.ground.places[list(self.pegs)], normals, joint)
        square = {n: _needed(joint[k, k], normals[k]) for k, n in enumerate(self.pegs)}
        return Trued(lines, held, square, dict(zip(self.pegs, (float(v) for v in shape), strict=True)))


def rows_of(ground: Ground, pegs: Sequence[int]) -> list[list[int]]:
    """Return the posts of each row as they stand along it."""
    rows: dict[int, list[int]] = {}
    for n in pegs:
        row = _row(ground, n)
        if row is not None:
            rows.setdefault(row, []).append(n)
    return [sorted(posts, key=lambda n: int(re.sub(r"\D", "", ground.settings[n].target.part) or 0))  # type: ignore[union-attr]
            for posts in rows.values()]


def _row(ground: Ground, n: int) -> int | None:
    target = ground.settings[n].target
    return None if target is None else target.row


def _unit(ground: Ground, a: int, b: int) -> Floats:
    way = ground.places[b] - ground.places[a]
    found: Floats = way / np.hypot(*way)
    return found


def _farthest(ground: Ground, own: Sequence[int]) -> tuple[int, int]:
    """Return the two pegs farthest apart: what lies between them turns least; the first of equals."""
    return max(combinations(own, 2), key=lambda p: round(float(np.hypot(*(ground.places[p[0]] - ground.places[p[1]]))),
                                                         4))


def _normal(ground: Ground, n: int) -> Floats | None:
    target = ground.settings[n].target
    normal = target.normal if target else None
    return None if normal is None else np.array([normal.dx, normal.dy])


def _needed(block: Floats, normal: Floats | None) -> float:
    variance = float(np.trace(block)) if normal is None else float(normal @ block @ normal)
    return math.sqrt(max(variance, 0.0))


def _with_others(ground: Ground, known: Floats, index: dict[int, int], pegs: Sequence[int]) -> Floats:
    """Return the joint covariance of `pegs` from that of what they hang on; those not in `index` are set from it."""
    count = len(pegs)
    rows = np.zeros((count, len(index), 2, 2))       # each peg as a linear form of what is known
    noise = np.zeros((count, 2, 2))
    for k, n in enumerate(pegs):
        if n in index:
            rows[k, index[n]] = np.eye(2)
            continue
        form = ground.form(ground.settings[n])
        for shift, source in zip(form.shifts, ground.settings[n].sources, strict=True):
            rows[k, index[source]] = shift
        noise[k] = (form.noise * form.sds**2) @ form.noise.T + np.eye(2) * ground.tape.peg_sd**2
    flat = rows.transpose(0, 2, 1, 3).reshape(2 * count, -1)
    full = flat @ known.transpose(0, 2, 1, 3).reshape(2 * len(index), -1) @ flat.T
    joint: Floats = full.reshape(count, 2, count, 2).transpose(0, 2, 1, 3).copy()
    joint[range(count), range(count)] += noise
    return joint
