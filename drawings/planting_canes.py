"""Tables of the sheet of sand lines: where canes stand along a bed's line and out from it, and the order of the pots.

Takes: a brief with its beds and how each is sanded out. Gives: tables with readings of the garden's own tape.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, TypeAlias

from ..geometry.features import Purpose
from .brief import Brief
from .panel import COLUMN
from .ruled import GroupHead, Row, Table, TableColumn, TableRow
from .tables import TIGHT

if TYPE_CHECKING:
    from ..geometry.planting.planted import BedPlanting
    from ..geometry.planting.sanding import Sanding

NEAR = 0.01
"""A peg or a cane within this of an end of the base line is that end, metres."""

Pair: TypeAlias = "tuple[BedPlanting, Sanding]"


def sanded(brief: Brief) -> tuple[Pair, ...]:
    """Return the beds that have something to sand, each with how: those of more than one group."""
    return tuple((b, s) for b, s in zip(brief.beds, brief.sandings, strict=False) if len(b.groups) > 1)


def cane_table(brief: Brief, pairs: Sequence[Pair]) -> Table:
    """Return where the canes of each bed stand: along its line and out from it, as read on the garden's tape."""
    return Table(
        name="canes",
        heading="Canes",
        remark="in the order of the tape",
        width=COLUMN,
        columns=(
            TableColumn("Cane", 0, 11, style="bold"),
            TableColumn("Along", 34, 23, figures=True),
            TableColumn("Out, left", 56, 21, figures=True),
            TableColumn("Groups", 59, 19),
        ),
        rows=tuple(_cane_rows(brief, pairs)),
        row_height=TIGHT,
    )


def _cane_rows(brief: Brief, pairs: Sequence[Pair]) -> Iterator[TableRow]:
    for bed, sanding in pairs:
        length = brief.tape.reading(sanding.start.distance(sanding.end)).text
        yield GroupHead(f"{brief.label(bed.name)}: {length} long, {_ends(brief, sanding)}")
        for cane in sanding.canes:
            yield Row((
                cane.name,
                _signed(brief, cane.spot.along, "behind"),
                _signed(brief, cane.spot.offset, "right"),
                ", ".join(map(str, cane.groups)),
            ))


        way = (sanding.end - sanding.start).unit()
        for single in bed.singles:
            out = single.at - sanding.start
            figures = _signed(brief, way.dot(out), "behind"), _signed(brief, way.cross(out), "right")
            yield Row(("+", *figures, single.plant.name))


def _ends(brief: Brief, sanding: Sanding) -> str:
    """Return the pegs that the line runs between, or where its ends are told."""
    pegs = [p for p in brief.pegs if p.purpose is not Purpose.RECOVERY]
    found = [next((p.name for p in pegs if p.at.distance(at) <= NEAR), "") for at in (sanding.start, sanding.end)]
    return f"{found[0]} to {found[1]}" if all(found) else "ends in the booklet"


def _signed(brief: Brief, metres: float, behind: str) -> str:
    """Return a length as read on the tape; one the other way says so in words, never by a sign."""
    text = brief.tape.reading(abs(metres)).text
    return f"{behind} {text}" if metres < -5e-4 else text


def pot_table(brief: Brief, pairs: Sequence[Pair]) -> Table:
    """Return what is stood out in each bed, the first first: number of the group, plant, how many."""
    return Table(
        name="pots",
        heading="Pots",
        remark="in the order of standing out",
        width=COLUMN,
        columns=(
            TableColumn("No.", 0, 9, style="bold"),
            TableColumn("Plant", 10, 53),
            TableColumn("Pots", 78, 12, figures=True),
        ),
        rows=tuple(_pot_rows(brief, pairs)),
        row_height=TIGHT,
    )


def _pot_rows(brief: Brief, pairs: Sequence[Pair]) -> Iterator[TableRow]:
    for bed, sanding in pairs:
        yield GroupHead(brief.label(bed.name))
        by_number = {g.number: g for g in bed.groups}
        for number in sanding.standing_order:
            one = by_number[number]
            yield Row((str(number), one.plant.name, str(len(one.points))))
        for through in bed.scatters:
            among = ", ".join(map(str, through.groups))
            yield Row(("", f"{through.plant.name}, through {among}", str(len(through.points))))
