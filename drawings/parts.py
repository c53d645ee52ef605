"""A plan too large for one sheet: its parts, the match lines between them, and the key plan that shows how they join.

Millimetres on paper, metres on the ground.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..geometry.features import Role, Status
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Box, Point
from .brief import Brief
from .composition import Choice, tiles, view_on
from .draft import Nib, block, group, rectangle
from .drafts import Draft
from .enlarged import window_brief
from .filling import PanelRow
from .once import Drawn
from .panel import COLUMN, LAYER, Section, section, text
from .plan import visible_surfaces
from .planned import Stage
from .sheet import Mark, Text, View
from .wrapping import NAMES

STROKE = 7.0
"""A match line is drawn thin, with a heavy stroke of this length beyond each of its ends."""

LEAST = 5.0
"""Things narrower than this on the key plan are left out of it, mm."""

KEY_HEIGHT = 44.0
KEY_ROOM = KEY_HEIGHT + 18.0
"""Greatest height of the key plan, and the room that it takes in a shelf or band."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a split plan: its number, its place in the grid, its ground box, and the stage it is drawn on."""

    number: int
    column: int
    row: int
    ground: Box
    stage: Stage


def parts_of(brief: Brief, choice: Choice, pens: Mapping[str, float]) -> tuple[Part, ...]:
    """Return the parts of a plan that takes several sheets, row by row from the upper left."""
    grid = list(tiles(brief.extent, choice))
    numbers = {(column, row): n for n, (column, row, _) in enumerate(grid, 1)}
    found = []
    for number, (column, row, ground) in enumerate(grid, 1):
        shown = window_brief(brief, ground)
        view = replace(view_on(choice.plate, ground, choice.margins, choice.scale), unit=brief.unit)
        plot = Box.of((view.point(Point(ground.x0, ground.y0)), view.point(Point(ground.x1, ground.y1))))
        near = {
            side: numbers.get((column + dx, row + dy), 0)
            for side, dx, dy in (("left", -1, 0), ("right", 1, 0), ("foot", 0, -1), ("top", 0, 1))
        }
        stage = Stage(
            brief=shown,
            plate=choice.plate,
            view=view,
            surfaces=visible_surfaces(shown, view),
            plot=plot,
            pens=pens,
            extra=match_lines(plot, near),
        )
        found.append(Part(number, column, row, ground, stage))
    return tuple(found)


def match_lines(plot: Box, near: Mapping[str, int]) -> tuple[Mark, ...]:
    """Return the match lines of a part; `near` names the part beyond each side, 0 for none."""
    marks: list[Mark] = []
    ends = {
        "left": (Point(plot.x0, plot.y0), Point(plot.x0, plot.y1)),
        "right": (Point(plot.x1, plot.y0), Point(plot.x1, plot.y1)),
        "foot": (Point(plot.x0, plot.y0), Point(plot.x1, plot.y0)),
        "top": (Point(plot.x0, plot.y1), Point(plot.x1, plot.y1)),
    }
    for side, number in near.items():
        if number:
            a, b = ends[side]
            way = (b - a).unit()
            heavy = Nib("marks", "cut")
            lines: list[Mark] = [
                Nib("marks", "thin", "division").line(a, b),
                heavy.line(b + way, b + way * (1 + STROKE)),
                heavy.line(a + way * (-1 - STROKE), a + -way),
            ]
            words = f"Match line, part {number}"
            level = side in {"foot", "top"}
            at = (
                Point(a.x - 10.0, a.y + (1.0 if side == "top" else -3.5))
                if level
                else Point(b.x + (1.6 if side == "left" else -1.6), b.y + 3.4)
            )
            anchor = "end" if level or side == "right" else "start"
            lines.append(
                Text(
                    layer="labels",
                    at=at,
                    words=words if not level else f"Part {number}",
                    style="bold",
                    anchor=anchor,
                    classes=("label", "match-line"),
                )
            )
            marks.append(group("marks", "match-line", lines, words))
    return tuple(marks)


def as_part(draft: Draft, part: Part, all_parts: Sequence[Part], brief: Brief) -> Draft:
    """Return a sheet of a part: its title says which, its panel shows the key plan; tables stand with the first."""
    first = part.number == 1
    row = PanelRow("key plan", (key_plan(brief, all_parts, part.number),), required=True)
    return replace(
        draft,
        name=draft.name if first else f"{draft.name} part {part.number}",
        title=f"{draft.title}, part {part.number}",
        rows=(*draft.rows, row),
        spare=(*draft.spare, row) if draft.spare else (),
        tables=draft.tables if first else (),
        extra=draft.extra or not first,
    )


def key_plan(brief: Brief, all_parts: Sequence[Part], own: int) -> Section:
    """Return the key plan: the whole garden small, the parts numbered, the sheet's own with a bar along its foot."""
    extent = brief.extent
    factor = min((COLUMN - 2) / extent.width, KEY_HEIGHT / extent.height)
    high = extent.height * factor
    view = View(
        name="key plan",
        scale=1000 / factor,
        window=Box(1.0, -high, 1.0 + extent.width * factor, 0.0),
        origin=Point(extent.x0, extent.y0),
    )
    boxes = [
        Box.of((view.point(Point(p.ground.x0, p.ground.y0)), view.point(Point(p.ground.x1, p.ground.y1))))
        for p in all_parts
    ]
    once = Drawn()
    marks: list[Mark] = [Nib(LAYER, "edge").path(piece) for box in boxes for piece in once.once(rectangle(box))]
    shown = brief.of(Role.BOUNDARY, Role.BUILDING, Role.TURF, Role.PAVING, Role.WATER, Role.LOOSE)
    for feature in (f for f in shown if f.status is not Status.REMOVE):
        box = feature.shape.box if isinstance(feature.shape, Region) else extent
        if isinstance(feature.shape, Region) and min(box.width, box.height) * factor > LEAST:
            marks += [Nib(LAYER, "texture").path(piece) for piece in once.once(view.loop(feature.shape.outer))]
        elif isinstance(feature.shape, Path):
            marks += [Nib(LAYER, "thin").path(piece) for piece in once.once(view.path(feature.shape))]
    for part, box in zip(all_parts, boxes, strict=True):
        middle = box.centre
        if part.number == own:
            marks.append(block(LAYER, Box(middle.x - 3.4, middle.y - 3.4, middle.x + 3.4, middle.y + 3.4)))
        label = text(middle.x, -(middle.y - NAMES / 2), str(part.number), "bold", "middle", NAMES)
        marks.append(replace(label, tone="white" if part.number == own else "black"))
    return section("key plan", "Key plan", COLUMN, marks, high + 1.0)
