"""Tables of the sheets as rows of words: pegs, check measures, quantities, revisions, sheets of the set.

Takes: values of setting out and bill. Gives: ruled tables in columns of the panel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from ..geometry.features import Item, Purpose
from .brief import Brief, Revision
from .lengths import in_feet, in_inches, length, named, place, within
from .panel import COLUMN
from .ruled import GroupHead, Row, Table, TableColumn, TableRow

if TYPE_CHECKING:
    from ..geometry.pegs.peg import Check, Peg

ROW, TIGHT = 5.0, 4.45
"""Height of table rows: free, and where many have to stand."""


def peg_table(brief: Brief, row_height: float = TIGHT) -> Table:
    """Return the coordinates of all pegs: control first, then a group for each element in working order."""
    first, second = brief.baseline
    wide = FEET_WIDER if in_feet(brief.unit) else 0.0
    return Table(
        name="pegs",
        heading="Pegs",
        remark=f"x along {first}–{second}, y square to it, in {named(brief.unit)}",
        width=COLUMN,
        columns=(
            TableColumn("Peg", 0, 12 - wide / 2, style="bold"),
            TableColumn("x", 27 + wide, 16 + wide, figures=True),
            TableColumn("y", 42 + 2.4 * wide, 16 + wide, figures=True),
            TableColumn("What", 44.5 + 2.4 * wide, 33.5 - 2.4 * wide),
        ),
        rows=tuple(_peg_rows(brief)),
        row_height=row_height,
    )


def _peg_rows(brief: Brief) -> Iterator[TableRow]:
    for element, pegs in _grouped(brief.pegs):
        yield GroupHead(brief.label(element) if element else "Control: found before the first peg")
        for peg in pegs:
            yield Row((peg.name, place(peg.at.x, brief.unit), place(peg.at.y, brief.unit), peg_words(peg, brief)))


def _grouped(pegs: Sequence[Peg]) -> list[tuple[str, list[Peg]]]:
    """Return pegs by element: control and auxiliary first, then elements as they first come up in working order."""

    def owner(peg: Peg) -> str:
        return "" if peg.purpose in {Purpose.CONTROL, Purpose.AUXILIARY} else peg.element

    serves = {p.name: owner(p) for p in pegs}
    groups: dict[str, list[Peg]] = {"": []}
    for peg in sorted(pegs, key=lambda p: (p.order, p.name)):
        element = owner(peg)
        if peg.purpose is Purpose.RECOVERY and not element:
            element = serves.get(peg.part, "")
        groups.setdefault(element, []).append(peg)
    return [(element, found) for element, found in groups.items() if found]


def peg_words(peg: Peg, brief: Brief) -> str:
    """Return what a peg marks, in few words."""
    if peg.purpose is Purpose.CONTROL:
        return brief.marks.get(peg.name, "") or "control mark"
    if peg.purpose is Purpose.AUXILIARY:
        return "auxiliary control"
    if peg.purpose is Purpose.RECOVERY:
        taped = peg.reading_1 is not None and peg.from_1 == peg.part
        back = f"{length(abs(peg.reading_1.metres), brief.unit)} from " if peg.reading_1 and taped else "for "
        return f"{back}{peg.part}"
    level = f", top {length(peg.level, brief.unit)}" if peg.level is not None else ""
    kind = peg.purpose.value
    words = peg.part or kind
    return words + level


FEET_WIDER = 3.0
"""Feet and inches take so much more room than metres on either side of their column, mm."""


def check_table(checks: Sequence[Check], most: int = 6) -> Table | None:
    """Return the check measures that a plan carries: control, then closing ones, `most` at the most."""
    wanted = [c for c in checks if c.kind.value in {"control", "closing"}]
    if not wanted:
        return None
    chosen = _spread(wanted, most)
    limits = {c.allowed for c in chosen}
    feet = any("'" in c.distance.text or '"' in c.distance.text for c in chosen)
    unit, wide, small = ("", FEET_WIDER, "") if feet else ("m", 0.0, "mm")
    known = "ft" if feet else "m"
    if len(limits) == 1:
        rows = tuple(Row((f"{c.start} – {c.end}", f"({c.distance.text})", _proves(c))) for c in chosen)
        columns: tuple[TableColumn, ...] = (
            TableColumn("Between", 0, 25.5, style="bold"),
            TableColumn(unit, 42 + wide, 16 + 2 * wide, figures=True),
            TableColumn("Proves", 44.5 + wide, 33.5 - wide),
        )
        remark = f"{within(limits.pop(), known)} {small}".strip()
    else:
        rows = tuple(
            Row((f"{c.start} – {c.end}", f"({c.distance.text})", within(c.allowed, known), _proves(c))) for c in chosen
        )
        columns = (
            TableColumn("Between", 0, 25.5 - 1.1 * wide, style="bold"),
            TableColumn(unit, 41, 16 + 1.5 * wide, figures=True),
            TableColumn(small, 50 + 1.4 * wide, 9 + 1.4 * wide, figures=True),
            TableColumn("Proves", 52 + 1.4 * wide, 26 - 1.4 * wide),
        )
        remark = f"allowed in {small}" if small else "allowed"
    return Table(
        name="checks",
        heading="Check measures",
        remark=remark,
        width=COLUMN,
        row_height=TIGHT,
        columns=columns,
        rows=rows,
    )


def _proves(check: Check) -> str:
    """Return what a check measure proves, in as few words as a narrow column holds."""
    return "the marks" if check.kind.value == "control" else check.proves


def _spread(checks: Sequence[Check], most: int) -> list[Check]:
    """Return the first check of each element and kind in turn until there are enough; in their own order."""
    chosen: list[int] = []
    buckets: dict[tuple[str, str], list[int]] = {}
    for index, check in enumerate(checks):
        buckets.setdefault((check.kind.value, check.element), []).append(index)
    while len(chosen) < min(most, len(checks)):
        for bucket in buckets.values():
            if bucket and len(chosen) < most:
                chosen.append(bucket.pop(0))
    return [checks[i] for i in sorted(chosen)]


def revision_table(revisions: Sequence[Revision], most: int = 4) -> Table:
    """Return the revisions, the newest on top; older ones than the last `most` stay on older sheets."""
    rows = tuple(Row((r.mark, r.date, r.note)) for r in list(reversed(revisions))[:most])
    return Table(
        name="revisions",
        heading="Revisions",
        remark="",
        width=COLUMN,
        row_height=ROW,
        columns=(
            TableColumn("Rev.", 0, 8, style="bold"),
            TableColumn("Date", 9, 21),
            TableColumn("What changed", 32, 46),
        ),
        rows=rows or (Row(("–", "", "First issue")),),
    )


def sheet_table(sheets: Sequence[tuple[int, str, str]], own: int, issue: str) -> Table:
    """Return the sheets of the set: number, title, scale; the sheet's own line bold, the issue beside the heading."""
    rows = tuple(Row((str(number), title, scale), bold=number == own) for number, title, scale in sheets)
    return Table(
        name="sheets",
        heading="Sheets of this set",
        remark=issue,
        width=COLUMN,
        row_height=TIGHT,
        columns=(
            TableColumn("No.", 0, 8, style="bold"),
            TableColumn("Sheet", 9, 50),
            TableColumn("Scale", COLUMN, 18, figures=True),
        ),
        rows=rows,
    )


