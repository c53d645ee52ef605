"""Random gardens as the pegs package meets them: marks, obstacles, a boundary and what is to be pegged.

Made from a seed alone; sizes 8 x 12 to 40 x 60 m, 2 to 4 marks, 2 to 9 obstacles. Obstacles stand denser than
in most real gardens.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass, replace

from pegbook.geometry.errors import GeometryError
from pegbook.geometry.features import MarkGiven, Obstacle, Pegging, Purpose, Tie, Tolerance, Wanted
from pegbook.geometry.kernel.construct import oval, rectangle, rounded_polygon
from pegbook.geometry.kernel.fit import ellipse
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Box, Point, Vec
from pegbook.geometry.kernel.segment import Arc, Line

HARD = Tolerance(position=0.025, shape=0.010, built=0.010, trued=True)
FREE = Tolerance(position=0.030, shape=0.015, built=0.015)
ROUND = Tolerance(position=0.030, shape=0.010, built=0.020)
LAWN = Tolerance(position=0.050, shape=0.025, built=0.050)
BED = Tolerance(position=0.075, shape=0.050, built=0.075)


@dataclass(frozen=True)
class Plot:
    """One garden: what `set_out` takes."""

    peggings: tuple[Pegging, ...]
    marks: tuple[MarkGiven, ...]
    obstacles: tuple[Obstacle, ...]
    boundary: Loop
    width: float
    depth: float


def block(x0: float, y0: float, x1: float, y1: float) -> Loop:
    """An upright rectangle."""
    return Loop.polygon([Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1)])


def _circle(rng: random.Random, at: Point, size: float) -> Pegging:
    loop = Loop.circle(at, size / 2)
    return Pegging(element="", kind="lawn", outlines=(loop,), tolerance=rng.choice((ROUND, LAWN)),
                   dug=(Region(Loop.circle(at, size / 2 + 0.15)),))


def _joined(rng: random.Random, at: Point, size: float) -> Pegging:
    r = size / 3
    gap = r * rng.uniform(0.9, 1.3)
    a, b = at + Vec(-gap / 2, 0), at + Vec(gap / 2, 0)
    rise = math.sqrt(r * r - gap * gap / 4)
    low, high = at + Vec(0, -rise), at + Vec(0, rise)
    loop = Loop.of((Arc.between(b, r, low, high, True), Arc.between(a, r, high, low, True)))
    return Pegging(element="", kind="lawn", outlines=(loop,), tolerance=LAWN, dug=(Region(loop),))


def _rectangle(rng: random.Random, at: Point, size: float) -> Pegging:
    turn = rng.uniform(0, math.pi) if rng.random() < 0.7 else 0.0
    length, width = size * 0.75, size * rng.uniform(0.35, 0.65)
    corner = at + Vec.polar(turn, -length / 2) + Vec.polar(turn + math.pi / 2, -width / 2)
    loop = rectangle(corner, length, width, turn)
    out = corner + Vec.polar(turn, -0.15) + Vec.polar(turn + math.pi / 2, -0.15)
    return Pegging(element="", kind="paving", outlines=(loop,), tolerance=HARD,
                   dug=(Region(rectangle(out, length + 0.3, width + 0.3, turn)),))


def _terrace(rng: random.Random, at: Point, size: float) -> Pegging:
    w, h = size * 0.4, size * rng.uniform(0.2, 0.35)
    r = w * rng.uniform(1.02, 1.8)
    c = at + Vec(0, h - math.sqrt(r * r - w * w))
    p = [at + Vec(-w, -h), at + Vec(w, -h), at + Vec(w, h), at + Vec(-w, h)]
    loop = Loop.of((Line(p[0], p[1]), Line(p[1], p[2]), Arc.between(c, r, p[2], p[3], True), Line(p[3], p[0])))
    return Pegging(element="", kind="paving", outlines=(loop,), tolerance=FREE, dug=(Region(loop),))


def _oval(rng: random.Random, at: Point, size: float) -> Pegging:
    loop = oval(at, size * 0.9, size * rng.uniform(0.5, 0.75), rng.uniform(0, math.pi))
    return Pegging(element="", kind="pond", outlines=(loop,), tolerance=ROUND, dug=(Region(loop),))


def _ellipse(rng: random.Random, at: Point, size: float) -> Pegging:
    loop = ellipse(at, size * 0.9, size * rng.uniform(0.45, 0.8), rng.uniform(0, math.pi))
    return Pegging(element="", kind="bed", outlines=(loop,), tolerance=BED, dug=(Region(loop),))


def _rounded(rng: random.Random, at: Point, size: float) -> Pegging:
    turn = rng.uniform(0, math.pi)
    corners = [(at + Vec.polar(turn + k * math.pi / 2 + rng.uniform(-0.2, 0.2), size * rng.uniform(0.38, 0.48)),
                rng.choice((0.0, 0.6, 1.0))) for k in range(rng.choice((3, 4, 4, 5)))]
    if len(corners) == 5:
        corners = [(at + Vec.polar(turn + k * 2 * math.pi / 5, size * 0.45), 0.5) for k in range(5)]
    if len(corners) == 3:
        corners = [(at + Vec.polar(turn + k * 2 * math.pi / 3, size * 0.45), 0.5) for k in range(3)]
    try:
        loop = rounded_polygon(corners)
    except GeometryError:                   # radii too large for a short side
        loop = rounded_polygon([(p, 0.0) for p, _ in corners])
    return Pegging(element="", kind="bed", outlines=(loop,), tolerance=rng.choice((BED, FREE)), dug=(Region(loop),))


def _flowing(rng: random.Random, at: Point, size: float) -> Pegging:
    heading = rng.uniform(0, 2 * math.pi)
    point = at + Vec.polar(heading, -size / 2)
    segments = []
    hand = 1
    for _ in range(rng.randint(2, 4)):
        r, sweep = rng.uniform(2.0, 9.0), rng.uniform(0.25, 0.8)
        sweep = min(sweep, size * 0.4 / r)
        centre = point + Vec.polar(heading + hand * math.pi / 2, r)
        begin = (point - centre).heading
        arc = Arc.swung(centre, r, begin, hand * sweep)
        arc = Arc(centre, r, begin, hand * sweep, point, arc.end)
        segments.append(arc)
        point, heading, hand = arc.end, heading + hand * sweep, -hand
    return Pegging(element="", kind="path", outlines=(Path(tuple(segments)),), tolerance=FREE)


def _posts(rng: random.Random, at: Point, size: float) -> Pegging:
    r, sweep = size * 0.45, rng.uniform(1.2, 2.4)
    begin = rng.uniform(0, 2 * math.pi)
    row = Path((Arc.swung(at, r, begin, sweep),))
    count = rng.randint(4, 8)
    wanted = tuple(Wanted(part=f"post {k + 1}", at=row.segments[0].point(k / (count - 1)), purpose=Purpose.POST,
                          along=row)
                   for k in range(count))
    return Pegging(element="", kind="pergola", wanted=wanted, tolerance=HARD)


def _row(rng: random.Random, at: Point, size: float) -> Pegging:
    turn = rng.uniform(0, math.pi)
    row = Path((Line(at + Vec.polar(turn, -size / 2), at + Vec.polar(turn, size / 2)),))
    count = rng.randint(3, 6)
    wanted = tuple(Wanted(part=f"post {k + 1}", at=row.segments[0].point(k / (count - 1)), purpose=Purpose.POST,
                          along=row)
                   for k in range(count))
    return Pegging(element="", kind="fence", wanted=wanted, tolerance=HARD)


KINDS: tuple[tuple[str, Callable[[random.Random, Point, float], Pegging]], ...] = (
    ("round lawn", _circle), ("double lawn", _joined), ("terrace", _rectangle), ("bow terrace", _terrace),
    ("oval pond", _oval), ("oval bed", _ellipse), ("angled bed", _rounded), ("winding path", _flowing),
    ("round lawn", _circle), ("winding path", _flowing), ("bower", _posts), ("paling", _row))


def _extent(p: Pegging) -> Box:
    boxes = [o.box for o in p.outlines]
    boxes += [Box.of([w.at for w in p.wanted])] if p.wanted else []
    boxes += [Box.of([s.centre]) for o in p.outlines for s in o.segments if isinstance(s, Arc) and s.radius < 0]
    return Box.around(boxes)


def _obstacle(rng: random.Random, k: int, width: float, depth: float) -> Obstacle:
    at = Point(rng.uniform(0.5, width - 0.5), rng.uniform(2.0, depth - 0.5))
    form = rng.choice(("tree", "tree", "pond", "wall", "hedge", "shed"))
    if form == "tree":
        return Obstacle(element=f"tree {k}", body=Region(Loop.circle(at, rng.uniform(0.1, 0.3))), clear=0.15)
    if form == "pond":
        return Obstacle(element=f"pond {k}", body=Region(Loop.circle(at, rng.uniform(0.6, 1.5))), clear=0.0)
    turn = rng.choice((0.0, math.pi / 2))
    if form == "shed":
        return Obstacle(element=f"shed {k}", body=Region(rectangle(at, 2.4, 1.8, turn)), clear=0.05)
    length = rng.uniform(1.5, min(5.0, width / 3))
    thick, clear = (0.25, 0.05) if form == "wall" else (0.6, 0.15)
    return Obstacle(element=f"{form} {k}", body=Region(rectangle(at, length, thick, turn)), clear=clear)


def marks_of(places: dict[str, tuple[float, float]], rng: random.Random | None = None,
             step: float = 0.005) -> tuple[MarkGiven, ...]:
    """A and B typed, the others taped to all before them (read to `step`)."""
    names = list(places)
    found = [MarkGiven(name=n, at=Point(*places[n]), what=f"mark {n}", short=n) for n in names[:2]]
    for i, name in enumerate(names[2:], 2):
        ties = tuple(Tie(mark=o, reading=round(round(math.dist(places[name], places[o]) / step) * step, 4))
                     for o in names[:i])
        found.append(MarkGiven(name=name, ties=ties, side="left" if places[name][1] > 0 else "right",
                               what=f"mark {name}",
                               short=name))
    return tuple(found)


def plot(seed: int, elements: int | None = None, marks: int | None = None) -> Plot:
    """The garden of a seed."""
    rng = random.Random(seed)
    width = rng.uniform(8, 40)
    depth = width * rng.uniform(1.2, 1.8)
    base = min(max(6.0, width * rng.uniform(0.4, 0.8)), 16.0, width - 1.5)
    left = rng.uniform(0.5, width - base - 0.5)
    boundary = block(-left, -7.0, width - left, depth)
    house = Obstacle(element="house", body=Region(block(0, -6.5, base, 0)), clear=0.0)
    places = {"A": (0.0, 0.0), "B": (base, 0.0)}
    extra = marks if marks is not None else rng.randint(2, 4)
    spots = [(width - left - 0.1, rng.uniform(0.4, 0.95) * depth), (-left + 0.1, rng.uniform(0.3, 0.9) * depth)]
    places.update(list(zip(("C", "D"), spots, strict=True))[:extra - 2])
    things: list[Obstacle] = [house]
    boxes = [house.body.box]
    for k in range(rng.randint(2, 9)):
        o = _obstacle(rng, k + 1, width, depth)
        o = replace(o, body=_moved(o.body, -left))
        if not any(o.body.box.grown(0.5).meets(b) for b in boxes) and not any(
                o.body.box.grown(0.5).meets(Box.of([Point(*p)])) for p in places.values()):
            things.append(o)
            boxes.append(o.body.box)
    marks_given = tuple(MarkGiven(name=n, at=Point(*p), what=f"mark {n}", short=n) for n, p in places.items())
    return Plot(_elements(rng, width, depth, left, boxes, elements), marks_given, tuple(things), boundary, width, depth)


def _moved(region: Region, dx: float) -> Region:
    def shift(s: Line | Arc) -> Line | Arc:
        by = Vec(dx, 0)
        if isinstance(s, Line):
            return Line(s.start + by, s.end + by)
        return Arc(s.centre + by, s.radius, s.begin, s.sweep, s.start + by, s.end + by)
    return Region(Loop(tuple(shift(s) for s in region.outer.segments)))


def _elements(rng: random.Random, width: float, depth: float, left: float, blocked: list[Box],
              wanted: int | None) -> tuple[Pegging, ...]:
    count = wanted if wanted is not None else rng.randint(4, 9)
    found: list[Pegging] = []
    boxes = list(blocked)
    for _ in range(60 * count):
        if len(found) == count:
            break
        size = rng.uniform(2.5, min(12.0, 0.6 * width))
        at = Point(rng.uniform(size / 2, max(width - size / 2, size / 2 + 0.1)) - left,
                   rng.uniform(size / 2 + 0.8, max(depth - size / 2, size / 2 + 1)))
        name, make = rng.choice(KINDS)
        pegging = make(rng, at, size)
        box = _extent(pegging).grown(0.35)
        inside = -left < box.x0 and box.x1 < width - left and box.y0 > 0.2 and box.y1 < depth
        if inside and not any(box.meets(b) for b in boxes):
            found.append(replace(pegging, element=f"{name} {len(found) + 1}"))
            boxes.append(box)
    return tuple(found)


def large(pegs: int, seed: int = 1) -> Plot:
    """A large regular garden of about `pegs` pegs: 40 marks, 100 trees, beds and round lawns in a grid."""
    rng = random.Random(seed)
    cells = max(1, round(pegs / 7.0))
    columns = math.ceil(math.sqrt(cells))
    pitch = 6.0
    side = columns * pitch
    found: list[Pegging] = []
    for k in range(cells):
        at = Point((k % columns + 0.5) * pitch, (k // columns + 0.5) * pitch)
        made = (_circle, _rectangle, _terrace, _oval)[k % 4](rng, at, 3.6)
        found.append(replace(made, element=f"bed {k + 1}"))
    grid = math.ceil(math.sqrt(40))
    step = side / max(grid - 1, 1)
    spots = [(round(i * step, 2), round(j * step, 2)) for j in range(grid) for i in range(grid)][:40]
    marks = tuple(MarkGiven(name=f"M{chr(65 + k // 26)}{chr(65 + k % 26)}", at=Point(*p)) for k, p in enumerate(spots))
    trees = []
    for k in range(100):
        i, j = rng.randrange(columns), rng.randrange(columns)
        at = Point((i + rng.choice((0.12, 0.88))) * pitch, (j + rng.choice((0.12, 0.88))) * pitch)
        trees.append(Obstacle(element=f"tree {k + 1}", body=Region(Loop.circle(at, 0.15)), clear=0.15))
    return Plot(tuple(found), marks, tuple(trees), block(-1, -1, side + 1, side + 1), side, side)
