"""The bill: all rows in order, what is missing from it said, as a table and priced.

Takes: the items and digs of all elements, ordering options, planted beds. Gives: Bill, `quantities.csv`, and
a priced bill. Nothing is silently left out: an element that has no quantities says so in a row.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from ..errors import ModelError, Place, Problem, Weight, refuse
from ..features import Dig, Item
from .digs import EXCAVATION, excavation, excavation_items, soil
from .factors import USUAL, Factors
from .ordering import Choices, OrderingLike
from .rates import Rates, name_in

SECTIONS = (
    "clearance",
    "excavation",
    "paving",
    "edgings",
    "walls",
    "steps",
    "timber",
    "fences",
    "water",
    "soft landscape",
    "planting",
    "features",
    "services",
    "existing",
)
"""The order of sections in the bill; others follow in the order in which they appear."""

NEVER_ORDERED = ("existing", "clearance")
"""Sections whose rows only inform."""

COLUMNS = ("section", "element", "item", "unit", "net", "allowance", "gross", "order", "order_unit", "basis")


PRICE_COLUMNS = ("rate", "cost")
"""Columns that a priced bill has besides: the rate of one order unit, and order x rate."""


class BedLike(Protocol):
    """A planted bed: its name and how many plants of each name stand in it."""

    @property
    def name(self) -> str:
        """The bed's name."""

    def counts(self) -> Mapping[str, int]:
        """Return plants by name."""


@dataclass(frozen=True, slots=True)
class Bill:
    """All rows, grouped by section and by element, advice that came up while measuring, and rates if there are any."""

    items: tuple[Item, ...]
    advice: tuple[Problem, ...] = ()
    rates: Rates | None = None

    def with_rates(self, rates: Rates) -> Bill:
        """Return the same bill with rates to price it by; orders without a rate are named in the advice."""
        missing = [f"{i.element}: {i.item}".removeprefix(": ") for i in self.items if i.order and rates.of(i) is None]
        if not missing:
            return replace(self, rates=rates)
        note = Problem(
            f"{len(missing)} orders have no rate and are not in the priced total: {'; '.join(missing)}",
            "add their `item,unit,rate` to the file of rates, the unit as it is ordered",
            "missing-rate",
            weight=Weight.ADVICE,
        )
        return replace(self, rates=rates, advice=(*self.advice, note))

    def sections(self) -> tuple[str, ...]:
        """Return the sections in their order."""
        return tuple(dict.fromkeys(item.section for item in self.items))

    def of(self, section: str) -> tuple[Item, ...]:
        """Return the rows of one section."""
        return tuple(item for item in self.items if item.section == section)


def _planted(beds: Iterable[BedLike]) -> Iterator[Item]:
    for bed in beds:
        for plant, count in bed.counts().items():
            yield Item(
                section="planting",
                element=bed.name,
                item=plant,
                unit="number",
                net=float(count),
                order=float(count),
                order_unit="plants",
                basis="plants placed in the bed, counted",
            )


def _empty(items: Sequence[Item], elements: Iterable[str]) -> Iterator[Item]:
    """Yield a row for each element that has no row, and for each that is measured but orders nothing."""
    sections: dict[str, str] = {}
    ordered = set()
    for item in items:
        if item.section != EXCAVATION:
            sections.setdefault(item.element, item.section)
            if item.order is not None:
                ordered.add(item.element)
    for element in elements:
        section = sections.get(element, "existing")
        if element in ordered or (element in sections and section in NEVER_ORDERED):
            continue
        words = "it stands already, is to go, or is only drawn"
        if element in sections:
            words = "it stands already or is to go, or the model gives no unit and no build-up"
        yield Item(
            section=section,
            element=element,
            item="no quantities",
            unit="number",
            net=0.0,
            basis=f"nothing is ordered for it: {words}",
        )


def _checked(item: Item) -> Item:
    if not (math.isfinite(item.net) and item.net >= -1e-9):
        raise refuse(
            ModelError,
            f"{item.element}: {item.item} comes to {item.net}",
            "see whether its sizes are meant",
            "bad-quantity",
        )
    return item if item.net >= 0 else replace(item, net=0.0)


