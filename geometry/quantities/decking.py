"""Deck boards and joists: exact rows, split where joists and stock allow, crossings counted for screws.

Takes: the deck's outline, board and joists. Gives: lengths of boards and joists, items and the drawing. Boards
run along x of the laid frame; joists stand across them. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache, partial
from itertools import combinations, islice, pairwise

import numpy as np

from ..errors import GeometryError, refuse
from ..features import Item, UnitPattern
from ..kernel.inside import areas
from ..kernel.path import Path, Region
from ..kernel.pieces import SIDE, Piece, pieces_of
from ..kernel.point import Point
from ..kernel.runs import Floats, Frame, Runs, runs_of
from ..kernel.segment import Arc, Line
from .cuts import outline_points
from .factors import USUAL, Factors
from .joint_lines import CLEAR, level_lines, spans_at
from .ordering import OrderingLike
from .stock import cutting_list, stock_for, timber_item

TIMBER = "timber"

LEAST_BAYS = 2
"""A board spans at least two joist bays (common practice, no source)."""

MOST_SPLITS = 200
KEPT_SPLITS = 8
"""Split patterns looked at for a deck, and how many of them are tried in pairs, so that long decks stay quick."""

NOGGINS = 1.35
"""Noggins stand between the joists at most this far apart, m (common practice, no source)."""

LEAST_ROW = 1e-6
"""A row that covers less than this (m2) is none."""


@dataclass(frozen=True, slots=True)
class Row:
    """A board's piece of a row: from x0 to x1 along the boards, row number, and how many ends are shaped."""

    x0: float
    x1: float
    number: int
    shaped: int

    @property
    def length(self) -> float:
        """Extent along the board, m."""
        return self.x1 - self.x0


@dataclass(frozen=True, slots=True, eq=False)
class Decking:
    """Rows of boards on a deck in a frame, the joists' places along x, and the joists' lengths."""

    frame: Frame
    runs: Runs
    boxes: Floats
    rows: tuple[Row, ...]
    joists: tuple[float, ...]
    joist_lengths: tuple[float, ...]
    width: float
    gap: float
    lay_from: Point


def _checked(runs: Runs, width: float, gap: float) -> None:
    if not (width > 0 and 0 <= gap < width):
        raise refuse(
            GeometryError,
            f"a board {width * 1000:g} mm wide with gaps of {gap * 1000:g} mm",
            "give the board its width, and a gap narrower than that",
            "bad-unit",
        )
    if width > runs.yu.max() - runs.yl.min() + 1e-9:
        raise refuse(
            GeometryError,
            f"a board {width * 1000:g} mm wide is wider than the deck",
            "choose a narrower board",
            "unit-too-large",
        )


def _row(piece: Piece, number: int, runs: Runs) -> Row:
    xs = [x for x, _ in outline_points(piece.outer, runs.segments)]
    x0, x1 = min(xs), max(xs)
    corners, middle = piece.outer.corners, (x0 + x1) / 2
    ends = set()
    for k, source in enumerate(piece.outer.sources):
        a, b = corners[k], corners[(k + 1) % len(corners)]
        askew = abs(a[0] - b[0]) > 1e-6 and abs(a[1] - b[1]) > 1e-6
        if source != SIDE and (askew or isinstance(runs.segments[source], Arc)):
            ends.add((a[0] + b[0]) / 2 > middle)
    return Row(x0, x1, number, len(ends))


@lru_cache(maxsize=64)
def deck_rows(
    regions: tuple[Region, ...], width: float, gap: float, spacing: float, lay_from: Point, turn: float
) -> Decking:
    """Lay boards of `width` with `gap` on a deck with joists at most `spacing` apart.

    GeometryError 'bad-unit', 'unit-too-large', 'bad-spacing'.
    """
    frame = Frame(lay_from, turn)
    runs = runs_of(regions, frame)
    _checked(runs, width, gap)
    if not spacing > 0:
        raise refuse(
            GeometryError, f"joists {spacing:g} m apart", "give the spacing of the joists, about 0.40", "bad-spacing"
        )
    x0, x1 = float(runs.x_least.min()), float(runs.x_most.max())
    numbers = np.arange(
        math.floor((runs.yl.min() - width) / (width + gap)), math.ceil(runs.yu.max() / (width + gap)) + 1
    )
    y = numbers * (width + gap)
    boxes = np.stack([np.full(len(y), x0 - 1), y, np.full(len(y), x1 + 1), y + width], axis=1)
    kept = areas(runs, boxes) > LEAST_ROW
    boxes = boxes[kept]
    found = pieces_of(runs, boxes)
    rows = [_row(p, int(n), runs) for n, pieces in zip(numbers[kept], found, strict=True) for p in pieces]
    spaces = max(1, math.ceil((x1 - x0) / spacing - 1e-9))
    joists = tuple(x0 + (x1 - x0) * k / spaces for k in range(spaces + 1))
    mirrored = runs.mirrored()
    # the outer joists stand just inside the outline
    inner = (x0 + 2 * CLEAR, *joists[1:-1], x1 - 2 * CLEAR)
    lengths = tuple(b - a for x in inner for a, b in spans_at(mirrored, x))
    return Decking(frame, runs, boxes, tuple(rows), joists, lengths, width, gap, lay_from)


