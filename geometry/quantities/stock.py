"""Cutting lists: pieces of timber from lengths that are sold.

First-fit decreasing into the longest stock, then every bar shrunk to the shortest stock that holds its pieces;
equal to the best packing on all deck and pergola lists that were tried, and never above 11/9 of it + 6/9 for
one length (Dosa, Li, Han, Tuza, Theoretical Computer Science, 2013). Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..errors import ModelError, refuse
from ..features import Item

NOISE = 1e-9


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar as sold, and the pieces cut from it, longest first (m)."""

    stock: float
    pieces: tuple[float, ...]

    def used(self, kerf: float) -> float:
        """Return the length used with saw cuts (the last cut is free)."""
        return math.fsum(self.pieces) + kerf * (len(self.pieces) - 1)


@dataclass(frozen=True, slots=True)
class CuttingList:
    """Bars that hold all pieces; `least` is a lower bound of bars were all of them the longest stock."""

    bars: tuple[Bar, ...]
    kerf: float
    least: int

    @property
    def bought(self) -> float:
        """Length bought, m."""
        return math.fsum(bar.stock for bar in self.bars)

    @property
    def net(self) -> float:
        """Length of all pieces, m."""
        return math.fsum(p for bar in self.bars for p in bar.pieces)

    def by_stock(self) -> dict[float, int]:
        """Return how many bars of each stock length, shortest first."""
        counts: dict[float, int] = {}
        for bar in sorted(self.bars, key=lambda b: b.stock):
            counts[bar.stock] = counts.get(bar.stock, 0) + 1
        return counts

    def words(self) -> str:
        """Return the list for a bill: '4 × 2.4 m, 2 × 3.0 m'."""
        return ", ".join(f"{n} × {stock:.1f} m" for stock, n in self.by_stock().items())


def cutting_list(pieces: Sequence[float], stock: Sequence[float], kerf: float = 0.003) -> CuttingList:
    """Return bars of the sold lengths that hold `pieces`; ModelError 'too-long' for one longer than all stock."""
    lengths = sorted({s for s in stock if s > 0})
    if not lengths:
        raise refuse(ModelError, "no stock lengths", "give `ordering: stock: {material: [3.0, 3.6, 4.8]}`", "no-stock")
    longest = lengths[-1]
    bars: list[list[float]] = []
    rest: list[float] = []
    for piece in sorted(pieces, reverse=True):
        if not piece > 0:
            raise refuse(ModelError, "a piece of timber of no length", "give every piece a length", "no-length")
        if piece > longest + NOISE:
            raise refuse(
                ModelError,
                f"a piece of {piece:.3f} m is longer than the longest stock of {longest:g} m",
                "add a longer stock, or split the piece over a post or joist",
                "too-long",
            )
        hit = next((k for k, left in enumerate(rest) if piece + kerf <= left + NOISE), None)
        if hit is None:
            bars.append([piece])
            rest.append(longest - piece)
        else:
            bars[hit].append(piece)
            rest[hit] -= piece + kerf
    found = []
    for bar in bars:
        used = math.fsum(bar) + kerf * (len(bar) - 1)
        found.append(Bar(next(s for s in lengths if used <= s + NOISE), tuple(bar)))
    least = math.ceil(math.fsum(p + kerf for p in pieces) / (longest + kerf) - 1e-9) if pieces else 0
    return CuttingList(tuple(found), kerf, least)


def stock_for(stock: Mapping[str, Sequence[float]], *names: str) -> tuple[float, ...]:
    """Return the sold lengths of the first name that has some; none are assumed."""
    return next((tuple(stock[n]) for n in names if stock.get(n)), ())


def timber_item(
    *,
    section: str,
    element: str,
    item: str,
    pieces: Sequence[float],
    stock: Sequence[float],
    kerf: float,
    basis: str,
) -> Item:
    """Return the row of pieces of one timber: bars by stock length, or pieces where no stock is known."""
    net = math.fsum(pieces)
    if not stock:
        counts: dict[float, int] = {}
        for piece in sorted((round(p, 3) for p in pieces), reverse=True):
            counts[piece] = counts.get(piece, 0) + 1
        listed = ", ".join(f"{n} × {p:.3f} m" for p, n in counts.items())
        return Item(
            section=section,
            element=element,
            item=item,
            unit="m",
            net=net,
            order=float(len(pieces)),
            order_unit="pieces",
            basis=f"{basis}; {listed}; no stock lengths given",
        )
    cuts = cutting_list(pieces, stock, kerf)
    return Item(
        section=section,
        element=element,
        item=item,
        unit="m",
        net=net,
        allowance=(cuts.bought / net - 1) * 100,
        order=float(len(cuts.bars)),
        order_unit="lengths",
        basis=f"{basis}; {cuts.words()}; saw {kerf * 1000:g} mm, at least {cuts.least} lengths",
    )
