"""The planting plan's sand lines: where groups meet, canes at the ends of borders, and the line a bed is taped from.

Takes: a stage with its beds and how each is sanded out. Gives: one further sheet. Millimetres on paper; the tables hold
readings of the garden's own tape.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ..geometry.errors import DrawingError
from ..geometry.kernel.path import Path, Region
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc, Line
from .brief import Brief
from .draft import Nib, arrow, group
from .drafts import Draft
from .filling import PanelRow, caution_rows, filled, inner
from .once import Drawn
from .panel import COLUMN, LAYER, Section, legend, notes
from .plan import Insert, in_window, inside, shown_at
from .planned import Lettered, Stage, lettered, north, under
from .planting_canes import NEAR, Pair, cane_table, pot_table, sanded
from .planting_names import KIND
from .requests import AreaLabel, Obstacles, PointLabel, Request, Sign, Words
from .ruled import Table
from .sheet import Group, Mark, Stroke, View
from .warnings import cautions_for

if TYPE_CHECKING:
    from ..geometry.planting.planted import BedPlanting
    from ..geometry.planting.sanding import Cane

NAME = "sand lines"
"""Name of the sheet in a set."""

FIRST = 99.0
"""Weight of the insert: base lines are drawn before all else, so that edges under them are not drawn again."""

REACH, HEAD, OPENING = 1.1, 4.8, 0.62
"""Half length of a cane's cross, length (mm) and whole angle of the arrowhead of a base line."""

SINGLE = 1.8
"""Radius of the ring of a single plant, mm."""

ROUNDS = 40
"""Lettering that finds no room is left out in at most so many rounds."""


def sanding_sheets(on: Stage) -> tuple[Draft, ...]:
    """Return the sheet of sand lines, none for a garden without beds of more than one group."""
    brief, pairs = on.brief, sanded(on.brief)
    if not pairs:
        return ()
    _, marks = under(KIND, on, Insert(FIRST, lambda once: tuple(_bases(pairs, brief, on.view, once))))
    marks = (*_thinned(marks), north(on))
    marks = (*marks, *_sand(pairs, brief, on.view, marks))
    words, unnamed = _lettered(on, marks, pairs)
    tables = (cane_table(brief, pairs), pot_table(brief, pairs))
    draft = Draft(
        name=NAME,
        title="Planting plan, sand lines",
        plate=on.plate,
        scale=on.view.scale,
        views=(on.view,),
        marks=(*marks, *_canes(pairs, brief, on.view), *words.marks),
        rows=_rows(on, pairs, unnamed, tables),
        tables=tables,
        extra=True,
    )
    return (draft,)


# ---- the plan

def _bases(pairs: Sequence[Pair], brief: Brief, view: View, once: Drawn) -> Iterator[Mark]:
    """Yield the base line of each bed: strong, an arrowhead at its far end, a bar across its zero."""
    for bed, sanding in pairs:
        line = Path((Line(sanding.start, sanding.end),))
        pen = Nib("marks", "edge", classes=("bed-line",))
        strokes: list[Mark] = [pen.path(q) for p in inside(line, brief.window) for q in once.once(view.path(_open(p)))]
        way = (sanding.end - sanding.start).unit()
        if shown_at(sanding.start, brief):
            at, out = view.point(sanding.start), way.left()
            strokes.append(pen.line(at + out * -2.2, at + out * 2.2))
        if shown_at(sanding.end, brief):
            strokes.append(arrow("marks", view.point(sanding.end), way.heading, HEAD, OPENING))
        yield group("marks", "bed-line", strokes, f"line to tape from, {bed.name}")


def _open(piece: object) -> Path:
    assert isinstance(piece, Path)
    return piece


def _thinned(marks: Sequence[Mark]) -> tuple[Mark, ...]:
    """Return the plan under the sand lines in the thin pen; base lines and cut walls stay."""
    out: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Group):
            out.append(replace(mark, marks=_thinned(mark.marks)))
        elif isinstance(mark, Stroke) and mark.pen in {"edge", "mark"}:
            out.append(replace(mark, pen="thin"))
        else:
            out.append(mark)
    return tuple(out)


