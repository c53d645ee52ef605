"""Typical views of things on posts: the long side of a pergola, a bay of a fence, the foot of a post.

As in details_parts: metres, x to the right, y up, only what the values say. A shoe is drawn as is usual and has no
figures.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from .details_parts import Detail, Measure, Piece, Say, Tag, metres, millimetres, named, patches, rect, ring

BAYS_MOST = 2
"""Bays of a longer pergola are not all drawn; it is broken off, and its post says how many there are."""

ON = 0.35
"""A pergola that is broken off runs on so far beyond its last post drawn, metres."""

SEEN = 0.32
"""What is shown of a post over its foot, metres."""

PLATE, FLANGE, STEM, STEM_DEEP = 0.008, 0.09, 0.03, 0.2
"""A post shoe as drawn: its plates, how high they clasp the post, its stem. Common practice, no source; no figures."""


def pergola(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return the long side of a pergola: posts, beam, ends of rafters, footings hidden."""
    size, word = section.sizes.get, section.words.get
    high, bay, post = size("height", 0.0), size("bay", 0.0), size("post", 0.1)
    if not (high > 0 and bay > 0):
        return None
    there = max(1, round(size("bays", 3.0)))
    xs = [i * bay for i in range(min(BAYS_MOST, there) + 1)]
    broken = there > BAYS_MOST
    low, left, right = high - size("beam depth", 0.15), -post / 2, xs[-1] + (ON if broken else post / 2)
    rafters = list(_rafters(section, right if broken else xs[-1] + 1e-6))
    beam = rect(left, low, right, high)
    many = (f"{there} bays in all",) if broken else ()
    tags = [
        Tag(Point(right - post, high - (high - low) * 0.5),
            (named(word("beam", "beam")), _section(size("beam width", 0.0), high - low, say))),
        Tag(Point(xs[-1], low * 0.6), (named(word("post", "post")), _section(post, post, say), *many)),
        *_footing(section, xs[-1], say),
    ]
    head = high + (size("rafter depth", 0.0) if rafters else 0.0)
    if rafters:
        sizes = _section(size("rafter width", 0.0), size("rafter depth", 0.0), say)
        tags.append(Tag(rafters[-1].outline.box.centre,
                        (named(word("rafter", "rafter")), f"{sizes} at {say(size('rafter spacing', 0.0))}")))
    line = Path.through((Point(-0.5, 0.0), Point(right + (0.0 if broken else 0.5), 0.0)))
    measures = [Measure(Point(left, 0), Point(left, top), "left", row) for row, top in enumerate((low, head))]
    deep = size("footing depth", 0.0)
    measures += [Measure(Point(a, -deep), Point(b, -deep), "below") for a, b in pairwise(xs)]
    return Detail(
        title=named(section.title),
        pieces=(*_posts(section, xs, low), Piece(beam, ""), *rafters),
        finished=(line,),
        ground=tuple(_ground(section, xs, line)),
        tags=tuple(tags),
        measures=tuple(measures),
        breaks=((Point(right, head + 0.1), Point(right, -0.3)),) if broken else (),
        elements=section.elements,
        say=metres if say is millimetres else say,
        elevation=True,
    )


def _rafters(section: SectionDetail, to: float) -> Iterator[Piece]:
    """Yield the ends of rafters on the beam, the first over the first post, as far as the view goes."""
    size = section.sizes.get
    deep, wide, pitch, high = (size(n, 0.0) for n in ("rafter depth", "rafter width", "rafter spacing", "height"))
    if not (deep > 0 and wide > 0 and pitch > 0):
        return
    for k in range(int(to / pitch) + 1):
        yield Piece(rect(k * pitch - wide / 2, high, k * pitch + wide / 2, high + deep), "", "thin")


def _posts(section: SectionDetail, xs: Sequence[float], head: float) -> Iterator[Piece]:
    """Yield posts seen, and their footings hidden below ground."""
    size = section.sizes.get
    post, wide, deep, off = size("post", 0.1), size("footing width", 0.0), size("footing depth", 0.0), size("off", 0.0)
    for x in xs:
        yield Piece(rect(x - post / 2, off, x + post / 2, head), "")
        if off > 0:
            yield Piece(rect(x - STEM / 2, 0.0, x + STEM / 2, off), "", "thin")
        if wide > 0 and deep > 0:
            yield Piece(rect(x - wide / 2, -deep, x + wide / 2, -0.002), "", "thin", "hidden")


def _section(wide: float, deep: float, say: Say) -> str:
    return f"{say(wide)} × {say(deep)}" if wide > 0 else f"{say(deep)} deep"


def _footing(section: SectionDetail, x: float, say: Say) -> Iterator[Tag]:
    wide, deep = section.sizes.get("footing width", 0.0), section.sizes.get("footing depth", 0.0)
    if wide > 0 and deep > 0:
        name = named(section.words.get("footing", "concrete footing"))
        words = (name, f"{say(wide)} × {say(wide)},", f"{say(deep)} deep")
        yield Tag(Point(x + wide / 4, -deep * 0.6), words)


