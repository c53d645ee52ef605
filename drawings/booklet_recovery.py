"""Recovery pegs, a string a row, and how every peg that the dig takes is found again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..geometry.features import Purpose
from ..geometry.pegs.peg import CheckKind, Method, Peg, Recovery
from ..geometry.setout import SettingOut
from .booklet_checks import BOX_WIDE, box, check_rows, check_words
from .booklet_page import BOLD, LEFT, READING, RIGHT, TICK_LEFT, Page, high, long
from .booklet_rows import Block, head_block, rows_block
from .chapters import checks_of
from .pictures_plan import strings_picture
from .steps import CheckLine
from .words import Words

ROW, FIND_ROW = 10.2, 11.4
PLAN_WIDE, PLAN_TALL = 76.0, 80.0
HEAD = 6.5


@dataclass(frozen=True, slots=True)
class _String:
    """One row: a string and the two pegs that hold it; a peg that an earlier row drove stands already."""

    name: str
    pegs: tuple[Peg, Peg]
    stands: tuple[bool, bool]

    @property
    def nail(self) -> str:
        """The nail that the pegs driven in this row are taped from; '' where each has its own."""
        nails = {p.from_1 for p, there in zip(self.pegs, self.stands, strict=True) if not there}
        return nails.pop() if len(nails) == 1 else ""


def _text(peg: Peg, which: int = 0) -> str:
    reading = (peg.reading_1, peg.reading_2)[which]
    return reading.text.lstrip("-") if reading else ""


def _way(peg: Peg) -> str:
    away = peg.reading_1 is not None and peg.reading_1.metres < 0
    return f"{'AWAY from' if away else 'toward'} {peg.from_2}"


def _strings(work: SettingOut) -> tuple[list[_String], list[Peg]]:
    """Return the strings in their order, and the recovery pegs that hang on no string."""
    pegs = {p.name: p for p in work.pegs.pegs if p.purpose is Purpose.RECOVERY}
    found: list[_String] = []
    driven: set[str] = set()
    for pair, name in work.pegs.strings.items():
        ends = tuple(pegs[n] for n in pair.split("-") if n in pegs and pegs[n].method is Method.LINE)
        if len(ends) == 2:
            found.append(_String(name, (ends[0], ends[1]), (ends[0].name in driven, ends[1].name in driven)))
            driven |= {p.name for p in ends}
    return found, [p for p in pegs.values() if p.name not in driven]


def recovery_blocks(work: SettingOut) -> Iterator[Block]:
    """Yield the recovery pegs: a row a string, shape by shape, and what is written on each peg."""
    strings, others = _strings(work)
    yield _head(work)
    if strings:
        yield rows_block(_string_head, [ROW] * len(strings), lambda page, k, y: _string_row(page, strings[k], y))
    if others:
        yield rows_block(_other_head, [FIND_ROW] * len(others), lambda page, k, y: _other_row(page, others[k], y))


def _head(work: SettingOut) -> Block:
    words = ("**Each row:** stretch the string over the nail, toward or away from the name printed, and on.",
             "Hook tape 1 on the nail. Drive the R peg touching the string, at its reading. Then the second one.",
             "Write on each peg as drawn. Tie a rag to it. Tick. Take the string away.")
    wide = RIGHT - LEFT - PLAN_WIDE - 6.0
    example = next(p for p in work.pegs.pegs if p.purpose is Purpose.RECOVERY)
    picture = strings_picture(work, PLAN_WIDE, PLAN_TALL)

    def draw(page: Page, y: float) -> None:
        page.text(LEFT, y + 7.0, "R  Recovery pegs", 20, BOLD)
        page.picture(RIGHT - PLAN_WIDE, y, PLAN_WIDE, PLAN_TALL, picture)
        low = y + 12.0
        for line in words:
            low = page.words(LEFT, low, wide, line) + 1.0
        _peg(page, LEFT + 4.0, low + 3.0, f"{example.name}  {_text(example)} to {example.from_1}")
        page.text(RIGHT, y + PLAN_TALL + 4.0, "Dashed: the strings. Their names stand on the recovery plan.", 9.5,
                  anchor="end")

    tall = 12.0 + sum(high(line, wide) + 1.0 for line in words) + 22.0
    return Block(max(tall, PLAN_TALL + 7.0), draw)


def _peg(page: Page, x: float, y: float, words: str) -> None:
    """Draw a peg lying, with its writing."""
    page.box(x, y, 74.0, 9.0)
    page.line(x + 74.0, y, x + 86.0, y + 4.5, "edge")
    page.line(x + 74.0, y + 9.0, x + 86.0, y + 4.5, "edge")
    page.line(x, y + 4.5, x - 3.0, y + 4.5, "cut")
    page.text(x + 3.0, y + 6.3, words, 13, READING)
    page.text(x, y + 14.0, "written along the peg: its name, its reading, its nail", 9.5)


NAIL, FIRST, HALF = 13.0, 35.0, 68.0
"""Where a row's columns begin, mm from its left: the nail, the first peg; and the width of a peg with its reading."""


def _string_head(_: bool) -> Block:
    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        for x, words in ((0.0, "string"), (NAIL, "hook on"), (FIRST, "first peg, reading"),
                         (FIRST + HALF, "second peg, reading")):
            page.text(LEFT + x, y + 4.6, words, 9.5)
        page.line(LEFT, y + HEAD, RIGHT, y + HEAD)

    return Block(HEAD, draw)


