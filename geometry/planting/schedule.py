"""The planting schedule: one row a kind, counted from the points placed, and plants.csv.

Takes planted beds, planted lines and single plants. Gives rows, and the text of a table. Numbers on the plan's labels
and in the schedule are of the same points. Columns after US Cooperative Extension, preparing a planting plan: code,
botanical and common name, number, size, spacing, position, remarks; trees by girth, shrubs by height and pot,
perennials by pot after a nursery trade's size guide.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from .grids import nominal
from .lines import LinePlanting
from .mix import SinglesInput
from .planted import BedPlanting
from .plants import Habit, Plant, SpacingForm, Supply

COLUMNS = ("key", "botanical", "common", "number", "supply", "spacing", "density", "position", "remark", "by_area")

ORDER = (Habit.TREE, Habit.SHRUB, Habit.CLIMBER, Habit.PERENNIAL, Habit.FERN, Habit.ANNUAL, Habit.GRASS, Habit.BULB)
"""Largest first, as plants are set out."""

WHOLE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleRow:
    """One line of the schedule. `spare` rows hold what is ordered beyond the plants placed, and stand in no label.

    `spacing` in metres (of the kind's groups; of a hedge, its true step); `density` in plants a m2, of a hedge a metre.
    `by_area` is area over the ground of one plant, for comparison with `number`: 0 where there is no area.
    """

    key: str
    plant: Plant
    number: int
    spacing: float
    density: float
    position: tuple[tuple[str, int], ...]
    remark: str = ""
    by_area: float = 0.0
    per_metre: bool = False
    spare: bool = False

    @property
    def supply(self) -> str:
        """How it is delivered, in words."""
        return supply_words(self.plant.supply)


def supply_words(supply: Supply) -> str:
    """Return how a plant is delivered: girth and height in centimetres, pots in litres or by their width."""
    if supply.words:
        return supply.words
    words = []
    if supply.girth:
        words.append(f"{_range(supply.girth)} cm girth")
    if supply.height:
        words.append(f"{_range(supply.height)} cm")
    if supply.pot:
        words.append(f"{supply.pot:g} l")
    if supply.pot_width:
        words.append(f"{supply.pot_width * 100:g} cm pot")
    if supply.form:
        words.append(supply.form)
    return ", ".join(words)


def _range(span: tuple[float, float]) -> str:
    low, high = (f"{v * 100:.0f}" for v in span)
    return low if low == high else f"{low}–{high}"


@dataclass(slots=True)
class _Sum:
    """The running total of one kind at one spacing."""

    plant: Plant
    spacing: float
    density: float
    per_metre: bool = False
    positions: dict[str, int] = field(default_factory=dict)
    by_area: float = 0.0
    remarks: dict[str, None] = field(default_factory=dict)

    def add(self, position: str, number: int, by_area: float = 0.0, remark: str = "") -> None:
        self.positions[position] = self.positions.get(position, 0) + number
        self.by_area += by_area
        if remark:
            self.remarks[remark] = None


def schedule(beds: Sequence[BedPlanting], lines: Sequence[LinePlanting] = (),
             singles: Sequence[SinglesInput] = ()) -> tuple[ScheduleRow, ...]:
    """Return the rows: largest plants first, then by name; a spare line follows its kind."""
    sums: dict[tuple[str, float, bool], _Sum] = {}
    for bed in beds:
        _add_bed(sums, bed)
    for line in lines:
        if line.count:
            row = _sum(sums, line.plant, round(line.step, 4), 1 / line.step * len(line.rows), per_metre=True)
            row.add(line.name, line.count, remark="in two staggered rows" if len(line.rows) == 2 else "in one row")
    for single in singles:
        plant = single.plants[single.plant]
        if single.at:
            _sum(sums, plant, plant.spacing, 0.0).add(single.name, len(single.at), remark="single")
    rows = sorted(sums.values(),
                  key=lambda s: (ORDER.index(s.plant.habit), s.plant.name.lower(), s.per_metre, s.spacing))
    keys = keys_of([s.plant for s in rows])
    return tuple(row for s in rows for row in _rows(s, keys[s.plant.name]))


def _sum(sums: dict[tuple[str, float, bool], _Sum], plant: Plant, spacing: float, density: float,
         per_metre: bool = False) -> _Sum:
    key = (plant.name, spacing, per_metre)
    if key not in sums:
        sums[key] = _Sum(plant, spacing, density, per_metre)
    elif not sums[key].density:
        sums[key].density = density
    return sums[key]


def _add_bed(sums: dict[tuple[str, float, bool], _Sum], bed: BedPlanting) -> None:
    for group in bed.groups:
        square = group.form is SpacingForm.SQUARE
        row = _sum(sums, group.plant, group.spacing, nominal(1.0, group.spacing, square))
        row.add(bed.name, len(group.points), group.nominal)
    for single in bed.singles:
        _sum(sums, single.plant, single.spacing, 0.0).add(bed.name, 1, remark="single")
    for scatter in bed.scatters:
        row = _sum(sums, scatter.plant, scatter.spacing, len(scatter.points) / scatter.area if scatter.area else 0.0)
        where = ", ".join(str(n) for n in scatter.groups)
        row.add(bed.name, len(scatter.points), remark=f"scattered through groups {where} of {bed.name}")


def _rows(total: _Sum, key: str) -> list[ScheduleRow]:
    number = sum(total.positions.values())
    if not number:
        return []
    plant = total.plant
    remark = "; ".join([*total.remarks, *(word for word in (plant.remark, plant.caution) if word)])
    row = ScheduleRow(key=key, plant=plant, number=number, spacing=total.spacing, density=total.density,
                      position=tuple(total.positions.items()), remark=remark, by_area=total.by_area,
                      per_metre=total.per_metre)
    spare = math.ceil(number * plant.spare / 100 - WHOLE)
    if not spare:
        return [row]
    return [row, ScheduleRow(key=key, plant=plant, number=spare, spacing=total.spacing, density=0.0, position=(),
                             remark=f"spare, {plant.spare:g} % of {number}", spare=True)]


def keys_of(plants: Iterable[Plant]) -> dict[str, str]:
    """Return a short code for each plant by name: first letters of its botanical name (or its common one), unique."""
    keys: dict[str, str] = {}
    for plant in plants:
        if plant.name in keys:
            continue
        words = [w.strip("'‘’×()") for w in (plant.botanical or plant.name).split()]
        letters = "".join(w[0] for w in words if w and w[0].isalpha())[:3].upper() or "P"
        key, number = letters, 1
        while key in keys.values():
            number += 1
            key = f"{letters}{number}"
        keys[plant.name] = key
    return keys


def printed_rows(rows: Iterable[ScheduleRow]) -> list[tuple[str, ...]]:
    """Return the cells of the schedule as they are printed, in the order of COLUMNS. Metres, plants a m2."""
    found: list[tuple[str, ...]] = []
    for row in rows:
        plant = row.plant
        places = "; ".join(f"{name} {number}" for name, number in row.position)
        density = f"{row.density:.1f}" + (" a metre" if row.per_metre else "") if row.density else ""
        found.append((row.key, plant.botanical, plant.name, str(row.number), row.supply, f"{row.spacing:.2f}", density,
                      places, row.remark, f"{row.by_area:.0f}" if row.by_area else ""))
    return found


def plants_csv(rows: Iterable[ScheduleRow]) -> str:
    """Return plants.csv: one row a kind, spare plants in rows of their own. Metres, plants a m2 (hedges: a metre)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(printed_rows(rows))
    return out.getvalue()
