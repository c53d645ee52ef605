"""Awkward shapes for the laws of the kernel: what gardens do to a kernel, and worse. Fixed seeds, metres."""

import math
import random
from collections.abc import Callable

from pegbook.geometry.errors import GeometryError
from pegbook.geometry.kernel.combine import Regions
from pegbook.geometry.kernel.construct import rectangle
from pegbook.geometry.kernel.offset import grown
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import Arc, Line, Segment
from pegbook.geometry.kernel.simple import check

Shapes = list[Region]


def circle(x: float, y: float, r: float) -> Region:
    return Region(Loop.circle(Point(x, y), r))


def box(x: float, y: float, length: float, width: float, turn: float = 0.0, radius: float = 0.0) -> Region:
    return Region(rectangle(Point(x, y), length, width, turn, radius))


def bulged(points: list[Point], bulges: list[float]) -> Region:
    """A polygon whose sides are arcs; a bulge is the rise over the half chord (0 straight, + to the right)."""
    segments: list[Segment] = []
    for a, b, bulge in zip(points, points[1:] + points[:1], bulges, strict=True):
        chord = a.distance(b)
        if abs(bulge) * chord < 1e-13:
            segments.append(Line(a, b))
            continue
        sweep = 4 * math.atan(bulge)
        radius = chord / (2 * math.sin(abs(sweep) / 2))
        height = math.copysign(radius * math.cos(sweep / 2), sweep)
        centre = a.toward(b, 0.5) + (b - a).unit().left() * height
        segments.append(Arc(centre, radius, (a - centre).heading, sweep, a, b))
    return Region(Loop.of(segments))


def sector(x: float, y: float, inner: float, outer: float, begin: float, sweep: float) -> Region:
    centre = Point(x, y)
    out = Arc.swung(centre, outer, begin, sweep)
    back = Arc.swung(centre, inner, begin + sweep, -sweep)
    return Region(Loop.of((out, Line(out.end, back.start), back, Line(back.end, out.start))))


def _general(rng: random.Random) -> Shapes:
    kind = rng.randrange(4)
    x, y, s = rng.uniform(0, 6), rng.uniform(0, 6), rng.uniform(0.4, 3)
    if kind == 0:
        return [circle(x, y, s)]
    if kind == 1:
        return [box(x, y, s, rng.uniform(0.4, 3), rng.uniform(0, 6.3))]
    if kind == 2:
        width = rng.uniform(0.5, 3)
        return [box(x, y, s, width, rng.uniform(0, 6.3), min(s, width) * rng.uniform(0.05, 0.5))]
    n = rng.randrange(3, 7)
    points = [Point(x, y) + Vec.polar(2 * math.pi * (k + rng.uniform(-0.2, 0.2)) / n, s * rng.uniform(0.6, 1.2))
              for k in range(n)]
    shape = bulged(points, [rng.choice((0.0, rng.uniform(-0.3, 0.5))) for _ in points])
    check(shape.outer)
    return [shape]


def general(rng: random.Random) -> Shapes:
    """Circles, rectangles, rounded rectangles and arc chains in general position."""
    return [shape for _ in range(rng.randrange(2, 8)) for shape in _general(rng)]


def _grid(rng: random.Random, off: Callable[[], float]) -> Shapes:
    shapes: Shapes = []
    for _ in range(rng.randrange(2, 11)):
        x, y = rng.randrange(12) / 2 + off(), rng.randrange(12) / 2 + off()
        a, b = rng.randrange(1, 7) / 2 + off(), rng.randrange(1, 7) / 2 + off()
        kind = rng.randrange(4)
        if kind == 0:
            shapes.append(circle(x, y, a))
        elif kind == 1:
            shapes.append(box(x, y, a, b))
        elif kind == 2:
            shapes.append(box(x, y, a, b, 0.0, min(a, b) / 2 if rng.random() < 0.5 else min(a, b) / 4))
        else:
            shapes.append(sector(x, y, a, a + b, math.pi / 2 * rng.randrange(4), math.pi / 2 * rng.randrange(1, 4)))
    return shapes


def grid(rng: random.Random) -> Shapes:
    """Everything on a half-metre grid: tangencies and shared edges everywhere."""
    return _grid(rng, lambda: 0.0)


def turned_grid(rng: random.Random) -> Shapes:
    """The same turned, so that nothing shared is bit-identical."""
    turn = rng.uniform(0, 6.3)
    return [moved(shape, turn, Vec(rng.uniform(-5, 5), rng.uniform(-5, 5))) for shape in grid(rng)]


def jittered(rng: random.Random) -> Shapes:
    """The grid with every figure off by one size of jitter, from a picometre to a millimetre."""
    size = 10.0 ** rng.randrange(-12, -2)
    return _grid(rng, lambda: rng.uniform(-size, size))


