"""How a sheet is divided, and the scale that fits: page, shelf or band, by ISO 5455 scales.

A **page** has the panel at the right, as wide as the title block (it folds to A4); a **shelf** has it left of
the block; a **band** (upright sheets) across the whole width above the block. Millimetres on paper, metres on
the ground.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Box, Point
from .frame import Paper, paper
from .sheet import View
from .titleblock import WIDTH

PAGE, SHELF, BAND = "page", "shelf", "band"

RECOMMENDED = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)
"""Reduction scales of ISO 5455."""

SMALLEST = 200
"""A garden is not drawn smaller than this by choice: at 1:500 a path is a line. It is split instead."""

LARGEST = 20
"""A plan is not drawn larger than this by choice; what is finer is a detail."""

PLAN_SCALES = tuple(s for s in RECOMMENDED if LARGEST <= s <= SMALLEST)


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """What the plan keeps free inside its field for labels, rows of dimensions and the north point."""

    left: float = 44.0
    right: float = 24.0
    top: float = 30.0
    foot: float = 24.0


TIGHT = Margins(top=9.0)
"""Margins of a plan as high as its field: the north point stands over the label column instead."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A sheet divided: paper, kind of division, field for the plan, panel, and the height of the title block."""

    paper: Paper
    kind: str
    field: Box
    panel: Box
    block: float

    @property
    def rules(self) -> tuple[tuple[Point, Point], ...]:
        """The thin edges between field and panel."""
        if self.kind == PAGE:
            x = self.panel.x0
            return ((Point(x, self.paper.frame.y0), Point(x, self.paper.frame.y1)),)
        lines = [(Point(self.paper.frame.x0, self.field.y0), Point(self.paper.frame.x1, self.field.y0))]
        if self.kind == SHELF:
            x = self.panel.x1
            lines = [
                (Point(self.paper.frame.x0, self.field.y0), Point(x, self.field.y0)),
                (Point(x, self.paper.frame.y0), Point(x, self.field.y0)),
            ]
        return tuple(lines)


def plate(sheet: Paper, kind: str, block: float, band: float = 0.0) -> Plate:
    """Divide a sheet; `block` is the height of its title block, `band` the least height of a shelf or band."""
    box = sheet.frame
    top = box.y0 + block
    if kind == PAGE:
        x = box.x1 - WIDTH
        return Plate(
            paper=sheet, kind=kind, field=Box(box.x0, box.y0, x, box.y1), panel=Box(x, top, box.x1, box.y1), block=block
        )
    if kind == SHELF:
        top = max(top, box.y0 + band)
        return Plate(
            paper=sheet,
            kind=kind,
            field=Box(box.x0, top, box.x1, box.y1),
            panel=Box(box.x0, box.y0, box.x1 - WIDTH, top),
            block=block,
        )
    return Plate(
        paper=sheet,
        kind=BAND,
        field=Box(box.x0, top + band, box.x1, box.y1),
        panel=Box(box.x0, top, box.x1, top + band),
        block=block,
    )


def kinds(sheet: Paper, wish: str = "") -> tuple[str, ...]:
    """Return the divisions that a sheet can have: the wished one, or all that leave room for a plan."""
    if wish not in {"", "auto", PAGE, SHELF, BAND}:
        raise refuse(DrawingError, f"a composition '{wish}'", "write page or shelf, or leave it out", "composition")
    if sheet.upright:
        return (BAND,)
    if sheet.size == "A4":
        return (SHELF,)
    return (wish,) if wish in {PAGE, SHELF} else (PAGE, SHELF)


def room(plate: Plate, margins: Margins) -> tuple[float, float]:
    """Return the width and height (mm) left for the plan itself."""
    return plate.field.width - margins.left - margins.right, plate.field.height - margins.top - margins.foot


