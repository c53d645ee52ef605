"""Cover and 'before you start': which job, which issue, what is pegged on which page, and how to work.

Hours are a rule of thumb (common practice, no source): half an hour for the marks and six minutes a peg.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..geometry.features import Purpose
from ..geometry.setout import SettingOut
from .booklet_page import BOLD, LEFT, READING, RIGHT, WORDS, Page, high, long
from .chapters import Chapter
from .gates import GENERAL, warnings_of
from .lettering import broken
from .pictures_plan import plan_picture
from .signs import peg_sign

HOURS_MARKS, MINUTES_PEG = 0.5, 6.0
MOST_MARKS, MARK_ROW = 8, 10.5
"""Marks that the cover describes at most, two in a row; height of a row, mm."""

LISTED, LEAST_PITCH = 120.0, 4.7
"""Height of the list on a cover with two rows of marks, and of a line of it at the least, mm."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the cover's list: tab, name, what stands there, page."""

    tab: str
    name: str
    steps: str
    page: int


def kit(work: SettingOut) -> str:
    """Return what to bring."""
    driven = sum(p.purpose is not Purpose.CONTROL for p in work.pegs.pegs)
    tape = work.pegs.options.tape
    length = f"{round(tape.length / 0.3048)} ft" if tape.feet else f"{tape.length:.0f} m"
    pegs = math.ceil(driven * 1.1 / 5) * 5
    return (f"2 tapes of {length} · hammer · {pegs} pegs, each with a nail in its top · {pegs} spare nails · string "
            "that does not stretch · board with a square corner · plumb line · caps for steel pins · marker · "
            "pencil (4H) · rags · dry sand · this booklet in a clear sleeve on a board")


def hours(work: SettingOut) -> str:
    """Return who is needed and about how long it takes."""
    driven = sum(p.purpose is not Purpose.CONTROL for p in work.pegs.pegs)
    time = max(1, round(HOURS_MARKS + driven * MINUTES_PEG / 60))
    plural = "s" if time > 1 else ""
    return f"You and one helper, about {time} hour{plural}. Stop for thunder, or wind that lifts the tape."


def cover(work: SettingOut, chapters: Sequence[Chapter], lines: Sequence[Line], apart: bool = False) -> Page:
    """Return the cover; `apart` says that the list of shapes is a page of its own."""
    project = work.garden.project
    page = Page("Cover")
    y = 26.0
    for line in broken(project.title, 124.0, READING, 8.0)[:2]:
        page.text(LEFT, y, line, 30 if long(line, 30, READING) <= 124 else 22, READING)
        y += 11.0
    page.text(LEFT, y - 1.0, "Pegging booklet", 18, BOLD)
    about = " · ".join(w for w in (project.site, f"job {project.number}" if project.number else "") if w)
    page.words(LEFT, y + 1.5, 124.0, about, 11)
    _revision(page, project.revision, project.revisions[-1].date if project.revisions else project.date)
    tall = LISTED + 4.0 - _more(work)
    page.picture(LEFT, 51.0, 98.0, tall, plan_picture(work, chapters, 98.0, tall))
    _listed(page, lines, apart, tall - 4.0)
    _marks(page, work)
    _bring(page, work)
    return page


def most_listed(work: SettingOut) -> int:
    """Return how many lines the cover has room for; a longer list is a page of its own."""
    return int((LISTED - _more(work)) / LEAST_PITCH)


def _more(work: SettingOut) -> float:
    """Return how much higher than two rows the list of marks is, mm."""
    return MARK_ROW * max(_mark_rows(work) - 2, 0)


