"""Planting outlines of the booklet, a bed at a time: canes along one tape, sand between them, then the pots.

Takes: a SettingOut with its beds and how each is sanded out. Gives: blocks. The picture shows the bed as it lies along
its tape: the tape level at the bottom, zero at the left, what is out to the left of the walker above it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ..geometry.errors import DrawingError
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from ..geometry.kernel.segment import Arc, Line, Segment
from ..geometry.planting.planted import BedPlanting
from ..geometry.planting.sanding import Sanding, SandLine, Taped
from ..geometry.setout import SettingOut
from .annotate import place
from .booklet_checks import fitted
from .booklet_page import BOLD, LEFT, READING, RIGHT, TICK_LEFT, Page, high, long
from .booklet_rows import Block, head_block, rows_block, ticks_block
from .draft import Nib
from .obstacles import gathered
from .pictures import LOOSE, PENS
from .requests import AreaLabel, Obstacles, PointLabel, Sign
from .requests import Words as Lettering
from .sheet import Mark
from .words import Words

NEAR = 0.01
"""A peg within this of an end of the tape is that end, metres."""

LEAST_TAPED = 0.3
"""Nobody hooks a tape on a peg nearer than this, metres (judgement)."""

ROW, POT_ROW, HEAD = 9.6, 7.4, 6.5
PICTURE_WIDE, PICTURE_TALL = RIGHT - LEFT, 78.0
TWO_ENDS, ONE_END = 76.0, 150.0
"""Where the figures of a row end, from its left, with two rows side by side and with one, mm."""

LEAST_SIGHT = 0.5
"""Two pegs give an end of the tape where their directions to it cross with at least this sine (30 degrees)."""


@dataclass(frozen=True, slots=True)
class _Figure:
    """One row of figures: a name, what it is, along and out in metres (out + to the left)."""

    name: str
    what: str
    along: float
    out: float


def planting_blocks(work: SettingOut) -> Iterator[tuple[str, list[Block]]]:
    """Yield the name of each bed that has something to sand or place, and its blocks."""
    for bed, sanding in zip(work.beds, work.sandings, strict=True):
        if len(bed.groups) + len(bed.singles) > 0:
            yield bed.name, list(_bed(work, bed, sanding))


def _bed(work: SettingOut, bed: BedPlanting, sanding: Sanding) -> Iterator[Block]:
    once = f"**Once:** {' '.join(_lay(work, sanding))} Leave it. Walk from zero: out is to your **LEFT**."
    yield head_block(f"Plant the {bed.name}", (once, "In dry weather, when all edges are built."))
    picture = _picture(bed, sanding)
    tall = _tall(bed, sanding)
    yield Block(tall + 3.0, lambda page, y: page.picture(LEFT, y, PICTURE_WIDE, tall, picture))
    canes = [_Figure(c.name, "cane", c.spot.along, c.spot.offset) for c in sanding.canes]
    singles = [_single(s.plant.name, s.at, sanding) for s in bed.singles]
    if canes or singles:
        yield _figures([*canes, *singles], work)
    if sanding.lines:
        yield _sand(sanding.lines, work)
    yield _pots(bed, sanding)
    yield ticks_block(("All pots of this bed stand, and were counted. Move them until it looks right. Then plant.",))


def _single(name: str, at: Point, sanding: Sanding) -> _Figure:
    way = (sanding.end - sanding.start).unit()
    return _Figure("+", name, way.dot(at - sanding.start), way.cross(at - sanding.start))


# ---- where the tape lies

def _lay(work: SettingOut, sanding: Sanding) -> tuple[str, ...]:
    zero, end = _end(work, sanding.start), _end(work, sanding.end)
    length = work.pegs.options.tape.reading(sanding.start.distance(sanding.end)).text
    edge = "along the straight edge of the bed" if sanding.on_edge else "along the bed"
    lead = f"lay tape 1 {edge}, {length} long."
    return lead, f"Zero is {zero}.", f"The far end is {end}."


def _end(work: SettingOut, at: Point) -> str:
    """Return where an end of the tape is: at a peg, or so far from two of them."""
    pegs = [p for p in work.pegs.pegs if p.purpose.value != "recovery"]
    there = next((p.name for p in pegs if p.at.distance(at) <= NEAR), "")
    if there:
        return f"at {there}"
    far = [p for p in pegs if p.at.distance(at) >= LEAST_TAPED]
    near = sorted(far, key=lambda p: (p.at.distance(at), p.name))[:8]
    tape, words = work.pegs.options.tape, Words(work)
    for one, two in combinations(near, 2):
        if abs((one.at - at).unit().cross((two.at - at).unit())) >= LEAST_SIGHT:
            hand, side = words.side(one.at, two.at, at)
            first, second = (tape.reading(p.at.distance(at)).text for p in (one, two))
            return (f"**{first}** from {one.name} and **{second}** from {two.name}, on your {hand} as you stand at "
                    f"{one.name} and face {two.name}, the {side} side")
    return "as drawn on the planting plan"


# ---- the picture

class _Laid:
    """The map from the ground to the picture: the tape level, zero at the left; never a mirror image."""

    def __init__(self, sanding: Sanding, box: Box, wide: float, tall: float) -> None:
        self.way = (sanding.end - sanding.start).unit()
        self.start = sanding.start
        self.factor = min((wide - 24.0) / max(box.width, 0.5), (tall - 20.0) / max(box.height, 0.5))
        self.by = Vec(wide / 2 - box.centre.x * self.factor, tall / 2 - box.centre.y * self.factor)

    def point(self, at: Point) -> Point:
        """Return where a point of the ground stands, mm."""
        out = at - self.start
        return Point(self.way.dot(out) * self.factor, self.way.cross(out) * self.factor) + self.by

    def segment(self, segment: Segment) -> Segment:
        """Return a segment as it lies in the picture."""
        start, end = self.point(segment.start), self.point(segment.end)
        if isinstance(segment, Line):
            return Line(start, end)
        return Arc(self.point(segment.centre), segment.radius * self.factor, segment.begin - self.way.heading,
                   segment.sweep, start, end)

    def region(self, region: Region) -> Region:
        """Return an area as it lies in the picture."""
        outer, *holes = (Loop(tuple(map(self.segment, ring.segments))) for ring in (region.outer, *region.holes))
        return Region(outer, tuple(holes))


def _box(bed: BedPlanting, sanding: Sanding) -> Box:
    """Return the bed's box along its tape and out of it, metres."""
    way = (sanding.end - sanding.start).unit()
    spots = [s.point(k / 4) - sanding.start for r in bed.bed.regions for ring in r.rings() for s in ring
             for k in range(5)]
    spots += [Vec(0.0, 0.0), sanding.end - sanding.start]
    return Box.of(Point(way.dot(v), way.cross(v)) for v in spots)


