"""The title block: fields of ISO 7200 under a tape that is scale bar and check bar in one.

ISO 7200:2004 gives the width of 180 and the fields; the open design is our own. All lengths are
millimetres on paper; offsets inside the block run right and DOWN from its top left corner.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..geometry.kernel.point import Box, Point
from .draft import Nib, block, group
from .lettering import width
from .sheet import Group, Mark, Text
from .wrapping import FIGURES, NAMES, NUMBERS, TITLES, shortened, step, wrap

WIDTH, HEIGHT = 180.0, 56.0
TAPE_AT, TAPE = 8.0, 100.0
COLUMNS = (8.0, 50.0, 97.5, 142.0)
TITLE_ROOM = 92.0
PITCH = 4.2
LAYER = "titleblock"


@dataclass(frozen=True, slots=True, kw_only=True)
class TitleBlock:
    """What stands in the block of one sheet. `fields` are the eight of the foot, caption and value, in rows of four."""

    number: int
    total: int
    title: str
    supplementary: str
    drawing: str
    revision: str
    scale: float  # 1 : scale; 0 when nothing on the sheet is to scale
    size: str
    fields: tuple[tuple[str, str], ...]
    feet: bool = False

    @property
    def rows(self) -> tuple[tuple[tuple[str, tuple[str, ...]], ...], ...]:
        """The fields in rows: caption and the lines of its value."""
        return tuple(
            tuple((caption, wrap(value, room, "bold")) for (caption, value), (_, room) in zip(row, rooms, strict=True))
            for row, rooms in zip(_fours(self.fields), _rooms(self.fields), strict=True)
        )

    @property
    def height(self) -> float:
        """Height of the block: 56, and a line more for every row of fields whose values break."""
        extra = sum(max(len(lines) for _, lines in row) - 1 for row in self.rows)
        return HEIGHT + PITCH * extra


def _fours(fields: Sequence[tuple[str, str]]) -> list[Sequence[tuple[str, str]]]:
    """Return the fields in rows of four."""
    return [fields[first : first + 4] for first in range(0, len(fields), 4)]


def _need(field: tuple[str, str]) -> float:
    """Return the width that a field takes up on one line."""
    return max(width(field[0], "regular", FIGURES), width(field[1], "bold", FIGURES))


def _rooms(fields: Sequence[tuple[str, str]]) -> list[list[tuple[float, float]]]:
    """Return place and room of each column, row by row.

    The usual places if all fits, else columns shared out by need: the same for both rows, if there is room for that.
    """
    rows = _fours(fields)
    usual = [(a, b - a - 2) for a, b in zip(COLUMNS, (*COLUMNS[1:], WIDTH + 2), strict=True)]
    if all(_need(one) <= room for row in rows for one, (_, room) in zip(row, usual, strict=False)):
        return [usual[: len(row)] for row in rows]
    whole = max(rows, key=len)
    common = [max(_need(row[i]) for row in rows if len(row) > i) for i in range(len(whole))]
    if sum(common) <= _across(len(whole)):
        return [_set_out(common)[: len(row)] for row in rows]
    return [_set_out(_cut([_need(one) for one in row], row)) for row in rows]


def _across(count: int) -> float:
    """Return the width that so many columns share, gaps between them taken off."""
    return WIDTH - 2 * TAPE_AT + 2 - 3.0 * count


def _cut(needs: list[float], row: Sequence[tuple[str, str]]) -> list[float]:
    """Return the widths of one row that fits by itself, or is cut to fit."""
    room = _across(len(row))
    least = [max(width(caption, "regular", FIGURES), 18.0) for caption, _ in row]
    return needs if sum(needs) <= room else _shared(needs, least, room)


def _set_out(rooms: Sequence[float]) -> list[tuple[float, float]]:
    """Return place and room of columns side by side, what is left over shared out between them."""
    spare = max(0.0, _across(len(rooms)) - sum(rooms)) / len(rooms)
    places, x = [], TAPE_AT
    for r in rooms:
        places.append((x, r + spare))
        x += r + spare + 3.0
    return places


def _shared(needs: list[float], least: list[float], room: float) -> list[float]:
    """Return widths that add up to `room`: small needs whole, the greedy ones cut to one common width."""
    order = sorted(range(len(needs)), key=lambda i: (needs[i], i))
    out, left = [0.0] * len(needs), room
    for done, i in enumerate(order):
        out[i] = min(needs[i], max(least[i], left / (len(needs) - done)))
        left -= out[i]
    return out


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A scale bar along the tape: filled blocks (start and length), figures by their place, and their unit."""

    blocks: tuple[tuple[float, float], ...]
    figures: tuple[tuple[float, str], ...]
    unit: str


