"""Plan symbols: north point, crowns, seats, pots, steps, falls, levels, section marks, view titles.

Every function returns one group of plain strokes and fills. All lengths millimetres on paper (true sizes
already scaled), angles radians. `layer` is the drawing-order group that the symbol goes to.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point, Vec
from ..geometry.kernel.segment import Arc, Line
from .draft import Nib, arrow, block, blot, disc, group, open_head, shape
from .lettering import width
from .sheet import Fill, Group, Mark, Stroke, Text
from .wrapping import FIGURES, NAMES, NUMBERS

DEGREE = math.pi / 180
LIGHT = -45 * DEGREE
"""Shaded side of a crown: one light, from the upper left."""


def lobes(centre: Point, radius: float, lobe: float = 5.0, least: int = 7) -> Iterator[Path]:
    """Yield the lobes of a crown outline, each tucked behind the one before; about `lobe` long each."""
    count = min(26, max(least, round(2 * math.pi * radius / lobe)))
    tuck = min(1.1, 0.16 * 2 * math.pi * radius / count)
    pace = 2 * math.pi / count
    for i in range(count):
        begin = 100 * DEGREE + i * pace
        start = centre + Vec.polar(begin, radius - tuck)
        end = centre + Vec.polar(begin + 1.12 * pace, radius - 0.08 * tuck)
        yield Path((_bulging(start, end, 0.2),))


def _bulging(start: Point, end: Point, share: float) -> Arc:
    """Return the anticlockwise arc from start to end whose sagitta is `share` of the chord."""
    chord = end - start
    radius = chord.length * (0.25 + share * share) / (2 * share)
    middle = start.toward(end, 0.5)
    centre = middle + chord.unit().left() * (radius - share * chord.length)
    return Arc.between(centre, start.distance(centre), start, end, left=True)


def crown(
    layer: str, centre: Point, radius: float, pen: str = "edge", dash: str = "", shaded: bool = False
) -> tuple[Mark, ...]:
    """Return a tree's spread seen from above; shaded on the side away from the light."""
    nib = Nib(layer, pen, dash)
    marks: list[Mark] = [nib.path(lobe) for lobe in lobes(centre, radius)]
    if shaded:
        thin = Nib(layer, "thin")
        for back, span in ((1.5, 52), (2.5, 38), (3.7, 22)):
            if radius - back >= 1.5:
                marks.append(thin.arc(centre, radius - back, LIGHT - span * DEGREE, 2 * span * DEGREE))
    return tuple(marks)


def planting_point(layer: str, at: Point) -> tuple[Mark, ...]:
    """Return where a new tree stands: a ring with a cross through it."""
    return (Nib(layer, "mark").ring(at, 0.95), *Nib(layer, "thin").cross(at, 1.9))


def tree(at: Point, radius: float, status: str, stem: float = 0.0, pen: str = "edge", shaded: bool = True) -> Group:
    """Return a tree: 'proposed' shaded, 'existing' thin with its true stem, 'remove' dashed and crossed out."""
    if status == "existing":
        marks = (*crown("existing", at, radius, "thin"), disc("existing", at, max(0.7, stem / 2)))
        return group("existing", "symbol tree-existing", marks, "Tree that stays")
    if status == "remove":
        marks = (
            *crown("existing", at, radius, "thin", "removed"),
            Nib("existing", "mark").ring(at, max(0.7, stem / 2)),
            *Nib("existing", "edge").saltire(at, 2.5),
        )
        return group("existing", "symbol tree-remove", marks, "Tree to go")
    marks = (*crown("plants", at, radius, pen, shaded=shaded), *planting_point("plants", at))
    return group("plants", "symbol tree-new", marks, "New tree")


def shrub(at: Point, radius: float, layer: str = "plants") -> Group:
    """Return a shrub: a small crown and a dot."""
    nib = Nib(layer, "mark")
    return group(
        layer, "symbol shrub", (*(nib.path(p) for p in lobes(at, radius, 3.1, 5)), disc(layer, at, 0.35)), "Shrub"
    )


def shadow(at: Point, radius: float, throw: float) -> Fill:
    """Return the shadow of a round thing, thrown to the lower right."""
    return Fill(
        layer="shadows",
        region=Region(Loop.circle(at + Vec(throw, -throw) * math.sqrt(0.5), radius)),
        opacity=0.16,
        classes=("shadow",),
    )


