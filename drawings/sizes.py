"""What is dimensioned on which plan: running rows from one zero, overall sizes, radii, widths; each once.

Takes: features, pegs and a stage. Gives: dimensions in paper millimetres, placed clear of what is drawn already.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ..geometry.features import Feature, Purpose, Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.segment import Arc, Line, Segment
from ..geometry.kernel.station import project
from .brief import Brief
from .dimensions import Asked, Radius, RowAsked, RunningAsked, Span, Width, chords_of, dimensioned
from .plan import inside
from .planned import Stage, north_box
from .requests import Obstacles
from .sheet import Dimension, Mark

MOST_STATIONS = 14
"""Stations of one running row; the rest stands in the peg table."""

STATIONS_APART = 2.2
"""A station nearer than this on paper to one that matters more stands in the peg table alone, mm."""

MOST_RADII = 12
CONCENTRIC = 0.45
"""Of two arcs about one centre that are nearer than this (m), an edging and its edge, one has its radius drawn."""

FINISHED = (Role.PAVING, Role.DECK, Role.CONCRETE, Role.STEPS, Role.WATER, Role.TURF, Role.LOOSE)


def sizes(
    kind: str, on: Stage, marks: Sequence[Mark], closed: Sequence[Box] = (), more: Obstacles | None = None
) -> tuple[Dimension, ...]:
    """Return the dimensions of a kind of plan: 'layout', 'presentation', 'setting out' or 'planting'."""
    from .obstacles import gathered

    asked = list(_asked(kind, on))
    obstacles = gathered(marks, on.pens).joined(Obstacles(closed=(north_box(on), *closed)))
    obstacles = obstacles.joined(more) if more else obstacles
    return dimensioned(on.view, asked, on.plot, obstacles, on.within, on.pens).dimensions


def _asked(kind: str, on: Stage) -> Iterator[Asked]:
    brief = on.brief
    if kind not in {"layout", "setting out"}:
        yield from _overall(brief, check=kind != "presentation")
        return
    worth = _pegged(brief) if kind == "setting out" and brief.pegs else _corners(brief)
    yield from _running(brief, on.view.factor, tuple(worth))
    yield from _radii(brief)
    if kind == "layout":
        yield from _widths(brief)


def _whole(brief: Brief) -> Box:
    boundary = brief.of(Role.BOUNDARY)
    return boundary[0].shape.box if boundary and isinstance(boundary[0].shape, Region | Path) else brief.extent


def _ground_box(brief: Brief) -> Box:
    """Return the plot as far as it is shown: the boundary's box, else everything."""
    whole = _whole(brief)
    if brief.window is None:
        return whole
    w = brief.window
    return Box(max(whole.x0, w.x0), max(whole.y0, w.y0), min(whole.x1, w.x1), min(whole.y1, w.y1))


def _overall(brief: Brief, check: bool) -> Iterator[Asked]:
    box = _ground_box(brief)
    yield RowAsked(side="bottom", spans=(Span(start=Point(box.x0, box.y0), end=Point(box.x1, box.y0), check=check),))
    if not check:
        yield RowAsked(side="right", spans=(Span(start=Point(box.x1, box.y0), end=Point(box.x1, box.y1)),))


def _zero(brief: Brief) -> Point | None:
    """Return the zero of the running rows: the first mark of the base line, else the plot's lower left corner."""
    at = {p.name: p.at for p in brief.pegs}
    box = _ground_box(brief)
    if brief.window is not None:
        return at.get(brief.baseline[0])
    return at.get(brief.baseline[0], Point(box.x0, box.y0))


def _running(brief: Brief, factor: float, points: Sequence[tuple[int, Point]]) -> Iterator[Asked]:
    """Yield the running rows, all from the one zero; a part of a plan that does not show it has none."""
    zero, box = _zero(brief), _ground_box(brief)
    if zero is None:
        return
    whole = _whole(brief)       # a match line is no end
    across = [(0, Point(x, box.y0)) for x in (box.x0, box.x1) if x in (whole.x0, whole.x1)]
    up = [(0, Point(box.x1, y)) for y in (box.y0, box.y1) if y in (whole.y0, whole.y1)]
    for side, of, ends in (("bottom", 0, across), ("right", 1, up)):
        stations = _chosen([*ends, *points], of, zero, STATIONS_APART / factor)
        if stations:
            yield RunningAsked(side=side, zero=zero, stations=stations)


def _chosen(points: Sequence[tuple[int, Point]], axis: int, zero: Point, apart: float) -> tuple[Point, ...]:
    """Return the stations of a row: the most important first, none nearer to another than `apart` (m), not too many."""
    kept: dict[float, Point] = {}
    own = zero.x if axis == 0 else zero.y
    for _, point in sorted(points, key=lambda item: item[0]):
        value = round((point.x if axis == 0 else point.y) - own, 4)
        clear = all(abs(value - other) >= apart for other in (0.0, *kept))
        if clear and len(kept) < MOST_STATIONS:
            kept[value] = point
    return tuple(sorted(kept.values(), key=lambda p: (p.x, p.y)))


