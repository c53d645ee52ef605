"""A plan sheet's field put together: plan, signs, dimensions, lettering, then textures round the lettering.

Takes: a brief, a plate and a view, and what one sheet adds. Gives: marks of the field in paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from ..geometry.errors import DrawingError
from ..geometry.kernel.enclosure import inside_region
from ..geometry.kernel.path import Region
from ..geometry.kernel.point import Box, Point, Vec
from .brief import Brief
from .composition import PAGE, Plate
from .draft import Nib
from .frame import centring_rooms
from .plan import Base, Insert, Surface, base, visible_surfaces
from .requests import Column, Obstacles, Placed, Placement, PointLabel, Quiet, Request
from .sheet import Mark, Text, View
from .symbols import north_point
from .things import things

INSET = 2.0
"""Lettering of the plan keeps this far inside its field."""

LABEL_GAP = 7.5
"""Leaders of a label column end this far from the plot."""

ROOM, BESIDE = 16.0, 2.5
"""A label column is at least so wide; it stands so far beyond the figures of dimensions, mm."""

NORTH_BOX = (34.0, 38.0)
"""Room kept free for the north point in the upper right corner of the field."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """The plan as all sheets of one view share it: worked out once."""

    brief: Brief
    plate: Plate
    view: View
    surfaces: tuple[Surface, ...]
    plot: Box  # of the plan on paper
    pens: Mapping[str, float]
    extra: tuple[Mark, ...] = ()  # match lines of a part of a plan

    @property
    def within(self) -> Box:
        """Where lettering of the plan may stand."""
        return self.plate.field.grown(-INSET)


def stage(brief: Brief, plate: Plate, view: View, pens: Mapping[str, float], extent: Box) -> Stage:
    """Return the stage for a view."""
    corners = view.point(Point(extent.x0, extent.y0)), view.point(Point(extent.x1, extent.y1))
    view = replace(view, unit=brief.unit)
    return Stage(
        brief=brief, plate=plate, view=view, surfaces=visible_surfaces(brief, view), plot=Box.of(corners), pens=pens
    )


def under(kind: str, on: Stage, insert: Insert | None = None) -> tuple[Base, tuple[Mark, ...]]:
    """Return the plan under the lettering of a kind of sheet: its base, and all of its marks."""
    plan = base(kind, on.brief, on.view, on.surfaces, insert)
    return plan, (*plan.marks, *things(kind, on.brief, on.view), *on.extra)


ROWS = 15.0
"""Rows of dimensions reach this far out from the plan."""


def north_box(on: Stage) -> Box:
    """Return the room kept free for the north point: the upper right corner, else another one clear of the plan."""
    f, (wide, high) = on.plate.field, NORTH_BOX
    spots = [
        Box(x, y, x + wide, y + high)
        for x, y in ((f.x1 - wide, f.y1 - high), (f.x0, f.y1 - high), (f.x1 - wide, f.y0), (f.x0, f.y0))
    ]
    busy = Box(on.plot.x0, on.plot.y0 - ROWS, on.plot.x1 + ROWS, on.plot.y1)
    return next((spot for spot in spots if not spot.meets(busy)), spots[0])


def north(on: Stage) -> Mark:
    """Return the north point, turned about the middle of its box: the plan stays, north turns."""
    way = math.pi / 2 + math.radians(on.brief.north)
    box = north_box(on)
    middle = Point(box.centre.x, box.y1 - 21.5)  # below the centring mark of the frame
    return north_point(middle + Vec.polar(way, -14.0), way)


def columns(on: Stage, sides: Sequence[str], reach: float = LABEL_GAP, drawn: Sequence[Box] = (),
            ) -> tuple[Column, ...]:
    """Return label columns at the sides of the plan, as far as there is room for them.

    That at the right stands beyond the lettering `drawn` there, the figures of dimensions.
    """
    found = []
    box, plot, free = on.within, on.plot, north_box(on)
    low, high = box.y0 + 4, box.y1 - 4
    figures = [b.x1 + BESIDE for b in drawn if plot.x1 < b.x0 and b.x1 < box.x1 and b.y0 > low and not b.meets(free)]
    left, right = plot.x0 - reach, max([plot.x1 + reach, *figures])
    if "left" in sides and left - box.x0 > ROOM:
        top = free.y0 if free.x0 < plot.x0 and free.y1 > high else high
        found.append(Column(side="left", edge=left, limit=box.x0 + 2, low=low, high=top))
    if "right" in sides and box.x1 - right > ROOM:
        top = free.y0 if free.x1 > right and free.y1 > high else high
        foot = free.y1 if free.x1 > right and free.y0 < low else low
        found.append(Column(side="right", edge=right, limit=box.x1 - 2, low=foot, high=top))
    return tuple(found)


MOST_INK, OTHER_INK = 0.29, (0.26, 0.32)
"""The share of a square of 20 mm that lettering, lines and textures may fill, and others that are tried where a square
stays too full: the search is led another way by another limit, and the quietest plan is taken."""


FEW = 3
"""Fewer pegs than this are no crowd: what is in their way is not numbers."""


@dataclass(frozen=True, slots=True)
class Lettered:
    """The lettering of a plan as it was placed, and the names of labels in a square that is still too full."""

    labels: tuple[Placed, ...]
    crowded: tuple[str, ...] = ()

    @property
    def marks(self) -> tuple[Mark, ...]:
        """Marks of all labels and leaders."""
        return tuple(mark for label in self.labels for mark in label.marks)

    def whitened(self, dark: Sequence[Region]) -> tuple[Mark, ...]:
        """Return the marks with lettering white where it stands on something dark."""
        from .obstacles import lettered as ink
        from .obstacles import text_box

        def on_dark(mark: Text) -> bool:
            box = text_box(ink(mark))
            return any(inside_region(region, box.centre) for region in dark)

        return tuple(
            replace(mark, tone="white") if isinstance(mark, Text) and on_dark(mark) else mark for mark in self.marks
        )


def lettered(
    on: Stage,
    marks: Sequence[Mark],
    requests: Sequence[Request],
    sides: Sequence[str] = ("left", "right"),
    closed: Sequence[Box] = (),
    reach: float = LABEL_GAP,
    more: Obstacles | None = None,
    compass: bool = True,
    shades: Sequence[tuple[Region, float]] = (),
    enlarges: bool = False,
) -> Lettered:
    """Place the lettering of a plan round what is drawn already; DrawingError if something finds no place.

    `shades` are the areas that will have a texture, with the share of each that is ink. A plan that `enlarges` gives
    crowded pegs to an enlarged view, rather than search for them again.
    """
    from .obstacles import gathered, text_box

    shut = (*((north_box(on),) if compass else ()), *centring_rooms(on.plate.paper), *closed)
    obstacles = gathered(marks, on.pens).joined(Obstacles(closed=shut))
    obstacles = obstacles.joined(more) if more else obstacles
    quiet = Quiet(field=on.plate.field, most=MOST_INK, pen=on.pens["mark"], shades=tuple(shades))
    beside = columns(on, sides, reach, [text_box(text) for text in obstacles.texts])
    placed = _quietest(tuple(requests), obstacles, on.within, beside, quiet, enlarges)
    return Lettered(placed.labels, placed.report.crowded)


def _quietest(requests: Sequence[Request], obstacles: Obstacles, within: Box, sides: Sequence[Column],
              quiet: Quiet, enlarges: bool) -> Placement:
    """Place labels; where a square stays too full, also by other limits, and return the placement that is quietest."""
    from .annotate import placer

    place = placer(requests, obstacles, within, sides)
    found = [place(quiet)]
    crowded = found[0].report.crowded
    pegs = {r.name for r in requests if isinstance(r, PointLabel)}
    if enlarges and len(pegs.intersection(crowded)) >= FEW:
        return found[0]
    for most in OTHER_INK if crowded else ():
        with suppress(DrawingError):
            found.append(place(replace(quiet, most=most)))
    return min(found, key=lambda placed: round(placed.report.fullest, 3))


def rules(plate: Plate) -> tuple[Mark, ...]:
    """Return the edges between plan, panel and block."""
    nib = Nib("panel", "edge")
    return tuple(nib.line(a, b) for a, b in plate.rules)


def is_page(plate: Plate) -> bool:
    """Say whether the panel stands at the right."""
    return plate.kind == PAGE
