"""Random beds and planting lists, the same for the same number: borders, snakes, crescents, islands, corners, bays."""

from __future__ import annotations

import math
import random
from dataclasses import replace

from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.planting.mix import BedInput, MixEntry, Row
from pegbook.geometry.planting.plants import Habit, Interest, Plant

FORMS = ("border", "snake", "crescent", "island", "corner", "bay")
_COLOURS = ("violet", "white", "yellow", "pink", "blue", "orange")


def random_bed(number: int, form: str | None = None, sizes: tuple[float, float] = (5, 70)) -> BedInput:
    """Return bed `number`: 5 to 70 m2 or of other `sizes`, four in ten with a hole, 3 to 14 kinds, some with rows."""
    dice = random.Random(7919 * number + 17)
    form = form or FORMS[number % len(FORMS)]
    area = math.exp(dice.uniform(math.log(sizes[0]), math.log(sizes[1])))
    outer, back = _OUTLINES[form](dice)
    scale = math.sqrt(area / outer.area)
    outer, back = _scaled(outer, scale), [_scaled_path(p, scale) for p in back]
    holes: tuple[Loop, ...] = ()
    if dice.random() < 0.4:
        holes = _hole(dice, outer)
    region = Region(outer, holes)
    plants, mix = _mix(dice, region.area)
    return BedInput(name=f"bed {number}", regions=(region,), mix=mix, plants=plants, back=tuple(back), seed=0)


def large_bed(number: int) -> BedInput:
    """Return large bed `number`: 70 to 300 m2, up to some 35 groups and 2,500 plants."""
    return random_bed(number, sizes=(70, 300))


def _mix(dice: random.Random, area: float) -> tuple[dict[str, Plant], tuple[MixEntry, ...]]:
    kinds = dice.randint(3, max(3, min(14, round(2 + 1.5 * math.sqrt(area)))))
    groups = [dice.choice((1, 2, 2, 3, 3)) for _ in range(kinds)]
    most = max(kinds, round(area / 1.2))
    while sum(groups) > most:
        groups[groups.index(max(groups))] -= 1
    weights = [g * dice.uniform(0.6, 1.5) for g in groups]
    total = sum(weights)
    plants: dict[str, Plant] = {}
    mix = []
    for k in range(kinds):
        key = f"kind {k + 1}"
        one = area * weights[k] / total / groups[k]
        spacing = min(dice.choice((0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6)), max(0.2, round(math.sqrt(one / 7), 2)))
        month = dice.randint(3, 10)
        plants[key] = Plant(
            name=key, spacing=spacing, botanical=f"Genus species 'Kind {k + 1}'",
            height=round(dice.uniform(0.2, 1.8), 2),
            habit=dice.choice((Habit.PERENNIAL, Habit.PERENNIAL, Habit.GRASS, Habit.SHRUB)),
            interest=Interest(flower=(month, month % 12 + 1), foliage=tuple(range(4, 11))),
            colour=dice.choice(_COLOURS), evergreen=dice.random() < 0.3)
        row = dice.choice((None, None, None, Row.FRONT, Row.MIDDLE, Row.BACK))
        mix.append(MixEntry(plant=key, groups=groups[k], share=weights[k] / total * (1 - 1e-12), row=row))
    return plants, tuple(mix)


def _smooth(points: list[tuple[float, float]]) -> list[Point]:
    return [Point(x, y) for x, y in points]


def _two_sided(front: list[Point], back: list[Point]) -> tuple[Loop, list[Path]]:
    """A bed between a front walked left to right and a back walked left to right."""
    return Loop.polygon([*front, *reversed(back)]), [Path.through(back)]


def _border(dice: random.Random) -> tuple[Loop, list[Path]]:
    length, depth = dice.uniform(5, 14), dice.uniform(1.6, 3.2)
    phase, wave = dice.uniform(0, 6.28), dice.uniform(0, 0.35)
    n = 60
    front = _smooth([(length * i / n, -wave * depth * math.sin(phase + 4.5 * i / n)) for i in range(n + 1)])
    back = _smooth([(length * i / 4, depth) for i in range(5)])
    return _two_sided(front, back)


