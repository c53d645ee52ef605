"""The levels plan: spot levels, falls and steps, and the tops of the pegs that carry a level."""

from __future__ import annotations

from ..geometry.features import Role
from . import asks
from .brief import Brief
from .drafts import Draft
from .filling import PanelRow, caution_rows
from .keys import line_entries
from .lengths import named, place
from .panel import COLUMN, key, notes
from .planned import Stage, lettered, north, under
from .requests import AreaLabel, Request
from .ruled import Row, Table, TableColumn
from .sizes import sizes
from .tables import TIGHT
from .warnings import cautions_for

KIND = "levels"


def has_levels(brief: Brief) -> bool:
    """Say whether there is anything for a levels plan."""
    return bool(brief.of(Role.LEVEL)) or any(p.level is not None for p in brief.pegs)


def levels_sheet(on: Stage) -> Draft:
    """Return the levels plan."""
    brief = on.brief
    _, marks = under(KIND, on)
    marks = (*marks, north(on))
    marks = (*marks, *sizes(KIND, on, marks))
    requests: list[Request] = [*asks.levels(brief, on.view)]
    requests += [r for r in asks.names(KIND, brief, on.view, on.surfaces, areas=False) if isinstance(r, AreaLabel)]
    words = lettered(on, marks, requests)
    lines = key("Lines and marks", line_entries(KIND, on), COLUMN, close=True)
    cautions = caution_rows(cautions_for(KIND, brief.cautions), on.plate, notes(_notes(brief), COLUMN))
    keys = PanelRow("key", (lines,))
    tops = _tops(brief)
    return Draft(
        name=KIND,
        title="Levels plan",
        plate=on.plate,
        scale=on.view.scale,
        views=(on.view,),
        marks=(*marks, *words.marks),
        rows=(keys, *cautions),
        spare=cautions,
        tables=(tops,) if tops else (),
    )


def _notes(brief: Brief) -> list[str]:
    words = [
        f"Levels in {named(brief.unit)} above the datum of the garden; new ones are underlined, "
        "those that stay are plain.",
        "Falls run away from buildings. Check every level on the ground before digging.",
    ]
    mark = next((f.note for f in brief.of(Role.LEVEL)), "")
    if mark:
        words.insert(1, "The datum is the level given at the control marks; prove it before the work begins.")
    return words


def _tops(brief: Brief) -> Table | None:
    """Return the tops of pegs that carry a level, and what each is levelled from."""
    rows = tuple(
        Row((p.name, place(p.level, brief.unit), p.level_from, p.level_reading.text if p.level_reading else ""))
        for p in brief.pegs
        if p.level is not None
    )
    if not rows:
        return None
    return Table(
        name="levels",
        heading="Tops of pegs",
        remark=f"in {named(brief.unit)}",
        width=COLUMN,
        row_height=TIGHT,
        rows=rows,
        columns=(
            TableColumn("Peg", 0, 12, style="bold"),
            TableColumn("Top", 28, 16, figures=True),
            TableColumn("From", 34, 16),
            TableColumn("Higher by", COLUMN, 24, figures=True),
        ),
    )
