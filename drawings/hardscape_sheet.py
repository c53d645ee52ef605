"""The hardscape plan: surfaces by build-up, units as they are laid, edgings, walls, and what to order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..geometry.features import Role, Status
from . import asks
from .cuts_on_plan import cut_marks
from .drafts import Draft
from .filling import PanelRow, caution_rows
from .keys import line_entries, surface_entries
from .lengths import area_unit, named
from .panel import COLUMN, key, notes
from .planned import Stage, lettered, north, under
from .requests import AreaLabel, LineLabel, Obstacles, Request
from .sizes import sizes
from .surfaces import cut_walls, shades, texture_of, textures
from .tables import quantity_table
from .united import too_small
from .warnings import cautions_for
from .yielding import yielding

KIND = "hardscape"
HARD = frozenset(
    {
        Role.PAVING,
        Role.LOOSE,
        Role.CONCRETE,
        Role.DECK,
        Role.WATER,
        Role.STEPS,
        Role.WALL,
        Role.FENCE,
        Role.EDGE_BAND,
        Role.POST,
        Role.BUILDING,
        Role.BEAM,
    }
)
"""Roles of what is built."""

NAMED = (HARD - {Role.EDGE_BAND}) | {Role.SERVICE}
"""Roles that are named here: those who dig want to know what lies in the ground."""


def hardscape_sheet(on: Stage) -> Draft:
    """Return the hardscape plan; quantities that are too many for its panel go on to a further sheet."""
    brief = on.brief
    _, marks = under(KIND, on)
    marks = (*marks, north(on))
    marks = (*marks, *sizes(KIND, on, marks))
    walls = Obstacles(walls=cut_walls(on))
    cuts, unmarked = cut_marks(on, marks, walls)
    marks = (*marks, *cuts)
    words = lettered(on, marks, list(_names(on)), shades=shades(KIND, on), more=walls)
    hard = {f.element for f in brief.features if f.role in HARD and f.status is Status.PROPOSED}
    table = quantity_table([i for i in brief.items if i.element in hard and i.section != "planting"], brief)
    surfaces = key("Surfaces", surface_entries(KIND, on), COLUMN, area_unit(on.brief.unit))
    lines = key("Lines and marks", line_entries(KIND, on), COLUMN, close=True)
    keys = PanelRow("key", tuple(s for s in (surfaces, lines) if s.height > 12))
    beside = notes([*_notes(on), *_unmarked(unmarked)], COLUMN)
    cautions = caution_rows(cautions_for(KIND, brief.cautions), on.plate, beside)
    return Draft(
        name=KIND,
        title="Hardscape plan",
        plate=on.plate,
        scale=on.view.scale,
        views=(on.view,),
        marks=(*textures(KIND, on, (*marks, *words.marks)), *yielding(marks, words.marks), *words.marks),
        rows=(keys, *cautions),
        spare=cautions,
        tables=(table,) if table else (),
    )


def _names(on: Stage) -> Iterator[Request]:
    """Yield the names of hard things, each with its build-up."""
    roles: dict[str, set[Role]] = {}
    for feature in on.brief.features:
        roles.setdefault(feature.element, set()).add(feature.role)
    for request in asks.names(KIND, on.brief, on.view, on.surfaces):
        element = request.name.removeprefix("name ")
        if not roles.get(element, set()) & NAMED:
            continue
        stack = on.brief.build_ups.get(element, "")
        if stack and isinstance(request, AreaLabel | LineLabel):
            first, rest = request.lines[:1], request.lines[1:2]     # the size or the area: both would crowd the plan
            yield replace(request, lines=(*first, *asks.small_lines(stack, 40.0), *rest))
        else:
            yield request


def _unmarked(letters: Sequence[str]) -> list[str]:
    """Return what a note says of the sections that found no place for their mark."""
    if not letters:
        return []
    which = f"Section {letters[0]} has" if len(letters) == 1 else f"Sections {', '.join(letters)} have"
    return [f"{which} no mark: the plan is too full there. The details name what each shows."]


def _notes(on: Stage) -> list[str]:
    words = [f"Build-ups are drawn on the details; sizes are of the finished surface, in {named(on.brief.unit)}."]
    laid = [f for f in on.brief.features if f.units]
    small = any(f.units and too_small(texture_of(f), f.units, on.view) for f in laid)
    if laid:
        larger = ", larger where they are too small to draw" if small else ""
        begin = "Begin at the mark; lay" if on.brief.of(Role.LAY_FROM) else "Lay"
        words.append(f"Units are drawn as they are to be laid{larger}. {begin} out one course dry before cutting.")
    words.append("Order by the table: units are counted, loose material has its allowance.")
    return words
