"""Rates: a file of prices by item and unit as sold.

Takes: CSV text with the columns item, unit, rate, or a file of it. Gives: Rates, which find the rate of a row.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path as FilePath

from ..errors import ModelError, Place, Problem
from ..features import Item
from ..reading.textfile import read_text

MOST = 10_000
"""Rows in a file of rates."""


@dataclass(frozen=True, slots=True)
class Rates:
    """Rates by (item, unit), lower case; an item of the bill takes the longest name that stands in it."""

    by_name: Mapping[tuple[str, str], float]

    def of(self, item: Item) -> float | None:
        """Return the rate for the ordered unit of an item; None where no rate is given."""
        unit = item.order_unit.lower()
        name = name_in(item, (n for n, u in self.by_name if u == unit))
        return None if name is None else self.by_name[name, unit]


def name_in(item: Item, names: Iterable[str]) -> str | None:
    """Return the longest of `names` (lower case) that stands in an item's words as a whole; None if none does."""
    words = f" {item.item.lower()} ".replace(",", " ")
    return max((n for n in names if f" {n.replace(',', ' ')} " in words), key=len, default=None)


def _number(text: str, place: Place, problems: list[Problem]) -> float | None:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not 0 < value < 1e9:
        problems.append(
            Problem(
                f"'{text}' is not a rate", "write a figure of more than nothing, with a point: 12.50", "bad-rate", place
            )
        )
        return None
    return value


def rates_beside(model: str, name: str) -> Rates:
    """Return the rates of the file `name` that lies beside the file `model`; ModelError where it cannot be read."""
    path = FilePath(model).parent / name
    return read_rates(read_text(path), str(path))


def read_rates(text: str, name: str = "rates") -> Rates:
    """Return the rates of a CSV with the columns item, unit, rate; ModelError with every bad row named."""
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    wanted = {"item", "unit", "rate"}
    if not wanted <= {(f or "").strip().lower() for f in reader.fieldnames or ()}:
        raise ModelError(
            Problem(
                "a file of rates has the columns item, unit, rate",
                "write `item,unit,rate` in the first line",
                "bad-rates",
                Place(name, 1, 1),
            )
        )
    found: dict[tuple[str, str], float] = {}
    problems: list[Problem] = []
    for number, row in enumerate(reader, 2):
        place = Place(name, number, 1)
        cells = {(k or "").strip().lower(): (v or "").strip() for k, v in row.items() if isinstance(v, str | None)}
        if not any(cells.values()):
            continue
        if number > MOST:
            problems.append(Problem(f"more than {MOST} rates", "give the rates of this garden", "bad-rates", place))
            break
        key = cells["item"].lower(), cells["unit"].lower()
        rate = _number(cells["rate"], place, problems)
        if key in found:
            problems.append(
                Problem(f"'{cells['item']}' by '{cells['unit']}' has two rates", "keep one", "double-rate", place)
            )
        elif rate is not None:
            found[key] = rate
    if problems:
        raise ModelError(*problems)
    return Rates(found)
