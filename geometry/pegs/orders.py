"""In which orders the pegs of a shape are tried, fewer of many."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Turn:
    """One peg more of every order: its target in each, one order for each beginning, and which of these an order is."""

    targets: Ints
    firsts: Ints
    alike: Ints


@cache
def turns_of(count: int) -> tuple[Turn, ...]:
    """Return the orders to try for `count` pegs, turn by turn; orders that begin alike are weighed as one."""
    orders = np.array(orders_of(count), dtype=np.intp)
    alike = np.zeros(len(orders), dtype=np.intp)
    found = []
    for targets in orders.T:
        _, firsts, alike = np.unique(alike * count + targets, return_index=True, return_inverse=True)
        found.append(Turn(targets, firsts, alike))
    return tuple(found)


def orders_of(count: int) -> list[tuple[int, ...]]:
    """Return the orders to try for `count` pegs, fewer for many pegs, the declared one first."""
    if count <= 1:
        return [tuple(range(count))]
    found: dict[tuple[int, ...], None] = {}
    for start in range(count):
        for way in (1, -1):
            found[tuple((start + way * k) % count for k in range(count))] = None
    for start in range(count):
        turn = [(start + k) % count for k in range(count)]
        far = turn.pop(count // 2)
        found[(turn[0], far, *turn[1:])] = None
    most = 18 if count <= 7 else 8 if count <= 12 else 3
    return list(found)[:most] if count <= 7 else list(found)[::max(1, len(found) // most)][:most]
