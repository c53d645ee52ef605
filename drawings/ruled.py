"""Ruled tables: no upright lines, a head, group headings, figures flush right; parted at any height.

Lengths are millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol, TypeAlias

from ..geometry.kernel.point import Vec
from .draft import Nib, moved
from .panel import CONTENT, HEADING, LAYER, PITCH, Section, head_height, section, text
from .sheet import Mark
from .wrapping import wrap


@dataclass(frozen=True, slots=True)
class TableColumn:
    """A column: its head, where it stands (left edge, or right edge for figures), its room, its style."""

    head: str
    at: float
    room: float
    figures: bool = False
    style: str = "regular"


@dataclass(frozen=True, slots=True)
class Row:
    """A row of cells, one for each column; `bold` sets all of it bold."""

    cells: tuple[str, ...]
    bold: bool = False


@dataclass(frozen=True, slots=True)
class GroupHead:
    """A heading inside the table, with a thin rule above it."""

    words: str


TableRow: TypeAlias = Row | GroupHead


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table that can be set in a column of `width`."""

    name: str
    heading: str
    remark: str
    width: float
    columns: tuple[TableColumn, ...]
    rows: tuple[TableRow, ...]
    row_height: float = 5.0
    closed: bool = True
    begun: str = ""
    """Its heading, where this is a further part of it."""

    origin: str = ""
    """Where it comes from, flush right beside its heading; its remark then stands on a line of its own."""

    def heights(self) -> tuple[float, ...]:
        """Return the height of every row: cells that are too long break into lines."""
        return tuple(self._height(row) for row in self.rows)

    def _height(self, row: TableRow) -> float:
        if isinstance(row, GroupHead):
            return self.row_height + PITCH * (len(wrap(row.words, self.width, "bold")) - 1)
        lines = max((len(_lines(c, cell, row)) for c, cell in zip(self.columns, row.cells, strict=True)), default=1)
        return self.row_height + PITCH * (lines - 1)

    @property
    def height(self) -> float:
        """Height of the whole table, heading and head included."""
        return self._head + sum(self.heights()) + (FOOT if self.columns else 0.0)

    @property
    def _head(self) -> float:
        """Height of heading and head of the columns; a remark that is too long stands on a line of its own."""
        head = head_height(self.heading, self.origin or self.remark, self.width) + self._lead
        return head + (HEAD_ROW if self.columns else 0.0)

    @property
    def _lead(self) -> float:
        """Height of the remark that stands under the heading because something else stands beside it."""
        return PITCH if self.origin and self.remark else 0.0

    def parted(self, room: float) -> tuple[Table, Table | None]:
        """Return the part that fits in `room` (two rows at least) and the rest. No group heading ends a part."""
        left = room - self._head - FOOT
        count = 0
        for row in self.rows:
            left -= self._height(row)
            if left < 0:
                break
            count += 1
        if count >= len(self.rows):
            return self, None
        count = max(count, 2)
        while count > 1 and isinstance(self.rows[count - 1], GroupHead):
            count -= 1
        rest = self.rows[count:]
        again = _running_head(self.rows[:count]) if rest and isinstance(rest[0], Row) else ()
        return replace(self, rows=self.rows[:count]), replace(self, rows=(*again, *rest)) if rest else None

    def continued(self) -> Table:
        """Return the table as it stands in a further column of the same sheet: the rule, but no heading again."""
        return replace(self, heading="", remark="", origin="", begun=self.begun or self.heading)

    def resumed(self, number: int) -> Table:
        """Return the table as it stands on another sheet than that of this number, where it began or belongs."""
        heading = f"{self.begun}, continued" if self.begun else self.heading
        return replace(self, heading=heading, origin=f"from sheet {number}")

    def ending(self, words: str) -> Table:
        """Return the table with words in bold below its last row: where it goes on."""
        if not self.columns:
            return replace(self, remark=words.removeprefix("continued "))
        return replace(self, rows=(*self.rows, GroupHead(words)))

    def bare(self) -> Table:
        """Return its heading alone, to stand where the table itself is on another sheet."""
        return replace(self, rows=(), columns=(), remark="")

    def widened(self, width: float) -> Table:
        """Return the table as wide as this: its widest column of words takes what is over, those beyond it move."""
        words = [i for i, c in enumerate(self.columns) if not c.figures]
        more = width - self.width
        if not words or abs(more) < 1e-6:
            return self
        widest = max(words, key=lambda i: self.columns[i].room)
        moved = tuple(
            replace(c, room=c.room + more) if i == widest else replace(c, at=c.at + more) if i > widest else c
            for i, c in enumerate(self.columns)
        )
        return replace(self, width=width, columns=moved)

    def drawn(self) -> Section:
        """Return the table as a section."""
        height = sum(self.heights()) + HEAD_ROW + FOOT if self.columns else 0.0
        body: Sequence[Mark] = self._body()
        if self._lead:
            body = (text(0, HEADING + PITCH - CONTENT, self.remark), *moved(body, Vec(0, -self._lead)))
        beside = self.origin or self.remark
        return section(
            self.name, self.heading, self.width, body, height + self._lead, beside, "table " + self.name
        )

    def _body(self) -> list[Mark]:
        thin, edge = Nib(LAYER, "thin"), Nib(LAYER, "edge")
        if not self.columns:
            return []
        marks: list[Mark] = [
            text(c.at, 2.6, c.head, "bold", "end" if c.figures else "start") for c in self.columns if c.head
        ]
        down = HEAD_ROW
        marks.append(thin.across(0, self.width, -down))
        for index, (row, height) in enumerate(zip(self.rows, self.heights(), strict=True)):
            base = down + self.row_height / 2 + 1.25
            if isinstance(row, GroupHead):
                if index:
                    marks.append(thin.across(0, self.width, -down))
                marks += [
                    text(0, base + PITCH * i, line, "bold")
                    for i, line in enumerate(wrap(row.words, self.width, "bold"))
                ]
            else:
                marks += self._cells(row, base)
            down += height
        if self.closed:
            marks.append(edge.across(0, self.width, -down))
        return marks

    def _cells(self, row: Row, base: float) -> list[Mark]:
        return [
            text(c.at, base + PITCH * i, line, "bold" if row.bold else c.style, "end" if c.figures else "start")
            for c, cell in zip(self.columns, row.cells, strict=True)
            for i, line in enumerate(_lines(c, cell, row))
            if line
        ]