def _ground(section: SectionDetail, xs: Sequence[float], line: Path) -> Iterator[Loop]:
    """Yield the ground between the footings, a little clear of each."""
    wide = max(section.sizes.get("footing width", 0.0), section.sizes.get("post", 0.1))
    deep = min(max(section.sizes.get("footing depth", 0.0), 0.1), 0.25)
    clear = wide / 2 + 0.05
    edges = [line.start.x, *(e for x in xs for e in (x - clear, x + clear)), line.end.x]
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        if b - a > 0.12:
            yield rect(a, -deep, b, -0.02)


def fence(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return one bay of a fence."""
    size, word = section.sizes.get, section.words.get
    high, panel, post = size("height", 0.0), size("panel", 0.0), size("post", 0.1)
    if not (high > 0 and panel > 0):
        return None
    xs = [0.0, panel + post]
    shown = metres if say is millimetres else say
    board = Piece(rect(post / 2, 0.05, xs[1] - post / 2, high - 0.05), "", "thin")
    line = Path.through((Point(-0.35, 0.0), Point(xs[1] + 0.35, 0.0)))
    deep = size("footing depth", 0.0)
    return Detail(
        title=named(section.title),
        pieces=(*_posts(section, xs, high), board),
        finished=(line,),
        ground=tuple(_ground(section, xs, line)),
        tags=(
            Tag(Point(xs[1] * 0.5, high * 0.5), (named(word("panel", "panel")), f"{shown(panel)} wide"), held=True,
                room=(panel, high - 0.1)),
            Tag(Point(xs[1], high * 0.4), (named(word("post", "post")), _section(post, post, say))),
            *_footing(section, xs[1], say),
        ),
        measures=(
            Measure(Point(-post / 2, 0), Point(-post / 2, high), "left"),
            Measure(Point(0.0, -deep), Point(xs[1], -deep), "below"),
        ),
        elements=section.elements,
        say=shown,
        elevation=True,
    )


def post_foot(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return a post in its concrete, or on a shoe clear of the wet."""
    size = section.sizes.get
    post, wide, deep, off = size("post", 0.0), size("footing width", 0.0), size("footing depth", 0.0), size("off", 0.0)
    if not (post > 0 and wide > post and deep > 0):
        return None
    x, half, side = post / 2, wide / 2, wide / 2 + 0.12
    if off > 0:
        foot, body = off, [Piece(ring(*_slotted(half, deep)), "concrete")]
        words = ("Post shoe, post", f"{say(off)} clear of the", "ground; fixed as", "its maker says")
        tags = [Tag(Point(x + PLATE / 2, off + FLANGE * 0.6), words)]
        steel = list(_shoe(x, off, deep))
    else:
        foot, steel, tags = -deep, [], []
        body = [Piece(rect(-half, -deep, -x, 0.0), "concrete"), Piece(rect(x, -deep, half, 0.0), "concrete")]
    top = max(off, 0.0) + SEEN
    tags = [
        Tag(Point(x * 0.4, top - 0.08), (named(section.words.get("post", "post")), f"{say(post)} × {say(post)}")),
        *tags,
        Tag(Point((x + half) / 2, -deep * 0.55), ("Concrete", f"{say(wide)} × {say(wide)}")),
    ]
    surface = (Point(-side, 0.0), Point(-x, 0.0)), (Point(x, 0.0), Point(side, 0.0))
    whole = (Point(-side, 0.0), Point(side, 0.0))
    return Detail(
        title=named(section.title),
        say=say,
        pieces=(*body, *steel, Piece(rect(-x, foot, x, top), "timber-upright")),
        finished=tuple(Path.through(ends) for ends in ((whole,) if off > 0 else surface)),
        ground=patches((-side, -deep - 0.08, side, -deep - 0.002), (-side, -deep, -half - 0.004, -0.012),
                       (half + 0.004, -deep, side, -0.012)),
        tags=tuple(tags),
        measures=(
            Measure(Point(-half, -deep), Point(half, -deep), "below"),
            Measure(Point(-side, -deep), Point(-side, 0.0), "left"),
            *((Measure(Point(-side, 0.0), Point(-side, off), "left"),) if off > 0 else ()),
        ),
        breaks=((Point(-x - 0.03, top), Point(x + 0.03, top)),),
        elements=section.elements,
    )


def _stem(deep: float) -> float:
    """Return how deep the stem of a shoe reaches into concrete of a depth."""
    return min(STEM_DEEP, deep / 2)


def _slotted(half: float, deep: float) -> Iterator[tuple[float, float]]:
    """Yield the corners of the concrete round the stem of a shoe."""
    x, low = STEM / 2, -_stem(deep)
    yield from ((-half, -deep), (half, -deep), (half, 0.0), (x, 0.0), (x, low), (-x, low), (-x, 0.0), (-half, 0.0))


def _shoe(x: float, off: float, deep: float) -> Iterator[Piece]:
    """Yield the plate under a post, the two that clasp it, and the stem in the concrete."""
    yield Piece(rect(-STEM / 2, -_stem(deep), STEM / 2, off - PLATE), "steel")
    yield Piece(rect(-x, off - PLATE, x, off), "steel")
    for side in (-1, 1):
        a, b = sorted((side * x, side * (x + PLATE)))
        yield Piece(rect(a, off - PLATE, b, off + FLANGE), "steel")