def _breaks(row: Row, wish: Sequence[float], deck: Decking, longest: float, trim: float) -> tuple[float, ...] | None:
    """Return where a row is split: at the wished joists that serve, as few as the stock allows; None if none do."""
    bay = deck.joists[1] - deck.joists[0] if len(deck.joists) > 1 else row.length
    inner = [x for x in wish if row.x0 + LEAST_BAYS * bay <= x + 1e-9 and x <= row.x1 - LEAST_BAYS * bay + 1e-9]
    ends = [row.x0, *inner, row.x1]
    parts = [b - a for a, b in pairwise(ends)]
    return tuple(inner) if max(parts) + (trim if row.shaped else 0) <= longest + 1e-9 else None


def _nearest(row: Row, deck: Decking, room: float, avoid: Collection[float]) -> tuple[float, ...] | None:
    """Return any split of a row on joists that the stock allows, found from the left, none of them in `avoid`."""
    cuts: list[float] = []
    at = row.x0
    while row.x1 - at > room + 1e-9:
        reach = [x for x in deck.joists if at + 1e-9 < x <= at + room + 1e-9 and x < row.x1 - 1e-9 and x not in avoid]
        if not reach:
            return None
        at = reach[-1]
        cuts.append(at)
    return tuple(cuts)


@dataclass(frozen=True, slots=True)
class Boards:
    """The pieces to cut for a deck (m), and the places of butt joints as (row, x)."""

    pieces: tuple[float, ...]
    butts: tuple[tuple[int, float], ...]
    bought: float


def _pieces(row: Row, cuts: Sequence[float], trim: float) -> list[float]:
    ends = [row.x0, *cuts, row.x1]
    parts = [b - a for a, b in pairwise(ends)]
    parts[0] += trim if row.shaped else 0.0
    parts[-1] += trim if row.shaped == 2 else 0.0
    return parts


def _split(
    deck: Decking, wishes: Sequence[Sequence[float]], stock: Sequence[float], kerf: float, trim: float
) -> Boards | None:
    pieces: list[float] = []
    butts: list[tuple[int, float]] = []
    longest = max(stock)
    for row in deck.rows:
        cuts: tuple[float, ...] | None = ()
        if row.length + trim * row.shaped > longest + 1e-9:
            before = {x for number, x in butts if number == row.number - 1}
            cuts = _breaks(row, wishes[row.number % 2], deck, longest, trim)
            if cuts is None or before & set(cuts):
                cuts = _nearest(row, deck, longest - (trim if row.shaped else 0), before)
        if cuts is None:
            return None
        pieces += _pieces(row, cuts, trim)
        butts += [(row.number, x) for x in cuts]
    if max(pieces) > longest + 1e-9:
        return None
    return Boards(tuple(pieces), tuple(butts), cutting_list(pieces, stock, kerf).bought)


def _alone(deck: Decking, wish: Sequence[float], stock: Sequence[float], kerf: float, trim: float) -> float | None:
    """Return what one pattern buys when every long row is split by it; None if the stock does not allow it."""
    longest, pieces = max(stock), []
    for row in deck.rows:
        long = row.length + trim * row.shaped > longest + 1e-9
        cuts = _breaks(row, wish, deck, longest, trim) if long else ()
        if cuts is None:
            cuts = _nearest(row, deck, longest - trim, ()) or ()
        pieces += _pieces(row, cuts, trim)
    return cutting_list(pieces, stock, kerf).bought if max(pieces) <= longest + 1e-9 else None


def _patterns(
    deck: Decking, widest: float, stock: Sequence[float], kerf: float, trim: float
) -> list[tuple[float, ...]]:
    """Return the split patterns that buy least alone: of as few joints as the stock allows, and of one more."""
    count = max(0, math.ceil(widest / max(stock) - 1e-9) - 1)
    if count == 0:
        return [()]
    kept: list[tuple[float, ...]] = []
    for number in (count, count + 1):
        tried = list(islice(combinations(deck.joists[LEAST_BAYS:-LEAST_BAYS], number), MOST_SPLITS))
        scored = [(bought, p) for p in tried if (bought := _alone(deck, p, stock, kerf, trim)) is not None]
        kept += [p for _, p in sorted(scored)[:KEPT_SPLITS]]
    return kept