def _mark_rows(work: SettingOut) -> int:
    return -(-min(len(work.garden.site.marks), MOST_MARKS) // 2)


def _revision(page: Page, mark: str, date: str) -> None:
    page.frame(150.0, 17.0, 48.0, 28.0, 0.9)
    page.text(153.5, 23.5, "revision", 10)
    page.text(154.0, 38.5, mark or "-", 32, READING)
    page.text(168.0, 30.0, date, 11, BOLD)
    page.words(168.0, 32.0, 29.0, "The phone page must show the same.", 9)


def _listed(page: Page, lines: Sequence[Line], apart: bool, tall: float) -> None:
    x, y = 122.0, 56.0
    page.text(x, y - 1.5, "What you will peg", 14, BOLD)
    if apart:
        page.text(x, y + 6.0, "The list is on page 2.", 12)
        return
    pitch = min(10.5, tall / max(len(lines), 1))
    for k, line in enumerate(lines):
        _entry(page, line, x, y + pitch * k, pitch)


def _entry(page: Page, line: Line, x: float, y: float, pitch: float) -> None:
    """Draw one line of the list, 76 mm wide: name over steps and page, or beside them where room is scarce."""
    tall, right = min(8.4, pitch - 0.8), x + 76.0
    page.tab(x, y + 1.0, 8.4, tall, line.tab, 12 if tall > 6.5 else 9 if tall > 4.4 else 8)
    page.box(right - 8.0, y + 1.0, 8.0, min(8.0, tall))
    where = f"{line.steps}{' · ' if line.steps else ''}page {line.page}"
    name, room = line.name[:1].upper() + line.name[1:], 56.0
    if pitch < 9.0:
        page.text(right - 10.0, y + 0.9 + tall / 2 + 1.2, where, 9, anchor="end")
        room -= long(where, 9) + 3.5
    else:
        page.text(x + 11.5, y + 8.2, where, 9)
    points = 11.0 if pitch >= 9.0 else 10.0 if long(name, 10.0, BOLD) <= room else 9.0
    while long(name, points, BOLD) > room:
        name = name[:-1]
    page.text(x + 11.5, y + (4.2 if pitch >= 9.0 else 0.9 + tall / 2 + 1.2), name, points, BOLD)


def contents(lines: Sequence[Line]) -> Page:
    """Return the list as a page of its own, for a garden with more shapes than the cover can list."""
    page = Page("What you will peg")
    page.text(LEFT, 24.0, "What you will peg", 20, BOLD)
    pitch = min(9.2, 240.0 / -(-len(lines) // 2))
    half = -(-len(lines) // 2)
    for k, line in enumerate(lines):
        _entry(page, line, LEFT + 94.0 * (k // half), 30.0 + pitch * (k % half), pitch)
    return page


def _marks(page: Page, work: SettingOut) -> None:
    marks = work.garden.site.marks
    y = 182.0 - _more(work)
    page.text(LEFT, y, f"The {len(marks)} marks", 14, BOLD)
    y += 2.0
    for k, mark in enumerate(marks[:MOST_MARKS]):
        x = LEFT + 92.0 * (k % 2)
        top = y + MARK_ROW * (k // 2)
        page.marks += peg_sign("control", page.at(x + 3.0, top + 4.0), layer="marks")
        page.text(x + 8.0, top + 5.4, mark.name, 13, READING)
        words = ", ".join(w for w in (mark.what, mark.point) if w)
        left = x + 10.0 + long(mark.name, 13, READING)
        for n, line in enumerate(broken(words, x + 88.0 - left, WORDS, 10 * 0.3528 * 0.729)[:2]):
            page.text(left, top + 4.2 + 4.4 * n, line, 10)


def _bring(page: Page, work: SettingOut) -> None:
    y = 186.0 - _more(work) + MARK_ROW * _mark_rows(work)
    for head, words in (("Bring", kit(work)), ("People", hours(work))):
        page.text(LEFT, y + 4.3, head, 12, BOLD)
        y = page.words(LEFT + 22.0, y, RIGHT - LEFT - 22.0, words, 10.5) + 1.0
    warning = next((w for w in warnings_of(work) if "cables" in w), "")
    wide = RIGHT - LEFT - 28.0
    text = f"**{warning.replace('. Before', '.** Before', 1)} {GENERAL}"
    tall = high(text, wide, 10.5) + 4.5
    page.frame(LEFT, y + 1.0, RIGHT - LEFT, tall)
    page.warning_sign(LEFT + 5.0, y + 1.0 + tall / 2 - 5.5, 12.0)
    page.words(LEFT + 23.0, y + 3.2, wide, text, 10.5)
    y += tall + 5.5
    _bar(page, LEFT, y + 2.0)
    page.text(LEFT + 104.0, y + 3.0, "100 mm. If it is not, print at actual size.", 10)
    y += 11.0
    for x, end, word in ((LEFT, 92.0, "Pegged by"), (97.0, 150.0, "helper"), (155.0, RIGHT, "date")):
        page.text(x, y + 2.0, word, 11)
        page.line(x + long(word, 11) + 2.0, y + 2.4, end, y + 2.4)


def _bar(page: Page, x: float, y: float) -> None:
    """Draw the bar of exactly 100 mm."""
    page.line(x, y, x + 100.0, y, "cut")
    for k in range(11):
        page.line(x + 10.0 * k, y, x + 10.0 * k, y - (2.6 if k % 5 == 0 else 1.6), "edge" if k % 5 == 0 else "thin")


_WORDS = (
    ("Hook", "Put zero of the tape on the nail. Keep it there."),
    ("Pull", "Low, straight, tight. Read at the nail, square to the tape."),
    ("Cross", "Bring both tapes together at their readings. There is the peg."),
    ("Drive", "Hammer the peg upright. Then put its nail at the place, and read again."),
    ("Check", "Measure as told. Write what you read. Is it between the two readings? Tick."),
    ("Once", "Set it up, and leave it for all rows."),
    ("Each row", "Do it again for every row, and tick every row."),
    ("STOP", "Drive nothing more. Go to the last page."),
    ("LEFT", "Your left hand, when you stand and face as told. Then look for the side named."),
)

_RULES = (
    "One reads and says every figure singly: 'one one, point, zero one five'. The other says it back.",
    "Zero is where the tape says zero. Look at its end before the first peg; look again after lunch.",
    "Circle a step when you begin it. Tick it when it is good. Never tick two at once.",
    "Never pull a good peg out. A string, a tape or a spade that knocks one: do its step again.",
    "Tapes are held level. On a slope hold the low end up, and drop a plumb line to the nail.",
)


def before(work: SettingOut) -> Page:
    """Return 'before you start': the words, the signs and the rules, read once by both."""
    page = Page("Before you start")
    page.text(LEFT, 24.0, "Before you start", 20, BOLD)
    page.text(LEFT, 31.0, "Read this once, together. It takes two minutes.", 12)
    y = _tape(page, 40.0, work.pegs.options.tape.feet)
    page.text(LEFT, y, "The words", 14, BOLD)
    y += 3.0
    for head, words in _WORDS:
        page.text(LEFT, y + 4.6, head, 12, BOLD)
        y = page.words(LEFT + 28.0, y, RIGHT - LEFT - 28.0, words) + 1.2
    page.text(LEFT, y + 7.0, "The pegs", 14, BOLD)
    y = _signs(page, y + 10.0)
    page.text(LEFT, y + 5.0, "Five rules", 14, BOLD)
    y += 8.0
    for k, rule in enumerate(_RULES, 1):
        page.text(LEFT, y + 4.6, f"{k}", 12, READING)
        y = page.words(LEFT + 8.0, y, RIGHT - LEFT - 8.0, rule) + 1.2
    return page


def _tape(page: Page, y: float, feet: bool) -> float:
    """Draw a piece of tape with a reading pointed out; return the y below."""
    page.text(LEFT, y, "How to read a number", 14, BOLD)
    top, pitch = y + 10.0, 5.2
    page.box(LEFT, top, RIGHT - LEFT, 11.0)
    for k in range(1, 34):
        big = k % 12 == 0 if feet else k % 10 == 0
        x = LEFT + pitch * k
        page.line(x, top, x, top + (6.0 if big else 4.5 if k % (3 if feet else 5) == 0 else 2.8), "mark")
        if big:
            words = f"{11 + k // 12}'" if feet else f"{10.9 + k / 100:.2f}"
            page.text(x, top + 10.0, words, 10, READING, "middle")
    x = LEFT + pitch * (19.75 if feet else 16.5)
    page.line(x, top - 3.0, x, top + 7.5, "cut")
    said = ("12' 7 3/4\"", "twelve feet, seven and three quarters") if feet else \
        ("11.065", "one one, point, zero six five")
    page.text(x, top - 4.2, said[0], 18, READING, "middle")
    page.text(LEFT, top + 17.0, f"Say: {said[1]}. " + ("Feet, then inches." if feet else
              "Metres, then centimetres, then 5 for the half."), 12)
    return top + 27.0


def _signs(page: Page, y: float) -> float:
    rows = (("control", "mark: fixed, never moved"), ("centre", "centre of a circle"),
            ("tangent", "two edges join smoothly"), ("corner", "corner"), ("edge", "on an edge"), ("post", "post"),
            ("focus", "string peg of an oval"),
            ("recovery", "recovery peg: to find another again"))
    for k, (kind, words) in enumerate(rows):
        x, top = LEFT + 92.0 * (k % 2), y + 7.4 * (k // 2)
        page.marks += peg_sign(kind, page.at(x + 4.0, top + 3.4), layer="marks")
        page.text(x + 10.0, top + 4.8, words, 12)
    return y + 7.4 * 4 + 3.0
