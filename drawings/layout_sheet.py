"""The layout plan: the garden as it will be, in line and as a presentation copy."""

from __future__ import annotations

from collections.abc import Sequence

from ..geometry.errors import DrawingError
from ..geometry.features import Role, Status
from ..geometry.kernel.path import Region
from . import asks
from .drafts import Draft
from .filling import PanelRow, caution_rows
from .keys import line_entries, surface_entries
from .lengths import area_unit, named
from .panel import COLUMN, key, notes
from .planned import Lettered, Stage, lettered, north, under
from .requests import Obstacles, Request
from .shadows import shadows
from .sheet import Mark
from .sizes import sizes
from .surfaces import cut_walls, shades, textures, tints
from .warnings import cautions_for
from .yielding import yielding


def layout_sheet(on: Stage, style: str = "line") -> Draft:
    """Return the layout plan in a style: 'line' or 'presentation'."""
    kind = "presentation" if style == "presentation" else "layout"
    _, marks = under(kind, on)
    marks = (*marks, north(on))
    marks = (*marks, *sizes(kind, on, marks))
    requests: list[Request] = list(asks.names(kind, on.brief, on.view, on.surfaces))
    if kind == "layout":
        requests += asks.levels(on.brief, on.view)
    words, named = _lettered(on, marks, requests)
    ground: list[Mark] = list(textures(kind, on, (*marks, *words.marks)))
    lettering = words.marks
    if kind == "presentation":
        ground = [*tints(on), *shadows(on), *ground]
        stand = [f.shape for f in on.brief.of(Role.BUILDING) if f.status is Status.EXISTING]
        lettering = words.whitened([on.view.region(s) for s in stand if isinstance(s, Region)])
    return Draft(
        name="layout",
        title="Layout plan",
        plate=on.plate,
        scale=on.view.scale,
        views=(on.view,),
        marks=(*ground, *yielding(marks, lettering), *lettering),
        rows=_rows(kind, on, named),
        spare=_rows(kind, on, named)[1:],
        style=style,
        register=True,
        supplement="presentation copy" if kind == "presentation" else "",
    )


def _lettered(on: Stage, marks: Sequence[Mark], requests: Sequence[Request]) -> tuple[Lettered, bool]:
    """Place the names, those of furniture beside it or in the column; say whether they could be placed at all."""
    inked, walls = shades("layout", on), Obstacles(walls=cut_walls(on))
    for column in (False, True):
        try:
            wanted = [*requests, *asks.furniture(on.brief, on.view, column)]
            return lettered(on, marks, wanted, shades=inked, more=walls), True
        except DrawingError:
            if not on.brief.of(Role.FURNITURE):
                raise
    return lettered(on, marks, requests, shades=inked, more=walls), False


def _rows(kind: str, on: Stage, named: bool) -> tuple[PanelRow, ...]:
    surfaces = key("Surfaces", surface_entries(kind, on), COLUMN, area_unit(on.brief.unit))
    lines = key("Lines and marks", line_entries(kind, on, furniture=not named), COLUMN, close=True)
    return (
        PanelRow("key", tuple(s for s in (surfaces, lines) if s.height > 12)),
        *caution_rows(cautions_for("layout", on.brief.cautions), on.plate, notes(layout_notes(kind, on), COLUMN)),
    )


def layout_notes(kind: str, on: Stage) -> Sequence[str]:
    """Return the notes of the sheet."""
    brief = on.brief
    words = [f"Sizes in {named(brief.unit)}, from finished edge to finished edge."]
    if kind == "presentation":
        words.append("This copy is for agreement. Build from the line copy.")
    else:
        if brief.of(Role.LEVEL):
            words[0] += f" Levels in {named(brief.unit)} above the datum of the garden."
        words.append(
            "Figures govern. Check every size on the ground before ordering or cutting; tell the designer of any "
            "difference first."
        )
        if brief.pegs:
            words.append("Set out from the setting-out plan only.")
    if brief.of(Role.CROWN):
        words.append("Ground textures stop under the crowns, so that crowns read; the edges run on.")
    return words