def _sand(pairs: Sequence[Pair], brief: Brief, view: View, drawn: Sequence[Mark]) -> Iterator[Mark]:
    """Yield the borders between groups, dashed, each once, without the edge of the bed itself."""
    once, nib = Drawn.of(drawn), Nib("edges", "edge", "hidden", classes=("sand-line",))
    for bed, _ in pairs:
        for region in bed.bed.regions:
            for ring in (region.outer, *region.holes):
                once.add(view.loop(ring))
        yield from _singles(bed, brief, view, once)
        for one in bed.groups:
            for ring in (one.region.outer, *one.region.holes):
                for piece in inside(ring, brief.window):
                    paper = view.path(piece) if isinstance(piece, Path) else view.loop(piece)
                    yield from map(nib.path, once.once(paper))


def _singles(bed: BedPlanting, brief: Brief, view: View, once: Drawn) -> Iterator[Mark]:
    """Yield single plants, a cross in a thin ring; the room that groups leave round them is no sand line."""
    for single in bed.singles:
        for one in bed.groups:
            for ring in (one.region.outer, *one.region.holes):
                for arc in ring.segments:
                    if isinstance(arc, Arc) and arc.centre.distance(single.at) <= NEAR:
                        once.add(Path((view.segment(arc),)))
        if shown_at(single.at, brief):
            yield group("marks", "single", _single(view.point(single.at), SINGLE, "marks"), single.plant.name)


def _single(at: Point, radius: float, layer: str) -> tuple[Mark, ...]:
    nib = Nib(layer, "thin")
    return (nib.ring(at, radius), *nib.cross(at, radius * 0.6))


def _shown(pairs: Sequence[Pair], brief: Brief) -> Iterator[tuple[BedPlanting, Cane]]:
    for bed, sanding in pairs:
        for cane in sanding.canes:
            if shown_at(cane.spot.at, brief):
                yield bed, cane


def _canes(pairs: Sequence[Pair], brief: Brief, view: View) -> Iterator[Mark]:
    for bed, cane in _shown(pairs, brief):
        yield group("marks", "cane symbol", _cane(view.point(cane.spot.at), "marks"), f"{cane.name} {bed.name}")


def _cane(at: Point, layer: str) -> tuple[Mark, ...]:
    return Nib(layer, "edge").saltire(at, REACH)    # a cane is put by it: as strong as an edge to be pegged


# ---- its lettering

def _lettered(on: Stage, marks: Sequence[Mark], pairs: Sequence[Pair]) -> tuple[Lettered, bool]:
    """Place names of canes and numbers of groups; say whether names of canes had to be left to the table.

    What finds no room, or stands in a square that is too full, is left out: numbers of groups first.
    """
    asked: list[Request] = [*_cane_names(pairs, on.brief, on.view), *_numbers(pairs, on.brief, on.view)]
    signs = tuple(Sign(at=r.at, radius=REACH + 0.3, owner=r.name) for r in asked if isinstance(r, PointLabel))
    left = list(asked)
    for _ in range(ROUNDS):
        try:
            words = lettered(on, marks, left, sides=(), more=Obstacles(signs=signs))
            failed = set(words.crowded)
        except DrawingError as error:
            failed = {p.about for p in error.problems if p.about}
            if not failed & {r.name for r in left}:
                raise
        if not failed:
            break
        numbers = {r.name for r in left if isinstance(r, AreaLabel)}
        failed = failed & numbers or failed
        left = [r for r in left if r.name not in failed]
    else:
        words = lettered(on, marks, left, sides=(), more=Obstacles(signs=signs))
    return words, any(isinstance(r, PointLabel) for r in asked if r not in left)


