"""The typical section of a wall: coping, courses, damp course, piers beyond, footing, and the drain behind it.

Metres, x to the right, y up, 0 at the lower ground; the higher ground lies at the left. What the model does not say
is drawn as is usual and carries no figure.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from .details_parts import (
    GROUND,
    SAME,
    Detail,
    Measure,
    Piece,
    Say,
    Tag,
    cut_of,
    line_through,
    millimetres,
    named,
    rect,
    ring,
)

DRIP = 0.010
"""Width and depth of a drip groove as drawn: common practice, no source; the sheet gives it no figure."""

DAMP = 0.15
"""A damp course is drawn in the first bed joint so far over the higher ground: common practice, no source."""

SOIL = 0.03
"""Fabric is drawn over drainage stone that lies under more soil than this, metres."""

UNDER = 0.008
"""A damp course under a coping is drawn so far below it, metres, so that both are seen."""

WEEP = 0.075
"""Weep pipes are drawn so far over the lower ground, metres: common practice, no source; local practice decides."""


@dataclass(frozen=True, slots=True)
class _Wall:
    """The sizes of a wall, metres: half its thickness, its heights, coping, footing, drain."""

    section: SectionDetail
    x: float        # half the thickness
    high: float     # top of all
    top: float      # top of the masonry
    kept: float     # the ground at the left
    below: float    # the footing's top lies so far under the ground
    fw: float
    fd: float
    cw: float
    stone: float    # width of the drainage stone
    cover: float    # soil over it

    @property
    def low(self) -> float:
        """The bottom of the footing, or of the masonry."""
        return -self.below - self.fd

    def word(self, name: str, usual: str = "") -> str:
        """Return a word of the section."""
        return self.section.words.get(name, usual)

    def size(self, name: str) -> float:
        """Return a size of the section, 0 if it has none."""
        return self.section.sizes.get(name, 0.0)


def _read(section: SectionDetail) -> _Wall | None:
    size = section.sizes.get
    thick, high = size("thickness", 0.0), size("height", 0.0)
    if not (thick > 0 and high > 0):
        return None
    fw, fd, cw, ch = (size(n, 0.0) for n in ("footing width", "footing depth", "coping width", "coping height"))
    below, cover = size("below", 0.0), size("drain cover", 0.0)
    kept, founded, coped = size("retained", 0.0), fw > 0 and fd > 0, cw > 0 and ch > 0
    return _Wall(
        section=section,
        x=thick / 2,
        high=high + (ch if coped else 0.0),
        top=high,
        kept=kept,
        below=below,
        fw=fw if founded else 0.0,
        fd=fd if founded else 0.0,
        cw=cw if coped else 0.0,
        stone=size("drain stone", 0.0) if kept > 0 and kept - cover + below > SAME else 0.0,
        cover=cover,
    )


def wall(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return a wall cut across, the ground on both sides; None for one without thickness or height."""
    w = _read(section)
    if w is None:
        return None
    reach = max(w.fw / 2, w.x, w.cw / 2, w.x + w.stone) + 0.12
    damp = _damp(w)
    return Detail(
        title=named(section.title),
        say=say,
        pieces=(*_behind(w), *_masonry(w), *_coping(w), *_footing(w), *_drain(w)),
        finished=(_surface(w, reach),),
        ground=tuple(_ground(w, reach)),
        joints=tuple(_joints(w)),
        fabrics=tuple(_fabric(w)),
        damp=(damp,) if damp is not None else (),
        tags=tuple(_tags(w, damp, say)),
        measures=tuple(_measures(w)),
        elements=section.elements,
    )


def _course(w: _Wall) -> float:
    high = w.size("unit height")
    return high + w.size("joint") if high > 0 else 0.0


def _behind(w: _Wall) -> Iterator[Piece]:
    """Yield a pier that is seen beyond the cut."""
    side = w.size("pier") / 2
    if side > w.x:
        for a, b in ((-side, -w.x), (w.x, side)):
            low = w.kept if a < 0 else 0.0
            if w.top - low > SAME:
                yield Piece(rect(a, low, b, w.top), "", "thin")


