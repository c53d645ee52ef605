"""Typical views of things with posts, boards and water: pergola, fence, deck, pond. One function a form.

As in details_parts: metres, x to the right, y up, only what the values say.
"""

from __future__ import annotations

from itertools import pairwise

from ..geometry.features import SectionDetail
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from .details_parts import (
    GROUND,
    Detail,
    Measure,
    Piece,
    Say,
    Stacked,
    Tag,
    cut_of,
    layered,
    metres,
    millimetres,
    named,
    rect,
)

BAYS_MOST = 2
"""Bays of a longer pergola are not all drawn; its post says how many there are."""


def _post_feet(xs: list[float], post: float, height: float, wide: float, deep: float) -> tuple[list[Piece], list[Loop]]:
    """Return posts seen, their footings hidden below ground."""
    pieces = [Piece(rect(x - post / 2, 0.0, x + post / 2, height), "") for x in xs]
    if wide > 0 and deep > 0:
        pieces += [Piece(rect(x - wide / 2, -deep, x + wide / 2, -0.002), "", "thin", "hidden") for x in xs]
    return pieces, []


def pergola(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return the long side of a pergola: posts, beam, rafters' ends, footings hidden."""
    size, word = section.sizes.get, section.words.get
    high, bay, post = size("height", 0.0), size("bay", 0.0), size("post", 0.1)
    if not (high > 0 and bay > 0):
        return None
    there = max(1, round(size("bays", 3.0)))
    bays = min(BAYS_MOST, there)
    beam, over = size("beam depth", 0.15), size("overhang", 0.3)
    xs = [i * bay for i in range(bays + 1)]
    low, high_beam = high - beam, high
    pieces, _ = _post_feet(xs, post, low, size("footing width", 0.0), size("footing depth", 0.0))
    pieces.append(Piece(rect(-over, low, xs[-1] + over, high_beam), ""))
    tags = [
        Tag(
            Point(xs[-1] + over / 2, high - beam / 2),
            (named(word("beam", "beam")), _section(size("beam width", 0.0), beam, say)),
        )
    ]
    raft, wide, pitch = size("rafter depth", 0.0), size("rafter width", 0.0), size("rafter spacing", 0.0)
    if raft > 0 and wide > 0 and pitch > 0:
        count = int((xs[-1] + 2 * over - wide) // pitch) + 1
        start = -over + (xs[-1] + 2 * over - (count - 1) * pitch) / 2
        pieces += [
            Piece(rect(start + i * pitch - wide / 2, high, start + i * pitch + wide / 2, high + raft), "", "thin")
            for i in range(count)
        ]
        tags.append(
            Tag(
                Point(start + (count - 1) * pitch, high + raft * 0.6),
                (named(word("rafter", "rafter")), f"{_section(wide, raft, say)} at {say(pitch)}"),
            )
        )
    many = (f"{there} bays in all",) if there > bays else ()
    tags.append(Tag(Point(xs[-1], low * 0.6), (named(word("post", "post")), _section(post, post, say), *many)))
    line = Path.through((Point(-over - 0.2, 0.0), Point(xs[-1] + over + 0.2, 0.0)))
    deep = max(size("footing depth", 0.0), 0.1)
    ground = tuple(
        rect(a, -min(deep, 0.25), b, -0.02)
        for a, b in _gaps(xs, max(size("footing width", 0.0), post), line.start.x, line.end.x)
    )
    tags += _footing(section, xs[-1], deep, say)
    measures = [
        Measure(Point(-over, 0), Point(-over, low), "left"),
        Measure(Point(-over, 0), Point(-over, high + raft), "left", 1),
    ]
    measures += [Measure(Point(a, -deep), Point(b, -deep), "below") for a, b in pairwise(xs)]
    return Detail(
        title=named(section.title),
        pieces=tuple(pieces),
        finished=(line,),
        ground=ground,
        tags=tuple(tags),
        measures=tuple(measures),
        elements=section.elements,
        say=metres if say is millimetres else say,
        elevation=True,
    )


def _section(wide: float, deep: float, say: Say) -> str:
    return f"{say(wide)} × {say(deep)}" if wide > 0 else f"{say(deep)} deep"


def _footing(section: SectionDetail, x: float, deep: float, say: Say) -> list[Tag]:
    wide, depth = section.sizes.get("footing width", 0.0), section.sizes.get("footing depth", 0.0)
    if not (wide > 0 and depth > 0):
        return []
    return [
        Tag(
            Point(x + wide / 4, -deep * 0.6),
            (
                named(section.words.get("footing", "concrete footing")),
                f"{say(wide)} wide, {say(depth)} deep",
            ),
        )
    ]


def _gaps(xs: list[float], wide: float, left: float, right: float) -> list[tuple[float, float]]:
    """Return the stretches of ground between footings, a little clear of each."""
    clear = wide / 2 + 0.05
    edges = [left, *(e for x in xs for e in (x - clear, x + clear)), right]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 0.12]


def fence(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return one bay of a fence."""
    size, word = section.sizes.get, section.words.get
    high, panel, post = size("height", 0.0), size("panel", 0.0), size("post", 0.1)
    if not (high > 0 and panel > 0):
        return None
    xs = [0.0, panel]
    wide, deep = size("footing width", 0.0), size("footing depth", 0.0)
    pieces, _ = _post_feet(xs, post, high, wide, deep)
    pieces.append(Piece(rect(post / 2, 0.05, panel - post / 2, high - 0.05), "", "thin"))
    line = Path.through((Point(-0.2, 0.0), Point(panel + 0.2, 0.0)))
    ground = tuple(rect(a, -0.2, b, -0.02) for a, b in _gaps(xs, max(wide, post), line.start.x, line.end.x))
    tags = [
        Tag(Point(panel * 0.5, high * 0.5), (named(word("panel", "panel")),), held=True),
        Tag(Point(xs[-1], high * 0.4), (named(word("post", "post")), _section(post, post, say))),
        *_footing(section, xs[-1], max(deep, 0.1), say),
    ]
    measures = (
        Measure(Point(-post, 0), Point(-post, high), "left"),
        Measure(Point(0, -max(deep, 0.2)), Point(panel, -max(deep, 0.2)), "below"),
    )
    return Detail(
        title=named(section.title),
        pieces=tuple(pieces),
        finished=(line,),
        ground=ground,
        tags=tuple(tags),
        measures=measures,
        elements=section.elements,
        say=metres if say is millimetres else say,
        elevation=True,
    )


def deck(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return a section across the boards: boards, a joist seen, the ground below."""
    size = section.sizes.get
    wide, gap, thick = size("board width", 0.0), size("board gap", 0.005), size("board thickness", 0.0)
    if not (wide > 0 and thick > 0):
        return None
    count = max(3, min(6, int(0.61 // (wide + gap))))
    pieces = [
        Piece(rect(i * (wide + gap), -thick, i * (wide + gap) + wide, 0.0), "timber-across") for i in range(count)
    ]
    right = count * (wide + gap) - gap
    joist, clear = size("joist depth", 0.0), size("clear", 0.08)
    tags = [
        Tag(
            Point(right - wide / 2, -thick / 2),
            ("Board", f"{say(wide)} × {say(thick)}", f"gap {say(gap)}"),
        )
    ]
    if joist > 0:
        pieces.append(Piece(rect(0.0, -thick - joist, right, -thick), "timber-along"))
        pitch = size("joist spacing", 0.0)
        tags.append(
            Tag(
                Point(right * 0.8, -thick - joist / 2),
                (
                    "Joist",
                    _section(size("joist width", 0.0), joist, say) + (f" at {say(pitch)}" if pitch > 0 else ""),
                ),
            )
        )
    low = thick + joist + max(clear, 0.03)
    stack, membranes, rows, depth = layered(section.layers, 0.0, right, -low, say)
    pieces += stack
    ground = (rect(0.0, -low - depth - GROUND, right, -low - depth - 0.001),)
    return Detail(
        title=named(section.title),
        say=say,
        pieces=tuple(pieces),
        membranes=tuple(membranes),
        ground=ground,
        tags=tuple(tags),
        finished=tuple(Path.through((Point(0.0, y), Point(right, y))) for y in (0.0, -low)),
        elements=section.elements,
        stacked=Stacked(right * 0.25, tuple(rows)) if rows else None,
        measures=(Measure(Point(0.0, 0.0), Point(0.0, -low), "left"),),
    )


def pond(section: SectionDetail, say: Say = millimetres) -> Detail | None:
    """Return the edge of a pond: coping, side, floor, water level, the layers under the water."""
    size, word = section.sizes.get, section.words.get
    deep = size("depth", 0.0)
    if not deep > 0:
        return None
    ew, ed, drop = size("edge width", 0.0), size("edge depth", 0.0), size("water", 0.05)
    floor = 0.45
    stack, membranes, rows, thick = layered(section.layers, 0.0, floor, -deep, say)
    pieces = [*stack]
    tags = []
    shore = [Point(floor, -deep), Point(floor, 0.0)]
    finished = [Path.through((Point(0.0, -deep), *shore))]
    if ew > 0 and ed > 0:
        pieces.append(Piece(rect(floor, -ed, floor + ew, 0.0), cut_of(word("edge", "stone")) or "stone-cut"))
        tags.append(
            Tag(Point(floor + ew / 2, -ed / 2), (named(word("edge", "edge")), f"{say(ew)} × {say(ed)}"))
        )
        finished.append(Path.through((Point(floor, 0.0), Point(floor + ew, 0.0))))
    right = floor + max(ew, 0.0) + 0.2
    finished.append(Path.through((Point(floor + ew, 0.0), Point(right, 0.0))))
    ground = (
        rect(0.0, -deep - thick - GROUND, right, -deep - thick - 0.001),
        rect(floor + max(ew, 0.02), -deep - thick, right, -0.012),
        rect(floor + 0.02, -deep - thick, floor + max(ew, 0.021), -max(ed, 0.012) - 0.012),
    )
    water = Path.through((Point(0.0, -drop), Point(floor, -drop)))
    tags.append(Tag(Point(floor * 0.45, -drop - 0.06), ("Water",), held=True))
    over, out = size("liner", 0.0), 0.0135
    if over > 0:
        bent = (Point(0.0, -deep), Point(floor + out, -deep), Point(floor + out, -ed), Point(floor + over, -ed))
        membranes.append(Path.through(bent))
        tags.append(Tag(Point(floor + out, -deep / 2), ("Liner", f"{say(over)} over the rim")))
    return Detail(
        title=named(section.title),
        say=say,
        pieces=tuple(pieces),
        finished=tuple(finished),
        ground=ground,
        tags=tuple(tags),
        membranes=tuple(membranes),
        breaks=((Point(0.0, 0.02), Point(0.0, -deep - thick - GROUND)),),
        measures=(Measure(Point(0.0, 0), Point(0.0, -deep), "left"),),
        water=(water,),
        elements=section.elements,
        stacked=Stacked(floor * 0.3, tuple(rows)) if rows else None,
    )