def _cane_names(pairs: Sequence[Pair], brief: Brief, view: View) -> Iterator[PointLabel]:
    """Yield the names of canes, and 'zero' where each line starts; a cane that stands there says both.

    Canes are counted from 1 in every bed, so that zero says which bed it is of where there are several.
    """
    of = {bed.name: (brief.label(bed.name),) if len(pairs) > 1 else () for bed, _ in pairs}
    zeros, said = {bed.name: sanding.start for bed, sanding in pairs}, set[str]()
    for bed, cane in _shown(pairs, brief):
        there = zeros[bed.name].distance(cane.spot.at) <= NEAR
        if there:
            said.add(bed.name)
        yield _named(f"cane {bed.name} {cane.name}", f"{cane.name}, zero" if there else cane.name,
                     view.point(cane.spot.at), of[bed.name] if there else ())
    for bed, sanding in pairs:
        if bed.name not in said and shown_at(sanding.start, brief):
            yield _named(f"zero {bed.name}", "zero", view.point(sanding.start), of[bed.name])


def _named(name: str, words: str, at: Point, bed: Sequence[str] = ()) -> PointLabel:
    lines = (Words(words, "bold"), *(Words(label, "italic") for label in bed))
    return PointLabel(name=name, at=at, lines=lines, radius=REACH + 0.3, classes=("label", "peg-number"))


def _numbers(pairs: Sequence[Pair], brief: Brief, view: View) -> Iterator[AreaLabel]:
    for bed, _ in pairs:
        for one in bed.groups:
            regions: tuple[Region, ...] = tuple(view.region(r) for r in in_window((one.region,), brief.window))
            if regions:
                yield AreaLabel(name=f"group {bed.name} {one.number:04d}", regions=regions, column=False, leader=30.0,
                                lines=(Words(str(one.number), "regular", 3.5),))


# ---- the panel

def _rows(on: Stage, pairs: Sequence[Pair], unnamed: bool, tables: Sequence[Table]) -> tuple[PanelRow, ...]:
    """Return the rows of the panel: a key of the marks, or a note in its place where only so all fits."""
    cautions = cautions_for(KIND, on.brief.cautions)
    single = any(bed.singles for bed, _ in pairs)
    drawn = notes(_notes(unnamed), COLUMN, "Sanding out")
    said = notes([_said(single), *_notes(unnamed)], COLUMN, "Sanding out")
    full = (PanelRow("marks", (_legend(single),)), *caution_rows(cautions, on.plate, drawn))
    short = caution_rows(cautions, on.plate, said)
    for rows in (full, short):
        rest = filled(inner(on.plate), rows, tables)
        if not rest.rows and not rest.tables:
            return rows
    return full


def _said(single: bool) -> str:
    """Return the key of the marks in words."""
    plant = ", rings with a cross are single plants" if single else ""
    return f"Strong lines with an arrow are to tape from, slanted crosses are canes, dashed lines are sand{plant}."


def _legend(single: bool) -> Section:
    def base(at: Point) -> tuple[Mark, ...]:
        nib = Nib(LAYER, "edge")
        return (nib.across(at.x - 5.5, at.x + 3.0, at.y), nib.upright(at.x - 5.5, at.y - 1.6, at.y + 1.6),
                arrow(LAYER, Point(at.x + 4.5, at.y), 0.0, HEAD, OPENING))

    rows: list[tuple[str, Callable[[Point], tuple[Mark, ...]]]] = [
        ("line to tape from, zero at its bar", base),
        ("cane", lambda at: _cane(at, LAYER)),
        ("sand line", lambda at: (Nib(LAYER, "edge", "hidden").across(at.x - 5.5, at.x + 4.5, at.y),)),
    ]
    if single:
        rows.append(("single plant", lambda at: _single(at, 1.8, LAYER)))
    return legend("Marks", rows, COLUMN)


def _notes(unnamed: bool) -> list[str]:
    words = [
        "Stretch a tape along the line of a bed, zero at the bar. Walk with the arrow: out is square to your left.",
        "Put all canes, then trickle sand from cane to cane as drawn. The pegging booklet has points between canes.",
        "Then stand out the pots of every group, in the order of the table, before any is planted.",
    ]
    if unnamed:
        words.append("Canes without a name here stand too close for it: their places are in the table, along the line.")
    return words


__all__ = ["NAME", "sanding_sheets"]
