"""The recovery plan apart from the setting-out plan: each is legible alone, and each is used on another day.

Takes: a brief. Gives: what either plan shows of its pegs, and the tables of recovery pegs and of the ways back.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..geometry.features import Purpose
from ..geometry.pegs.peg import Recovery
from .brief import Brief
from .panel import COLUMN
from .ruled import GroupHead, Row, Table, TableColumn, TableRow
from .tables import TIGHT, peg_table

AGAIN = "recovery"
"""Name of the recovery plan among the sheets of a set."""


def to_set(brief: Brief) -> Brief:
    """Return the brief of the setting-out plan: all pegs but recovery pegs."""
    return replace(brief, pegs=tuple(p for p in brief.pegs if p.purpose is not Purpose.RECOVERY), ways=())


def to_find(brief: Brief) -> Brief | None:
    """Return the brief of the recovery plan: control, recovery pegs, the pegs that these give back; None without."""
    found = {way.peg for way in brief.ways} | {p.part for p in brief.pegs if p.purpose is Purpose.RECOVERY}
    shown = {Purpose.CONTROL, Purpose.AUXILIARY, Purpose.RECOVERY}
    if not brief.ways and not any(p.purpose is Purpose.RECOVERY for p in brief.pegs):
        return None
    return replace(brief, pegs=tuple(p for p in brief.pegs if p.purpose in shown or p.name in found), checks=())


def tables_to_find(brief: Brief) -> tuple[Table, ...]:
    """Return the tables of the recovery plan."""
    return recovery_table(brief), *((way_table(brief),) if brief.ways else ())


def recovery_table(brief: Brief) -> Table:
    """Return where each recovery peg stands, shape by shape: its coordinates, and its distance from its peg."""
    own = tuple(p for p in brief.pegs if p.purpose is Purpose.RECOVERY)
    return replace(peg_table(replace(brief, pegs=own)), name="recovery pegs", heading="Recovery pegs")


def way_table(brief: Brief) -> Table:
    """Return how each peg is found again, in the order of finding."""
    return Table(
        name="ways back",
        heading="To find a peg again",
        remark="stretch both strings",
        width=COLUMN,
        columns=(
            TableColumn("Peg", 0, 12, style="bold"),
            TableColumn("String", 14, 28),
            TableColumn("and string, or tape", 43.0, 35.0),
        ),
        rows=tuple(_ways(brief)),
        row_height=TIGHT,
    )


def _ways(brief: Brief) -> Iterator[TableRow]:
    shapes = {p.name: p.element for p in brief.pegs}
    shape = ""
    for way in sorted(brief.ways, key=lambda w: w.order):
        if shapes.get(way.peg, shape) != shape:
            shape = shapes[way.peg]
            yield GroupHead(brief.label(shape))
        yield Row((way.peg, *_words(way)))


def _words(way: Recovery) -> tuple[str, str]:
    """Return the two halves of a way back as the table says them."""
    if way.method == "crossing":
        return way.from_1.replace("-", " – "), way.from_2.replace("-", " – ")
    first = way.reading_1.text if way.reading_1 else ""
    if way.method == "line":
        toward = f"{way.from_1} – {way.from_2}"
        back = first.startswith("-")        # on the string, drawn on past its first peg
        return toward, f"{first.removeprefix('-')} {'beyond' if back else 'from'} {way.from_1}"
    second = way.reading_2.text if way.reading_2 else ""
    return f"{first} from {way.from_1}", f"{second} from {way.from_2}, {way.side}"


__all__ = ["AGAIN", "recovery_table", "tables_to_find", "to_find", "to_set", "way_table"]
