"""The setting-out plan: control, base line, numbered pegs, ties of the main pegs, radii, and the tables beside them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from ..geometry.features import Feature, Role, Status
from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box, Point
from . import asks, pegs_on_plan, strings
from .draft import Nib
from .drafts import Draft
from .enlarged import Enlarged, enlarged_sheets, enlarged_views
from .filling import PanelRow, caution_rows
from .panel import LAYER, Section, legend
from .plan import BEFORE_BOUNDARY, Insert, in_window, window_of
from .planned import Stage, lettered, north, north_box, under
from .recovery_sheet import AGAIN, tables_to_find, to_find, to_set
from .requests import AreaLabel, Obstacles, Request, Words
from .ruled import Table
from .sheet import Group, Mark
from .signs import CLASSES, WORDS, peg_sign
from .sizes import sizes
from .surfaces import NOT_YET, obstacle_bands, shades
from .tables import check_table, peg_table
from .warnings import cautions_for
from .windows import numbered, outlined, rim
from .yielding import yielding

KIND = "setting out"
LEGENDS = ((54.0, 10.0), (44.0, 13.0), (36.0, 15.0), (36.0, 9.0))
"""Widths of the key of marks in the left margin of the field and the pitch of its rows, the best first."""


def setting_out_sheets(on: Stage) -> tuple[Draft, ...]:
    """Return the setting-out plan, the plan of recovery pegs, and sheets of views enlarged where pegs stand too close.

    Tables that are too long for a panel go on to further sheets.
    """
    first, back = to_set(on.brief), to_find(on.brief)
    plan, views = _plan(replace(on, brief=first), KIND, "Setting-out plan", (peg_table(first),))
    plans = [plan]
    if back is not None:
        plan, more = _plan(replace(on, brief=back), AGAIN, "Recovery plan", tables_to_find(back), len(views))
        plans.append(replace(plan, extra=True))
        views += more
    alone = caution_rows(cautions_for(KIND, on.brief.cautions), on.plate)
    return (*plans, *enlarged_sheets(on, views, alone))


def _plan(
    on: Stage, name: str, title: str, tables: tuple[Table, ...], lettered_views: int = 0
) -> tuple[Draft, tuple[Enlarged, ...]]:
    """Return the plan of some pegs and its enlarged views; so many views have their letters already."""
    brief, view = on.brief, on.view
    _, marks = under(KIND, on, Insert(BEFORE_BOUNDARY, lambda once: pegs_on_plan.base_line(brief, view, once)))
    drawn_ties, tie_asks = pegs_on_plan.ties(brief, view, marks) if name == KIND else ((), ())
    marks = (*marks, *drawn_ties)
    pegs, standing = pegs_on_plan.signs(brief, view), pegs_on_plan.standing(brief, view)
    marks = (*marks, *strings.strings(brief, view, (*marks, *(m for p in pegs for m in p.marks))), north(on))
    keys = [_legend(on, wide, pitch) for wide, pitch in LEGENDS]
    beside, closed = next((found for key in keys if (found := _beside(on, key))[0]), ((), ()))
    if name == KIND:
        marks = (*marks, *sizes(KIND, on, marks, closed, standing))
    requests: list[Request] = [*pegs_on_plan.numbers(brief, view), *tie_asks, *_names(on)]
    words, windows, dropped = numbered(
        requests,
        lambda asked, windows: lettered(
            on,
            marks,
            asked,
            sides=(),
            closed=closed,
            more=standing.joined(Obstacles(lines=tuple(rim(w, on.within) for w in windows))),
            shades=shades(KIND, on),
            enlarges=True,
        ),
    )
    views = enlarged_views(on, windows, title, lettered_views)
    drawn = (*marks, *beside, *words.marks)
    marks = (
        *(m for m in marks if not (isinstance(m, Group) and m.title in dropped)),
        *outlined([v.window for v in views], on.within, drawn, [s.at for s in standing.signs], lettered_views),
    )
    bands = tuple(obstacle_bands(on, (*marks, *words.marks)))
    checks = check_table(brief.checks)
    cautions = caution_rows(cautions_for(KIND, brief.cautions), on.plate, checks.drawn() if checks else None)
    rows = cautions if beside else (PanelRow("marks", (keys[-1],)), *cautions)
    plan = Draft(
        name=name,
        title=title,
        plate=on.plate,
        scale=view.scale,
        views=(view,),
        marks=(*bands, *yielding(marks, words.marks), *pegs, *pegs_on_plan.parted(brief, view), *beside, *words.marks),
        rows=rows,
        tables=tables,
    )
    return plan, views


def _names(on: Stage) -> list[Request]:
    """Return the few names that this plan carries: what tapes cannot pass, and services."""
    found: list[Request] = []
    for feature in on.brief.of(Role.BUILDING):
        if isinstance(feature.shape, Region) and feature.status is not Status.REMOVE:
            shown = in_window((feature.shape,), window_of(feature, on.brief))
            if not shown:
                continue
            found.append(
                AreaLabel(
                    name=f"name {feature.element}",
                    regions=tuple(on.view.region(r) for r in shown),
                    lines=(Words(_barred(on, feature, sum(r.area for r in shown))),),
                    column=False,
                )
            )
    found += [
        r
        for r in asks.names(KIND, on.brief, on.view, ())
        if r.name in {f"name {f.element}" for f in on.brief.of(Role.SERVICE)}
    ]
    return found


ROOMY = 1500.0
"""A building of more mm² on paper says in its middle what its band means; of a smaller one the key says it."""


def _barred(on: Stage, feature: Feature, area: float) -> str:
    """Return what is written on a building: a large one that stands says that no tape passes."""
    name = on.brief.label(feature.element)
    bars = feature.status not in NOT_YET and area * on.view.factor**2 > ROOMY
    return f"{name}: no tape passes" if bars else name


def _legend(on: Stage, wide: float, pitch: float) -> Section:
    """Return the key of the marks that are on the plan, so wide."""
    there = {CLASSES[p.purpose] for p in on.brief.pegs}
    rows: list[tuple[str, Callable[[Point], tuple[Mark, ...]]]] = [
        (words, _signed(kind)) for kind, words in WORDS.items() if kind in there
    ]
    if on.brief.ways:
        string = "string, long ones in part" if strings.parted(on.brief, on.view) else "string to find a peg again"
        rows.append((string, lambda at: _stretch(at, "thin", "recovery")))
    rows.append(("base line", lambda at: _stretch(at, "edge", "baseline")))
    rows.append(("edge to peg", lambda at: _stretch(at, "edge")))
    if not on.brief.ways and pegs_on_plan.main_ties(on.brief):
        rows.append(("taped tie", _tie))
    if on.brief.of(Role.SERVICE):
        rows.append(("buried service", lambda at: _stretch(at, "mark", "service")))
    if any(f.status not in NOT_YET for f in on.brief.of(Role.BUILDING)):
        rows.append(
            (
                "no tape passes",
                lambda at: (Nib(LAYER, "mark").box(Box(at.x - 4, at.y - 1.8, at.x + 4, at.y + 1.8)), *_slanted(at)),
            )
        )
    return legend("Marks", rows, wide, pitch)


def _signed(kind: str) -> Callable[[Point], tuple[Mark, ...]]:
    return lambda at: peg_sign(kind, at, layer=LAYER)


def _stretch(at: Point, pen: str, dash: str = "") -> tuple[Mark, ...]:
    return (Nib(LAYER, pen, dash).across(at.x - 5.5, at.x + 4.5, at.y),)


def _tie(at: Point) -> tuple[Mark, ...]:
    from .draft import arrow

    return (
        Nib(LAYER, "thin").across(at.x - 5.5, at.x + 3.0, at.y),
        arrow(LAYER, Point(at.x + 4.5, at.y), 0.0, 2.5, 0.26),
    )


def _slanted(at: Point) -> tuple[Mark, ...]:
    nib = Nib(LAYER, "thin")
    return tuple(
        nib.line(Point(at.x - 4 + x, at.y - 1.8), Point(at.x - 0.4 + x, at.y + 1.8)) for x in (0.2, 1.7, 3.2, 4.2)
    )


def _beside(on: Stage, key: Section) -> tuple[tuple[Mark, ...], tuple[Box, ...]]:
    """Return the key of marks in the left margin of the field and its room; nothing if it is too narrow."""
    field, free = on.plate.field, north_box(on)
    top = field.y1 - 8 if free.x0 > on.plot.x0 else free.y0 - 4
    room = Box(field.x0 + 5, top - key.height, field.x0 + 5 + key.width, top)
    if on.extra or room.x1 + 2 > on.plot.x0 or room.y0 < field.y0 + 4:
        return (), ()
    return key.at(room.x0, room.y1), (room.grown(1.0),)
