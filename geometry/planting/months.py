"""The twelve-month chart: what of a bed, or of all that is seen from one place, is on in each month.

Takes planted beds. Gives, for each kind and month, flower, leaf or winter stems, the share of planted area that is on,
and the months without anything. That each month has something on, tested for each view, is common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .planted import BedPlanting
from .plants import MONTHS, Plant

MONTH_NAMES = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
               "November", "December")


def month_words(months: Sequence[int]) -> str:
    """Return the names of months (1 to 12)."""
    return ", ".join(MONTH_NAMES[m - 1] for m in months)


@dataclass(frozen=True, slots=True)
class MonthRow:
    """One kind in the chart: its share of the planted area and what it shows in each month.

    `signs` holds twelve letters: F flower, L leaf, W winter seed heads or stems, '-' nothing; flower outweighs leaf.
    """

    plant: Plant
    share: float
    signs: str


@dataclass(frozen=True, slots=True)
class MonthChart:
    """The chart of a bed or a view. `flowering` and `on` are shares of the planted area for the twelve months.

    `kinds` counts the kinds in flower or in winter dress; `gaps` are months (1 to 12) with nothing on, leaf included.
    """

    name: str
    rows: tuple[MonthRow, ...]
    flowering: tuple[float, ...]
    on: tuple[float, ...]
    kinds: tuple[int, ...]
    gaps: tuple[int, ...]


def month_sign(plant: Plant, month: int) -> str:
    """Return F, L, W or '-' for a plant in a month (1 to 12); an evergreen without months of leaf has it all year."""
    interest = plant.interest
    for sign, months in (("F", interest.flower), ("W", interest.winter), ("L", interest.foliage)):
        if month in months:
            return sign
    return "L" if plant.evergreen and not interest.foliage else "-"


def planted_areas(beds: Sequence[BedPlanting]) -> dict[str, tuple[Plant, float]]:
    """Return each kind with the ground (m2) it covers: its groups, and a spacing squared for each single plant."""
    areas: dict[str, tuple[Plant, float]] = {}

    def add(plant: Plant, area: float) -> None:
        areas[plant.name] = (plant, areas.get(plant.name, (plant, 0.0))[1] + area)

    for bed in beds:
        for group in bed.groups:
            add(group.plant, group.area)
        for single in bed.singles:
            add(single.plant, single.spacing**2)
        for scatter in bed.scatters:
            add(scatter.plant, len(scatter.points) * scatter.spacing**2)
    return areas


def month_chart(name: str, beds: Sequence[BedPlanting]) -> MonthChart:
    """Return the chart of `beds` together."""
    areas = planted_areas(beds)
    total = sum(area for _, area in areas.values()) or 1.0
    rows = tuple(MonthRow(plant, area / total, "".join(month_sign(plant, m) for m in MONTHS))
                 for plant, area in areas.values())
    flowering = tuple(math.fsum(r.share for r in rows if r.signs[m - 1] == "F") for m in MONTHS)
    on = tuple(math.fsum(r.share for r in rows if r.signs[m - 1] != "-") for m in MONTHS)
    kinds = tuple(sum(r.signs[m - 1] in "FW" for r in rows) for m in MONTHS)
    gaps = tuple(m for m in MONTHS if not any(r.signs[m - 1] != "-" for r in rows))
    return MonthChart(name, rows, flowering, on, kinds, gaps)


def month_charts(beds: Sequence[BedPlanting]) -> tuple[MonthChart, ...]:
    """Return one chart for each bed, then one for each view that a bed names."""
    charts = [month_chart(bed.name, [bed]) for bed in beds]
    views = dict.fromkeys(view for bed in beds for view in bed.bed.views)
    charts += [month_chart(view, [bed for bed in beds if view in bed.bed.views]) for view in views]
    return tuple(charts)
