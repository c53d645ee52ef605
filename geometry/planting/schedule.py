"""The planting schedule: every kind once, counted from the plants that stand on the ground.

Takes: planted beds. Gives: rows, and plants.csv. Sums equal the labels and the points to the last plant.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .planted import BedPlanting
from .plants import Habit, Plant, Supply

COLUMNS = ("key", "botanical_name", "common_name", "number", "spare", "supplied", "spacing", "density", "position",
           "remarks")

ORDER = (Habit.TREE, Habit.SHRUB, Habit.CLIMBER, Habit.PERENNIAL, Habit.FERN, Habit.GRASS, Habit.ANNUAL, Habit.BULB)
"""Trees first, bulbs last: the order of planting (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScheduleRow:
    """One kind: how many, how many spare, how supplied, how far apart (m), plants a m2, in which beds."""

    key: str
    plant: Plant
    number: int
    spare: int
    supplied: str
    density: float
    beds: tuple[str, ...]
    remarks: str = ""


def supplied_words(supply: Supply) -> str:
    """Return how a plant is delivered, in the trade's words: girth of trees, height of shrubs, pot."""
    if supply.words:
        return supply.words
    words = [supply.form] if supply.form else []
    if supply.girth:
        words.append(f"girth {supply.girth[0] * 100:g}-{supply.girth[1] * 100:g} cm")
    if supply.height:
        words.append(f"{supply.height[0] * 100:g}-{supply.height[1] * 100:g} cm")
    if supply.pot:
        words.append(f"{supply.pot:g} l pot")
    elif supply.pot_width:
        words.append(f"pot {supply.pot_width * 100:g} cm")
    return ", ".join(words)


def initials(names: Sequence[str]) -> dict[str, str]:
    """Return a short key for each name: its initials, with a figure where two would be the same."""
    keys: dict[str, str] = {}
    for name in names:
        base = "".join(word[0] for word in name.replace("-", " ").split() if word).upper() or "?"
        key, n = base, 1
        while key in keys.values():
            n += 1
            key = f"{base}{n}"
        keys[name] = key
    return keys


def schedule(beds: Iterable[BedPlanting]) -> tuple[ScheduleRow, ...]:
    """Return one row a kind, in the order of habits, then by botanical name."""
    counts: dict[str, int] = {}
    plants: dict[str, Plant] = {}
    where: dict[str, list[str]] = {}
    for bed in beds:
        for plant, points in bed.placed():
            if not points:
                continue
            plants[plant.name] = plant
            counts[plant.name] = counts.get(plant.name, 0) + len(points)
            if bed.name not in where.setdefault(plant.name, []):
                where[plant.name].append(bed.name)
    names = sorted(plants, key=lambda n: (ORDER.index(plants[n].habit), plants[n].botanical.casefold(), n))
    keys = initials(names)
    return tuple(_row(keys[n], plants[n], counts[n], tuple(where[n])) for n in names)


def _row(key: str, plant: Plant, number: int, beds: tuple[str, ...]) -> ScheduleRow:
    remarks = "; ".join(word for word in (plant.caution, plant.remark) if word)
    return ScheduleRow(key=key, plant=plant, number=number, spare=math.ceil(number * plant.spare / 100 - 1e-9),
                       supplied=supplied_words(plant.supply), density=1 / (math.sqrt(3) / 2 * plant.spacing**2),
                       beds=beds, remarks=remarks)


def plants_csv(rows: Iterable[ScheduleRow]) -> str:
    """Return plants.csv: one row a kind; lines end in a line feed."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([row.key, row.plant.botanical, row.plant.name, row.number, row.spare or "", row.supplied,
                         f"{row.plant.spacing:.2f}", f"{row.density:.1f}", ", ".join(row.beds), row.remarks])
    return out.getvalue()
