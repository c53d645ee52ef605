"""Invented gardens as values, for tests of the sheets: no model file is read.

`water_meadow` is a plot of 14 by 22 m: two overlapping round lawns with a brick edge, terrace, steps, walls, an arc
path under a pergola, a seat circle, pond, deck, hedge, trees. `pegged` hand-makes its pegs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cache

from pegbook.drawings.brief import Brief, Project, Revision, Wishes
from pegbook.geometry.features import Caution, Feature, Obstacle, Purpose, Role, SectionDetail, SectionLayer, Status
from pegbook.geometry.kernel.combine import common, contains, difference
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import Arc, Line
from pegbook.geometry.pegs.peg import Check, CheckKind, Method, Peg
from pegbook.geometry.pegs.tape import Tape
from pegbook.geometry.planting.labels import Label, label_of
from pegbook.geometry.planting.mix import Arrangement, BedInput
from pegbook.geometry.planting.planted import BedPlanting, Group, Single
from pegbook.geometry.planting.plants import Habit, Interest, Plant, SpacingForm, Supply
from pegbook.geometry.planting.schedule import schedule

TAPE = Tape()


def box(x0: float, y0: float, x1: float, y1: float) -> Loop:
    return Loop.polygon((Point(x0, y0), Point(x1, y0), Point(x1, y1), Point(x0, y1)))


def two_circles(a: Point, ra: float, b: Point, rb: float) -> Loop:
    """Return the outline of two overlapping circles, joined."""
    d, way = a.distance(b), (b - a).unit()
    along = (d * d + ra * ra - rb * rb) / (2 * d)
    half = math.sqrt(ra * ra - along * along)
    left, right = a + way * along + way.left() * half, a + way * along + way.left() * -half
    return Loop.of((Arc.between(a, ra, left, right, left=True), Arc.between(b, rb, right, left, left=True)))


LOWER, UPPER, R_LOWER, R_UPPER, EDGE = Point(5.6, 7.9), Point(7.2, 12.6), 3.2, 2.5, 0.22
SEAT, R_SEAT, POND, R_POND = Point(3.0, 17.2), 1.6, Point(1.9, 11.4), 1.2
TURN, R_WALK = Point(7.2, 13.2), 4.0


def walk_edge(by: float) -> tuple[Line | Arc, ...]:
    """Return the walk's edge `by` metres to the left of its middle, from the terrace to the seat circle."""
    r, x = R_WALK - by, TURN.x + R_WALK - by
    y = TURN.y + r
    meet = SEAT.x + math.sqrt(R_SEAT**2 - (y - SEAT.y) ** 2)
    return (
        Line(Point(x, 3.8), Point(x, TURN.y)),
        Arc.between(TURN, r, Point(x, TURN.y), Point(TURN.x, y), left=True),
        Line(Point(TURN.x, y), Point(meet, y)),
    )


def walk() -> Loop:
    outer, inner = walk_edge(-0.6), walk_edge(0.6)
    back = tuple(s.reversed() for s in reversed(inner))
    end = Arc.between(SEAT, R_SEAT, outer[-1].end, back[0].start, left=False)
    return Loop.of((*outer, end, *back, Line(back[-1].end, outer[0].start)))


def courses(region: Loop, pitch: float, long: float) -> tuple[Path, ...]:
    """Return the joints of slabs in half bond inside an upright rectangle."""
    b, paths, row = region.box, [], 0
    y = b.y0
    while y < b.y1 - 1e-6:
        top = min(y + pitch, b.y1)
        if row:
            paths.append(Path.through((Point(b.x0, y), Point(b.x1, y))))
        x = b.x0 + long * (0.5 if row % 2 else 1.0)
        while x < b.x1 - 1e-6:
            paths.append(Path.through((Point(x, y), Point(x, top))))
            x += long
        y, row = top, row + 1
    return tuple(paths)


def features() -> tuple[Feature, ...]:
    return (*_ground(), *_built(), *_green())