def sheet_tables(sheets: Sequence[tuple[int, str, str]], own: int, issue: str, count: int) -> list[Table]:
    """Return the list of sheets in `count` parts about equally long, to stand side by side."""
    size = -(-len(sheets) // count)
    parts = [sheet_table(sheets[i : i + size], own, issue) for i in range(0, len(sheets), size)]
    return [parts[0], *(replace(part, heading=f"{part.heading}, continued", remark="") for part in parts[1:])]


def quantity_table(items: Sequence[Item], brief: Brief, width: float = COLUMN) -> Table | None:
    """Return what to order, grouped by element; lines that only inform are left out."""
    wanted = [i for i in items if i.order is not None]
    if not wanted:
        return None
    rows: list[TableRow] = []
    for element, own in groupby(wanted, key=lambda i: i.element):
        rows.append(GroupHead(brief.label(element) if element else "Whole garden"))
        rows += [
            Row(
                (
                    in_inches(i.item) if in_feet(brief.unit) else i.item,
                    amount(i.net),
                    unit_words(i.unit, i.net),
                    amount(i.order or 0.0),
                    unit_words(i.order_unit, i.order or 0.0),
                )
            )
            for i in own
        ]
    return Table(
        name="quantities",
        heading="Quantities",
        remark="net as measured, order as sold",
        width=width,
        row_height=TIGHT,
        rows=tuple(rows),
        columns=(
            TableColumn("Item", 0, width - 45),
            TableColumn("Net", width - 33, 12.5, figures=True),
            TableColumn("", width - 32, 6),
            TableColumn("Order", width - 16, 10, figures=True, style="bold"),
            TableColumn("", width - 15, 15),
        ),
    )


def unit_words(unit: str, number: float) -> str:
    """Return a unit as a narrow column shows it, in the singular where there is one."""
    first, _, rest = unit.partition(" ")
    if number == 1 and first in MANY:
        unit = f"{first.removesuffix('s')} {rest}".strip()
    return "no." if unit == "number" else unit.replace("m2", "m²").replace("m3", "m³")


MANY = frozenset({"bags", "bundles", "lengths", "packs", "panels", "pieces", "plants", "rolls", "sheets", "tins",
                  "trees"})
"""Words of units that stand in the plural."""


def amount(value: float) -> str:
    """Return a quantity: whole numbers plainly, others with two decimals."""
    return f"{value:.0f}" if abs(value - round(value)) < 5e-10 * max(1.0, abs(value)) else f"{value:.2f}"
