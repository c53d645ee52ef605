"""Strings on a recovery plan: whole where they are few, else their ends and the pegs on them without long middles.

Takes: pegs, the ways back and a view. Gives: dashed marks in paper millimetres. The reading stands in the tables and
in the booklet; the plan says where each recovery peg stands and which way its string runs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..geometry.kernel.path import Path
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Line
from .brief import Brief
from .draft import Nib
from .once import Drawn
from .sheet import Mark, View

APART = 0.25
"""A string nearer to a line than this runs along it to the eye, mm."""

FEW = 12
"""So many strings are drawn whole: the eye follows each across the plan."""

TAIL, ARM = 6.6, 4.0
"""So much of a string is drawn from a recovery peg, and to either side of a peg that it finds, mm: whole dashes."""

GAP = 12.0
"""A shorter middle is not left out, mm."""

CLEAR_OF_RECOVERY, CLEAR_OF_PEG, SCRAP = 1.6, 1.35, 0.5
"""A string begins so far from a recovery peg, and ends so far from a peg beyond; a shorter piece is not drawn, mm."""

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stretched:
    """A string or tape on paper: its two ends, and how far along it recovery pegs and pegs found stand, mm."""

    start: Point
    end: Point
    held: tuple[float, ...]
    found: tuple[float, ...]

    @property
    def length(self) -> float:
        """Length on paper, mm."""
        return self.start.distance(self.end)

    def spans(self, whole: bool) -> tuple[Span, ...]:
        """Return the parts that are drawn, mm along it; all of it if `whole`."""
        low, high = CLEAR_OF_RECOVERY, self.length - CLEAR_OF_PEG
        if whole:
            return ((low, high),) if high - low > SCRAP else ()
        near = sorted([(at - TAIL, at + TAIL) for at in self.held] + [(at - ARM, at + ARM) for at in self.found])
        drawn: list[Span] = []
        for a, b in ((max(low, a), min(high, b)) for a, b in near):
            if drawn and a - drawn[-1][1] < GAP:
                drawn[-1] = (drawn[-1][0], max(b, drawn[-1][1]))
            else:
                drawn.append((a, b))
        return tuple((a, b) for a, b in drawn if b - a > SCRAP)


def strings(brief: Brief, view: View, under: Sequence[Mark] = ()) -> tuple[Mark, ...]:
    """Return the strings by which pegs are found again, dashed, where `under` draws no line yet."""
    nib = Nib("marks", "thin", "recovery", classes=("recovery-line",))
    once, marks = Drawn.of(under), []
    all_of_them = sorted(stretched(brief, view), key=lambda s: -s.length)
    for string in all_of_them:
        for a, b in string.spans(len(all_of_them) <= FEW):
            way = (string.end - string.start).unit()
            first, last = (b, a) if b + SCRAP > string.length - CLEAR_OF_PEG else (a, b)  # a dash begins at the peg
            piece = Path((Line(string.start + way * first, string.start + way * last),))
            marks += [nib.path(p) for p in once.once(piece, APART)]
    return tuple(marks)


def parted(brief: Brief, view: View) -> bool:
    """Say whether the plan leaves out the middles of some strings."""
    found = list(stretched(brief, view))
    return len(found) > FEW and any(len(s.spans(whole=False)) > 1 for s in found)


def stretched(brief: Brief, view: View) -> Iterator[Stretched]:
    """Yield each string from end to end, a peg that it finds beyond its recovery pegs included; each tape."""
    at = {p.name: view.point(p.at) for p in brief.pegs}
    served: dict[tuple[str, ...], list[str]] = {}
    for way in brief.ways:
        ends = (way.from_1, way.from_2)
        if way.method == "crossing":
            lines = [tuple(end.split("-")) for end in ends]
        else:
            lines = [ends] if way.method == "line" else [(end,) for end in ends]
        for line in lines:
            served.setdefault(line, []).append(way.peg)
    for line, pegs in served.items():
        for names in [(*line, *pegs)] if len(line) > 1 else [(*line, peg) for peg in pegs]:
            there = [n for n in names if n in at]
            if len(there) > 1 and (one := _stretched({n: at[n] for n in there}, line)):
                yield one


def _stretched(at: dict[str, Point], held: Sequence[str]) -> Stretched | None:
    first = next(iter(at))
    a = max(at, key=lambda n: (at[n].distance(at[first]), n))
    b = max(at, key=lambda n: (at[n].distance(at[a]), n))
    along = {n: at[a].distance(p) for n, p in at.items()}
    return Stretched(
        at[a], at[b], tuple(along[n] for n in at if n in held), tuple(along[n] for n in at if n not in held)
    )
