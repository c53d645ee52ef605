"""A small made-up plan sheet that uses every kind of label and dimension: what the legibility tests read."""

from __future__ import annotations

import math

from pegbook.drawings.annotate import place
from pegbook.drawings.dimensions import (
    Angle,
    Dimensioned,
    Radius,
    RowAsked,
    RunningAsked,
    Span,
    Width,
    chords_across,
    dimensioned,
)
from pegbook.drawings.draft import Nib
from pegbook.drawings.obstacles import gathered
from pegbook.drawings.requests import AreaLabel, Column, ColumnLabel, LineLabel, Placement, PointLabel, Words
from pegbook.drawings.sheet import Group, Mark, PegSign, Sheet, Stroke, View
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Box, Point, Vec
from pegbook.geometry.kernel.segment import Arc

PENS = {"cut": 0.7, "edge": 0.35, "mark": 0.25, "thin": 0.18, "texture": 0.13}
VIEW = View(name="plan", scale=100.0, window=Box(20, 10, 410, 287), origin=Point(-6.0, -6.0))
FRAME = Box(20, 10, 410, 287)
FIELD = Box(22, 12, 400, 270)
PLOT = Loop.polygon((Point(0, 0), Point(24, 0), Point(24, 16), Point(0, 16)))
TERRACE = Loop.polygon((Point(2, 0.5), Point(9, 0.5), Point(9, 4), Point(2, 4)))
LAWN = Loop.circle(Point(17, 9), 4.2)
POND = Loop.circle(Point(5, 12), 0.9)
BED = Loop.polygon((Point(20, 0.6), Point(23.4, 0.6), Point(23.4, 1.7), Point(20, 1.7)))
WALK = Path((Arc.swung(Point(9, 14), 8.0, -math.pi * 0.52, math.pi * 0.30),))


def _edges() -> tuple[Mark, ...]:
    nib = Nib("edges", "edge")
    return (*(nib.path(VIEW.loop(shape)) for shape in (PLOT, TERRACE, LAWN, POND, BED)),
            Nib("thin", "thin").path(VIEW.path(WALK)))


def _pegs() -> tuple[tuple[Mark, ...], tuple[PointLabel, ...]]:
    places = [*TERRACE.vertices(), Point(17, 9), Point(5, 12),
              *(Point(17, 9) + Vec.polar(k * math.pi / 6, 4.2) for k in range(12))]
    signs: list[Mark] = []
    labels = []
    for k, at in enumerate(places, start=101):
        ring = Stroke(layer="marks", path=Loop.circle(VIEW.point(at), 0.8), pen="mark")
        signs.append(PegSign(number=str(k), purpose="edge", at=at, part="", element="", level=None, marks=(ring,)))
        labels.append(PointLabel(name=f"peg {k}", at=VIEW.point(at), lines=(Words(str(k), "bold"),), radius=0.8))
    return tuple(signs), tuple(labels)


def _areas() -> tuple[AreaLabel | LineLabel | ColumnLabel, ...]:
    def region(loop: Loop) -> tuple[Region, ...]:
        return (Region(VIEW.loop(loop)),)

    return (
        AreaLabel(name="lawn", regions=region(LAWN), lines=(Words("Round lawn", "bold", 3.5), Words("55.4 m²"))),
        AreaLabel(name="terrace", regions=region(TERRACE), lines=(Words("Terrace", "bold", 3.5), Words("24.5 m²"))),
        AreaLabel(name="pond", regions=region(POND), lines=(Words("Pond", "bold", 3.5), Words("2.5 m²"))),
        AreaLabel(name="bed", regions=region(BED), lines=(Words("Herb bed", "italic", 3.5), Words("3.7 m²"))),
        LineLabel(name="walk", path=VIEW.path(WALK), lines=(Words("Walk", "bold", 3.5),), width=0.0),
        ColumnLabel(name="gate", at=VIEW.point(Point(0, 9)), lines=(Words("Gate", "bold"), Words("existing")),
                    side="left"),
    )


def dimensions() -> Dimensioned:
    """Return the dimensions of the small sheet."""
    signs, _ = _pegs()
    asked = (
        RunningAsked(side="bottom", zero=Point(0, 0),
                     stations=tuple(Point(x, 0) for x in (2, 9, 12.8, 13.0, 17, 21.2))),
        RowAsked(side="right", spans=(Span(start=Point(24, 0), end=Point(24, 16), check=True),
                                      Span(start=Point(24, 0), end=Point(24, 4.8)),
                                      Span(start=Point(24, 4.8), end=Point(24, 13.2)),
                                      Span(start=Point(24, 13.2), end=Point(24, 13.5)))),
        Radius(arc=LAWN.segments[0], element="lawn", turn=0),
        Radius(arc=POND.segments[0], element="pond", turn=1),
        Width(chords=chords_across(WALK, 1.5), element="walk"),
        Angle(vertex=Point(2, 4), first=Point(9, 4), second=Point(5, 12), element="terrace"),
    )
    box = VIEW.loop(PLOT).box
    return dimensioned(VIEW, asked, box, gathered((*_edges(), *signs), PENS), FIELD, PENS)


def labels(drawn: tuple[Mark, ...]) -> Placement:
    """Return the labels of the small sheet, clear of what is drawn."""
    _, points = _pegs()
    box = VIEW.loop(PLOT).box
    columns = (Column(side="left", edge=box.x0 - 5.5, limit=22, low=40, high=260),)
    return place((*points, *_areas()), gathered(drawn, PENS), FIELD, columns)


def small_sheet() -> Sheet:
    """Return the whole sheet."""
    signs, _ = _pegs()
    drawn = (*_edges(), *signs, *dimensions().dimensions)
    frame = Nib("border", "cut", classes=("frame",)).box(FRAME)
    marks = (*drawn, *labels(drawn).marks, Group(layer="border", classes=("frame",), marks=(frame,)))
    return Sheet(number=1, name="layout", title="Layout plan", document="L1", size="A3", width=420, height=297,
                 scale="1:100", views=(VIEW,), marks=marks)