def pencil(rng: random.Random) -> Shapes:
    """Circles on both sides of one line that touch it, and each other, in one point."""
    radii = [rng.choice((-1, 1)) * rng.randrange(1, 9) / rng.choice((2, 3)) for _ in range(rng.randrange(2, 7))]
    turn = rng.choice((0.0, rng.uniform(0, 6.3)))
    shapes = [circle(0.0, r, abs(r)) for r in dict.fromkeys(radii)] + [box(-2, 0, 4, 2)]
    return [moved(shape, turn, Vec(1.5, 0.25)) for shape in shapes]


def through_one_point(rng: random.Random) -> Shapes:
    """Circles through one point."""
    shapes: Shapes = []
    for _ in range(rng.randrange(3, 9)):
        r, way = rng.uniform(0.3, 3), rng.uniform(0, 6.3)
        at = Point(2, 1) + Vec.polar(way, r)
        shapes.append(circle(at.x, at.y, r))
    return shapes


def concentric(rng: random.Random) -> Shapes:
    """Discs, rings and sectors about one centre that share radii."""
    x, y = rng.choice(((0.0, 0.0), (rng.uniform(-9, 9), rng.uniform(-9, 9))))
    shapes: Shapes = []
    for _ in range(rng.randrange(3, 8)):
        inner = rng.randrange(1, 6) / 2
        outer = inner + rng.randrange(1, 4) / 2
        shapes.append(rng.choice((circle(x, y, inner), sector(x, y, inner, outer, rng.randrange(12) * math.pi / 6,
                                                              rng.randrange(1, 11) * math.pi / 6))))
    return shapes


def beds_on_a_lawn(rng: random.Random) -> Shapes:
    """A round lawn and beds that butt on its edge, each with its own arc of the same circle."""
    x, y, r = rng.uniform(-5, 5), rng.uniform(-5, 5), rng.uniform(1, 4)
    beds = [sector(x, y, r, r + rng.uniform(0.3, 2), rng.uniform(0, 6.3), rng.uniform(0.2, 3))
            for _ in range(rng.randrange(2, 6))]
    return [circle(x, y, r), *beds]


def rosette(rng: random.Random) -> Shapes:
    """Circles that touch their neighbours, and a circle round all of them."""
    n = rng.randrange(3, 9)
    ring, x, y, turn = rng.uniform(1, 3), rng.uniform(-5, 5), rng.uniform(-5, 5), rng.uniform(0, 6.3)
    r = ring * math.sin(math.pi / n)
    centres = [Point(x, y) + Vec.polar(turn + 2 * math.pi * k / n, ring) for k in range(n)]
    return [circle(c.x, c.y, r) for c in centres] + [circle(x, y, ring + r)]


def nested_offsets(rng: random.Random) -> Shapes:
    """A lawn and its mowing edge twice over."""
    lawn = tuple(_general(rng))
    first = grown(lawn, rng.uniform(0.05, 0.5))
    return [*lawn, *first, *grown(first, rng.uniform(0.05, 0.5))]


def flat_arcs(rng: random.Random) -> Shapes:
    """Polygons whose sides hardly bend."""
    shapes: Shapes = []
    for _ in range(rng.randrange(2, 4)):
        x, y = rng.randrange(4) / 2, rng.randrange(4) / 2
        corners = [Point(x, y), Point(x + 2, y), Point(x + 2, y + 2), Point(x, y + 2)]
        shapes.append(bulged(corners, [rng.choice((-1, 1)) * 10 ** rng.uniform(-9, -3) for _ in corners]))
    return shapes


def micro_fillets(rng: random.Random) -> Shapes:
    """Rectangles with roundings from a micrometre to a decimetre."""
    return [box(rng.randrange(5) / 2, rng.randrange(5) / 2, rng.randrange(1, 5) / 2, rng.randrange(1, 5) / 2, 0.0,
                10 ** rng.uniform(-6, -1)) for _ in range(rng.randrange(2, 6))]


def nearly_the_same(rng: random.Random) -> Shapes:
    """A shape and its copy, moved and turned by a picometre to a millimetre."""
    shape = _general(rng)[0]
    size = 10.0 ** rng.randrange(-12, -2)
    near = moved(shape, rng.uniform(-size, size) / 10, Vec(rng.uniform(-size, size), rng.uniform(-size, size)))
    return [shape, near]


def other_start(rng: random.Random) -> Shapes:
    """A shape, and the same begun at another corner."""
    shape = _general(rng)[0]
    return [shape, begun_elsewhere(shape, rng.randrange(1, 5)), circle(3, 3, 1)]