def largest_scale(extent: Box, plate: Plate, margins: Margins, scales: Sequence[int] = PLAN_SCALES) -> int:
    """Return the largest of `scales` at which the extent (metres) fits, 0 if none does."""
    wide, high = room(plate, margins)
    for scale in scales:
        if extent.width * 1000 / scale <= wide + 1e-6 and extent.height * 1000 / scale <= high + 1e-6:
            return scale
    return 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A division of the sheet with the scale that it allows, and how many sheets the plan takes across and up."""

    plate: Plate
    scale: int
    margins: Margins
    across: int = 1
    up: int = 1


def choose(
    extent: Box, plates: Sequence[Plate], scale: int = 0, margins: Sequence[Margins] = (Margins(), TIGHT)
) -> Choice:
    """Return the best division: the larger scale wins, a tie goes to the page for upright plans, else to the shelf.

    A forced `scale` (1 : scale) that does not fit, or a garden that does not fit at 1:200, is split.
    """
    scales = (scale,) if scale else PLAN_SCALES
    fits = [
        Choice(plate=one, scale=found, margins=free)
        for free in margins
        for one in plates
        if (found := largest_scale(extent, one, free, scales))
    ]
    if fits:
        best = min(way.scale for way in fits)
        ties = [way for way in fits if way.scale == best]
        favourite = PAGE if extent.height >= extent.width else SHELF
        return next((way for way in ties if way.plate.kind == favourite), ties[0])
    pages = [one for one in plates if one.kind == PAGE]
    return _split(extent, pages or plates, margins[0], scale or SMALLEST)


def _split(extent: Box, plates: Sequence[Plate], margins: Margins, scale: int) -> Choice:
    """Return the division that takes the fewest sheets at `scale`."""
    ways = []
    for index, one in enumerate(plates):
        wide, high = room(one, margins)
        if wide > 20 and high > 20:
            across = math.ceil(extent.width * 1000 / scale / wide - 1e-9)
            up = math.ceil(extent.height * 1000 / scale / high - 1e-9)
            ways.append(
                (
                    max(1, across) * max(1, up),
                    index,
                    Choice(plate=one, scale=scale, margins=margins, across=max(1, across), up=max(1, up)),
                )
            )
    count, _, best = min(ways, key=lambda way: way[:2], default=(0, 0, None))
    if best is None or count > MOST_SHEETS:
        size = plates[0].paper.size
        raise refuse(
            DrawingError,
            f"a plan of {extent.width:.0f} × {extent.height:.0f} m at 1:{scale} on {size} would take "
            f"{count or 'more than any number of'} sheets",
            _proposal(extent, scale),
            "too-many-sheets",
        )
    return best


MOST_SHEETS = 30


def _proposal(extent: Box, scale: int) -> str:
    """Return the smallest change that would fit: a larger sheet at this scale, or a smaller scale on A1."""
    for size in ("A2", "A1", "A0"):
        for kind in kinds(paper(size)):
            one = plate(paper(size), kind, 56.0, 56.0)
            wide, high = room(one, Margins())
            if (
                math.ceil(extent.width * 1000 / scale / wide) * math.ceil(extent.height * 1000 / scale / high)
                <= MOST_SHEETS
            ):
                return f"ask for size: {size}, or for a smaller scale"
    smaller = next((s for s in RECOMMENDED if s > scale), RECOMMENDED[-1])
    return f"ask for scale: 1:{smaller} and size: A1"


def view_on(plate: Plate, extent: Box, margins: Margins, scale: float, name: str = "plan") -> View:
    """Return the window that shows `extent` at 1 : scale: centred, two thirds of spare height above."""
    factor = 1000 / scale
    wide, high = room(plate, margins)
    left = plate.field.x0 + margins.left + max(0.0, wide - extent.width * factor) / 2
    foot = plate.field.y0 + margins.foot + max(0.0, high - extent.height * factor) / 3
    origin = Point(extent.x0 - (left - plate.field.x0) / factor, extent.y0 - (foot - plate.field.y0) / factor)
    return View(name=name, scale=scale, window=plate.field, origin=origin)


def tiles(extent: Box, choice: Choice) -> Iterator[tuple[int, int, Box]]:
    """Yield column, row (from the bottom) and ground box of every sheet of a split plan, row by row from the top."""
    wide, high = extent.width / choice.across, extent.height / choice.up
    for row in reversed(range(choice.up)):
        for column in range(choice.across):
            yield (
                column,
                row,
                Box(
                    extent.x0 + column * wide,
                    extent.y0 + row * high,
                    extent.x0 + (column + 1) * wide,
                    extent.y0 + (row + 1) * high,
                ),
            )