def tape(scale: float, feet: bool = False) -> Bar:
    """Return what 100 mm of paper are at 1 : scale: in metres, millimetres at 1:10 and larger, or in feet or inches.

    For scale 0 the paper's own millimetres.
    """
    if feet and scale > 0:
        return _feet(scale)
    whole, unit = (100.0, "mm") if not scale > 0 else (scale * 100, "mm") if scale <= 10 else (scale / 10, "m")
    return Bar(
        blocks=(*((i * 2.0, 2.0) for i in range(0, 5, 2)), *((i * 10.0, 10.0) for i in range(2, 10, 2))),
        figures=tuple((p, f"{round(whole * p / 100, 3):g}") for p in (0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 100.0)),
        unit=unit,
    )


STEPS = ((1, 1), (3, 3), (6, 6), (12, 4), (24, 4), (60, 5), (120, 5), (240, 4), (600, 5), (1200, 5), (2400, 4))
"""Steps of a bar in feet, inches, and into how many parts the first one is divided."""


def _feet(scale: float) -> Bar:
    """Return the bar of the longest step that fits at least five times; inches below a step of a foot."""
    inch = 25.4 / scale
    step, parts = max((s for s in STEPS if s[0] * inch * 5 <= TAPE), default=STEPS[0])
    count, long = int(TAPE / (step * inch) + 1e-9), step * inch
    per, unit = (12, "ft") if step >= 12 else (1, "in")
    first = tuple((i * long / parts, long / parts) for i in range(0, parts, 2))
    ends = (0, 1, *((2, 3, 4, count) if count > 4 else range(2, count + 1)))
    return Bar(
        blocks=(*first, *((i * long, long) for i in range(2, count, 2))),
        figures=tuple((k * long, f"{k * step // per}") for k in sorted(set(ends))),
        unit=unit,
    )


def title_block(sheet: TitleBlock, right: float, foot: float) -> Group:
    """Return the block with its lower right corner at (`right`, `foot`)."""
    at = Point(right - WIDTH, foot + sheet.height)
    marks: list[Mark] = [Nib(LAYER, "cut").across(at.x, right, at.y), _tape(sheet, at), *_heads(sheet, at)]
    thin = Nib(LAYER, "thin")
    marks += [thin.across(at.x, right, at.y - down) for down in (16.5, 35.5)]
    marks += [*_title(sheet, at), *_numbers(sheet, at), *_fields(sheet, at)]
    return group(LAYER, "titleblock", marks, "Title block")


def _text(
    at: Point,
    right: float,
    down: float,
    words: str,
    capitals: float = FIGURES,
    style: str = "regular",
    anchor: str = "start",
) -> Text:
    return Text(
        layer=LAYER, at=Point(at.x + right, at.y - down), words=words, capitals=capitals, style=style, anchor=anchor
    )


def _tape(sheet: TitleBlock, corner: Point) -> Group:
    """Return the tape: a line exactly 100 mm long with an end at either side, the blocks, ticks and figures on it."""
    x0, top, bar = corner.x + TAPE_AT, corner.y, tape(sheet.scale, sheet.feet)
    marks: list[Mark] = [block(LAYER, Box(x0 + a, top - 1.5, x0 + a + w, top)) for a, w in bar.blocks]
    marks.append(Nib(LAYER, "thin").across(x0, x0 + TAPE, top - 1.5))
    places = dict.fromkeys((*(place for place, _ in bar.figures), TAPE))
    marks += [Nib(LAYER, "mark").upright(x0 + p, top - 2.8, top) for p in places]
    marks += [_text(corner, TAPE_AT + p, 6.1, f, anchor="middle") for p, f in bar.figures]
    marks.append(_text(corner, _unit_at(bar), 6.1, bar.unit))
    return group(LAYER, "checkbar dim-tape", marks, "Tape of 100 mm on paper")