def with_holes(rng: random.Random) -> Shapes:
    """Rings of grown and inset outlines."""
    found: Shapes = []
    for _ in range(3):
        for region in grown(_general(rng), rng.uniform(0.1, 0.6)):
            holes = tuple(hole.outer for hole in grown((region,), -rng.uniform(0.2, 0.7)))
            found.append(Region(region.outer, holes))
    return found


NASTY: dict[str, Callable[[random.Random], Shapes]] = {make.__name__: make for make in (
    general, grid, turned_grid, jittered, pencil, through_one_point, concentric, beds_on_a_lawn, rosette,
    nested_offsets, flat_arcs, micro_fillets, nearly_the_same, other_start, with_holes)}


def arrangement_of(kind: str, seed: int) -> Shapes:
    """The shapes of one kind and seed, always the same."""
    rng = random.Random(f"{kind} {seed}")
    for _ in range(20):
        try:
            return NASTY[kind](rng)
        except GeometryError:       # a random outline may enclose nothing
            continue
    raise AssertionError("no shape in twenty tries")


def moved(region: Region, turn: float, by: Vec) -> Region:
    cos, sin = math.cos(turn), math.sin(turn)

    def place(p: Point) -> Point:
        return Point(p.x * cos - p.y * sin + by.dx, p.x * sin + p.y * cos + by.dy)

    def one(s: Segment) -> Segment:
        if isinstance(s, Line):
            return Line(place(s.start), place(s.end))
        return Arc(place(s.centre), s.radius, s.begin + turn, s.sweep, place(s.start), place(s.end))
    return _each(region, lambda loop: tuple(one(s) for s in loop.segments))


def mirrored(region: Region) -> Region:
    def place(p: Point) -> Point:
        return Point(-p.x, p.y)

    def one(s: Segment) -> Segment:
        if isinstance(s, Line):
            return Line(place(s.start), place(s.end))
        return Arc(place(s.centre), s.radius, math.pi - s.begin, -s.sweep, place(s.start), place(s.end))
    return _each(region, lambda loop: tuple(one(s) for s in loop.segments))


def begun_elsewhere(region: Region, by: int) -> Region:
    def shift(loop: Loop) -> tuple[Segment, ...]:
        k = by % len(loop.segments)
        return loop.segments[k:] + loop.segments[:k]
    return _each(region, shift)


def walked_backwards(region: Region) -> Region:
    return _each(region, lambda loop: tuple(s.reversed() for s in reversed(loop.segments)))


def _each(region: Region, make: Callable[[Loop], tuple[Segment, ...]]) -> Region:
    return Region(Loop.of(make(region.outer)), tuple(Loop.of(make(hole)) for hole in region.holes))


REPLAYS: dict[str, Callable[[Region], Region]] = {
    "as it is": lambda r: r,
    "walked backwards": walked_backwards,
    "from another start": lambda r: begun_elsewhere(r, 1),
    "turned": lambda r: moved(r, 0.7, Vec(0.0, 0.0)),
    "moved": lambda r: moved(r, 0.0, Vec(17.3, -4.1)),
    "mirrored": mirrored,
}


def area(regions: Regions) -> float:
    return math.fsum(region.area for region in regions)


def girth(regions: Shapes | Regions) -> float:
    return math.fsum(region.length for region in regions)


def count(regions: Regions) -> int:
    return sum(len(ring.segments) for region in regions for ring in (region.outer, *region.holes))


def circles_of(regions: Shapes | Regions) -> set[tuple[float, float, float]]:
    return {(s.centre.x, s.centre.y, s.radius) for region in regions for ring in (region.outer, *region.holes)
            for s in ring.segments if isinstance(s, Arc)}


def random_path(rng: random.Random) -> Path:
    """An open line of straights and arcs that may cross itself."""
    at, segments = Point(rng.uniform(0, 4), rng.uniform(0, 4)), []
    heading = rng.uniform(0, 6.3)
    for _ in range(rng.randrange(2, 6)):
        if rng.random() < 0.5:
            segments.append(Line(at, at + Vec.polar(heading, rng.uniform(0.5, 3))))
        else:
            r, turn = rng.uniform(0.4, 2), rng.choice((-1, 1)) * rng.uniform(0.3, 2.5)
            centre = at + Vec.polar(heading, r).left() * math.copysign(1, turn)
            segments.append(Arc.swung(centre, r, heading - math.copysign(math.pi / 2, turn), turn))
            heading += turn
        at = segments[-1].end
    return Path(tuple(_stitched(segments)))


def _stitched(segments: list[Segment]) -> list[Segment]:
    for k in range(1, len(segments)):
        before, s = segments[k - 1], segments[k]
        segments[k] = Line(before.end, s.end) if isinstance(s, Line) else \
            Arc(s.centre, s.radius, s.begin, s.sweep, before.end, s.end)
    return segments