def _ground() -> Iterator[Feature]:
    from pegbook.geometry.features import UnitPattern

    plot = box(0, 0, 14, 22)
    lawn = two_circles(LOWER, R_LOWER, UPPER, R_UPPER)
    rim = two_circles(LOWER, R_LOWER + EDGE, UPPER, R_UPPER + EDGE)
    terrace = box(2.4, 0, 11.8, 3.8)
    yield Feature(role=Role.BOUNDARY, shape=Region(plot), element="boundary", status=Status.EXISTING)
    yield Feature(role=Role.BUILDING, shape=Region(box(1.0, -2.0, 12.8, 0)), element="house", status=Status.EXISTING)
    for piece, region in enumerate(borders(), 1):
        yield Feature(role=Role.PLANTING, shape=region, element="borders", part=f"piece {piece}", surface="planting")
    yield Feature(role=Role.TURF, shape=Region(lawn), element="round lawns", surface="turf")
    yield Feature(
        role=Role.EDGE_BAND,
        shape=Region(rim, (lawn,)),
        element="round lawns",
        part="mowing edge",
        width=EDGE,
        surface="brick-edge",
    )
    yield Feature(
        role=Role.PAVING,
        shape=Region(terrace),
        element="terrace",
        surface="slabs",
        note="stone slabs",
        units=UnitPattern(
            joints=courses(terrace, 0.6, 0.9),
            length=0.9,
            width=0.6,
            lay_from=Point(2.4, 0),
            name="stone slabs 900 × 600, half bond",
        ),
    )
    yield Feature(
        role=Role.FALL, shape=Path.through((Point(9.8, 1.0), Point(9.8, 3.0))), element="terrace", note="1:60"
    )
    yield Feature(role=Role.LEVEL, shape=Point(2.9, 0.4), element="terrace", note="10.00")
    yield Feature(role=Role.LEVEL, shape=Point(2.9, 3.3), element="terrace", note="9.95")
    yield Feature(role=Role.LEVEL, shape=Point(7.0, 9.2), element="round lawns", note="9.62")
    yield Feature(role=Role.LOOSE, shape=Region(walk()), element="long walk", surface="gravel", width=1.2)
    yield Feature(role=Role.PAVING, shape=Region(Loop.circle(SEAT, R_SEAT)), element="seat circle", surface="setts")
    yield Feature(role=Role.WATER, shape=Region(Loop.circle(POND, R_POND)), element="pond", surface="water")
    yield Feature(
        role=Role.EDGE_BAND,
        shape=Region(Loop.circle(POND, R_POND + 0.25), (Loop.circle(POND, R_POND),)),
        element="pond",
        surface="setts",
        width=0.25,
    )
    yield Feature(role=Role.DECK, shape=Region(box(0.5, 8.1, 2.6, 9.6)), element="deck", surface="boards")


@cache
def borders() -> tuple[Region, ...]:
    """Return what is left of the plot for planting, in pieces."""
    away = [
        Region(two_circles(LOWER, R_LOWER + EDGE, UPPER, R_UPPER + EDGE)),
        Region(box(2.4, 0, 11.8, 4.015)),
        Region(walk()),
        Region(Loop.circle(SEAT, R_SEAT)),
        Region(Loop.circle(POND, R_POND + 0.25)),
        Region(box(0.5, 8.1, 2.6, 9.6)),
        Region(box(4.9, 3.8, 6.3, 4.5)),
        Region(box(0, 21.4, 9.5, 22)),
    ]
    return tuple(r for r in difference((Region(box(0, 0, 14, 22)),), away) if r.area > 1.0)