def _tall(bed: BedPlanting, sanding: Sanding) -> float:
    box = _box(bed, sanding)
    return min(PICTURE_TALL, max(34.0, (PICTURE_WIDE - 24.0) * box.height / max(box.width, 0.5) + 20.0))


def _picture(bed: BedPlanting, sanding: Sanding) -> tuple[Mark, ...]:
    tall = _tall(bed, sanding)
    laid = _Laid(sanding, _box(bed, sanding), PICTURE_WIDE, tall)
    marks: list[Mark] = []
    for region in bed.bed.regions:
        marks += [Nib("edges", "edge").path(Path(tuple(map(laid.segment, ring)))) for ring in region.rings()]
    for group in bed.groups:
        marks += [Nib("marks", "thin", "hidden").path(Path(tuple(map(laid.segment, r)))) for r in group.region.rings()]
    start, end = laid.point(sanding.start), laid.point(sanding.end)
    marks.append(Nib("ties", "cut").line(start, end))
    for cane in sanding.canes:
        at = laid.point(cane.spot.at)
        marks += [Nib("marks", "edge").line(at + Vec(-1.4, dy), at + Vec(1.4, -dy)) for dy in (-1.4, 1.4)]
    for single in bed.singles:
        marks.append(Nib("marks", "edge").ring(laid.point(single.at), 1.6))
    return (*marks, *_names(bed, sanding, laid, marks, Box(0, 0, PICTURE_WIDE, tall)))


