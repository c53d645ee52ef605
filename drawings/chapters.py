"""The pegging, shape by shape: its steps, the edges that are drawn, and what is measured before the next shape.

Takes: a SettingOut. Gives: chapters in working order, step numbers running through. Shared by booklet and phone page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from ..geometry.features import Purpose
from ..geometry.pegs.peg import Check, CheckKind, Peg
from ..geometry.setout import SettingOut
from .closing_table import across, closing_table, enough
from .edges import Edges, edges_of
from .steps import CheckLine, Step, batches, check_line, step_of
from .words import Words

NONE = Edges()

NOT_DRIVEN = (Purpose.CONTROL, Purpose.RECOVERY, Purpose.LEVEL)

TRUING = ("Measure all. Where one is not good, move nails until every line is as near its middle reading as can be. {} "
          "never moves, {} only in line with it. Then measure all of them again.")

SHARING = ("Move the nails of the extra marks until every line is as near its middle reading as can be: what is over "
           "and under is shared out. The other marks never move; one set in line moves along its string only. Go round "
           "twice.")

SPACING = "Move the posts in between until every bay is as near its middle reading as can be. The end posts stay."


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Check measures that are done together: what they are, what to do if one is not good.

    `after` is the number of the chapter's steps that come before them; None: all, and its edges too.
    """

    head: str
    sentence: str
    checks: tuple[CheckLine, ...]
    after: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """One shape, whole before the next begins: number, name, tolerance in words, steps, edges, check measures."""

    number: int
    element: str
    name: str
    kind: str
    within: str
    steps: tuple[Step, ...]
    edges: Edges = NONE
    tables: tuple[Table, ...] = ()
    about: str = ""
    stage: int = 1


def checks_of(words: Words, kind: CheckKind, element: str | None = None) -> tuple[CheckLine, ...]:
    """Return the checks of one kind (and one element) as lines with the words of their garden."""
    return tuple(check_line(c, words) for c in words.work.pegs.checks
                 if c.kind is kind and (element is None or c.element == element))


def chapters(work: SettingOut) -> tuple[Chapter, ...]:
    """Return all shapes in working order; step numbers run through. Auxiliary marks come first as chapter 0."""
    words = Words(work)
    driven = [p for p in sorted(work.pegs.pegs, key=lambda p: p.order) if p.purpose not in NOT_DRIVEN]
    kinds = {placed.name: placed.kind for placed in work.garden.elements}
    closing = closing_table(work)
    found: list[Chapter] = []
    number = 1
    for element, pegs in groupby(driven, key=lambda p: p.element):
        own = list(pegs)
        steps: list[Step] = []
        firm = _firm(work, element, own)
        for batch in (*batches(own[:firm]), *batches(own[firm:])):
            steps.append(step_of(batch, number, words))
            number += 1
        after = len(tuple(batches(own[:firm]))) if firm < len(own) else None
        found.append(Chapter(
            number=own[0].work, element=element, name=element or "Extra marks", kind=kinds.get(element, ""),
            within=_within(own), steps=tuple(steps), edges=edges_of(work, element, own) if element else NONE,
            tables=tuple(_tables(words, closing, element, after)), about=_about(own), stage=own[0].stage))
    return tuple(found)


def _within(pegs: Sequence[Peg]) -> str:
    limits = [p.position_limit for p in pegs if p.position_limit is not None]
    if not limits:
        return ""
    least = round(min(limits))
    return f"Within {least} mm. Read every tape twice." if least <= 10 else \
        f"Within {least} mm of the drawing is good enough."


def _about(pegs: Sequence[Peg]) -> str:
    worst = max((p.error for p in pegs), default=0.0)
    about = f"{-(-2 * worst // 5) * 5:.0f} mm"
    if len(pegs) == 1:
        return f"Ticked? The peg is right, to about {about}."
    return f"All {len(pegs)} ticked? The pegs are right, to about {about}."


def _firm(work: SettingOut, element: str, pegs: Sequence[Peg]) -> int:
    """Return how many pegs of a shape are driven before it is trued up; the rest are set from where they stand."""
    if element not in work.pegs.held:
        return len(pegs)
    return 1 + max((k for k, p in enumerate(pegs) if p.primary or p.purpose is Purpose.POST), default=len(pegs) - 1)


def _tables(words: Words, closing: Sequence[Check], element: str, after: int | None) -> Iterator[Table]:
    work = words.work
    true = checks_of(words, CheckKind.TRUE, element)
    if true and not element:
        yield Table(head="Measure between the marks", sentence=SHARING, checks=true)
    if not element:
        return
    lines = across(work, element, closing)
    some = enough(lines)
    more = f"{len(lines) - len(some)} more lines across it stand in checks.csv." if len(lines) > len(some) else ""
    trued = TRUING.format(*work.pegs.held[element]) if element in work.pegs.held else ""
    for head, sentence, checks, when in (
            ("Measure the sides and diagonals", trued, true, after),
            ("Measure post to post", SPACING if trued else "", checks_of(words, CheckKind.RUN, element), after),
            ("Measure across", more, tuple(check_line(c, words) for c in some), None)):
        if checks:
            yield Table(head=head, sentence=sentence, checks=checks, after=when)