def bill(
    items: Iterable[Item],
    digs: Iterable[Dig] = (),
    ordering: OrderingLike | None = None,
    beds: Iterable[BedLike] = (),
    *,
    elements: Iterable[str] = (),
    strip: float = 0.0,
    places: Mapping[str, Place] | None = None,
) -> Bill:
    """Return the bill of a garden.

    `elements` are all elements' names, so that one without quantities says so; `strip` is the depth of topsoil
    taken off first, m; `places` says where elements are written, for advice. Raises the errors of digs and soils.
    """
    options = ordering or Choices()
    asked = {name.lower(): share * 100 for name, share in options.allowances.items()}
    rows = [_checked(_allowed(item, asked, options.factors)) for item in items]
    dug = excavation(digs)
    rows += excavation_items(dug, soil(options.soil, options.factors), strip, factors=options.factors)
    rows += _planted(beds)
    rows += _empty(rows, elements)
    order = {name: k for k, name in enumerate(SECTIONS)}
    first: dict[str, int] = {}
    for row in rows:
        first.setdefault(row.element, len(first))
    later = {name: len(order) + k for k, name in enumerate(dict.fromkeys(row.section for row in rows))}
    ordered = sorted(rows, key=lambda r: (order.get(r.section, later[r.section]), r.element == "", first[r.element]))
    advice = (*_advice(ordered, places or {}), *_unmet(ordered, asked), *_unsold(ordered, options.factors))
    return Bill(tuple(ordered), advice)


def _allowed(item: Item, asked: Mapping[str, float], factors: Factors) -> Item:
    """Return an order with the model's own allowance (per cent) in place of a flat one, and by its own factors."""
    if item.again is None:
        return item
    name = name_in(item, asked)
    if name is None:
        return item if factors == USUAL else item.again(allowance=item.allowance, factors=factors)
    made = item.again(allowance=asked[name], factors=factors)
    return replace(made, basis=f"{made.basis}; {asked[name]:g} % as `allowances` says")


def _unmet(rows: Sequence[Item], asked: Mapping[str, float]) -> Iterator[Problem]:
    flat = [row for row in rows if row.again is not None]
    for name in asked:
        if not any(name_in(row, (name,)) for row in flat):
            yield Problem(
                f"no order with a flat allowance is called '{name}': its allowance changes nothing",
                f"name one of {', '.join(sorted({row.item for row in flat}))}" if flat else "leave it out",
                "unmet-allowance",
                weight=Weight.ADVICE,
            )


def _unsold(rows: Sequence[Item], factors: Factors) -> Iterator[Problem]:
    flat = [row for row in rows if row.again is not None]
    for name in factors.materials:
        if not any(name_in(row, (name.lower(),)) for row in flat):
            yield Problem(
                f"nothing is ordered of '{name}': its figures under `materials` change nothing",
                f"name a material of {', '.join(sorted({row.item for row in flat}))}" if flat else "leave it out",
                "unmet-material",
                weight=Weight.ADVICE,
            )


def _advice(rows: Sequence[Item], places: Mapping[str, Place]) -> Iterator[Problem]:
    for row in rows:
        if "not counted: the model gives no size" in row.basis:
            yield Problem(
                f"{row.element}: {row.item}: measured by area and not counted",
                "give the element `unit: {length, width, joint}` to have it laid and counted",
                "not-counted",
                places.get(row.element),
                weight=Weight.ADVICE,
            )


def figure(value: float, places: int = 3) -> str:
    """Return a number for the table: whole ones plainly, others with `places` decimals."""
    return f"{value:.0f}" if abs(value - round(value)) < 1e-9 else f"{value:.{places}f}"


def row_of(item: Item, rates: Rates | None = None) -> tuple[str, ...]:
    """Return one row of quantities.csv as text, with rate and cost where there are rates."""
    order = "" if item.order is None else figure(item.order, 2)
    net = f"{item.net:.3f}" if item.unit != "number" else figure(item.net)
    gross = f"{item.gross:.3f}" if item.unit != "number" else figure(item.gross)
    basis, price = item.basis, _price(item, rates) if rates else ()
    if price == ("", "") and item.order:
        basis = f"{basis}; no rate given, not in the priced total".removeprefix("; ")
    return (
        item.section,
        item.element,
        item.item,
        item.unit,
        net,
        figure(item.allowance, 2),
        gross,
        order,
        item.order_unit,
        basis,
        *price,
    )


def _price(item: Item, rates: Rates) -> tuple[str, str]:
    """Return rate and cost of an order as text; both empty where there is no order or no rate, never nought."""
    rate = rates.of(item) if item.order is not None else None
    cost = cost_of(item, rate)
    return ("", "") if rate is None or cost is None else (f"{rate:.2f}", f"{cost:.2f}")


def cost_of(item: Item, rate: float | None) -> float | None:
    """Return order x rate to two decimals; None where nothing is ordered or no rate is known."""
    return None if rate is None or item.order is None else round(round(item.order, 6) * rate, 2)


def quantities_csv(made: Bill) -> str:
    """Return quantities.csv: one row an item, lines end in a line feed; rate and cost last where there are rates."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow((*COLUMNS, *PRICE_COLUMNS) if made.rates else COLUMNS)
    writer.writerows(row_of(item, made.rates) for item in made.items)
    return buffer.getvalue()
