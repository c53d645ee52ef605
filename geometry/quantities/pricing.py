"""A priced bill: cost is the order times its rate. A missing rate is listed, never taken as nothing."""

from __future__ import annotations

from dataclasses import dataclass

from ..features import Item
from .bill import Bill, cost_of
from .rates import Rates


@dataclass(frozen=True, slots=True)
class Priced:
    """A priced bill: (row, rate or None, cost or None), the sum of what is priced, and the rows without a rate."""

    rows: tuple[tuple[Item, float | None, float | None], ...]
    missing: tuple[Item, ...]

    @property
    def total(self) -> float:
        """The sum of all rows that have a rate; not the price of the garden while rates are missing."""
        return sum(cost for _, _, cost in self.rows if cost is not None)


    @property
    def words(self) -> str:
        """The total in a line, with what is not in it."""
        counted = sum(cost is not None for _, _, cost in self.rows)
        line = f"Priced total of {counted} orders: {self.total:,.2f}"
        if not self.missing:
            return f"{line}. Every order has a rate."
        names = "; ".join(f"{i.element}: {i.item} ({i.order_unit})".removeprefix(": ") for i in self.missing)
        return f"{line}. Not in it, for want of a rate, {len(self.missing)}: {names}."


def priced(made: Bill, rates: Rates) -> Priced:
    """Return the bill with its rates: cost = order x rate; rows that are ordered and have no rate are listed."""
    rows: list[tuple[Item, float | None, float | None]] = []
    missing = []
    for item in made.items:
        rate = rates.of(item) if item.order is not None else None
        rows.append((item, rate, cost_of(item, rate)))
        if item.order and rate is None:
            missing.append(item)
    return Priced(tuple(rows), tuple(missing))