def _names(bed: BedPlanting, sanding: Sanding, laid: _Laid, marks: Sequence[Mark], room: Box) -> tuple[Mark, ...]:
    """Return the names of the canes and the numbers of the groups; numbers give way where all is full."""
    spots = [(c.name, laid.point(c.spot.at)) for c in sanding.canes]
    spots += [("zero", laid.point(sanding.start))] if all(laid.point(sanding.start).distance(p) > 3 for _, p in spots) \
        else []
    canes = [PointLabel(name=n, at=at, lines=(Lettering(n, "bold", 2.5),), radius=1.8, leader=40.0) for n, at in spots]
    groups = [AreaLabel(name=f"group {g.number}", regions=(laid.region(g.region),), column=False, leader=30.0,
                        lines=(Lettering(str(g.number), "bold", 3.5),)) for g in bed.groups]
    signs = tuple(Sign(at=c.at, radius=1.8, owner=c.name) for c in canes)
    lines = tuple(ink for ink in gathered(marks, PENS).lines)
    loose = tuple(replace(ink, width=LOOSE) for ink in lines)
    for wanted, drawn in ((canes + groups, lines), (canes + groups, loose), (canes + groups, ()), (canes, ())):
        try:
            return place(wanted, Obstacles(lines=drawn, signs=signs), room).marks
        except DrawingError:
            continue
    return ()


# ---- the tables

def _reading(work: SettingOut, metres: float) -> str:
    return work.pegs.options.tape.reading(abs(metres)).text


def _figures(figures: Sequence[_Figure], work: SettingOut) -> Block:
    """Return canes and single plants, two in a row where the figures leave room."""
    wide = max(long(_reading(work, m), 18, READING) for f in figures for m in (f.along, f.out))
    columns = 2 if 2 * wide + 34.0 <= 88.0 else 1
    lots = [figures[k:k + columns] for k in range(0, len(figures), columns)]

    def heads(_: bool) -> Block:
        def draw(page: Page, y: float) -> None:
            page.line(LEFT, y, RIGHT, y, "cut")
            for k in range(columns):
                x = LEFT + 92.0 * k
                page.text(x, y + 4.6, "put a cane, or a plant (+)", 9.5)
                end = x + (TWO_ENDS if columns == 2 else ONE_END)
                page.text(end - wide - 3.0, y + 4.6, "along", 9.5, anchor="end")
                page.text(end, y + 4.6, "out", 9.5, anchor="end")
            page.line(LEFT, y + HEAD, RIGHT, y + HEAD)

        return Block(HEAD, draw)

    def row(page: Page, n: int, y: float) -> None:
        for k, figure in enumerate(lots[n]):
            x = LEFT + 92.0 * k
            page.text(x, y + 6.9, figure.name, 13, READING)
            if figure.name == "+":
                page.text(x + 5.0, y + 6.9, fitted(figure.what, 76.0 - 2 * wide - 6.0, 9.5)[0], 9.5)
            right = x + (TWO_ENDS if columns == 2 else ONE_END)
            for text, end, behind in ((_reading(work, figure.along), right - wide - 3.0, figure.along < -5e-4),
                                      (_reading(work, figure.out), right, figure.out < -5e-4)):
                page.text(end, y + (6.0 if behind else 6.9), text, 18, READING, "end")
                if behind:
                    page.text(end, y + 9.1, "behind zero" if end < right else "to the RIGHT", 9, BOLD, "end")
            page.tick(y + ROW / 2, x + 79.0 if columns == 2 else TICK_LEFT, 7.4)
        page.line(LEFT, y + ROW, RIGHT, y + ROW)

    return rows_block(heads, [ROW] * len(lots), row)


