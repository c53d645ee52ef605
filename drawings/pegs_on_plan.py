"""Pegs on a plan: their signs and numbers, the base line, ties of the main pegs.

Takes: pegs and a view. Gives: marks and requests in paper millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import TYPE_CHECKING

from ..geometry.features import Feature, Purpose
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc, Line, Segment
from .brief import Brief
from .draft import Nib, arrow, blot, group
from .once import Drawn
from .requests import LineLabel, Obstacles, PointLabel, Sign, Words
from .sheet import Fill, Ground, Group, Mark, PegSign, Stroke, View
from .signs import CLASSES, REACH, peg_sign
from .wrapping import FIGURES, NAMES

if TYPE_CHECKING:
    from ..geometry.pegs.peg import Peg

NEAR = 2e-3
"""A peg nearer to an arc's end than this (m) is its tangent point."""

BEYOND = 7.0
"""The base line is drawn this far beyond its marks."""

TIED_MOST = 3
"""Main pegs whose ties are drawn; all readings stand in the booklet."""

ARROW, SPREAD = 2.5, 0.2618
"""Slender arrow: length in mm, whole angle in radians (15 degrees)."""


def signs(brief: Brief, view: View) -> tuple[PegSign, ...]:
    """Return the sign of every peg, control last: nothing covers a mark that all is measured from."""
    segments = [s for f in brief.features for s in _segments(f)]
    arcs = [s for s in segments if isinstance(s, Arc) and not s.is_circle]
    control = {Purpose.CONTROL, Purpose.AUXILIARY}
    return tuple(_sign(peg, view, arcs) for peg in sorted(brief.pegs, key=lambda p: p.purpose in control))


SOLID = frozenset({"corner", "post"})
"""Signs that run into one black bar where two pegs stand close together."""

APART, GAP, ACROSS = 0.7, 0.35, 2.6
"""Pegs nearer than the first cannot be shown apart; the white gap between two signs, and how long it is, mm."""


def parted(brief: Brief, view: View) -> tuple[Fill, ...]:
    """Return the white gaps between solid signs that would run together, so that two pegs are seen as two."""
    solid = [(view.point(p.at), REACH[CLASSES[p.purpose]]) for p in brief.pegs if CLASSES[p.purpose] in SOLID]
    gaps: list[Fill] = []
    for (a, r), (b, s) in combinations(solid, 2):
        if APART < a.distance(b) < r + s + GAP:
            way, middle = (b - a).unit(), a.toward(b, 0.5)
            side, half = way.left() * (ACROSS / 2), way * (GAP / 2)
            corners = (middle + -half + -side, middle + half + -side, middle + half + side, middle + -half + side)
            gaps.append(blot("marks", *corners, tone="white"))
    return tuple(gaps)


def standing(brief: Brief, view: View) -> Obstacles:
    """Return what pegs put in the way of lettering: each sign about its own point, owned by its number."""
    return Obstacles(
        signs=tuple(Sign(at=view.point(p.at), radius=REACH[CLASSES[p.purpose]], owner=p.name) for p in brief.pegs)
    )


def _segments(feature: Feature) -> tuple[Segment, ...]:
    shape = feature.shape
    if isinstance(shape, Region):
        return tuple(s for ring in (shape.outer, *shape.holes) for s in ring.segments)
    return shape.segments if isinstance(shape, Path) else ()


def _sign(peg: Peg, view: View, arcs: Sequence[Arc]) -> PegSign:
    kind = CLASSES[peg.purpose]
    heading = _toward_arc(peg.at, arcs) if kind == "tangent" else 0.0
    return PegSign(
        number=peg.name,
        purpose=kind,
        at=peg.at,
        part=peg.part,
        element=peg.element,
        level=peg.level,
        marks=(
            Group(
                layer="marks", classes=("symbol", kind), title=peg.name,
                marks=peg_sign(kind, view.point(peg.at), heading)
            ),
        ),
    )


def _toward_arc(at: Point, arcs: Sequence[Arc]) -> float:
    """Return the way from a tangent point to the centre of the arc that begins or ends there."""
    for arc in arcs:
        if min(arc.start.distance(at), arc.end.distance(at)) < NEAR:
            return (arc.centre - at).heading
    return 0.0