def _snake(dice: random.Random) -> tuple[Loop, list[Path]]:
    length, depth = dice.uniform(6, 14), dice.uniform(1.5, 2.6)
    phase, wave = dice.uniform(0, 6.28), dice.uniform(0.3, 0.9)
    n = 60
    middle = [wave * math.sin(phase + 7 * i / n) for i in range(n + 1)]
    half = [depth / 2 * (1 + 0.25 * math.sin(2 * phase + 5 * i / n)) for i in range(n + 1)]
    front = _smooth([(length * i / n, middle[i] - half[i]) for i in range(n + 1)])
    back = _smooth([(length * i / n, middle[i] + half[i]) for i in range(n + 1)])
    return _two_sided(front, back)


def _crescent(dice: random.Random) -> tuple[Loop, list[Path]]:
    outer, sweep = 4.0, dice.uniform(1.6, 3.3)
    depth = dice.uniform(0.9, 1.7)
    n = 60
    turn = [sweep * (i / n - 0.5) for i in range(n + 1)]
    back = [Point(outer * math.sin(t), outer * math.cos(t)) for t in turn]
    front = [Point((outer - depth * max(0.0, 1 - (2 * t / sweep) ** 2)) * math.sin(t),
                   (outer - depth * max(0.0, 1 - (2 * t / sweep) ** 2)) * math.cos(t)) for t in turn][1:-1]
    return Loop.polygon([*front, *reversed(back)]), [Path.through(back)]


def _island(dice: random.Random) -> tuple[Loop, list[Path]]:
    long, phase = dice.uniform(1.1, 2.2), dice.uniform(0, 6.28)
    n = 72
    points = []
    for i in range(n):
        t = 2 * math.pi * i / n
        r = 1 + 0.12 * math.sin(2 * t + phase) + 0.08 * math.sin(3 * t - phase)
        points.append(Point(long * r * math.cos(t), r * math.sin(t)))
    return Loop.polygon(points), []


def _corner(dice: random.Random) -> tuple[Loop, list[Path]]:
    a, b, w = dice.uniform(4, 8), dice.uniform(3, 6), dice.uniform(1.4, 2.2)
    loop = Loop.polygon([Point(0, 0), Point(a, 0), Point(a, w), Point(w, w), Point(w, b), Point(0, b)])
    return loop, [Path.through([Point(0, b), Point(0, 0), Point(a, 0)])]


def _bay(dice: random.Random) -> tuple[Loop, list[Path]]:
    """A corner round a round lawn."""
    a, w = dice.uniform(4, 6), dice.uniform(0.9, 1.3)
    n = 40
    arc = [Point(a - (a - w) * math.cos(t), a - (a - w) * math.sin(t))
           for t in (math.pi / 2 * i / n for i in range(n + 1))]
    loop = Loop.polygon([Point(0, 0), Point(a, 0), *reversed(arc), Point(0, a)])
    return loop, [Path.through([Point(0, a), Point(0, 0), Point(a, 0)])]


_OUTLINES = {"border": _border, "snake": _snake, "crescent": _crescent, "island": _island, "corner": _corner,
             "bay": _bay}


def _scaled(loop: Loop, by: float) -> Loop:
    return Loop.polygon([Point(p.x * by, p.y * by) for p in loop.vertices()])


def _scaled_path(path: Path, by: float) -> Path:
    return Path.through([Point(p.x * by, p.y * by) for p in path.vertices()])


def _hole(dice: random.Random, outer: Loop) -> tuple[Loop, ...]:
    """A round hole well inside, if there is room."""
    from shapely import Polygon
    from shapely.geometry import Point as Spot

    body = Polygon([(p.x, p.y) for p in outer.vertices()])
    radius = dice.uniform(0.15, 0.4)
    box = outer.box
    for _ in range(60):
        x, y = dice.uniform(box.x0, box.x1), dice.uniform(box.y0, box.y1)
        if body.buffer(-radius - 0.35).contains(Spot(x, y)):
            return (Loop.circle(Point(x, y), radius),)
    return ()