def _string_row(page: Page, string: _String, y: float) -> None:
    page.text(LEFT, y + 6.7, string.name, 12, BOLD)
    page.text(LEFT + NAIL, y + 6.9, string.nail, 13, READING)
    for k, (peg, stands) in enumerate(zip(string.pegs, string.stands, strict=True)):
        left = LEFT + FIRST + HALF * k
        page.text(left, y + 5.0, peg.name, 13, READING)
        nail = "" if string.nail else f"hook on {peg.from_1}, "
        page.text(left, y + 9.0, "stands already" if stands else f"{nail}{_way(peg)}", 9.5)
        if not stands:
            page.text(left + HALF - 5.0, y + 7.2, _text(peg), 18, READING, "end")
    page.tick(y + ROW / 2, size=7.8)
    page.line(LEFT, y + ROW, RIGHT, y + ROW)


def _other_head(first: bool) -> Block:
    words = "Recovery pegs without a string: hook on, read, drive." if first else "Recovery pegs, continued"
    return Block(HEAD + 3.0, lambda page, y: page.text(LEFT, y + 6.5, words, 12, BOLD))


def _other_row(page: Page, peg: Peg, y: float) -> None:
    base = y + 7.4
    page.text(LEFT, base, peg.name, 13, READING)
    page.text(40.0, base, peg.from_1, 13, READING)
    second = _text(peg, 1) if peg.method is not Method.LINE else ""
    page.text(62.0, base, _way(peg) if not second else f"and {peg.from_2}, {peg.side} of the line", 12)
    if second:
        page.text(TICK_LEFT - 6.0, base, second, 18, READING, "end")
    left = TICK_LEFT - 6.0 - (long(second, 18, READING) + 8.0 if second else 0.0)
    page.text(left, base, _text(peg), 18, READING, "end")
    page.tick(y + FIND_ROW / 2, size=8.2)
    page.line(LEFT, y + FIND_ROW, RIGHT, y + FIND_ROW)


# ---- the way back

def find_blocks(work: SettingOut, title: str, under: str) -> Iterator[Block]:
    """Yield the ways back: how every peg that the dig takes is found again, and the check of each."""
    rows = sorted(work.pegs.recovery, key=lambda r: r.order)
    if not rows:
        return
    checks = {c.end: c for c in checks_of(Words(work), CheckKind.FOUND)}
    strings = dict(work.pegs.strings)
    yield head_block(title, (
        f"**{under}**",
        "**Each row:** stretch both strings, tight. Hang a plumb line (a stone on a thread) where they cross. Drive "
        "the peg under it. Check."))
    yield rows_block(_find_head, [_find_height(row) for row in rows],
                     lambda page, k, y: _find_row(page, rows[k], strings, checks.get(rows[k].peg), y))
    left = [c for name, c in checks.items() if name not in {row.peg for row in rows}]
    if left:
        yield check_rows(left, "Measure, and write what you read")


def _find_height(row: Recovery) -> float:
    return FIND_ROW if row.method == "crossing" else FIND_ROW + 8.0


def _find_head(first: bool) -> Block:
    def draw(page: Page, y: float) -> None:
        page.line(LEFT, y, RIGHT, y, "cut")
        page.text(LEFT, y + 4.6, "peg", 9.5)
        page.text(LEFT + 21.0, y + 4.6, "where these cross", 9.5)
        page.text(TICK_LEFT - 5.0 - BOX_WIDE, y + 4.6, "check, good from ... to", 9.5, anchor="end")
        page.text(TICK_LEFT - 1.5 - BOX_WIDE, y + 4.6, "I read", 9.5)
        page.line(LEFT, y + HEAD, RIGHT, y + HEAD)

    return Block(HEAD, draw)


def _ways(row: Recovery, strings: dict[str, str]) -> tuple[str, str]:
    """Return the two lines that say how a peg is found again."""
    if row.method == "crossing":
        one, two = (f"string {strings[s]}, {s}" if s in strings else s for s in (row.from_1, row.from_2))
        return one.replace("-", " to "), two.replace("-", " to ")
    if row.method == "line":
        away = row.reading_1 is not None and row.reading_1.metres < 0
        return f"hook on {row.from_1}", f"{'away from' if away else 'toward'} {row.from_2}, at the reading"
    return f"tape 1 on {row.from_1}, tape 2 on {row.from_2}", f"{row.side} of {row.from_1} to {row.from_2}"


def _find_row(page: Page, row: Recovery, strings: dict[str, str], check: CheckLine | None, y: float) -> None:
    page.text(LEFT, y + 7.4, row.peg, 13, READING)
    for k, words in enumerate(_ways(row, strings)):
        page.text(LEFT + 21.0, y + 4.8 + 4.7 * k, words, 11)
    tall = _find_height(row)
    if row.method != "crossing":
        readings = [r.text.lstrip("-") for r in (row.reading_1, row.reading_2) if r]
        for k, text in enumerate(readings):
            page.text(LEFT + 21.0 + 48.0 * k, y + tall - 2.2, text, 18, READING)
    if check:
        right = TICK_LEFT - 5.0 - BOX_WIDE
        page.text(right, y + 4.2, f"{check.start} to {check.end}", 9.5, anchor="end")
        page.text(right, y + 9.6, check_words(check), 13, READING, "end")
        box(page, y + FIND_ROW / 2)
    page.tick(y + FIND_ROW / 2, size=8.2)
    page.line(LEFT, y + tall, RIGHT, y + tall)