class Flowing(Protocol):
    """What can be set in columns and parted where a column ends."""

    @property
    def width(self) -> float:
        """Width of a column of it."""

    @property
    def height(self) -> float:
        """Height of all of it."""

    @property
    def row_height(self) -> float:
        """Height of one row."""

    def parted(self, room: float) -> tuple[Flowing, Flowing | None]:
        """Return the part that fits, and the rest."""

    def widened(self, width: float) -> Flowing:
        """Return it as wide as this, if its width can change."""

    def continued(self) -> Flowing:
        """Return it as it stands in a further column of the same sheet."""

    def resumed(self, number: int) -> Flowing:
        """Return it as it stands on another sheet than that of this number, where it began or belongs."""

    def ending(self, words: str) -> Flowing:
        """Return it with words at its end that say where it goes on."""

    def drawn(self) -> Section:
        """Return it as a section."""


HEAD_ROW = 4.2
HEAD = 8.2 + HEAD_ROW
FOOT = 0.6


def _lines(column: TableColumn, cell: str, row: Row) -> tuple[str, ...]:
    return wrap(cell, column.room, "bold" if row.bold else column.style)


def _running_head(rows: Sequence[TableRow]) -> tuple[GroupHead, ...]:
    for row in reversed(rows):
        if isinstance(row, GroupHead):
            words = row.words if row.words.endswith(", continued") else row.words + ", continued"
            return (GroupHead(words),)
    return ()
