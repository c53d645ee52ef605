"""Textures of true units: slabs, setts, blocks, boards, brick on edge. Drawn to scale, thinned where too small.

Takes: a Field in mm, and units as laid in metres with the view that brings them to paper. Gives: strokes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from ..geometry.features import UnitPattern
from ..geometry.kernel.flatten import points_of
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.segment import Line
from ..geometry.kernel.station import heading_at, point_at
from .field import GAP, Field, Ink, Outline, path
from .sheet import View

LEAST_COURSE: dict[str, float] = {"setts": 1.5, "boards": 1.2, "brick-edge": 1.0}
"""Least distance of joints on paper, mm; 2 for all others. Nearer joints are thinned, every m-th drawn."""

BOARD = 2.4
"""Usual length of a board, metres (common practice, no source)."""


THINNED = 1.5
"""Courses that are too narrow are drawn this many times as far apart as they need be, so that they stay quiet."""


def least(name: str) -> float:
    """Return the least distance (mm) at which joints of a surface are drawn."""
    return LEAST_COURSE.get(name, 2.0)


def every(name: str, pitch: float) -> int:
    """Return of how many courses `pitch` mm wide one joint is drawn: all if they are wide enough, else quietly few."""
    wide = least(name) * (THINNED if name in {"blocks", "setts"} else 1.0)
    return 1 if pitch >= least(name) - 1e-9 else math.ceil(wide / pitch - 1e-9)


def _pitch(laid: UnitPattern, view: View) -> float:
    """Return the shorter side of a unit on paper, mm; 0 where units have no width of their own."""
    return min(v for v in (laid.length, laid.width) if v > 0) * view.factor if laid.width > 0 else 0.0


def too_small(name: str, laid: UnitPattern, view: View) -> bool:
    """Say whether units are too small to be drawn as laid, so that larger ones in the same bond stand for them."""
    return 0 < _pitch(laid, view) < least(name)


def units(field: Field, name: str, laid: UnitPattern, view: View) -> Ink:
    """Return the joints of units as laid; of larger units in the same bond where they are too small on paper."""
    pitch = _pitch(laid, view)
    if not too_small(name, laid, view):
        wanted: list[Outline] = [_points(view.path(j)) for j in laid.joints]
    elif laid.courses:
        wanted = [_points(view.path(c)) for c in _every(laid, view, every(name, pitch))]
        if laid.length > 0 and name != "boards":
            wanted += _coarse_ends(field, laid, view, every(name, pitch))
    elif field.holds_itself(view.point(_frame(laid)[0]), every(name, pitch)):
        wanted = _grown(field, laid, view, every(name, pitch))
    else:
        many = every(name, pitch)
        wanted = [*_net(field, laid, view, many, 0.0), *_net(field, laid, view, many, math.pi / 2)]
    return Ink(tuple(path(p) for p in field.cut(wanted)))


def _points(line: Path) -> Outline:
    return [(p.x, p.y) for p in points_of(line, GAP)]


def _frame(laid: UnitPattern) -> tuple[Point, Vec, Vec]:
    return laid.lay_from or Point(0.0, 0.0), Vec.polar(laid.turn), Vec.polar(laid.turn).left()


def _every(laid: UnitPattern, view: View, many: int) -> Iterator[Path]:
    """Yield every m-th course line, pieces of one line together, counted from the lowest."""
    origin, _, up = _frame(laid)
    heights = [(line.start - origin).dot(up) * view.factor for line in laid.courses]
    known = sorted({round(h, 2) for h in heights})
    kept = {h for k, h in enumerate(known) if k % many == 0}
    for line, height in zip(laid.courses, heights, strict=True):
        if round(height, 2) in kept:
            yield line


def _coarse_ends(field: Field, laid: UnitPattern, view: View, many: int) -> list[Outline]:
    """Return upright joints of units `many` times as large, each course moved along as those of the bond are."""
    origin, along, up = _frame(laid)
    o = view.point(origin)
    rise, run = many * laid.width * view.factor, many * laid.length * view.factor
    box = field.box
    corners = [Point(x, y) - o for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
    us, vs = [c.dot(along) for c in corners], [c.dot(up) for c in corners]
    out: list[Outline] = []
    for j in range(math.floor(min(vs) / rise), math.ceil(max(vs) / rise)):
        for i in range(math.floor(min(us) / run) - 1, math.ceil(max(us) / run) + 1):
            foot = o + along * ((i + laid.shifts[j % len(laid.shifts)]) * run) + up * (j * rise)
            head = foot + up * rise
            out.append([(foot.x, foot.y), (head.x, head.y)])
    return out


def _grown(field: Field, laid: UnitPattern, view: View, many: int) -> list[Outline]:
    """Return a woven bond of units `many` times as large, grown from where laying begins."""
    o, box = view.point(_frame(laid)[0]), field.box
    out: list[Outline] = []
    for joint in laid.joints:
        grown = [(o.x + many * (x - o.x), o.y + many * (y - o.y)) for x, y in _points(view.path(joint))]
        xs, ys = zip(*grown, strict=True)
        if max(xs) >= box.x0 and min(xs) <= box.x1 and max(ys) >= box.y0 and min(ys) <= box.y1:
            out.append(grown)
    return out


def _net(field: Field, laid: UnitPattern, view: View, many: int, turn: float) -> list[Outline]:
    """Return full lines `many` units apart on one heading: what stays of a woven bond too small to draw."""
    origin, _, _ = _frame(laid)
    o, along = view.point(origin), Vec.polar(laid.turn + turn)
    up = along.left()
    apart = many * laid.width * view.factor
    box = field.box
    corners = [Point(x, y) - o for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
    us, vs = [c.dot(along) for c in corners], [c.dot(up) for c in corners]
    out: list[Outline] = []
    for j in range(math.floor(min(vs) / apart), math.ceil(max(vs) / apart) + 1):
        a, b = o + up * (j * apart) + along * min(us), o + up * (j * apart) + along * max(us)
        out.append([(a.x, a.y), (b.x, b.y)])
    return out


def boards(field: Field, width: float, length: float, turn: float) -> Ink:
    """Return boards of a width and usual length (mm) on a heading (radians): one line a board, butts scattered.

    The butts of board k lie at (0.382 k mod 1) of a length, so that no two neighbours meet in line.
    """
    many = max(1, math.ceil(least("boards") / width))
    apart, along = width * many, Vec.polar(turn)
    up, box = along.left(), field.box
    o = Point(box.x0, box.y0)
    corners = [Point(x, y) - o for x in (box.x0, box.x1) for y in (box.y0, box.y1)]
    us, vs = [c.dot(along) for c in corners], [c.dot(up) for c in corners]
    out: list[Outline] = []
    for k in range(math.floor(min(vs) / apart), math.ceil(max(vs) / apart) + 1):
        a, b = o + up * (k * apart) + along * min(us), o + up * (k * apart) + along * max(us)
        if min(vs) + 0.4 * apart < k * apart < max(vs) - 0.4 * apart:      # no line beside the outline's own
            out.append([(a.x, a.y), (b.x, b.y)])
        for n in range(math.floor(min(us) / length) - 1, math.ceil(max(us) / length) + 1):
            foot = o + along * ((0.382 * k % 1 + n) * length) + up * (k * apart)
            head = foot + up * apart
            out.append([(foot.x, foot.y), (head.x, head.y)])
    return Ink(tuple(path(p) for p in field.cut(out)))


def across(field: Field, line: Path | Loop, width: float, pitch: float, side: int = 0, name: str = "brick-edge") -> Ink:
    """Return joints square to a line at a pitch, a whole number of units a run; under the least pitch every m-th.

    `width` of the band in mm; `side` +1 left of the line, -1 right of it, 0 half on each side.
    """
    many = max(1, math.ceil(least(name) / pitch - 1e-9))
    count = max(1, round(line.length / (pitch * many)))
    closed = isinstance(line, Loop)
    near, far = {0: (-width / 2, width / 2), 1: (0.0, width), -1: (-width, 0.0)}[side]
    out: list[Outline] = []
    for k in range(0 if closed else 1, count):
        station = k * line.length / count
        at, normal = point_at(line, station), Vec.polar(heading_at(line, station)).left()
        a, b = at + normal * near, at + normal * far
        out.append([(a.x, a.y), (b.x, b.y)])
    return Ink(tuple(path(p) for p in field.cut(out, least=min(0.3, width / 2))))


def runs_of(region: Region, width: float) -> tuple[Path | Loop, ...]:
    """Return the line along which a band of a width (mm) lies: its outer ring, or the long side of an open strip.

    A band that closes on itself has a hole; an open one has two straight ends about as long as it is wide.
    """
    if region.holes:
        return (region.outer,)
    segments = region.outer.segments
    ends = [k for k, s in enumerate(segments) if isinstance(s, Line) and abs(s.length - width) <= 0.05 * width + 0.02]
    best: tuple[float, tuple[int, int]] | None = None
    for i, j in ((a, b) for a in ends for b in ends if a < b):
        between, around = segments[i + 1:j], (*segments[j + 1:], *segments[:i])
        if between and around:
            gap = abs(math.fsum(s.length for s in between) - math.fsum(s.length for s in around))
            if best is None or gap < best[0]:
                best = (gap, (i, j))
    if best is None:
        return (region.outer,)
    i, j = best[1]
    return (Path(segments[i + 1:j]),)


def middle_of(region: Region, width: float) -> Path | None:
    """Return about the middle line of an open strip of a width (mm), as chords; None if it is no strip."""
    side = runs_of(region, width)[0]
    if isinstance(side, Loop):
        return None
    points = _evenly(side, max(0.5, width / 4))
    moved = [Point(p.x + w.dx, p.y + w.dy) for p, w in points_and_normals(side, points, width / 2)]
    kept = [a for a, b in pairwise([*moved, moved[-1] + Vec(1.0, 0.0)]) if a.distance(b) > 1e-6]
    return Path.through(kept) if len(kept) > 1 else None


def _evenly(line: Path, apart: float) -> Sequence[float]:
    count = max(1, math.ceil(line.length / apart))
    return [line.length * k / count for k in range(count + 1)]


def points_and_normals(line: Path, stations: Sequence[float], off: float) -> Iterator[tuple[Point, Vec]]:
    """Yield points of a line and displacements square to it, `off` to the left."""
    for station in stations:
        yield point_at(line, station), Vec.polar(heading_at(line, station)).left() * off


__all__ = ["BOARD", "across", "boards", "least", "middle_of", "runs_of", "units"]