def plant(name: str, spacing: float = 0.4, **more: object) -> Plant:
    """A plant with what a test minds and nothing else."""
    return Plant(name=name, spacing=spacing, **more)  # type: ignore[arg-type]


def straight_bed(length: float, depth: float, mix: list[MixEntry], plants: list[Plant],
                 holes: tuple[Loop, ...] = (), **more: object) -> BedInput:
    """A rectangle with its back along the top."""
    loop = Loop.polygon([Point(0, 0), Point(length, 0), Point(length, depth), Point(0, depth)])
    more.setdefault("back", (Path.through([Point(0, depth), Point(length, depth)]),))
    return BedInput(name="border", regions=(Region(loop, holes),), mix=tuple(mix), plants={p.name: p for p in plants},
                    **more)  # type: ignore[arg-type]


def mixed_border() -> BedInput:
    """Nine kinds in a border of 12 by 2.4 m, with rows, heights and months."""
    def kind(name: str, botanical: str, spacing: float, height: float, months: tuple[int, ...], colour: str,
             **more: object) -> Plant:
        return Plant(name=name, botanical=botanical, spacing=spacing, height=height, colour=colour,
                     interest=Interest(flower=months, foliage=tuple(range(4, 11))), **more)  # type: ignore[arg-type]

    plants = [
        kind("sage", "Salvia nemorosa", 0.35, 0.5, (6, 7, 8), "violet"),
        kind("yarrow", "Achillea millefolium", 0.4, 0.7, (6, 7), "yellow"),
        kind("catmint", "Nepeta racemosa", 0.4, 0.4, (5, 6, 7, 8, 9), "blue"),
        kind("cranesbill", "Geranium sanguineum", 0.35, 0.3, (6, 7, 8), "pink"),
        kind("aster", "Symphyotrichum laeve", 0.5, 1.1, (9, 10), "violet"),
        kind("reed grass", "Calamagrostis brachytricha", 0.6, 1.2, (8, 9), "", habit=Habit.GRASS),
        kind("feather grass", "Nassella tenuissima", 0.4, 0.5, (6, 7), "", habit=Habit.GRASS),
        kind("bergenia", "Bergenia cordifolia", 0.35, 0.35, (4, 5), "pink", evergreen=True),
        kind("iris", "Iris sibirica", 0.35, 0.9, (5, 6), "blue"),
    ]
    shares = {"sage": 3, "yarrow": 2, "catmint": 3, "cranesbill": 2, "aster": 2, "reed grass": 2, "feather grass": 2,
              "bergenia": 2, "iris": 2}
    rows = {"reed grass": Row.BACK, "aster": Row.BACK, "cranesbill": Row.FRONT, "bergenia": Row.FRONT}
    mix = [MixEntry(plant=name, groups=n, share=n / 20, row=rows.get(name)) for name, n in shares.items()]
    return straight_bed(12, 2.4, mix, plants)


def moved(bed: BedInput, by: Vec, turn: float = 0.0) -> BedInput:
    """The same bed turned about the origin and moved."""
    def spot(p: Point) -> Point:
        c, s = (round(math.cos(turn)), round(math.sin(turn))) if abs(turn % (math.pi / 2)) < 1e-12 else \
            (math.cos(turn), math.sin(turn))
        return Point(p.x * c - p.y * s, p.x * s + p.y * c) + by

    def loop(ring: Loop) -> Loop:
        if ring.is_circle:
            arc = ring.segments[0]
            assert isinstance(arc, Arc)
            return Loop.circle(spot(arc.centre), arc.radius)
        return Loop.polygon([spot(p) for p in ring.vertices()])

    regions = tuple(Region(loop(r.outer), tuple(loop(h) for h in r.holes)) for r in bed.regions)
    return replace(bed, regions=regions, back=tuple(Path.through([spot(p) for p in q.vertices()]) for q in bed.back))
