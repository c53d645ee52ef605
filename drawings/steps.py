"""The pegging, step by step, in words: what booklet and phone page both say.

Takes: pegs in working order. Gives: steps: one peg or one table of pegs that share their hooks, verb first, what to
hook where, which side, and the check with its good range. Readings are the very text of pegs.csv. Knows nothing of
pages or screens.

One action is one peg and one tick. Pegs share a table only when shape, method, hooks and side are the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import groupby

from ..geometry.features import Purpose
from ..geometry.pegs.peg import Check, Method, Peg
from .words import Words, paces, what_it_is

MOST_CROSSED = 6
MOST_ALONG = 8
GOOD_ANGLE = (40.0, 140.0)
"""Degrees: a peg whose tapes cross outside this stands alone and is read twice."""


FLAT = "They cross flat. Read both tapes twice."

BY_BOARD = 0.6
"""Metres out from a line up to which the corner of a board is square enough; beyond it a 3-4-5 of string (common
practice, no source)."""


class Form(StrEnum):
    """How a step is done; each form has its own words and picture."""

    FIXED = "fixed"
    TIES = "ties"
    THREE = "three tapes"
    RADIUS = "radius"
    LINE = "line"
    CIRCLE = "circle"
    OFFSET = "offset"
    TANGENT = "tangent"
    CHORD = "chord"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hook:
    """One tape: what it does, where it is hooked, the landmark there, the reading ('' when rows carry it)."""

    tape: int
    lead: str                       # 'Hook on', 'Along, from', 'Out, to the LEFT'
    at: str = ""
    word: str = ""
    reading: str = ""
    paces: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLine:
    """A check measure: between two names, the range that is good, and what it proves."""

    start: str
    end: str
    word: str
    low: str
    high: str
    middle: str
    proves: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One peg of a step: its readings in the order of the hooks, where it is sighted to, its check."""

    peg: str
    purpose: Purpose
    readings: tuple[str, ...]
    toward: str = ""
    check: CheckLine | None = None
    remark: str = ""
    run: float = 0.0                # metres along a string, and out from it, for the picture alone
    out: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One block: a single peg, or a table of pegs with the same hooks."""

    number: int
    form: Form
    title: str
    what: str
    hooks: tuple[Hook, ...]
    once: tuple[str, ...]           # set up and stays
    each: tuple[str, ...]           # done for every row, ending in Drive
    rows: tuple[Row, ...]
    hand: str = ""                  # 'LEFT' or 'RIGHT'
    stand: tuple[str, str] = ("", "")   # stand at, face
    cautions: tuple[str, ...] = ()

    @property
    def pegs(self) -> tuple[str, ...]:
        """The pegs driven in this step."""
        return tuple(row.peg for row in self.rows)


def _alone(peg: Peg) -> bool:
    flat = peg.angle is not None and not GOOD_ANGLE[0] <= peg.angle <= GOOD_ANGLE[1]
    loose = not peg.inside and peg.method is not Method.LINE       # on a string, its ends are what is loose
    return bool(peg.from_3) or loose or (flat and peg.method is Method.TIES)


def _key(peg: Peg) -> tuple[object, ...]:
    """Pegs with equal keys that follow each other share a table."""
    if _alone(peg):
        return (peg.name,)
    if peg.method is Method.LINE and peg.purpose is Purpose.CURVE:
        return ("circle", peg.from_1, peg.reading_1.text.lstrip("-") if peg.reading_1 else "")
    if peg.method is Method.RADIUS:
        return ("radius", peg.from_1, peg.from_2, peg.side, peg.reading_1.text if peg.reading_1 else "")
    if peg.method in (Method.OFFSET, Method.CHORD):
        left = peg.reading_2 is None or peg.reading_2.metres >= 0
        back = peg.reading_1 is not None and peg.reading_1.metres < 0
        return (peg.method, peg.from_1, peg.from_2, left, back)
    return (peg.method, peg.from_1, peg.from_2, peg.side)


def batches(pegs: Sequence[Peg]) -> Iterator[tuple[Peg, ...]]:
    """Yield runs of pegs that may share a step, in their order, none longer than a table holds."""
    for _, run in groupby(pegs, key=_key):
        rows = list(run)
        most = MOST_CROSSED if rows[0].method in (Method.TIES, Method.RADIUS) else MOST_ALONG
        for begin in range(0, len(rows), most):
            yield tuple(rows[begin:begin + most])


def check_line(check: Check, words: Words) -> CheckLine:
    """Return a check measure with its words."""
    return CheckLine(start=check.start, end=check.end, word=words.of(check.start), low=check.low.text,
                     high=check.high.text, middle=check.distance.text, proves=check.proves)


def _own_check(peg: Peg, words: Words) -> CheckLine | None:
    if not peg.check_from or peg.check_reading is None or peg.check_limit is None:
        return None
    low, high = words.work.pegs.options.tape.span(peg.check_reading.metres, peg.check_limit)
    return CheckLine(start=peg.check_from, end=peg.name, word=words.of(peg.check_from), low=low.text, high=high.text,
                     middle=peg.check_reading.text)


def _title(pegs: Sequence[Peg]) -> str:
    if len(pegs) == 1:
        mark = "extra mark" if pegs[0].purpose is Purpose.AUXILIARY else "peg"
        return f"Drive {mark} {pegs[0].name}"
    numbers = ("", "", "two", "three", "four", "five", "six", "seven", "eight")
    return f"Drive {numbers[len(pegs)]} pegs {pegs[0].name} to {pegs[-1].name}"


def step_of(pegs: Sequence[Peg], number: int, words: Words) -> Step:
    """Return one step for pegs that share their hooks."""
    first = pegs[0]
    if first.method is Method.LINE and first.purpose is Purpose.CURVE:
        body = _circle(pegs, words)
    elif first.method is Method.LINE:
        body = _on_line(pegs, words)
    elif first.method in (Method.OFFSET, Method.CHORD):
        body = _along_and_out(pegs, words)
    else:
        body = _crossed(pegs, words)
    return Step(number=number, title=_title(pegs), what=_what(pegs),
                form=body.form, hooks=body.hooks, once=body.once, each=body.each, rows=body.rows, hand=body.hand,
                stand=body.stand, cautions=body.cautions)


def _what(pegs: Sequence[Peg]) -> str:
    if pegs[0].purpose is Purpose.ASIDE:
        return _aside(pegs[0])
    return what_it_is(pegs[0]) if len(pegs) == 1 else _together(pegs)


def _aside(peg: Peg) -> str:
    """Return what a peg beside an edge is, with how far beside and on which side."""
    return f"{peg.remark.split(', ')[0]} of the {peg.element}"


def _together(pegs: Sequence[Peg]) -> str:
    kinds = {p.purpose for p in pegs}
    if not pegs[0].element:
        return "extra marks that other pegs hang on"
    if len(kinds) == 1 and Purpose.CORNER in kinds:
        return f"corners of the {pegs[0].element}"
    if len(kinds) == 1 and Purpose.POST in kinds:
        return f"posts of the {pegs[0].element}"
    edge = kinds <= {Purpose.CURVE, Purpose.LINE}
    return f"on the edge of the {pegs[0].element}" if edge else f"the {pegs[0].element}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Body:
    form: Form
    hooks: tuple[Hook, ...]
    once: tuple[str, ...]
    each: tuple[str, ...]
    rows: tuple[Row, ...]
    hand: str = ""
    stand: tuple[str, str] = ("", "")
    cautions: tuple[str, ...] = ()


def _text(peg: Peg, which: int) -> str:
    reading = (peg.reading_1, peg.reading_2, peg.reading_3)[which]
    return reading.text.lstrip("-") if reading else ""


def _row(peg: Peg, words: Words, *readings: str, toward: str = "") -> Row:
    along, out = (abs(r.metres) if r else 0.0 for r in (peg.reading_1, peg.reading_2))
    return Row(peg=peg.name, purpose=peg.purpose, readings=readings, toward=toward, check=_own_check(peg, words),
               remark=peg.remark, run=along, out=out)


def _hook(tape: int, lead: str, at: str, pegs: Sequence[Peg], which: int, words: Words) -> Hook:
    texts = {_text(p, which) for p in pegs}
    one = pegs[0]
    value = (one.reading_1, one.reading_2, one.reading_3)[which]
    shared = len(texts) == 1
    return Hook(tape=tape, lead=lead, at=at, word=words.of(at), reading=texts.pop() if shared else "",
                paces=paces(value.metres) if shared and value else "")


def _crossed(pegs: Sequence[Peg], words: Words) -> _Body:
    """Ties, three tapes, radius with a second tape. The marks are ordered so that the peg lies to the LEFT."""
    one = pegs[0]
    order = (0, 1) if one.side != "right" else (1, 0)
    names = (one.from_1, one.from_2)
    marks = (names[order[0]], names[order[1]])
    hand, side = words.side(words.place(marks[0]), words.place(marks[1]), one.at)
    hooks = [_hook(tape + 1, "Hook on", marks[tape], pegs, order[tape], words) for tape in (0, 1)]
    rows = tuple(_row(p, words, _text(p, order[0]), _text(p, order[1]), *([_text(p, 2)] if p.from_3 else []))
                 for p in pegs)
    subject = f"{one.name} is" if len(pegs) == 1 else "All the pegs are"
    once = (f"Stand at {marks[0]}. Face {marks[1]}.", f"{subject} on your {hand}, the {side} side.")
    form, each = (Form.RADIUS if one.method is Method.RADIUS else Form.TIES), ("Cross the tapes.", "Drive.")
    if one.from_3:
        hooks.append(_hook(3, "Hook on", one.from_3, pegs, 2, words))
        form, each = Form.THREE, ("Cross all three tapes.", "Drive in the middle of the small triangle.")
    weak = () if not _alone(one) or one.from_3 else (FLAT,)
    return _Body(form=form, hooks=tuple(hooks), once=once, each=each, rows=rows, hand=hand, stand=marks, cautions=weak)


def _circle(pegs: Sequence[Peg], words: Words) -> _Body:
    hook = _hook(1, "Hook on", pegs[0].from_1, pegs, 0, words)
    rows = tuple(_row(p, words, _text(p, 0), toward=_sight(p)) for p in pegs)
    each = ("A helper stands at the mark.", "Pull the tape straight in line with the mark.",
            "Drive the peg at the reading.")
    return _Body(form=Form.CIRCLE, hooks=(hook,), once=(), each=each, rows=rows)


def _sight(peg: Peg) -> str:
    away = peg.reading_1 is not None and peg.reading_1.metres < 0
    return f"{peg.from_2}, away from it" if away else peg.from_2


def _away(peg: Peg) -> str:
    return _sight(peg) if peg.reading_1 is not None and peg.reading_1.metres < 0 else ""


def _past(pegs: Sequence[Peg], words: Words) -> str:
    """Return where the string goes on past its ends: only where a peg stands beyond one."""
    one = pegs[0]
    length = words.place(one.from_1).distance(words.place(one.from_2))
    readings = [p.reading_1.metres for p in pegs if p.reading_1 is not None]
    before, beyond = any(r < 0 for r in readings), any(r > length - END for r in readings)
    past = "both ends" if before and beyond else one.from_1 if before else one.from_2 if beyond else ""
    return f", and on past {past}" if past else ""


END = 0.05
"""A peg nearer than this to the far end of its string, or beyond it, wants the string to go on, metres."""


def _on_line(pegs: Sequence[Peg], words: Words) -> _Body:
    one = pegs[0]
    hook = _hook(1, "Hook on", one.from_1, pegs, 0, words)
    rows = tuple(_row(p, words, _text(p, 0), toward=_away(p)) for p in pegs)
    once: tuple[str, ...] = (f"Stretch a string from {one.from_1} to {one.from_2}{_past(pegs, words)}.",)
    if any(p.reading_1 is not None and p.reading_1.metres < 0 for p in pegs):
        once += (f"Measure away from {one.from_2}{' where the row says so' if len(pegs) > 1 else ''}.",)
    return _Body(form=Form.LINE, hooks=(hook,), once=once, rows=rows,
                 each=("Drive the peg touching the string, at the reading.",))


def _along_and_out(pegs: Sequence[Peg], words: Words) -> _Body:
    one = pegs[0]
    if one.method is Method.OFFSET:
        start, end = one.from_1.split("-")
    else:
        start, end = one.from_1, one.from_2
    back = one.reading_1 is not None and one.reading_1.metres < 0
    out = one.reading_2.metres if one.reading_2 else 0.0
    hand, side = words.side(words.place(start), words.place(end), one.at)
    if back:                        # walked the other way, the other hand
        hand = "RIGHT" if out >= 0 else "LEFT"
    hooks = (_hook(1, "Along, from", start, pegs, 0, words),
             _hook(2, f"Out, to the {hand}", "", pegs, 1, words))
    rows = tuple(_row(p, words, _text(p, 0), _text(p, 1)) for p in pegs)
    if back:
        once: tuple[str, ...] = (f"Stretch a string from {end} over {start}, and on.",
                                 f"Hook tape 1 on {start}. Face away from {end}.")
    else:
        once = (f"Lay tape 1 from {start} to {end}, zero on {start}.", f"Stand at {start}. Face {end}.")
    widest = max(abs(p.reading_2.metres) for p in pegs if p.reading_2) if out else 0.0
    square = "the corner of the board" if widest <= BY_BOARD else "a 3-4-5 of string"
    each = ("Put a pin at the first reading.",
            f"Measure out to your {hand}, the {side} side, square to the line by {square}.",
            "Drive at the second reading.")
    form = Form.TANGENT if back else Form.OFFSET if one.method is Method.OFFSET else Form.CHORD
    return _Body(form=form, hooks=hooks, once=once, each=each, rows=rows, hand=hand, stand=(start, end))