def post(at: Point, side: float, turn: float = 0.0, layer: str = "built", status: str = "proposed") -> Group:
    """Return a post: a square of true size, at least 1.3; new ones filled, standing ones open, those to go a cross."""
    h = max(1.3, side) / 2
    corners = shape([(-h, -h), (h, -h), (h, h), (-h, h)], at, turn)
    marks: tuple[Mark, ...] = (blot(layer, *corners),)
    if status == "existing":
        marks = (blot(layer, *corners, tone="white"), Nib(layer, "thin").outline(*corners))
    elif status == "remove":
        marks = Nib(layer, "mark").saltire(at, 0.8)
    return group(layer, "symbol post", marks, "Post")


STANDING = {"cut": "mark", "edge": "mark", "mark": "thin"}
"""Pens of a thing that stands already, where a new one has heavier pens."""


def of_status(mark: Group, at: Point, status: str) -> Group:
    """Return a symbol lighter for a thing that stands already.

    One that is to go keeps its outline, a gate its swing too, thin and dashed, and is crossed out on a white ground.
    """
    if status == "existing":
        marks = tuple(replace(m, pen=STANDING.get(m.pen, m.pen)) if isinstance(m, Stroke) else m for m in mark.marks)
        return replace(mark, marks=marks)
    if status == "remove":
        grounds = tuple(m for m in mark.marks if isinstance(m, Fill) and m.tone == "white")
        lines = tuple(replace(m, pen="thin", dash="removed") for m in mark.marks
                      if isinstance(m, Stroke) and (m.pen not in {"thin", "texture"} or "gate" in mark.classes))
        return replace(mark, marks=(*grounds, *lines, *Nib(mark.layer, "edge").saltire(at, 2.0)))
    return mark


def seat(at: Point, length: float, depth: float, turn: float, layer: str = "built") -> Group:
    """Return a bench: white ground, outline, slats, and its back as the heaviest line (on the far side)."""
    a, b = max(length, 3.0) / 2, max(depth, 2.0) / 2
    corners = shape([(-a, -b), (a, -b), (a, b), (-a, b)], at, turn)
    slat = Nib(layer, "thin" if depth >= 5 else "texture")
    marks: list[Mark] = [
        blot(layer, *corners, tone="white"),
        Nib(layer, "mark").path(Path.through((corners[3], *corners[:3]))),
    ]
    marks += [slat.line(*shape([(-a, b * s), (a, b * s)], at, turn)) for s in (-0.5, 0.0, 0.5)]
    marks.append(Nib(layer, "cut").line(corners[3], corners[2]))
    return group(layer, "symbol seat", marks, "Seat")


def sundial(at: Point, radius: float, turn: float = 0.0, layer: str = "built") -> Group:
    """Return a sundial: ring, seven hours, gnomon."""
    r, nib = max(2.0, radius), Nib(layer, "thin")
    marks: list[Mark] = [disc(layer, at, r, "white"), Nib(layer, "mark").ring(at, r)]
    for i in range(7):
        ray = turn + math.pi / 2 + (i - 3) * 30 * DEGREE
        marks.append(nib.line(at + Vec.polar(ray, 0.68 * r), at + Vec.polar(ray, r)))
    tip = at + Vec.polar(turn + math.pi / 2, 0.62 * r)
    foot = at + Vec.polar(turn - math.pi / 2, 0.3 * r)
    side = Vec.polar(turn, foot.distance(tip) * math.tan(7 * DEGREE))
    marks.append(blot(layer, tip, foot + -side, foot + side))
    return group(layer, "symbol sundial", marks, "Sundial")


def pot(at: Point, radius: float, layer: str = "built") -> Group:
    """Return a pot: two rings."""
    r, nib = max(1.2, radius), Nib(layer, "mark")
    return group(layer, "symbol pot", (disc(layer, at, r, "white"), nib.ring(at, r), nib.ring(at, 0.62 * r)), "Pot")


def table(at: Point, length: float, depth: float, turn: float = 0.0, layer: str = "built") -> Group:
    """Return a table, or any other thing that stands on the ground: white, outlined, one diagonal."""
    a, b = max(length, 2.0) / 2, max(depth, 2.0) / 2
    corners = shape([(-a, -b), (a, -b), (a, b), (-a, b)], at, turn)
    marks = (
        blot(layer, *corners, tone="white"),
        Nib(layer, "mark").outline(*corners),
        Nib(layer, "thin").line(corners[0], corners[2]),
    )
    return group(layer, "symbol furniture", marks, "Furniture")