def numbers(brief: Brief, view: View) -> Iterator[PointLabel]:
    """Yield the number of every peg, and the names of control marks."""
    for peg in brief.pegs:
        kind = CLASSES[peg.purpose]
        control = peg.purpose in {Purpose.CONTROL, Purpose.AUXILIARY}
        words = Words(peg.name, "bold", NAMES if control else FIGURES)
        gaps = (3.2, 4.0, 4.8, 2.95) if control else (1.9, 2.8, 3.7, 1.4)
        yield PointLabel(
            name=peg.name,
            at=view.point(peg.at),
            lines=(words,),
            radius=REACH[kind],
            gaps=gaps,
            classes=("label", "control-name" if control else "peg-number"),
        )


def base_line(brief: Brief, view: View, once: Drawn) -> tuple[Mark, ...]:
    """Return the base line through its two marks and a little beyond; `once` learns that it is drawn."""
    at = {p.name: p.at for p in brief.pegs}
    first, second = (at.get(name) for name in brief.baseline)
    if first is None or second is None or first.distance(second) < 1e-6:
        return ()
    a, b = view.point(first), view.point(second)
    way = (b - a).unit()
    ground = Ground(shape=Path((Line(first, second),)), role="base line")
    line = Path((Line(a + way * -BEYOND, b + way * BEYOND),))
    once.add(line)
    return (Stroke(layer="marks", path=line, pen="edge", dash="baseline", classes=("baseline",), ground=ground),)


def main_ties(brief: Brief, most: int = TIED_MOST) -> tuple[Peg, ...]:
    """Return the pegs whose ties are drawn: tied to two control marks, centres first, each of another element."""
    control = {p.name for p in brief.pegs if p.purpose in {Purpose.CONTROL, Purpose.AUXILIARY}}
    tied = [
        p
        for p in brief.pegs
        if p.method.value == "ties"
        and p.from_1 in control
        and p.from_2 in control
        and p.purpose not in {Purpose.CONTROL, Purpose.AUXILIARY, Purpose.RECOVERY}
    ]
    ranked = sorted(tied, key=lambda p: (p.purpose is not Purpose.CENTRE, not p.primary, p.order))
    chosen: list[Peg] = []
    for fresh in (True, False):
        for peg in ranked:
            new = peg.element not in {c.element for c in chosen}
            if len(chosen) < most and peg not in chosen and (new or not fresh):
                chosen.append(peg)
    return tuple(chosen)


def ties(brief: Brief, view: View, under: Sequence[Mark] = ()) -> tuple[tuple[Mark, ...], tuple[LineLabel, ...]]:
    """Return the ties of the main pegs as drawn over the marks `under` them, and the requests for their readings."""
    at, once = {p.name: p.at for p in brief.pegs}, Drawn.of(under)
    marks: list[Mark] = []
    asks: list[LineLabel] = []
    for peg in main_ties(brief):
        for name, reading in ((peg.from_1, peg.reading_1), (peg.from_2, peg.reading_2)):
            if reading is None:
                continue
            a, b = view.point(at[name]), view.point(peg.at)
            if a.distance(b) < 16:
                continue
            way = (b - a).unit()
            line = Path((Line(a + way * 2.6, b + way * -2.3),))
            tie = group(
                "ties",
                "tie",
                (
                    *map(
                        Nib("ties", "thin").path,
                        once.once(Path((Line(line.start, line.end + way * -ARROW * 0.6),))),
                    ),
                    arrow("ties", line.end, way.heading, ARROW, SPREAD),
                ),
                f"tie {peg.name} {name}",
            )
            marks.append(
                Group(
                    layer="ties",
                    classes=tie.classes,
                    marks=tie.marks,
                    title=tie.title,
                    ground=Ground(shape=Path((Line(at[name], peg.at),)), role="tie", element=peg.element),
                )
            )
            asks.append(
                LineLabel(
                    name=f"tie {peg.name} {name}",
                    path=line,
                    lines=(Words(reading.text),),
                    leader=0.0,
                    column=False,
                    layer="ties",
                    classes=("tie",),
                )
            )
    return tuple(marks), tuple(asks)