@cache
def planted() -> tuple[BedPlanting, ...]:
    """Return the borders planted."""
    plants = {
        name: Plant(
            name=name,
            botanical=botanical,
            spacing=spacing,
            height=height,
            habit=habit,
            evergreen=evergreen,
            colour=colour,
            interest=Interest(flower=flower, foliage=(4, 5, 9, 10), winter=winter),
            supply=Supply(pot=2.0),
        )
        for name, botanical, spacing, height, habit, evergreen, colour, flower, winter in PLANTS
    }
    parts = (
        box(0, 0, 2.4, 2.6),
        box(0, 2.6, 2.4, 5.2),
        box(0, 5.2, 2.0, 7.9),
        box(12.4, 0, 14, 3),
        box(12.4, 3, 14, 7),
        box(12.4, 7, 14, 11),
        box(12.4, 11, 14, 15),
        box(12, 15, 14, 18),
        box(9, 18.6, 14, 22),
        box(0, 19, 4, 21.4),
        box(4, 18.4, 8, 21.4),
        box(0, 12.7, 1.4, 15.6),
    )
    groups = []
    for number, part in enumerate(parts, 1):
        region = max(common(borders(), (Region(part),)), key=lambda r: r.area)
        plant = list(plants.values())[number % len(plants)]
        groups.append(grown_group(number, plant, region))
    labels = tuple(label_of(len(g.points), g.plant.name, (g.number,), g.region) for g in groups)
    dwarf = Plant(
        name="dwarf pine", botanical="Pinus mugo", spacing=1.0, spread=1.2, height=0.9, habit=H.SHRUB, evergreen=True
    )
    single = Single(plant=dwarf, at=Point(3.4, 13.0), spacing=1.0)
    labels += (Label(1, "dwarf pine", (), single.at, 0.6, 0.0),)
    bed = BedInput(name="borders", regions=borders(), mix=(), plants=plants)
    return (
        BedPlanting(
            bed=bed,
            groups=tuple(groups),
            singles=(single,),
            scatters=(),
            labels=labels,
            messages=(),
            arrangement=Arrangement(()),
            area=sum(r.area for r in borders()),
            length=20.0,
            depth=2.0,
            island=False,
        ),
    )


def grown_group(number: int, plant: Plant, region: Region) -> Group:
    """Return a group on a plain triangular grid, half a spacing inside."""
    inside, step = region.box, plant.spacing
    points = []
    row, y = 0, inside.y0 + step / 2
    while y < inside.y1:
        x = inside.x0 + step * (0.5 if row % 2 else 1.0)
        while x < inside.x1:
            at = Point(x, y)
            ring = [at + Vec.polar(a * math.pi / 3, step / 2.1) for a in range(6)]
            if all(contains((region,), p) for p in (at, *ring)):
                points.append(at)
            x += step
        y += step * 0.866
        row += 1
    label = label_of(len(points), plant.name, (number,), region)
    return Group(
        number=number,
        plant=plant,
        region=region,
        points=tuple(points),
        spacing=step,
        form=SpacingForm.TRIANGULAR,
        wanted=0.0,
        nominal=region.area / (0.866 * step**2),
        centre=label.centre,
        radius=label.radius,
        heading=0.0,
        along=(0.0, 1.0),
        middle=0.5,
        across=0.5,
        stations=(),
        places=(),
    )


H = Habit
PLANTS = (
    ("lady's mantle", "Alchemilla mollis", 0.45, 0.5, H.PERENNIAL, False, "green", (6, 7), ()),
    ("meadow sage", "Salvia pratensis", 0.45, 0.6, H.PERENNIAL, False, "violet", (6, 7, 8), ()),
    ("joe pye weed", "Eutrochium maculatum", 0.8, 1.8, H.PERENNIAL, False, "pink", (8, 9), (11, 12, 1)),
    ("blue fescue", "Festuca glauca", 0.35, 0.3, H.GRASS, True, "blue", (6,), ()),
    ("moor grass", "Molinia caerulea", 0.5, 0.9, H.GRASS, False, "yellow", (8, 9, 10), (11, 12)),
    ("elephant's ears", "Bergenia cordifolia", 0.45, 0.4, H.PERENNIAL, True, "pink", (3, 4), ()),
    ("dusky cranesbill", "Geranium phaeum", 0.5, 0.7, H.PERENNIAL, False, "violet", (5, 6), ()),
)