def gate(hinge: Point, latch: Point, left: bool, layer: str = "built") -> Group:
    """Return a gate drawn 70 degrees open with the arc that its leaf swings."""
    leaf, sign = latch - hinge, 1 if left else -1
    tip = hinge + Vec.polar(leaf.heading + sign * 70 * DEGREE, leaf.length)
    marks = (
        Nib(layer, "edge").line(hinge, tip),
        Nib(layer, "thin").arc(hinge, leaf.length, leaf.heading, sign * 70 * DEGREE),
    )
    return group(layer, "symbol gate", marks, "Gate")


def steps_arrow(path: Path, layer: str = "built") -> Group:
    """Return the arrow of a flight: a ring at the foot, an open head at the top."""
    nib, start, end = Nib(layer, "mark"), path.start, path.end
    first = (path.segments[0].point(min(1.0, 0.7 / path.segments[0].length)) - start).unit()
    tail = Path.through((start + first * 0.7, end)) if len(path.segments) == 1 else path
    head = path.segments[-1].heading(1.0)
    marks = (nib.ring(start, 0.7), nib.path(tail), open_head(nib, end, head, 2.2, 50 * DEGREE))
    return group(layer, "symbol steps-arrow", marks, "Arrow points up the steps")


def fall(at: Point, heading: float, words: str, length: float = 12.5, layer: str = "marks") -> Group:
    """Return a fall centred on `at`: the filled head points down it, the ratio stands above, readable."""
    half = Vec.polar(heading, length / 2)
    turn, up = readable(heading)
    marks: list[Mark] = [
        Nib(layer, "thin").line(at + -half, at + half + -Vec.polar(heading, 1.5)),
        arrow(layer, at + half, heading, 3.0, 18 * DEGREE),
    ]
    if words:
        marks.append(Text(layer=layer, at=at + Vec.polar(up, 0.9), words=words, anchor="middle", turn=turn))
    return group(layer, "fall", marks, "Fall, the arrow points down")


def readable(heading: float) -> tuple[float, float]:
    """Return the turn of lettering along `heading` that reads from below or the right, and the way up from it.

    What is all but upright reads from the right.
    """
    turn = math.atan2(math.sin(heading), math.cos(heading))
    if not -85.0 * DEGREE < turn <= 95.0 * DEGREE:
        turn += math.pi if turn < 0 else -math.pi
    turn = min(turn, math.pi / 2)
    return turn, turn + math.pi / 2


def level_on_section(at: Point, words: str, right: bool = True, layer: str = "marks") -> Group:
    """Return a level on a section: an open right-angled arrowhead standing on it, shelf and figure."""
    nib, sign = Nib(layer, "mark"), 1 if right else -1
    top = at + Vec(0, 4.2)
    marks: list[Mark] = [
        nib.line(at + Vec(-1.3, 1.3), at, at + Vec(1.3, 1.3)),
        nib.line(at, top, top + Vec(11 * sign, 0)),
        Text(layer=layer, at=top + Vec(6.2 * sign, 0.9), words=words, anchor="middle"),
    ]
    return group(layer, "level", marks, "Level")


def level_cross(at: Point, layer: str = "marks") -> Group:
    """Return the diagonal cross on a spot level's very point."""
    return group(layer, "symbol level-point", Nib(layer, "mark").saltire(at, 0.85), "Spot level")


N_HALF = 2.7
"""Half the width of the letter of the north point."""


def north_point(foot: Point, north: float, layer: str = "marks") -> Group:
    """Return the north point standing on `foot`; `north` is its direction on paper (radians from x)."""
    turn = north - math.pi / 2
    staff = Nib(layer, "edge").line(*shape([(0, 0), (0, 22)], foot, turn))
    bar = Nib(layer, "edge").line(*shape([(-2.6, 3.2), (2.6, 3.2)], foot, turn))
    vane = blot(layer, *shape([(0, 22), (3.4, 13.5), (0, 15.4)], foot, turn))
    out = abs(math.cos(north)) * N_HALF + abs(math.sin(north)) * NUMBERS / 2 + 0.9     # off the staff
    beyond = foot + Vec.polar(north, 22 + max(3.4, out))
    letter = Text(
        layer=layer, at=beyond + Vec(0, -NUMBERS / 2), words="N", capitals=NUMBERS, style="bold", anchor="middle"
    )
    return group(layer, "north", (staff, bar, vane, letter), "North")


