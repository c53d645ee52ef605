"""Networks of control marks at random, taped with honest errors or with one reading wrong."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import combinations, pairwise

from pegbook.geometry.features import MarkGiven, Tie
from pegbook.geometry.pegs.network import READ_FIXED, READ_PER_METRE

STEP = 0.005
APART = 3.0
"""Marks of a random network stand at least so far from each other, metres."""
LETTERS = "ABCDEFGHIJKL"

Places = list[tuple[float, float]]


def places_at_random(rng: random.Random, count: int) -> Places:
    """Marks over a plot of 8 to 25 m by 10 to 30 m, the first two on its house front."""
    width, depth = rng.uniform(8, 25), rng.uniform(10, 30)
    base = rng.uniform(5, width)
    found = [(0.0, 0.0), (base, 0.0)]
    while len(found) < count:
        spot = (rng.uniform(-0.3 * width, 1.1 * width), rng.uniform(0.12 * depth, depth))
        if all(math.dist(spot, other) >= APART for other in found):
            found.append(spot)
    return found


def taped(rng: random.Random, length: float) -> float:
    """A distance as an honest person reads it."""
    return read(rng.gauss(length, math.hypot(READ_FIXED, READ_PER_METRE * length)))


def read(length: float) -> float:
    """A length on the tape's marks."""
    return round(round(length / STEP) * STEP, 3)


def marks_of(places: Places, readings: dict[tuple[int, int], float]) -> tuple[MarkGiven, ...]:
    """The marks as a model states them: each tied to those before it that it was taped to."""
    found = []
    for j in range(len(places)):
        ties = tuple(Tie(mark=LETTERS[i], reading=readings[i, j]) for i in range(j) if (i, j) in readings)
        found.append(MarkGiven(name=LETTERS[j], ties=ties, side="left" if j > 1 else ""))
    return tuple(found)


def network_at_random(seed: int, count: int, *, redundant: int | None = None,
                      noise: bool = True) -> tuple[tuple[MarkGiven, ...], Places]:
    """A network of `count` marks: all distances, or as many as leave `redundant` of them over."""
    rng = random.Random(seed)
    places = places_at_random(rng, count)
    pairs = list(combinations(range(count), 2))
    if redundant is not None:
        spare = [p for p in pairs if p[0] > 1]          # all stay tied to both ends of the baseline
        for pair in rng.sample(spare, len(pairs) - (2 * count - 3 + redundant)):
            pairs.remove(pair)
    readings = {(i, j): taped(rng, math.dist(places[i], places[j])) if noise else math.dist(places[i], places[j])
                for i, j in pairs}
    return marks_of(places, readings), places


def ties_of(marks: tuple[MarkGiven, ...]) -> list[tuple[int, int]]:
    """Where each reading stands: mark and tie by number."""
    return [(m, t) for m, mark in enumerate(marks) for t in range(len(mark.ties))]


def with_reading(marks: tuple[MarkGiven, ...], where: tuple[int, int], value: float) -> tuple[MarkGiven, ...]:
    """The same marks with one reading changed."""
    m, t = where
    ties = (*marks[m].ties[:t], replace(marks[m].ties[t], reading=value), *marks[m].ties[t + 1:])
    return (*marks[:m], replace(marks[m], ties=ties), *marks[m + 1:])


def mistaken(rng: random.Random, value: float, kind: str) -> float | None:
    """A reading as one mistake of a kind leaves it; None where the mistake cannot be made."""
    if kind == "metre":
        return round(value + rng.choice((1.0, -1.0)), 3)
    if kind == "decimetre":
        return round(value + rng.choice((0.1, -0.1)), 3)
    text = f"{value:.3f}"
    spots = [i for i, ch in enumerate(text[:-1]) if ch != "."]
    swaps = []
    for a, b in pairwise(spots):
        if text[a] != text[b]:
            other = list(text)
            other[a], other[b] = other[b], other[a]
            if abs(float("".join(other)) - value) >= 0.02:
                swaps.append(float("".join(other)))
    return rng.choice(swaps) if swaps else None