def _built() -> Iterator[Feature]:
    for n, (x0, x1) in enumerate(((2.4, 4.9), (6.3, 10.6)), 1):
        yield Feature(
            role=Role.WALL,
            shape=Region(box(x0, 3.8, x1, 4.015)),
            element="low wall",
            part=f"piece {n}",
            surface="brick",
            width=0.215,
            height=0.45,
        )
    yield Feature(role=Role.STEPS, shape=Region(box(4.9, 3.8, 6.3, 4.5)), element="garden steps", surface="slabs")
    yield Feature(role=Role.RISER, shape=Path.through((Point(4.9, 4.15), Point(6.3, 4.15))), element="garden steps")
    yield Feature(
        role=Role.STEP_ARROW,
        shape=Path.through((Point(5.6, 4.45), Point(5.6, 3.5))),
        element="garden steps",
        note="2 up",
    )
    for x in (10.3, 12.1):
        yield Feature(role=Role.BEAM, shape=Path.through((Point(x, 5.3), Point(x, 12.3))), element="pergola")
        for i in range(4):
            yield Feature(role=Role.POST, shape=Point(x, 5.5 + 2.2 * i), element="pergola", size=0.1)
    for i in range(24):
        y = 5.4 + 0.3 * i
        yield Feature(role=Role.RAFTER, shape=Path.through((Point(10.0, y), Point(12.4, y))), element="pergola")
    yield Feature(
        role=Role.FURNITURE,
        shape=Point(1.9, 17.2),
        element="bench",
        symbol="seat",
        size=1.5,
        width=0.5,
        turn=math.pi / 2,
    )
    yield Feature(role=Role.FURNITURE, shape=SEAT, element="dial", symbol="sundial", size=0.5)
    yield Feature(role=Role.FURNITURE, shape=Point(11.3, 0.6), element="pots", symbol="pot", size=0.5)
    yield Feature(
        role=Role.SERVICE,
        shape=Path.through((Point(13.4, 0), Point(13.4, 22))),
        element="drain",
        status=Status.EXISTING,
        note="drain, 0.60 deep",
    )


def _green() -> Iterator[Feature]:
    yield Feature(
        role=Role.HEDGE,
        shape=Region(box(0, 21.4, 9.5, 22)),
        element="back hedge",
        surface="hedge",
        width=0.6,
        note="hornbeam",
    )
    for name, x, y, spread, status in (
        ("old pear", 12.0, 18.9, 5.0, Status.EXISTING),
        ("crab apple", 1.9, 5.9, 3.0, Status.PROPOSED),
        ("rowan", 9.4, 19.0, 2.6, Status.PROPOSED),
        ("spruce", 5.9, 19.7, 2.6, Status.REMOVE),
    ):
        yield Feature(role=Role.CROWN, shape=Point(x, y), element=name, size=spread, status=status)
        yield Feature(role=Role.STEM, shape=Point(x, y), element=name, size=0.3, status=status)


def peg(
    name: str,
    purpose: Purpose,
    at: Point,
    order: int,
    element: str = "",
    part: str = "",
    ties: Sequence[Peg] = (),
    remark: str = "",
) -> Peg:
    if not ties:
        return Peg(
            name=name,
            purpose=purpose,
            at=at,
            method=Method.FIXED,
            order=order,
            element=element,
            part=part,
            remark=remark,
        )
    a, b = ties
    return Peg(
        name=name,
        purpose=purpose,
        at=at,
        method=Method.TIES,
        order=order,
        element=element,
        part=part,
        from_1=a.name,
        reading_1=TAPE.reading(a.at.distance(at)),
        from_2=b.name,
        reading_2=TAPE.reading(b.at.distance(at)),
        side="left",
        remark=remark,
    )