def _unit_at(bar: Bar) -> float:
    """Return where the unit stands: right of the last figure."""
    place, last = bar.figures[-1]
    return TAPE_AT + place + width(last, "regular", FIGURES) / 2 + 1.5


def _heads(sheet: TitleBlock, at: Point) -> Iterator[Mark]:
    """Yield the scale and the two sentences beside the tape."""
    yield _text(at, 8, 13.2, "On a true print this tape measures 100 mm.")
    bar = tape(sheet.scale, sheet.feet)
    right = max(121.0, _unit_at(bar) + width(bar.unit, "regular", FIGURES) + 3.0)
    yield _text(at, right, 13.2, "Figures govern; do not scale.")
    scale = f"1:{sheet.scale:g}" if sheet.scale > 0 else "No scale"
    yield _text(at, right, 7.6, scale, NUMBERS, "bold")
    yield _text(at, right + width(scale, "bold", NUMBERS) + 2.2, 7.6, f"at {sheet.size}", NAMES)


def _title(sheet: TitleBlock, at: Point) -> Iterator[Mark]:
    """Yield the peg head with the sheet's number, its title and the garden's name."""
    yield block(LAYER, Box(at.x + 8, at.y - 33, at.x + 22, at.y - 19))
    size = step(str(sheet.number), 12.0, "bold", (TITLES, NUMBERS))
    yield Text(
        layer=LAYER,
        at=Point(at.x + 15, at.y - 26 - size / 2),
        words=str(sheet.number),
        capitals=size,
        style="bold",
        anchor="middle",
        tone="white",
    )
    names = wrap(sheet.supplementary, TITLE_ROOM, "regular", NAMES)
    small = len(names) > 1
    size = NUMBERS if small else step(sheet.title, TITLE_ROOM, "bold", (TITLES, NUMBERS, NAMES))
    yield _text(at, 26, 23.4 if small else 26, shortened(sheet.title, TITLE_ROOM, "bold", size), size, "bold")
    if not small:
        yield _text(at, 26, 33.6, names[0], NAMES)
        return
    lines = wrap(sheet.supplementary, TITLE_ROOM)
    for i, line in enumerate((*lines[:1], shortened(" ".join(lines[1:]), TITLE_ROOM)) if len(lines) > 1 else lines):
        yield _text(at, 26, 29.4 + PITCH * i, line)


NUMBER_SIZES = (NUMBERS, NAMES, FIGURES)

SHEET_ENDS, SHEET_ROOM = 176.0, 13.0


def _numbers(sheet: TitleBlock, at: Point) -> Iterator[Mark]:
    """Yield drawing number, revision and sheet of sheets; the last is as large on every sheet of a set."""
    sheets = f"{sheet.number}/{sheet.total}"
    large = step(f"{sheet.total}/{sheet.total}", SHEET_ROOM, "bold", NUMBER_SIZES)
    yield _text(at, SHEET_ENDS, 22, "Sheet", anchor="end")
    yield _text(at, SHEET_ENDS, 30.6, sheets, large, "bold", "end")
    left = SHEET_ENDS - width(f"{sheet.total}/{sheet.total}", "bold", large)
    middle = min(156.5, left - 8.5)
    for right, room, caption, value in ((121.0, middle - 123.0, "Drawing", sheet.drawing),
                                        (middle, left - middle - 2.0, "Rev.", sheet.revision)):
        yield _text(at, right, 22, caption)
        size = step(value, room, "bold", NUMBER_SIZES)
        lines = wrap(value, room, "bold", size)
        for i, line in enumerate(lines[:2]):
            yield _text(at, right, (30.6 if len(lines) == 1 else 27.4) + PITCH * i, line, size, "bold")


def _fields(sheet: TitleBlock, at: Point) -> Iterator[Mark]:
    """Yield captions and values of the foot."""
    down = 39.9
    for row, places in zip(sheet.rows, _rooms(sheet.fields), strict=True):
        for (caption, lines), (x, _) in zip(row, places, strict=True):
            yield _text(at, x, down, caption)
            for i, line in enumerate(lines):
                if line:
                    yield _text(at, x, down + PITCH * (i + 1), line, FIGURES, "bold")
        down += 9.8 + PITCH * (max(len(lines) for _, lines in row) - 1)