def _masonry(w: _Wall) -> Iterator[Piece]:
    """Yield the wall, in two parts where a weep pipe runs through it, falling to the open side."""
    hatch = cut_of(w.word("unit", "brick")) or "brick-cut"
    weep, x = w.size("weep") if w.stone else 0.0, w.x
    if not 0 < weep < w.top - WEEP - 0.05:
        yield Piece(rect(-x, -w.below, x, w.top), hatch)
        return
    drop = x / 10       # it falls as it goes out
    low, high = (WEEP + drop, WEEP - drop), (WEEP + weep + drop, WEEP + weep - drop)
    yield Piece(ring((-x, -w.below), (x, -w.below), (x, low[1]), (-x, low[0])), hatch)
    yield Piece(ring((-x, high[0]), (x, high[1]), (x, w.top), (-x, w.top)), hatch, lean=False)


def _coping(w: _Wall) -> Iterator[Piece]:
    """Yield the coping, with its drip grooves where the model gives them."""
    if not w.cw:
        return
    out, y0, y1 = w.cw / 2, w.top, w.high
    corners = [(-out, y0), (out, y0)]
    over = out - w.x
    if w.word("drip") and over > 2 * DRIP:
        at = w.x + over * 0.6
        groove = [(at - DRIP / 2, y0), (at - DRIP / 2, y0 + DRIP), (at + DRIP / 2, y0 + DRIP), (at + DRIP / 2, y0)]
        corners = [(-out, y0), *((-x, y) for x, y in reversed(groove)), *groove, (out, y0)]
    yield Piece(ring(*corners, (out, y1), (-out, y1)), cut_of(w.word("coping", "stone")) or "stone-cut")


def _footing(w: _Wall) -> Iterator[Piece]:
    if w.fw:
        yield Piece(rect(-w.fw / 2, w.low, w.fw / 2, -w.below), cut_of(w.word("footing", "concrete")) or "concrete")


def _drain(w: _Wall) -> Iterator[Piece]:
    """Yield the drainage stone behind the wall, and the pipe in its foot."""
    if not w.stone:
        return
    head, radius = w.kept - w.cover, w.size("drain pipe") / 2
    body = rect(-w.x - w.stone, -w.below, -w.x, head)
    if not radius > 0:
        yield Piece(body, "drainage-stone")
        return
    pipe = _pipe(w)
    yield Piece(body, "drainage-stone", holes=(pipe,))
    yield Piece(pipe, "")
    yield Piece(Loop.circle(_pipe_at(w), max(radius - 0.006, radius * 0.8)), "", "thin")


def _pipe_at(w: _Wall) -> Point:
    """Return the middle of the pipe, on the bed that the footing gives it."""
    radius = w.size("drain pipe") / 2
    return Point(-w.x - w.stone / 2, -w.below + radius + 0.02)


def _pipe(w: _Wall) -> Loop:
    return Loop.circle(_pipe_at(w), w.size("drain pipe") / 2)


def _fabric(w: _Wall) -> Iterator[Path]:
    """Yield the fabric between the ground and the stone: behind it and over it."""
    if w.stone and w.word("fabric"):
        back, head = -w.x - w.stone, w.kept - w.cover
        up = (Point(back - 0.009, -w.below), Point(back - 0.009, head + 0.009 * (w.cover > SOIL)))
        yield Path.through((*up, Point(-w.x, head + 0.009)) if w.cover > SOIL else up)


