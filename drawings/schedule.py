"""The planting schedule: one row a kind with its mark, number, names, supply, spacing, height and twelve months.

Takes: planted beds. Gives: a table that parts at any height like the ruled ones. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from ..geometry.kernel.point import Box, Point
from .draft import Nib, block, moved_layer
from .panel import LAYER, Section, section, text
from .ruled import FOOT, HEAD, HEAD_ROW
from .sheet import Mark
from .signs import EVERGREEN, GRASS, OPEN, plant_mark
from .wrapping import shortened, wrap

if TYPE_CHECKING:
    from ..geometry.planting.planted import BedPlanting
    from ..geometry.planting.plants import Plant

WIDTH = 164.0
MONTHS_AT, MONTH = 113.4, 4.2
LETTERS = "JFMAMJJASOND"
KEY = 6.0
NAME_ROOM = 47.0
LINE = 3.8
"""Baselines of name and botanical name stand this far apart."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of plant in the set: the plant, its mark, how many stand, in how many groups."""

    plant: Plant
    mark: str
    count: int
    groups: int

    @property
    def sort(self) -> int:
        """Its part of the schedule: 0 perennials, 1 grasses, 2 evergreens, 3 shrubs and climbers, 4 trees."""
        habit = self.plant.habit.value
        if habit in {"tree", "shrub", "climber"}:
            return 4 if habit == "tree" else 3
        return 2 if self.plant.evergreen else 1 if habit == "grass" else 0


def kinds_of(beds: Sequence[BedPlanting]) -> tuple[Kind, ...]:
    """Return all kinds in the order of the schedule, each with a mark of its own."""
    plants: dict[str, Plant] = {}
    counts: dict[str, int] = {}
    groups: dict[str, int] = {}
    for bed in beds:
        for plant, points in bed.placed():
            plants.setdefault(plant.name, plant)
            counts[plant.name] = counts.get(plant.name, 0) + len(points)
            groups[plant.name] = groups.get(plant.name, 0) + 1
    found = [Kind(plant, "", counts[name], groups[name]) for name, plant in plants.items() if counts[name]]
    found.sort(key=lambda k: (k.sort, k.plant.name.lower()))
    marks = _marks([k.plant for k in found])
    return tuple(replace(k, mark=marks[k.plant.name]) for k in found)


def _marks(plants: Sequence[Plant]) -> Mapping[str, str]:
    """Give every plant a mark: its own wish, else solid for evergreens, strokes for grasses, open for the rest.

    Kinds beyond the marks of their sort get their first letter.
    """
    known = {*EVERGREEN, *OPEN, *GRASS}
    marks = {p.name: p.marker for p in plants if p.marker in known}
    free = {
        sort: [m for m in all_ if m not in marks.values()]
        for sort, all_ in (("evergreen", EVERGREEN), ("grass", GRASS), ("open", OPEN))
    }
    for plant in plants:
        if plant.name not in marks:
            sort = "evergreen" if plant.evergreen else "grass" if plant.habit.value == "grass" else "open"
            marks[plant.name] = free[sort].pop(0) if free[sort] else f"letter {plant.name[:1].upper()}"
    return marks


def mark_at(name: str, at: Point, layer: str = "plants") -> tuple[Mark, ...]:
    """Return a plant's mark, or the letter that stands for it."""
    if name.startswith("letter "):
        from .sheet import Text

        return (
            Text(
                layer=layer,
                at=Point(at.x, at.y - 1.25),
                words=name[7:],
                anchor="middle",
                style="bold",
                classes=("plant",),
            ),
        )
    return plant_mark(name, at, layer)


def supplied(plant: Plant) -> str:
    """Return how a plant is delivered, in few words."""
    supply = plant.supply
    if supply.words:
        return supply.words
    words = []
    if supply.girth:
        words.append(_range(supply.girth, 100, "cm"))
    if supply.height:
        words.append(_range(supply.height, 100, "cm"))
    if supply.pot:
        words.append(f"{supply.pot:g} l")
    if supply.pot_width:
        words.append(f"{supply.pot_width * 100:g} cm")
    if supply.form:
        words.append(supply.form)
    return " ".join(words)