def pegged() -> tuple[Peg, ...]:
    a = peg("A", Purpose.CONTROL, Point(1.0, 0), 1)
    b = peg("B", Purpose.CONTROL, Point(12.8, 0), 2)
    pegs = [a, b, peg("C", Purpose.CONTROL, Point(14, 22), 3), peg("D", Purpose.CONTROL, Point(0, 22), 4)]

    def add(name: str, purpose: Purpose, at: Point, element: str, part: str, main: bool = False) -> None:
        pegs.append(peg(name, purpose, at, len(pegs) + 1, element, part, (a, b) if main else ()))

    lawn = two_circles(LOWER, R_LOWER, UPPER, R_UPPER)
    add("X101", Purpose.CENTRE, LOWER, "round lawns", "centre 1", main=True)
    add("X102", Purpose.CENTRE, UPPER, "round lawns", "centre 2", main=True)
    for i, at in enumerate(lawn.vertices()):
        add(f"P10{i + 1}", Purpose.CORNER, at, "round lawns", f"corner {i + 1}")
    for i, share in enumerate((0.2, 0.4, 0.6, 0.8)):
        add(f"P10{i + 3}", Purpose.CURVE, lawn.segments[0].point(share), "round lawns", "arc 1")
        add(f"P11{i + 3}", Purpose.CURVE, lawn.segments[1].point(share), "round lawns", "arc 2")
    for side, by in (("left", 0.6), ("right", -0.6)):
        line, arc, last = walk_edge(by)
        n = 1 if side == "left" else 5
        add(f"P20{n}", Purpose.CORNER, line.start, "long walk", f"start, {side}")
        add(f"T20{n}", Purpose.TANGENT, arc.start, "long walk", f"tangent 1, {side}")
        add(f"T20{n + 1}", Purpose.TANGENT, arc.end, "long walk", f"tangent 2, {side}")
        add(f"P20{n + 1}", Purpose.CURVE, arc.point(0.5), "long walk", f"arc, {side}")
        add(f"P20{n + 2}", Purpose.CORNER, last.end, "long walk", f"end, {side}")
    add("X201", Purpose.CENTRE, TURN, "long walk", "centre")
    add("X301", Purpose.CENTRE, SEAT, "seat circle", "centre", main=True)
    for i in range(3):
        add(f"P30{i + 1}", Purpose.CURVE, SEAT + Vec.polar(math.pi / 2 + i * math.pi / 2, R_SEAT), "seat circle", "rim")
    add("X401", Purpose.CENTRE, POND, "pond", "centre")
    for i in range(2):
        add(f"R45{i + 1}", Purpose.RECOVERY, POND + Vec.polar(1.2 + i, 1.95), "pond", "X401")
    for i, (x, y) in enumerate(((2.4, 3.8), (11.8, 3.8), (2.4, 0.0), (11.8, 0.0)), 1):
        add(f"P50{i}", Purpose.CORNER, Point(x, y), "terrace", f"corner {i}")
    for i in range(8):
        x = 10.3 if i < 4 else 12.1
        add(f"P60{i + 1}", Purpose.POST, Point(x, 5.5 + 2.2 * (i % 4)), "pergola", f"post {i + 1}")
    for i, (x, y) in enumerate(((0.5, 8.1), (2.6, 8.1), (2.6, 9.6), (0.5, 9.6)), 1):
        add(f"P70{i}", Purpose.CORNER, Point(x, y), "deck", f"corner {i}")
    return tuple(pegs)


def checks() -> tuple[Check, ...]:
    def check(a: str, b: str, d: float, proves: str, kind: CheckKind = CheckKind.CLOSING) -> Check:
        low, high = TAPE.span(d, 15)
        return Check(
            start=a, end=b, distance=TAPE.reading(d), allowed=15, kind=kind, gate=1, low=low, high=high, proves=proves
        )

    return (
        check("A", "C", math.hypot(13, 22), "diagonal of the plot", CheckKind.CONTROL),
        check("X101", "X102", LOWER.distance(UPPER), "between the lawn centres"),
        check("P501", "P502", 9.4, "front of the terrace"),
        check("T201", "T205", 1.2, "width of the walk"),
    )