def _damp(w: _Wall) -> Path | None:
    """Return the damp course in a bed joint over the higher ground, or under the coping if that is too near the top."""
    if not w.size("damp course"):
        return None
    course = _course(w)
    at = w.kept + DAMP
    if course > 0:
        at = -w.below + course * -(-(at + w.below) // course)
    at = at if at <= w.top - max(course, 0.05) else w.top - UNDER
    return Path.through((Point(-w.x, at), Point(w.x, at)))


def _joints(w: _Wall) -> Iterator[Path]:
    """Yield the bed joints from the foot up, and in a wall of two leaves one between them in every second course."""
    course, wide = _course(w), w.size("unit width")
    if not course > 0:
        return
    weep = (WEEP - w.x / 10, WEEP + w.size("weep") + w.x / 10) if w.stone and w.size("weep") else (0.0, 0.0)
    for k in range(int((w.top + w.below) / course + 1e-9)):
        bed = -w.below + (k + 1) * course
        clear = not weep[0] < bed < weep[1]
        if bed < w.top - w.size("joint") and clear:
            yield Path.through((Point(-w.x, bed), Point(w.x, bed)))
        if k % 2 and 0 < wide < 1.2 * w.x and not bed - course < weep[1] < bed + course:
            yield Path.through((Point(0.0, bed - course), Point(0.0, min(bed, w.top))))


def _surface(w: _Wall, reach: float) -> Path:
    """Return the finished surface: higher ground, wall, coping, lower ground."""
    out = w.cw / 2 or w.x
    edge = [(-reach, w.kept), (-w.x, w.kept), (-w.x, w.top), (-out, w.top), (-out, w.high), (out, w.high)]
    edge += [(out, w.top), (w.x, w.top), (w.x, 0.0), (reach, 0.0)]
    return line_through(*edge)


def _ground(w: _Wall, reach: float) -> Iterator[Loop]:
    """Yield the ground under the footing and on both sides, clear of footing and drain."""
    base = min(w.low, -0.12)
    yield rect(-reach, base - GROUND * 0.8, reach, base - 0.001)
    for side, height in ((-1, w.kept), (1, 0.0)):
        inner = w.x + (w.stone if side < 0 else 0.0)
        foot = w.fw / 2 or w.x
        for start, low, high in ((foot, w.low, -w.below), (max(inner, w.x), -w.below, height - 0.012)):
            if high - low > 0.02 and reach - start > 0.02:
                a, b = sorted((side * start, side * reach))
                yield rect(a, low, b, high)
    if w.stone and w.cover > 0.03:
        yield rect(-w.x - w.stone, w.kept - w.cover + 0.012, -w.x, w.kept - 0.012)


def _tags(w: _Wall, damp: Path | None, say: Say) -> Iterator[Tag]:
    """Yield the names, from the top down on the whole."""
    unit = w.word("unit", "brick")
    if w.cw:
        sizes = f"{say(w.cw)} × {say(w.high - w.top)}"
        drip = ("drip under each side",) if w.word("drip") else ()
        yield Tag(Point(w.cw * 0.3, (w.top + w.high) / 2), (named(w.word("coping", "coping")), sizes, *drip))
    lines = (f"{named(unit)}, {say(2 * w.x)} thick", w.word("bond"))
    yield Tag(Point(w.x * 0.3, w.top - min(0.3, 0.35 * w.top)), tuple(line for line in lines if line))
    if damp is not None:
        yield Tag(damp.segments[0].point(0.85), ("Damp course,", "height as local", "practice asks"))
    side = w.size("pier")
    if side / 2 > w.x:
        yield Tag(Point((side / 2 + w.x) / 2, w.top * 0.3), ("Pier beyond", f"{say(side)} × {say(side)}"))
    if w.fw:
        yield Tag(Point(w.fw * 0.35, -w.below - w.fd / 2),
                  (named(w.word("footing", "concrete footing")), f"{say(w.fw)} × {say(w.fd)}"))
    yield from _drain_tags(w, say)


def _drain_tags(w: _Wall, say: Say) -> Iterator[Tag]:
    if not w.stone:
        return
    weep, pipe, x = w.size("weep"), w.size("drain pipe"), -w.x - w.stone / 2
    if weep:
        words = (f"Weep pipe Ø {say(weep)}", f"at most {say(w.size('weep spacing'))}", "apart")
        yield Tag(Point(w.x * 0.5, WEEP + weep / 2 - w.x / 20), words)
    stone = ("Drainage stone", f"{say(w.stone)} wide", *(("in fabric",) if w.word("fabric") else ()))
    yield Tag(Point(x, (w.kept - w.cover) * 0.6), stone, left=True)
    if pipe:
        yield Tag(_pipe_at(w), (f"Drain pipe Ø {say(pipe)}", "to an outlet"), left=True)


def _measures(w: _Wall) -> Iterator[Measure]:
    """Yield thickness or footing, and the heights: at the left, or on the open side of a wall that holds ground."""
    if not w.cw:
        yield Measure(Point(-w.x, w.top), Point(w.x, w.top), "above")
    if w.fw:
        yield Measure(Point(-w.fw / 2, w.low), Point(w.fw / 2, w.low), "below")
    side, x = ("right", w.x) if w.kept > 0 else ("left", -w.x)
    stations = sorted({w.high, w.top, 0.0, -w.below, w.low, *((w.kept,) if w.kept > 0 else ())}, reverse=True)
    for a, b in pairwise(stations):
        if a - b > 0.01:
            yield Measure(Point(x, a), Point(x, b), side)
    if w.kept > 0 or w.cw:
        yield Measure(Point(x, w.high), Point(x, 0.0), side, 1)
