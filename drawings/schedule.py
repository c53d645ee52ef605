"""The planting schedule: one row a kind with its mark, number, names, supply, spacing, height and twelve months.

Takes: the schedule of a garden. Gives: a table that parts at any height like the ruled ones. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from ..geometry.kernel.point import Box, Point
from ..geometry.planting.months import month_sign
from ..geometry.planting.plants import MONTH_LETTERS, MONTHS, Habit
from .draft import Nib, block, moved_layer
from .lengths import in_feet, to_the_inch
from .panel import LAYER, Section, section, text
from .ruled import FOOT, HEAD, HEAD_ROW
from .sheet import Mark, Text
from .signs import EVERGREEN, GRASS, OPEN, plant_mark
from .symbols import planting_point
from .wrapping import wrap

if TYPE_CHECKING:
    from ..geometry.planting.plants import Plant
    from ..geometry.planting.schedule import ScheduleRow

WIDTH = 164.0
MONTHS_AT, MONTH = 113.4, 4.2
KEY = 6.0
NAME_ROOM = 47.0
SUPPLY_AT, SUPPLY_ROOM = 67.0, 22.0
SPARE_ROW = 4.6
TREE, HEDGE = "tree", "hedge"
"""Signs of what is drawn by its crown, and of plants in lines."""

LINE = 3.8
"""Baselines of name and botanical name stand this far apart."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One line of the schedule with the mark by which its plants are drawn; spare plants have none."""

    row: ScheduleRow
    mark: str

    @property
    def plant(self) -> Plant:
        """The kind of plant."""
        return self.row.plant


def kinds_of(rows: Sequence[ScheduleRow]) -> tuple[Kind, ...]:
    """Return the lines of the schedule in their order, each with the mark of its plants."""
    plants = {r.plant.name: r.plant for r in rows if not r.per_metre and r.plant.habit is not Habit.TREE}
    marks = _marks(tuple(plants.values()))
    return tuple(Kind(r, "" if r.spare else _mark(r, marks)) for r in rows)


def marks_of(rows: Sequence[ScheduleRow]) -> Mapping[str, str]:
    """Return the mark of every plant of the plan by its name."""
    return {k.plant.name: k.mark for k in kinds_of(rows) if k.mark not in {"", HEDGE}}


def _mark(row: ScheduleRow, marks: Mapping[str, str]) -> str:
    if row.per_metre:
        return HEDGE
    return TREE if row.plant.habit is Habit.TREE else marks[row.plant.name]


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
    """Return a plant's mark, or the letter that stands for it; the signs of trees and hedges."""
    if name == TREE:
        return planting_point(layer, at)
    if name == HEDGE:
        return (Nib(layer, "thin").box(Box(at.x - 3.2, at.y - 1.2, at.x + 3.2, at.y + 1.2)),)
    if name.startswith("letter "):
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
    unit: str = "m"

    @property
    def height(self) -> float:
        """Height with heading and key."""
        return HEAD + sum(map(self.height_of, self.kinds)) + FOOT + KEY

    def height_of(self, kind: Kind) -> float:
        """Return the height of one row: what is too long breaks."""
        if kind.row.spare:
            return SPARE_ROW
        lines = max(2, sum(map(len, _names(kind.plant))), len(_supply(kind)))
        return self.row_height + LINE * (lines - 2)

    def widened(self, width: float) -> Schedule:
        """Return it as it is: its months have their own width."""
        del width
        return self

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

    def resumed(self, number: int) -> Schedule:
        """Return the schedule as it stands on another sheet than that of this number."""
        return replace(self, remark=f"from sheet {number}")

    def ending(self, words: str) -> Schedule:
        """Return the schedule with words in the place of its total."""
        return replace(self, total=words)

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
            text(MONTHS_AT + (i + 0.5) * MONTH, 2.6, letter, "bold", "middle") for i, letter in enumerate(MONTH_LETTERS)
        ]
        thin = Nib(LAYER, "thin")
        marks.append(thin.across(0, self.width, -HEAD_ROW))
        down = HEAD_ROW
        for before, kind in pairwise((None, *self.kinds)):
            assert kind is not None
            if before is not None and before.plant.habit is not kind.plant.habit:
                marks.append(thin.across(0, self.width, -down))
            marks += _spare(kind, down) if kind.row.spare else self._row(kind, down)
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
        marks.append(text(16.0, middle + 1.25, str(kind.row.number), "bold", "end", classes=("number",)))
        names = [(w, style) for ws, style in zip(_names(plant), ("regular", "italic"), strict=True) for w in ws]
        marks += _lines(18.0, middle, names)
        marks += _lines(SUPPLY_AT, middle, [(w, "regular") for w in _supply(kind)])
        if apart := apart_words(kind.row, self.unit):
            marks.append(text(99.0, middle + 1.25, apart, anchor="end"))
        if plant.height > 0:
            marks.append(text(110.5, middle + 1.25, tall(plant.height, self.unit), anchor="end"))
        return marks + month_signs(plant, MONTHS_AT, -middle - 1.6)


