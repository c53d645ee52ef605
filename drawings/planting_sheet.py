"""The planting plan: groups with their numbers and names, single plants, the schedule with its months."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace

from ..geometry.errors import DrawingError
from ..geometry.features import Role, Status
from ..geometry.kernel.path import Region
from .brief import Brief
from .drafts import Draft
from .filling import PanelRow, caution_rows, filled, inner
from .panel import COLUMN, notes
from .plan import AMONG_EDGES, Insert
from .planned import Lettered, Stage, lettered, north, under
from .planting_elevation import ways_to_show
from .planting_marks import outlines, plants
from .planting_names import KIND, bold_number, planting_names
from .requests import Obstacles
from .ruled import Flowing
from .schedule import marks_of, schedule_of
from .sheet import Hatch, Mark
from .sizes import sizes
from .surfaces import shades, textures
from .warnings import cautions_for


def planting_sheet(on: Stage) -> Draft:
    """Return the planting plan; what of schedule and elevations is too long goes on further."""
    brief, view = on.brief, on.view
    _, marks = under(KIND, on, Insert(AMONG_EDGES, lambda once: tuple(outlines(brief, view, once))))
    plant_marks, spots = plants(brief, view, marks_of(brief.schedule))
    marks = (*marks, north(on))
    marks = (*marks, *sizes(KIND, on, marks))
    words = _lettered(on, marks, Obstacles(lines=spots))
    hedges = [m for m in textures(KIND, _hedges(on), words.marks) if isinstance(m, Hatch)]
    rows = caution_rows(cautions_for(KIND, brief.cautions), on.plate, notes(_notes(brief), COLUMN, "Planting"))
    return Draft(
        name=KIND,
        title="Planting plan",
        plate=on.plate,
        scale=view.scale,
        views=(view,),
        marks=(*hedges, *marks, *plant_marks, *(bold_number(m) for m in words.marks)),
        rows=rows,
        tables=_tables(on, rows),
    )


def _lettered(on: Stage, marks: Sequence[Mark], drawn: Obstacles) -> Lettered:
    """Place the names: of trees at their points, or in the column if that cannot be."""
    with suppress(DrawingError):
        return lettered(on, marks, planting_names(on), more=drawn, shades=_shades(on))
    return lettered(on, marks, planting_names(on, column=True), more=drawn, shades=_shades(on))


def _tables(on: Stage, rows: Sequence[PanelRow]) -> tuple[Flowing, ...]:
    """Return the schedule and the beds from the front, as large and in as many seasons as there is room for."""
    brief = on.brief
    schedule = schedule_of(brief.schedule, sum(len(bed.groups) for bed in brief.beds), brief.unit)
    tables: tuple[Flowing, ...] = ()
    for shown in (*ways_to_show(brief.beds), None):
        if shown is None and tables:
            break
        tables = tuple(t for t in (schedule, shown) if t is not None)
        rest = filled(inner(on.plate), rows, tables)
        if not rest.rows and not rest.tables:
            break
    return tables


def _hedges(on: Stage) -> Stage:
    """Return a stage on which hedges are the only surfaces."""
    return replace(on, surfaces=tuple(s for s in on.surfaces if s.feature.role is Role.HEDGE))


def _shades(on: Stage) -> list[tuple[Region, float]]:
    own = [r for s in _hedges(on).surfaces for r in s.paper]
    return [(region, share) for region, share in shades(KIND, _hedges(on)) if region in own]


def _notes(brief: Brief) -> list[str]:
    words = [
        "Stand all plants out in their pots, largest first. Adjust, then plant.",
        "Outer plants stand half a spacing inside the edge. Numbers are of plants drawn.",
    ]
    if any(f.status is Status.EXISTING for f in brief.of(Role.CROWN)):
        words.append("Under a tree that stays plant between its roots, by hand.")
    harmful = sorted(
        {g.plant.name: g.plant.caution for bed in brief.beds for g in bed.groups if g.plant.caution}.items()
    )
    words += [f"{name[:1].upper()}{name[1:]}: {caution}." for name, caution in harmful[:4]]
    through = [label.text for bed in brief.beds for label in bed.labels if label.through]
    if through:
        words.append(f"Grown through others: {', '.join(through[:6])}.")
    return words