def peg_head(centre: Point, side: float, words: str, capitals: float, layer: str) -> tuple[Mark, ...]:
    """Return a square peg head with a white letter or figure in it."""
    h = side / 2
    return (block(layer, Box(centre.x - h, centre.y - h, centre.x + h, centre.y + h)),
            _head_letter(centre, words, capitals, layer))


def _head_letter(centre: Point, words: str, capitals: float, layer: str) -> Text:
    return Text(layer=layer, at=centre + Vec(0, -capitals / 2), words=words, capitals=capitals, style="bold",
                anchor="middle", tone="white")


HEAD, NIB, CUT_STROKE = 4.6, 2.3, 5.0
"""Side of the peg head of a section, how far its nib reaches beyond it, and its stroke on the cut, mm."""


def section_mark(at: Point, along: float, looking: float, letter: str, layer: str = "marks") -> Group:
    """Return one end of a section: a heavy stroke from `at` outward along the cut, a peg head with a nib.

    `along` is the direction from the thing outward, `looking` the direction of view.
    """
    head = section_head(at, along)
    stroke = Nib(layer, "cut").line(at, at + Vec.polar(along, CUT_STROKE))
    return group(layer, "section", (stroke, *_looking(head, looking, letter, layer)), f"Section {letter}")


def section_head(at: Point, along: float) -> Point:
    """Return the middle of the peg head of a section whose stroke begins at a point."""
    return at + Vec.polar(along, CUT_STROKE + HEAD / 2)


def elevation_mark(head: Point, looking: float, letter: str, layer: str = "marks") -> Group:
    """Return the sign of a view that is looked at from `head` and not cut: a peg head with a nib."""
    return group(layer, "section", _looking(head, looking, letter, layer), f"View {letter}")


def head_corners(head: Point, looking: float) -> tuple[Point, ...]:
    """Return the outline of a peg head with its nib: it is turned with the view, its letter stays upright."""
    h = HEAD / 2
    return shape([(-h, -h), (h, -h), (h, -1.9), (h + NIB, 0.0), (h, 1.9), (h, h), (-h, h)], head, looking)


def _looking(head: Point, looking: float, letter: str, layer: str) -> tuple[Mark, ...]:
    return (blot(layer, *head_corners(head, looking)), _head_letter(head, letter, FIGURES, layer))


def view_title(at: Point, letter: str, title: str, scale: str, layer: str = "labels") -> Group:
    """Return a view's title: peg head with its letter, title, scale; `at` is the head's lower left corner."""
    base = at + Vec(9.5, 3.4 - NAMES / 2)
    marks: list[Mark] = [
        *peg_head(at + Vec(3.4, 3.4), 6.8, letter, NAMES, layer),
        Text(layer=layer, at=base, words=title, capitals=NAMES, style="bold"),
    ]
    if scale:
        marks.append(Text(layer=layer, at=base + Vec(width(title, "bold", NAMES) + 3, 0), words=scale, capitals=NAMES))
    return group(layer, "view-title", marks, title)


def break_line(start: Point, end: Point, layer: str = "thin") -> Stroke:
    """Return a break: a thin line with one zigzag 4 wide in its middle."""
    way = (end - start).unit()
    middle, side = start.toward(end, 0.5), way.left()
    zig = (middle + way * -2.0, middle + way * -0.9 + side * 1.6, middle + way * 0.9 + side * -1.6, middle + way * 2.0)
    return Nib(layer, "thin").line(start, *zig, end)


def flow_chevrons(path: Path, every: float = 55.0, layer: str = "existing") -> tuple[Stroke, ...]:
    """Return open chevrons along a buried service that point with the flow."""
    nib, marks = Nib(layer, "mark", classes=("service",)), []
    count = max(1, round(path.length / every))
    for i in range(count):
        at, heading = _along(path, path.length * (i + 0.5) / count)
        marks.append(nib.line(*shape([(-0.7, 1.0), (0.7, 0), (-0.7, -1.0)], at, heading)))
    return tuple(marks)


def _along(path: Path, station: float) -> tuple[Point, float]:
    """Return the point and heading at a distance along a path."""
    for segment in path.segments:
        if station <= segment.length or segment is path.segments[-1]:
            share = min(1.0, station / segment.length)
            return segment.point(share), segment.heading(share)
        station -= segment.length
    raise AssertionError("a path has a segment")


def straight(path: Path | Loop) -> bool:
    """Say whether every segment is straight."""
    return all(isinstance(s, Line) for s in path.segments)