def _pegged(brief: Brief) -> Iterator[tuple[int, Point]]:
    """Yield the pegs worth a station: centres, then corners, then posts and tangent points."""
    worth = {
        Purpose.CONTROL: 0,
        Purpose.CENTRE: 1,
        Purpose.CORNER: 2,
        Purpose.TANGENT: 3,
        Purpose.POST: 4,
        Purpose.FOCUS: 4,
    }
    for peg in brief.pegs:
        if peg.purpose in worth and _shown(peg.at, brief):
            yield worth[peg.purpose], peg.at


def _shown(at: Point, brief: Brief) -> bool:
    w = brief.window
    return w is None or (w.x0 <= at.x <= w.x1 and w.y0 <= at.y <= w.y1)


def _corners(brief: Brief) -> Iterator[tuple[int, Point]]:
    """Yield corners of upright outlines and centres of circles among what is built."""
    for feature in brief.of(*FINISHED):
        if feature.status is Status.PROPOSED and isinstance(feature.shape, Region):
            segments = feature.shape.outer.segments
            found = [(2, s.start) for s in segments if isinstance(s, Line) and _upright(s)]
            found += [(1, s.centre) for s in segments if isinstance(s, Arc) and abs(s.sweep) > 2.0]
            yield from (item for item in found if _shown(item[1], brief))


def _upright(line: Line) -> bool:
    return abs(line.end.x - line.start.x) < 1e-6 or abs(line.end.y - line.start.y) < 1e-6


def _radii(brief: Brief) -> Iterator[Asked]:
    """Yield the radii of the arcs that are built, each radius of an element once."""
    seen: set[object] = set()
    rings: list[tuple[Point, float]] = []
    count = 0
    for feature in sorted(brief.of(*FINISHED), key=_segments):
        for arc in _arcs(feature, brief):
            name = (feature.element, f"{arc.radius:.2f}")
            swung = (round(arc.centre.x, 3), round(arc.centre.y, 3), round(arc.radius, 3))
            near = any(arc.centre.distance(c) < 0.005 and abs(arc.radius - r) < CONCENTRIC for c, r in rings)
            shown = _longest(arc, brief)
            known = name in seen or swung in seen or near
            if shown is not None:
                seen.update((name, swung))
                rings.append((arc.centre, arc.radius))
            if known or shown is None or count >= MOST_RADII:
                continue
            yield Radius(arc=shown, element=feature.element, turn=count)
            count += 1


def _longest(arc: Arc, brief: Brief) -> Arc | None:
    """Return the longest stretch of an arc that the sheet shows."""
    pieces = [s for p in inside(Path((arc,)), brief.window) for s in p.segments if isinstance(s, Arc)]
    return max(pieces, key=lambda s: (s.length, s.begin), default=None)


def _segments(feature: Feature) -> int:
    """Return how many segments an outline has: a circle names its radius before what is cut by it."""
    return len(feature.shape.outer.segments) if isinstance(feature.shape, Region) else 0


def _arcs(feature: Feature, brief: Brief) -> Iterator[Arc]:
    """Yield the longest arcs of a thing that is built: of its pegged outline, edging and all, else of its own."""
    shape = feature.shape
    if feature.status is not Status.PROPOSED or not isinstance(shape, Region):
        return
    for line in brief.outlines.get(feature.element, (shape.outer,)):
        if not (isinstance(line, Loop) and line.ellipse is not None):
            arcs = [s for s in line.segments if isinstance(s, Arc) and s.radius > 0.3 and s.length > 0.5]
            yield from sorted(arcs, key=lambda a: -a.length)[:4]


def _widths(brief: Brief) -> Iterator[Asked]:
    """Yield the width of each path, square to its longest straight stretch."""
    done: set[str] = set()
    for feature in brief.of(Role.LOOSE, Role.PAVING):
        if not (feature.width and isinstance(feature.shape, Region)) or feature.element in done:
            continue
        straight = [s for s in feature.shape.outer.segments if isinstance(s, Line) and s.length > 1.5 * feature.width]
        if straight and feature.status is Status.PROPOSED:
            done.add(feature.element)
            chords = _across(feature.shape, max(straight, key=_length), feature.width)
            overhead = [f.shape for f in brief.of(Role.RAFTER, Role.BEAM) if isinstance(f.shape, Path)]
            free = tuple(c for c in chords if not any(_along(c, path) for path in overhead))
            if chords:
                yield Width(chords=free or chords, element=feature.element)


def _along(chord: tuple[Point, Point], path: Path) -> bool:
    """Say whether a chord runs along an overhead piece, so that one would hide the other."""
    return max(project(path, at).distance for at in chord) < 0.12


def _length(segment: Segment) -> float:
    return segment.length


def _across(region: Region, along: Line, wide: float) -> tuple[tuple[Point, Point], ...]:
    """Return chords square to a straight edge that are as long as the path is wide."""
    chords = chords_of(region, along.heading() + math.pi / 2, 31)
    return tuple(c for c in chords if abs(c[0].distance(c[1]) - wide) < 0.002)
