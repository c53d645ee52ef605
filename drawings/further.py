"""Further sheets of a set: tables that go on, and the key to the set when it does not fit beside the plan.

Takes: sheets still unfinished. Gives: the sheets that they call for, numbered on after the set (the key is 0).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Box
from .brief import Brief
from .composition import PAGE, Plate, plate
from .drafts import Draft
from .filling import GAP, Filled, band_for, caution_rows, drawn, filled, flowed, inner
from .panel import COLUMN, GUTTER, MARGIN, Section
from .ruled import Flowing
from .sheet import Mark
from .warnings import cautions_for

Fill = Callable[[Brief, Draft, Sequence[Draft]], Filled]


def further_sheets(brief: Brief, whole: Sequence[Draft], own: Sequence[Draft], fill: Fill) -> tuple[Draft, ...]:
    """Return the further sheets that the sheets of the set (`own`) call for, as the set (`whole`) now stands."""
    found: list[Draft] = []
    keys: list[Section] = []
    number = max(d.number for d in own)
    for draft in own:
        panel = fill(brief, draft, whole)
        if draft.style == "line" or not keys:
            keys += [s for row in panel.rows for s in row.sections]
        if panel.tables and draft.style == "line":
            for part in _tables(brief, draft, panel.tables):
                number += 1
                found.append(replace(part, number=number))
    for part in _keys(brief, own[0], keys):
        if part.name == "key":
            found.insert(0, part)
        else:
            number += 1
            found.append(replace(part, number=number))
    return tuple(found)


def _plain(own: Plate, points: Sequence[tuple[str, str]]) -> Plate:
    """Return a sheet's plate with a shelf or band no higher than its cautions need."""
    if own.kind == PAGE:
        return own
    return plate(own.paper, own.kind, own.block, band_for(points, own.paper, own.kind, own.block))


def _field(own: Plate) -> Box:
    """Return the part of the field that tables and keys stand in."""
    f = own.field
    return Box(f.x0 + MARGIN, f.y0 + 6, f.x1 - MARGIN, f.y1 - 7)


def _tables(brief: Brief, draft: Draft, tables: Sequence[Flowing]) -> list[Draft]:
    """Return sheets of nothing but tables, with their cautions."""
    cautions = cautions_for(draft.name, brief.cautions)
    draft = replace(draft, plate=_plain(draft.plate, cautions))
    rows = caution_rows(cautions, draft.plate)
    parts: list[Draft] = []
    left: tuple[Flowing, ...] = tuple(tables)
    while left and len(parts) < MOST:
        standing, rest, _ = flowed(left, _field(draft.plate))
        panel = filled(inner(draft.plate), rows, rest)
        if panel.tables == left:
            break
        parts.append(
            Draft(
                name=_named(draft.name, len(parts)),
                title=f"{draft.title}, tables",
                plate=draft.plate,
                scale=0.0,
                views=(),
                marks=drawn(standing),
                rows=rows,
                tables=tuple(rest),
            )
        )
        left = panel.tables
    if len(parts) > 1:
        parts = [replace(p, title=f"{p.title} {i}") for i, p in enumerate(parts, 1)]
    return parts


MOST = 40


def _named(name: str, index: int) -> str:
    return f"{name} tables" if not index else f"{name} tables {index + 1}"


def _keys(brief: Brief, first: Draft, sections: Sequence[Section]) -> list[Draft]:
    """Return the key to the set, sections in columns over field and panel; more than one sheet if they are many."""
    points = cautions_for("key", brief.cautions)
    first = replace(first, plate=_plain(first.plate, points))
    rows = caution_rows(points, first.plate)
    area = inner(first.plate)
    beside = Box(area.x0, area.y0 + sum(r.height + GAP for r in rows), area.x1, area.y1)
    parts: list[Draft] = []
    left = sorted(sections, key=lambda s: s.name not in {"revisions", "sheets"})
    while left:
        marks, rest = _columns(left, (_field(first.plate), beside))
        if len(rest) == len(left):
            raise refuse(
                DrawingError,
                f"the key '{left[0].name}' is too high for a sheet of {first.plate.paper.size}",
                "take a larger sheet",
                "key-too-large",
            )
        part = f" {len(parts) + 1}" if parts else ""
        parts.append(
            Draft(
                name=f"key{part}",
                title="Key to the set" + (f", part{part}" if part else ""),
                plate=first.plate,
                scale=0.0,
                views=(),
                marks=tuple(marks),
                rows=rows,
                number=0,
                low=True,
            )
        )
        left = rest
    return parts


def _columns(sections: Sequence[Section], rooms: Sequence[Box]) -> tuple[list[Mark], list[Section]]:
    """Stack sections in columns of the rooms, each as soon as there is room; return marks and what is left."""
    spots: list[list[float]] = []  # x, top, foot of each column
    for room in rooms:
        x = room.x0
        while x + COLUMN <= room.x1 + 1e-6:
            spots.append([x, room.y1, room.y0])
            x += COLUMN + GUTTER
    marks: list[Mark] = []
    rest: list[Section] = []
    for one in sections:
        spot = next((s for s in spots if s[1] - one.height >= s[2] - 1e-6), None)
        if spot is None:
            rest.append(one)
            continue
        marks += one.at(spot[0], spot[1])
        spot[1] -= one.height + GAP
    return marks, rest