def sections() -> tuple[SectionDetail, ...]:
    layer, mm = SectionLayer, 0.001
    return (
        SectionDetail(
            form="surface",
            title="Terrace",
            elements=("terrace",),
            layers=(
                layer(material="stone slab 900 × 600", thickness=40 * mm),
                layer(material="bedding mortar", thickness=30 * mm),
                layer(material="compacted stone", thickness=150 * mm, beyond=0.1),
            ),
            sizes={"edge width": 0.1, "edge depth": 0.15, "fall": 60},
            words={"edge": "concrete haunch"},
        ),
        SectionDetail(
            form="surface",
            title="Long walk",
            elements=("long walk",),
            layers=(
                layer(material="self-binding gravel", thickness=50 * mm),
                layer(material="geotextile", thickness=0),
                layer(material="compacted stone", thickness=100 * mm, beyond=0.1),
            ),
        ),
        SectionDetail(
            form="wall",
            title="Low wall",
            elements=("low wall",),
            sizes={
                "thickness": 0.215,
                "height": 0.45,
                "below": 0.35,
                "coping width": 0.275,
                "coping height": 0.05,
                "footing width": 0.6,
                "footing depth": 0.2,
                "unit height": 0.065,
                "joint": 0.01,
                "retained": 0.2,
            },
            words={"unit": "brick 215", "bond": "English bond", "coping": "stone coping", "footing": "concrete"},
        ),
        SectionDetail(
            form="edging",
            title="Lawn edge",
            elements=("round lawns",),
            layers=(layer(material="concrete", thickness=100 * mm, beyond=0.08),),
            sizes={"width": 0.215, "depth": 0.103},
            words={"material": "brick on edge"},
        ),
        SectionDetail(
            form="steps",
            title="Garden steps",
            sizes={"riser": 0.15, "going": 0.35, "risers": 2, "tread": 0.05},
            words={"tread": "stone tread"},
        ),
        SectionDetail(
            form="pergola",
            title="Pergola, long side",
            sizes={
                "height": 2.4,
                "bay": 2.2,
                "bays": 3,
                "post": 0.1,
                "beam width": 0.047,
                "beam depth": 0.15,
                "rafter width": 0.047,
                "rafter depth": 0.15,
                "rafter spacing": 0.45,
                "overhang": 0.3,
                "footing width": 0.35,
                "footing depth": 0.6,
            },
        ),
        SectionDetail(
            form="deck",
            title="Deck",
            sizes={
                "board width": 0.145,
                "board gap": 0.005,
                "board thickness": 0.028,
                "joist width": 0.047,
                "joist depth": 0.1,
                "joist spacing": 0.4,
            },
        ),
        SectionDetail(
            form="pond",
            title="Pond edge",
            sizes={"depth": 0.6, "edge width": 0.25, "edge depth": 0.08},
            layers=(layer(material="pond liner", thickness=0), layer(material="sand", thickness=50 * mm)),
        ),
    )


def water_meadow(plants: bool = True, **wishes: object) -> Brief:
    """Return the plot of 14 by 22 m."""
    return Brief(
        project=Project(
            title="Water Meadow Cottage",
            number="WM-207",
            site="3 Ferry Walk, Oxbow",
            client="The Oxbow family",
            owner="Sedge and Stone",
            drawn_by="M. Alder",
            approved_by="R. Teasel",
            document="Construction drawing",
            status="For construction",
            date="2026-04-02",
            revisions=(
                Revision(mark="A", date="2026-03-11", note="First issue"),
                Revision(mark="B", date="2026-04-02", note="Walk moved 0.20 m east"),
            ),
        ),
        wishes=Wishes(**wishes),
        north=24.0,
        features=features(),  # type: ignore[arg-type]
        labels={"round lawns": "Round lawns", "drain": "drain"},
        pegs=pegged(),
        checks=checks(),
        marks={
            "A": "house corner, left",
            "B": "house corner, right",
            "C": "fence post, far right",
            "D": "fence post, far left",
        },
        cautions=(
            (Caution.SERVICES, ("drain",)),
            (Caution.WALLS, ("low wall",)),
            (Caution.WATER, ("pond",)),
            (Caution.TREES, ("old pear",)),
            (Caution.DUST, ("terrace",)),
        ),
        sections=sections(),
        beds=planted() if plants else (),
        schedule=schedule(planted()) if plants else (),
        obstacles=(Obstacle(element="house", body=Region(box(1.0, -2.0, 12.8, 0))),),
    )