def _sand(lines: Sequence[SandLine], work: SettingOut) -> Block:
    """Return the lines to sand: from cane to cane, through the points between."""
    wide = max(long(_reading(work, m), 18, READING) for line in lines for t in line.through
               for m in (t.along, t.offset))
    pair = 2 * wide + 9.0
    columns = max(1, int((TICK_LEFT - LEFT - 46.0) // pair))
    heights = [ROW * -(-len(line.through) // columns) for line in lines]

    def heads(first: bool) -> Block:
        words = ("**Each row:** trickle sand from cane to cane, through the points between. Bend the line as drawn."
                 if first else "Lines to sand, continued")
        tall = high(words, RIGHT - LEFT)

        def draw(page: Page, y: float) -> None:
            page.line(LEFT, y, RIGHT, y, "cut")
            page.words(LEFT, y + 0.8, RIGHT - LEFT, words)
            for k in range(columns):
                page.text(LEFT + 46.0 + pair * k, y + tall + 4.6, "along, out", 9.5)
            page.line(LEFT, y + tall + HEAD, RIGHT, y + tall + HEAD)

        return Block(tall + HEAD, draw)

    def row(page: Page, n: int, y: float) -> None:
        line = lines[n]
        page.text(LEFT, y + 5.2, f"{line.start} to {line.end}", 13, READING)
        page.text(LEFT, y + 8.9, f"between {line.groups[0]} and {line.groups[1]}", 9.5)
        for k, spot in enumerate(line.through):
            _through(page, spot, LEFT + 46.0 + pair * (k % columns), y + ROW * (k // columns), wide, work)
        page.tick(y + heights[n] / 2, size=7.4)
        page.line(LEFT, y + heights[n], RIGHT, y + heights[n])

    return rows_block(heads, heights, row)


def _through(page: Page, spot: Taped, x: float, y: float, wide: float, work: SettingOut) -> None:
    page.text(x + wide, y + 6.9, _reading(work, spot.along), 18, READING, "end")
    page.text(x + 2 * wide + 3.0, y + 6.9, _reading(work, spot.offset), 18, READING, "end")
    if spot.offset < -5e-4:
        page.text(x + 2 * wide + 3.0, y + 9.3, "to the RIGHT", 9, BOLD, "end")


def _pots(bed: BedPlanting, sanding: Sanding) -> Block:
    """Return what is stood out, in this order: number, plant, how many."""
    by_number = {g.number: g for g in bed.groups}
    rows = [(str(n), by_number[n].plant.name, len(by_number[n].points)) for n in sanding.standing_order]
    rows += [("~", f"{s.plant.name}, scattered through {', '.join(map(str, s.groups))}", len(s.points))
             for s in bed.scatters]

    def heads(first: bool) -> Block:
        words = "Set the pots out, all of them, in this order" if first else "Pots, continued"

        def draw(page: Page, y: float) -> None:
            page.line(LEFT, y, RIGHT, y, "cut")
            page.text(LEFT, y + 5.4, words, 13, BOLD)
            page.text(TICK_LEFT - 6.0, y + 5.4, "how many", 9.5, anchor="end")
            page.line(LEFT, y + 7.4, RIGHT, y + 7.4)

        return Block(7.4, draw)

    def row(page: Page, k: int, y: float) -> None:
        number, name, count = rows[k]
        page.text(LEFT, y + 5.4, number, 13, READING)
        page.text(LEFT + 14.0, y + 5.2, fitted(name, 130.0, 12)[0], 12)
        page.text(TICK_LEFT - 6.0, y + 5.6, str(count), 13, READING, "end")
        page.tick(y + POT_ROW / 2, size=6.4)
        page.line(LEFT, y + POT_ROW, RIGHT, y + POT_ROW)

    return rows_block(heads, [POT_ROW] * len(rows), row)