def boards(deck: Decking, stock: Sequence[float], kerf: float, trim: float) -> Boards:
    """Split the rows of a deck with the stock in view: the pair of alternating patterns that buys least.

    Joints stand on joists and never on the same joist in neighbouring rows. Without stock nothing is split.
    GeometryError 'too-long' where no joist serves.
    """
    if not stock:
        whole = [row.length + trim * row.shaped for row in deck.rows]
        return Boards(tuple(whole), (), math.fsum(whole))
    longest = max(stock)
    widest = max(row.length + trim * row.shaped for row in deck.rows)
    patterns = _patterns(deck, widest, stock, kerf, trim)
    pairs = [(a, b) for a in patterns for b in patterns if not set(a) & set(b)] or [((), ())]
    found = [made for pair in pairs if (made := _split(deck, pair, stock, kerf, trim)) is not None]
    if not found:
        raise refuse(
            GeometryError,
            f"a row of boards of {widest:.2f} m cannot be split on joists into stock of {longest:g} m",
            "give a longer stock, or joists closer together",
            "too-long",
        )
    return min(found, key=lambda b: (round(b.bought, 6), len(b.butts)))


def crossings(deck: Decking) -> int:
    """Return how often boards cross joists, counted row by row."""
    return sum(sum(row.x0 - 1e-6 <= x <= row.x1 + 1e-6 for x in deck.joists) for row in deck.rows)


@lru_cache(maxsize=64)
def _planned(deck: Decking, stock: tuple[float, ...], kerf: float, trim: float) -> Boards:
    return boards(deck, stock, kerf, trim)


def planned(deck: Decking, ordering: OrderingLike) -> Boards:
    """Return the boards of a deck as ordered: the same value for the bill and for the drawing."""
    return _planned(deck, stock_for(ordering.stock, "deck board"), ordering.kerf, ordering.trim)


def deck_items(
    element: str, deck: Decking, ordering: OrderingLike, joist_depth: str = "", apart: float = NOGGINS
) -> Iterator[Item]:
    """Yield boards, joists, noggins (at most `apart` m apart) and screws of a deck."""
    stock = stock_for(ordering.stock, "deck board")
    made = planned(deck, ordering)
    shaped = sum(row.shaped for row in deck.rows)
    yield timber_item(
        section=TIMBER,
        element=element,
        item=f"deck boards {deck.width * 1000:g} mm wide",
        pieces=made.pieces,
        stock=stock,
        kerf=ordering.kerf,
        basis=f"{len(deck.rows)} rows, gap {deck.gap * 1000:g} mm; {shaped} shaped ends with "
        f"{ordering.trim * 1000:g} mm to trim; "
        f"{len(made.butts)} butt joints on joists",
    )
    bay = deck.joists[1] - deck.joists[0]
    doubled = len({x for _, x in made.butts})
    yield timber_item(
        section=TIMBER,
        element=element,
        item=f"joists {joist_depth}".strip(),
        pieces=[*deck.joist_lengths, *_doubles(deck, made)],
        stock=stock_for(ordering.stock, "joist"),
        kerf=ordering.kerf,
        basis=f"{len(deck.joists)} lines {bay * 1000:.0f} mm apart, clipped to the outline; {doubled} "
        "doubled under butt joints",
    )
    noggins = sum(max(0, math.ceil(length / apart) - 1) for length in deck.joist_lengths[:-1])
    if noggins:
        yield Item(
            section=TIMBER,
            element=element,
            item="noggins",
            unit="number",
            net=float(noggins),
            order=float(noggins),
            order_unit="pieces",
            basis=f"between joists, at most {apart:g} m apart, each {bay:.3f} m less a joist",
        )
    yield _screws(element, crossings(deck) + len(made.butts), factors=ordering.factors)


def _screws(element: str, places: int, allowance: float = 5.0, factors: Factors = USUAL) -> Item:
    fixings = factors.fixings.board * places
    return Item(
        section=TIMBER,
        element=element,
        item="deck screws",
        unit="number",
        net=float(fixings),
        allowance=allowance,
        order=math.ceil(fixings * (1 + allowance / 100) / 100) * 100.0,
        order_unit="number",
        basis=f"{factors.fixings.board} at every crossing of board and joist, ordered in hundreds",
        again=partial(_screws, element, places),
    )


def _doubles(deck: Decking, made: Boards) -> list[float]:
    mirrored = deck.runs.mirrored()
    places = sorted({x for _, x in made.butts})
    return [b - a for x in places for a, b in spans_at(mirrored, x)]


def deck_pattern(deck: Decking, made: Boards | None = None) -> UnitPattern:
    """Return the boards for drawing: the gaps between them, and butt joints where rows are split."""
    cells = deck.boxes + np.array([0.0, -deck.gap / 2, 0.0, deck.gap / 2])
    lines = level_lines(deck.runs, deck.frame, cells)
    butts = []
    pitch, mirrored = deck.width + deck.gap, deck.runs.mirrored()
    for number, x in made.butts if made else ():
        y = number * pitch - deck.gap / 2
        for low, high in spans_at(mirrored, x):
            if min(high, y + pitch) - max(low, y) > 2 * CLEAR:
                ends = deck.frame.outward(x, max(low, y)), deck.frame.outward(x, min(high, y + pitch))
                butts.append(Path((Line(*ends),)))
    return UnitPattern(
        joints=(*lines, *butts),
        width=deck.width,
        courses=tuple(lines),
        lay_from=deck.lay_from,
        turn=deck.frame.turn,
        name=f"boards {deck.width * 1000:g} mm, gap {deck.gap * 1000:g} mm",
    )