def _range(span: tuple[float, float], factor: float, unit: str) -> str:
    low, high = (f"{v * factor:.0f}" for v in span)
    return f"{low} {unit}" if low == high else f"{low}–{high} {unit}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """The schedule, or a part of it."""

    kinds: tuple[Kind, ...]
    total: str
    heading: str = "Planting schedule"
    remark: str = "solid marks are evergreen, strokes are grasses"
    row_height: float = 8.0
    width: float = WIDTH
    name: str = "schedule"

    @property
    def height(self) -> float:
        """Height with heading and key."""
        return HEAD + sum(map(self.height_of, self.kinds)) + FOOT + KEY

    def height_of(self, kind: Kind) -> float:
        """Return the height of one row: names that are too long break."""
        return self.row_height + LINE * (sum(map(len, _names(kind.plant))) - (2 if kind.plant.botanical else 1))

    def parted(self, room: float) -> tuple[Schedule, Schedule | None]:
        """Return the part that fits in `room` (two rows at least) and the rest, or None."""
        count, left = 0, room - HEAD - FOOT - KEY
        for kind in self.kinds:
            left -= self.height_of(kind)
            if left < 0 and count >= 2:
                break
            count += 1
        if count >= len(self.kinds):
            return self, None
        return (
            replace(self, kinds=self.kinds[:count], total=""),
            replace(self, kinds=self.kinds[count:], heading="Planting schedule, continued"),
        )

    def continued(self) -> Schedule:
        """Return the schedule as it stands in a further column."""
        return self

    def drawn(self) -> Section:
        """Return the schedule as a section."""
        marks: list[Mark] = [
            text(at, 2.6, words, "bold", anchor)
            for at, words, anchor in (
                (16.0, "No.", "end"),
                (18.0, "Plant", "start"),
                (67.0, "Supplied", "start"),
                (99.0, "Apart", "end"),
                (110.5, "High", "end"),
            )
        ]
        marks += [
            text(MONTHS_AT + (i + 0.5) * MONTH, 2.6, letter, "bold", "middle") for i, letter in enumerate(LETTERS)
        ]
        thin = Nib(LAYER, "thin")
        marks.append(thin.across(0, self.width, -HEAD_ROW))
        down = HEAD_ROW
        for before, kind in pairwise((None, *self.kinds)):
            assert kind is not None
            if before is not None and before.sort != kind.sort:
                marks.append(thin.across(0, self.width, -down))
            marks += self._row(kind, down)
            down += self.height_of(kind)
        marks += [Nib(LAYER, "texture").upright(MONTHS_AT + q * MONTH, -down, -HEAD_ROW) for q in (3, 6, 9)]
        marks.append(Nib(LAYER, "edge").across(0, self.width, -down))
        marks += _key(down)
        if self.total:
            marks.append(text(self.width, down + 5.0, self.total, "bold", "end"))
        return section(self.name, self.heading, self.width, marks, down + KEY, self.remark, "table schedule")

    def _row(self, kind: Kind, down: float) -> list[Mark]:
        plant, middle = kind.plant, down + self.height_of(kind) / 2
        marks: list[Mark] = list(moved_layer(mark_at(kind.mark, Point(4.0, -middle)), LAYER))
        marks.append(text(16.0, middle + 1.25, str(kind.count), "bold", "end"))
        lines = [(w, style) for ws, style in zip(_names(plant), ("regular", "italic"), strict=True) for w in ws]
        base = middle + 1.25 - LINE * (len(lines) - 1) / 2
        for words, style in lines:
            marks.append(text(18.0, base, words, style))
            base += LINE
        marks.append(text(67.0, middle + 1.25, shortened(supplied(plant), 21.0)))
        marks.append(text(99.0, middle + 1.25, f"{plant.spacing:.2f}", anchor="end"))
        if plant.height > 0:
            marks.append(text(110.5, middle + 1.25, f"{plant.height:.1f}", anchor="end"))
        return marks + self._months(plant, middle)

    def _months(self, plant: Plant, middle: float) -> list[Mark]:
        foot = -middle - 1.6
        marks: list[Mark] = []
        for month in range(1, 13):
            x = MONTHS_AT + (month - 1) * MONTH + 0.35
            marks += month_sign(plant, month, x, foot)
        return marks


def _names(plant: Plant) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the lines of a plant's name and of its botanical name."""
    return wrap(plant.name, NAME_ROOM), wrap(plant.botanical, NAME_ROOM, "italic") if plant.botanical else ()


def month_sign(plant: Plant, month: int, x: float, foot: float) -> list[Mark]:
    """Return the sign of one month: flower a block, leaf a bar, seed heads and stems an open box."""
    interest = plant.interest
    if month in interest.flower:
        return [block(LAYER, Box(x, foot, x + 3.5, foot + 3.2))]
    if month in interest.winter:
        return [Nib(LAYER, "thin").box(Box(x + 0.1, foot + 0.1, x + 3.4, foot + 3.1))]
    if month in interest.foliage or (plant.evergreen and not interest.foliage):
        return [block(LAYER, Box(x, foot, x + 3.5, foot + 1.0))]
    return []


def _key(down: float) -> list[Mark]:
    foot = -(down + 5.2)
    return [
        block(LAYER, Box(1.0, foot, 4.5, foot + 3.2)),
        text(7.0, down + 5.0, "flower"),
        block(LAYER, Box(25.0, foot, 28.5, foot + 1.0)),
        text(31.0, down + 5.0, "leaf"),
        Nib(LAYER, "thin").box(Box(43.1, foot + 0.1, 46.4, foot + 3.1)),
        text(49.0, down + 5.0, "seed heads and stems"),
    ]


def schedule_of(beds: Sequence[BedPlanting]) -> Schedule | None:
    """Return the schedule of all beds, or None where nothing is planted."""
    kinds = kinds_of(beds)
    if not kinds:
        return None
    plants, groups = sum(k.count for k in kinds), sum(len(b.groups) for b in beds)
    return Schedule(kinds=kinds, total=f"{plants} plants in {groups} groups" if groups else f"{plants} plants")
