"""Details packed on the fewest sheets: in rows in the given order, or as high and as far left as they go.

Takes: details drawn at their scales, and the rooms of a sheet (mm). Gives: what stands where, sheet by sheet.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.point import Box
from .composition import Plate
from .details_views import Drawn

GAP_ACROSS, GAP_UP = 5.0, 7.0

NEAR = 1e-6


@dataclass(frozen=True, slots=True)
class Placing:
    """A detail and its lower left corner on the sheet."""

    drawn: Drawn
    x: float
    y: float


SHUFFLES = 60
"""Orders that are tried beyond the given one, the highest first and the widest first."""


def fewest(wanted: Sequence[Drawn], rooms: Sequence[Box], plate: Plate) -> list[list[Placing]]:
    """Return details on the fewest sheets that some order of packing finds: the given one if it is as good."""
    best = _sheets(wanted, rooms, plate, _in_rows)      # the tidiest, where it is as good
    for order in _orders(wanted):
        if len(best) <= least(wanted, rooms):
            break
        sheets = _sheets(order, rooms, plate, _packed)
        best = sheets if len(sheets) < len(best) else best
    return best


def in_order(wanted: Sequence[Drawn], rooms: Sequence[Box], plate: Plate, most: int) -> list[list[Placing]] | None:
    """Return details packed in their order on at most so many sheets; None if they need more."""
    if least(wanted, rooms) > most:
        return None
    for pack in (_in_rows, _packed):
        sheets = _sheets(wanted, rooms, plate, pack)
        if len(sheets) <= most:
            return sheets
    return None


def least(wanted: Sequence[Drawn], rooms: Sequence[Box], full: float = 1.0) -> int:
    """Return a number of sheets that no packing of details can do with fewer of, rooms being filled to this share."""
    area = sum(room.width * room.height for room in rooms)
    return math.ceil(sum(drawn.width * drawn.height for drawn in wanted) / area / full)


def _orders(wanted: Sequence[Drawn]) -> Iterator[list[Drawn]]:
    """Yield orders to pack in, always the same ones for the same details."""
    yield list(wanted)
    yield sorted(wanted, key=lambda d: -round(d.height, 3))
    yield sorted(wanted, key=lambda d: -round(d.width, 3))
    dice = random.Random(len(wanted))
    for _ in range(SHUFFLES):
        yield dice.sample(list(wanted), len(wanted))


Packer: TypeAlias = Callable[[Sequence[Drawn], Box], tuple[list[Placing], list[Drawn]]]


def _sheets(wanted: Sequence[Drawn], rooms: Sequence[Box], plate: Plate, pack: Packer) -> list[list[Placing]]:
    """Return details packed on as many sheets as they need, taken in this order; DrawingError if one fits on none."""
    sheets: list[list[Placing]] = []
    left = list(wanted)
    while left:
        placed: list[Placing] = []
        for room in rooms:
            more, left = pack(left, room)
            placed += _read(more)
        if not placed:
            raise refuse(
                DrawingError,
                f"the detail '{left[0].detail.title}' does not fit on a sheet of {plate.paper.size}",
                "take a larger sheet",
                "detail-too-large",
            )
        sheets.append(placed)
    return sheets


def _in_rows(left: Sequence[Drawn], room: Box) -> tuple[list[Placing], list[Drawn]]:
    """Set details in rows, tops in line; return what stands where, and what is left over."""
    placed: list[Placing] = []
    rest: list[Drawn] = []
    x, top, high = room.x0, room.y1, 0.0
    for drawn in left:
        if placed and x + drawn.width > room.x1 + NEAR:
            x, top, high = room.x0, top - high - GAP_UP, 0.0
        if x + drawn.width > room.x1 + NEAR or top - drawn.height < room.y0 - NEAR:
            rest.append(drawn)
            continue
        placed.append(Placing(drawn, x, top - drawn.height))
        x, high = x + drawn.width + GAP_ACROSS, max(high, drawn.height)
    return placed, rest


def _packed(left: Sequence[Drawn], room: Box) -> tuple[list[Placing], list[Drawn]]:
    """Set details as high as they go, then as far left; return what stands where, and what is left over."""
    placed: list[Placing] = []
    rest: list[Drawn] = []
    for drawn in left:
        spot = _spot(drawn, placed, room)
        if spot is None:
            rest.append(drawn)
        else:
            placed.append(spot)
    return placed, rest


def _spot(drawn: Drawn, placed: Sequence[Placing], room: Box) -> Placing | None:
    """Return the highest place, then the one farthest left, at which a detail is clear of the others; None if none."""
    lefts = sorted({room.x0, *(p.x + p.drawn.width + GAP_ACROSS for p in placed)})
    tops = sorted({room.y1, *(p.y - GAP_UP for p in placed)}, reverse=True)
    for top in tops:
        for x in lefts:
            box = Box(x, top - drawn.height, x + drawn.width, top)
            if box.x1 <= room.x1 + NEAR and box.y0 >= room.y0 - NEAR and not any(_touch(box, p) for p in placed):
                return Placing(drawn, box.x0, box.y0)
    return None


def _touch(box: Box, other: Placing) -> bool:
    """Say whether a box comes nearer to a detail than the gaps between them."""
    across = box.x0 < other.x + other.drawn.width + GAP_ACROSS - NEAR and other.x < box.x1 + GAP_ACROSS - NEAR
    return across and box.y0 < other.y + other.drawn.height + GAP_UP - NEAR and other.y < box.y1 + GAP_UP - NEAR


def _read(placed: Sequence[Placing]) -> list[Placing]:
    """Return details in the order of reading: by rows from the top, then from the left."""
    return sorted(placed, key=lambda p: (-round(p.y + p.drawn.height, 3), p.x))


MOST_ACROSS, MOST_UP = 26.0, 16.0
"""Gaps between details of a sheet that is not full grow by so much at most, mm."""


def spread(placed: Sequence[Placing], rooms: Sequence[Box]) -> Iterator[Placing]:
    """Yield the details of a sheet with the paper that is left over shared out between them, room by room.

    Only details that stand in rows are moved; others fill their room already.
    """
    for room in rooms:
        here = [p for p in placed if room.x0 - NEAR <= p.x and p.x + p.drawn.width <= room.x1 + NEAR]
        rows = _rows(here)
        if any(_top(a) - a.drawn.height < _top(rows[k + 1][0]) + GAP_UP - NEAR
               for k in range(len(rows) - 1) for a in rows[k]):
            yield from here
            continue
        spare = min((p.y for p in here), default=room.y0) - room.y0
        up = min(spare / max(len(rows) - 1, 1), MOST_UP)
        for k, row in enumerate(rows):
            last = row[-1]
            left = room.x1 - last.x - last.drawn.width
            across = min(left / max(len(row) - 1, 1), MOST_ACROSS)
            yield from (Placing(p.drawn, p.x + n * across, p.y - k * up) for n, p in enumerate(row))


def _top(place: Placing) -> float:
    return place.y + place.drawn.height


def _rows(placed: Sequence[Placing]) -> list[list[Placing]]:
    """Return details in rows, those whose tops are in line, from the top down and from the left."""
    rows: dict[float, list[Placing]] = {}
    for place in sorted(placed, key=lambda p: (-round(_top(p), 3), p.x)):
        rows.setdefault(round(_top(place), 3), []).append(place)
    return list(rows.values())
