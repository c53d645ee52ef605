"""The garden pegged many times under tape error: how far pegs spread, beside what was predicted.

Takes: a peg set. Gives: root mean square distances in mm. Nothing is linear here: every trial reads wrong readings
from hooks that stand wrong already, so that it checks the covariances that the predicted errors come from.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..features import Purpose
from .peg import Method, Peg, PegSet
from .tape import SQUARE, STRING, Reading, Tape
from .truing import of_extra_marks

Floats = NDArray[np.float64]

ROUNDS = 8
"""Rounds of the least squares of three tapes; they begin within centimetres of the place."""


@dataclass(frozen=True, slots=True)
class Spreading:
    """One peg's spread over many trials beside what was predicted, root mean square distances in mm."""

    peg: str
    predicted: float
    seen: float

    @property
    def ratio(self) -> float:
        """Seen over predicted."""
        return self.seen / self.predicted if self.predicted > 0 else 1.0


def trials(pegs: PegSet, count: int, seed: int = 1) -> tuple[Spreading, ...]:
    """Peg the garden `count` times with random tape errors; return each peg's spread beside its predicted error.

    Control errs as its covariance says, the rest by the tape's error, strings and right angles.
    """
    places = as_built(pegs, count, seed)
    found = []
    for peg in pegs.pegs:
        if peg.method is not Method.FIXED:
            at = peg.rebuilt or peg.at
            away = places[peg.name] - (at.x, at.y)
            predicted = 1000 * math.sqrt(peg.covariance[0][0] + peg.covariance[1][1])
            found.append(Spreading(peg.name, predicted, 1000 * math.sqrt(float((away**2).sum(axis=1).mean()))))
    return tuple(found)


def as_built(pegs: PegSet, count: int, seed: int = 1) -> dict[str, Floats]:
    """Return where each peg is driven in each of `count` trials (count x 2, metres); the same for the same seed."""
    rng = np.random.default_rng(seed)
    tape = pegs.options.tape
    control = [p for p in pegs.pegs if p.method is Method.FIXED]
    values, vectors = np.linalg.eigh(np.asarray(pegs.control.covariance))
    noise = rng.standard_normal((count, len(values))) @ (vectors * np.sqrt(np.maximum(values, 0.0))).T
    order = {m.name: k for k, m in enumerate(pegs.control.marks)}
    found: dict[str, Floats] = {}
    trued = False
    for peg in control:
        k = order[peg.name]
        found[peg.name] = np.array([peg.at.x, peg.at.y]) + noise[:, 2 * k:2 * k + 2]
    driven = [p for p in pegs.pegs if p.method is not Method.FIXED]
    for peg in sorted(driven, key=lambda p: p.purpose is not Purpose.AUXILIARY):
        if peg.purpose is not Purpose.AUXILIARY and not trued:
            trued = True
            _true_extra_marks(pegs, found, rng)
        found[peg.name] = _driven(peg, found, tape, rng) + tape.peg_sd * rng.standard_normal((count, 2))
    return found


def _true_extra_marks(pegs: PegSet, found: dict[str, Floats], rng: np.random.Generator) -> None:
    """Move the extra marks until their lines agree, and drive their nails anew."""
    extra = of_extra_marks(pegs)
    if extra is None:
        return
    names, truing = extra
    tape = pegs.options.tape
    places = np.stack([found[name] for name in names], axis=1)
    errors = rng.standard_normal((len(places), len(truing.lines))) * [tape.sd(float(d)) for d in truing.lengths]
    places = truing.moved(places, errors)
    for k in np.flatnonzero(truing.moving):
        found[names[k]] = places[:, k] + tape.peg_sd * rng.standard_normal((len(places), 2))


def _read(reading: Reading | None, count: int, tape: Tape, rng: np.random.Generator) -> Floats:
    """Return a reading as taped in each trial."""
    metres = reading.metres if reading is not None else 0.0
    sd = tape.sd(metres) if reading is not None else 0.0
    taped: Floats = metres + sd * rng.standard_normal(count)
    return taped


def _driven(peg: Peg, found: Mapping[str, Floats], tape: Tape, rng: np.random.Generator) -> Floats:
    """Return where a peg's readings lead, from hooks that stand where they stand."""
    hooks = [found[name] for name in peg.sources]
    count = len(hooks[0])
    one, two = (_read(r, count, tape, rng) for r in (peg.reading_1, peg.reading_2))
    if peg.method in (Method.OFFSET, Method.LINE, Method.CHORD):
        along = hooks[1] - hooks[0]
        u = along / np.hypot(*along.T)[:, None]
        lean = SQUARE * rng.standard_normal(count) if peg.method is not Method.LINE else np.zeros(count)
        out = two + STRING * rng.standard_normal(count)
        place: Floats = hooks[0] + u * (one - two * lean)[:, None] + _left(u) * out[:, None]
        return place
    at = _cross(hooks[0], hooks[1], one, two, peg.side == "left")
    if len(hooks) == 3:
        return _middle(at, hooks, [one, two, _read(peg.reading_3, count, tape, rng)])
    return at


def _left(u: Floats) -> Floats:
    return np.column_stack([-u[:, 1], u[:, 0]])


def _cross(a: Floats, b: Floats, r1: Floats, r2: Floats, left: bool) -> Floats:
    """Return where two tapes cross; where they do not quite meet, the nearest point to both on their line."""
    apart = b - a
    d = np.hypot(*apart.T)
    u = apart / d[:, None]
    along = (d**2 + r1**2 - r2**2) / (2 * d)
    out = np.sqrt(np.maximum(r1**2 - along**2, 0.0)) * (1 if left else -1)
    at: Floats = a + u * along[:, None] + _left(u) * out[:, None]
    return at


def _middle(at: Floats, hooks: list[Floats], taped: list[Floats]) -> Floats:
    """Return the middle of the little triangle of three tapes: least squares of one weight."""
    for _ in range(ROUNDS):
        away = [at - hook for hook in hooks]
        reach = [np.hypot(*v.T) for v in away]
        j = np.stack([v / r[:, None] for v, r in zip(away, reach, strict=True)], axis=1)
        left = np.stack([t - r for t, r in zip(taped, reach, strict=True)], axis=1)
        normal = np.einsum("kia,kib->kab", j, j)
        at = at + np.linalg.solve(normal, np.einsum("kia,ki->ka", j, left)[..., None])[..., 0]
    return at


__all__ = ["Spreading", "as_built", "trials"]