def _lines(x: float, middle: float, lines: Sequence[tuple[str, str]]) -> list[Mark]:
    """Return lines of words about a middle."""
    base = middle + 1.25 - LINE * (len(lines) - 1) / 2
    return [text(x, base + LINE * i, words, style) for i, (words, style) in enumerate(lines)]


def _spare(kind: Kind, down: float) -> list[Mark]:
    base = down + SPARE_ROW / 2 + 1.25
    return [text(16.0, base, str(kind.row.number), anchor="end", classes=("spare",)), text(18.0, base, kind.row.remark)]


def apart_words(row: ScheduleRow, unit: str = "m") -> str:
    """Return how far apart plants stand: metres or feet, of a hedge plants to a metre or yard; nothing for one tree."""
    if row.per_metre:
        return f"{row.density * YARD:.2g}/yd" if in_feet(unit) else f"{row.density:.2g}/m"
    if row.plant.habit is Habit.TREE:
        return ""
    return to_the_inch(row.spacing) if in_feet(unit) else f"{row.spacing:.2f}"


YARD = 0.9144
"""Metres in a yard (international yard)."""


def tall(height: float, unit: str = "m") -> str:
    """Return how high a plant grows (m): one decimal of a metre, or whole inches."""
    return to_the_inch(height) if in_feet(unit) else f"{height:.1f}"


def _names(plant: Plant) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the lines of a plant's name and of its botanical name."""
    return wrap(plant.name, NAME_ROOM), wrap(plant.botanical, NAME_ROOM, "italic") if plant.botanical else ()


def _supply(kind: Kind) -> tuple[str, ...]:
    words = kind.row.supply
    return wrap(words, SUPPLY_ROOM) if words else ()


def month_signs(plant: Plant, left: float, foot: float) -> list[Mark]:
    """Return twelve signs from `left` on: flower a block, leaf a bar, seed heads and stems an open box."""
    marks: list[Mark] = []
    for month in MONTHS:
        x = left + (month - 1) * MONTH + 0.35
        sign = month_sign(plant, month)
        if sign == "F":
            marks.append(block(LAYER, Box(x, foot, x + 3.5, foot + 3.2)))
        elif sign == "W":
            marks.append(Nib(LAYER, "thin").box(Box(x + 0.1, foot + 0.1, x + 3.4, foot + 3.1)))
        elif sign == "L":
            marks.append(block(LAYER, Box(x, foot, x + 3.5, foot + 1.0)))
    return marks


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


def counted(number: int, one: str) -> str:
    """Return a number with its word: '1 plant', '12 plants'."""
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def schedule_of(rows: Sequence[ScheduleRow], groups: int, unit: str = "m") -> Schedule | None:
    """Return the schedule of all rows, or None where nothing is planted; `groups` are those of all beds."""
    kinds = kinds_of(rows)
    if not kinds:
        return None
    plants, spare = (sum(r.number for r in rows if r.spare is own) for own in (False, True))
    words = counted(plants, "plant") + (f" in {counted(groups, 'group')}" if groups else "")
    return Schedule(kinds=kinds, unit=unit, total=words + (f", {spare} spare" if spare else ""))
