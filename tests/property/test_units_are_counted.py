"""Counts of whole and cut units: settled layouts, brute-force overlay by shapely, degenerate outlines, the mean law."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from pegbook.geometry.errors import GeometryError
from pegbook.geometry.kernel.combine import difference, union
from pegbook.geometry.kernel.offset import Corners, grown
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.quantities.cuts import Cut, cut_units
from pegbook.geometry.quantities.firmness import firmness
from pegbook.geometry.quantities.laying import lay
from pegbook.geometry.quantities.ordering import Choices
from pegbook.geometry.quantities.patterns import Bond, closing_joints
from pegbook.geometry.quantities.paving import laid, paving_items
from support.areas import disc, moved, polygon, rectangle, rounded, unit

R73, R64, R53 = rectangle(7.3, 4.9), rectangle(6, 4), rounded(5, 3, 0.5)
CIRCLE, RING = disc(2.5), disc(2.5, hole=0.8)

# region, unit, bond, origin, turn, (whole, cut) without ease, slivers, (whole, cut) eased 2 mm, unit area, joint area
SETTLED = [
    (R73, unit(600, 600, 10), "stack", (0, 0), 0, (88, 20), 12, (88, 20), 34.655800, 1.114200),
    (R73, unit(600, 600, 10), "stack", (0, 0.2), 0, (77, 31), 0, (77, 31), 34.655800, 1.114200),
    (R73, unit(600, 600, 10), "stack", (0, 0), 30, (71, 52), 19, (71, 52), 34.606676, 1.163324),
    (R73, unit(450, 450, 10), "stretcher", (0, 0), 0, (150, 31), 0, (150, 31), 34.297500, 1.472500),
    (R64, unit(200, 100, 2), "herringbone", (0, 0), 0, (1097, 108), 30, (1107, 98), 23.075656, 0.924344),
    (R64, unit(200, 100, 2), "herringbone", (0, 0), 45, (1060, 186), 70, (1060, 186), 23.072398, 0.927602),
    (R64, unit(200, 100, 2), "basket", (0, 0), 0, (1107, 83), 15, (1116, 74), 23.080125, 0.919875),
    (R64, unit(600, 200, 10), "third", (0, 0), 0, (171, 42), 17, (171, 42), 22.493000, 1.507000),
    (CIRCLE, unit(600, 600, 10), "stack", (0, 0), 0, (32, 36), 14, (32, 36), 18.991571, 0.643384),
    (CIRCLE, unit(600, 600, 10), "stack", (0.005, 0.005), 0, (32, 36), 16, (32, 36), 18.991529, 0.643425),
    (CIRCLE, unit(200, 100, 2), "stretcher", (0, 0), 0, (880, 143), None, (884, 137), 19.059145, 0.575809),
    (CIRCLE, unit(200, 100, 2), "herringbone", (0, 0), 45, (873, 145), None, (874, 143), 18.871820, 0.763134),
    (RING, unit(600, 600, 10), "stack", (0, 0), 0, (20, 48), 18, (20, 48), 17.053851, 0.570483),
    (R53, unit(450, 450, 10), "stretcher", (0, 0), 0, (57, 23), 1, (58, 22), 14.179561, 0.605838),
]


@pytest.mark.parametrize("case", SETTLED, ids=lambda c: f"{c[2]}-{c[4]}-{c[8]}")
def test_settled_layouts(case):
    """The first, second and fourth can be checked by hand (11 columns + 0.59 by 8 rows + 0.02 of the first)."""
    shape, kind, bond, origin, turn, raw, slivers, eased, units, joints = case
    layout = lay(shape, kind, Bond(bond), Point(*origin), math.radians(turn), ease=0.0)
    assert (layout.wholes, layout.cuts) == raw
    assert layout.unit_area == pytest.approx(units, abs=6e-7)
    assert layout.joint_area == pytest.approx(joints, abs=6e-7)
    if slivers is not None:
        assert sum(c.sliver for c in cut_units(layout)) == slivers
    soft = lay(shape, kind, Bond(bond), Point(*origin), math.radians(turn))
    assert (soft.wholes, soft.cuts) == eased


def test_whole_units_stay_whole_turned_and_moved():
    """10 by 8 slabs of 600 with 10 mm joints fill 6.09 by 4.87 m without a cut, wherever and however it lies."""
    for k in range(40):
        turn, dx, dy = 0.157 * k, 1.3e4 * k - 2.6e5, 5e5 - 2.1e4 * k
        layout = lay(moved(rectangle(6.09, 4.87), turn, dx, dy), unit(600, 600, 10), Bond(), Point(dx, dy), turn)
        assert (layout.wholes, layout.cuts) == (80, 0)
        assert layout.unit_area == pytest.approx(28.8, abs=1e-6)


def _shapely(region: Region, gap: float) -> shapely.Polygon:
    def ring(segments):
        points = []
        for s in segments:
            n = 1
            if isinstance(s, Arc):
                n = max(2, math.ceil(abs(s.sweep) / (2 * math.acos(1 - gap / s.radius))))
            points += [(s.point(k / n).x, s.point(k / n).y) for k in range(n)]
        return points

    outer, *holes = (ring(r) for r in region.rings())
    return shapely.Polygon(outer, holes)


@pytest.mark.parametrize("bond", ["stack", "stretcher", "third", "herringbone", "basket"])
@pytest.mark.parametrize("shape", [CIRCLE, RING, R53, polygon((0, 0), (4, 0.3), (3.1, 1.4), (4.2, 3), (0.4, 2.7))])
def test_brute_force_overlay_agrees(shape, bond):
    """Every unit's area by shapely on chords that stray by a micrometre (independent of the closed form)."""
    layout = lay(shape, unit(200, 100, 3), Bond(bond), Point(0.037, 0.021), 0.31, ease=0.0)
    c, s = layout.frame.axis
    ground = _shapely(shape[0], 1e-6)
    x = layout.boxes[:, [0, 2, 2, 0]]
    y = layout.boxes[:, [1, 1, 3, 3]]
    corners = np.stack([0.037 + c * x - s * y, 0.021 + s * x + c * y], axis=-1)
    overlay = shapely.area(shapely.intersection(shapely.polygons(corners), ground))
    assert np.abs(overlay - layout.areas).max() < 1e-6
    assert overlay.sum() == pytest.approx(layout.unit_area, abs=2e-5)
    full = layout.unit.area
    settled = (overlay < full - 1e-5) | (overlay > full - 1e-8)
    assert ((overlay > full - 1e-8) == layout.whole)[settled].all()


@pytest.mark.parametrize("joint", [0, 10])
def test_outlines_drawn_to_the_module_are_classed_alike_whatever_the_noise(joint):
    """Outlines of lattice multiples, their corners moved by rounding noise: no unit changes its class."""
    kind = unit(200, 100, joint)
    a, b = kind.length + kind.joint, kind.width + kind.joint
    rng = np.random.default_rng(7)
    corners = [(0, 0), (6 * a, 0), (6 * a, 4 * b), (3 * a, 4 * b), (3 * a, 9 * b), (0, 9 * b)]
    clean = lay(polygon(*corners), kind, Bond(), Point(0, 0))
    for _ in range(40):
        noisy = [(x + rng.uniform(-1e-13, 1e-13), y + rng.uniform(-1e-13, 1e-13)) for x, y in corners]
        layout = lay(polygon(*noisy), kind, Bond(), Point(0, 0))
        assert (layout.wholes, layout.cuts) == (clean.wholes, clean.cuts)
        cut_units(layout)


@pytest.mark.deep
def test_degenerate_outlines_by_the_hundred_thousand():
    """Lattice multiples, tangencies and rounding noise under every bond: no class changes, no walk fails."""
    rng = np.random.default_rng(11)
    positions = 0
    for k in range(1500):
        joint = (0, 4, 10)[k % 3]
        kind = unit(200, 100, joint)
        a, b = kind.length + kind.joint, kind.width + kind.joint
        nx, ny = rng.integers(3, 12, 2)
        corners = [(0, 0), (nx * a, 0), (nx * a, ny * b), (a, ny * b), (a, (ny - 1) * b), (0, (ny - 1) * b)]
        bond = Bond(("stack", "stretcher")[k % 2])
        clean = lay(polygon(*corners), kind, bond, Point(0, 0))
        turn, dx, dy = rng.uniform(-3, 3), rng.uniform(-50, 50), rng.uniform(-50, 50)
        layout = lay(moved(polygon(*corners), turn, dx, dy), kind, bond, Point(dx, dy), turn)
        assert (layout.wholes, layout.cuts) == (clean.wholes, clean.cuts)
        cut_units(layout)
        positions += layout.count
    assert positions > 50_000


@pytest.mark.deep
def test_random_outlines_under_every_bond_agree_with_an_overlay():
    """Random polygons with rounded corners and round holes, random turns and origins: areas by shapely at 1e-6 m."""
    rng = np.random.default_rng(23)
    units = worst = 0.0
    for k in range(240):
        n = int(rng.integers(3, 9))
        angles = np.sort(rng.uniform(0, 2 * math.pi, n)) + np.arange(n) * 1e-3
        radii = rng.uniform(0.8, 2.2, n)
        if np.diff([*angles, angles[0] + 2 * math.pi]).max() > 0.9 * math.pi:
            continue
        corners = [(r * math.cos(a), r * math.sin(a)) for a, r in zip(angles, radii, strict=True)]
        if shapely.Polygon(corners).boundary.distance(shapely.Point(0, 0)) < 0.3:
            continue
        shape = polygon(*corners, holes=(disc(0.25)[0].outer,))
        kind = (unit(200, 100, 4), unit(450, 450, 10), unit(215, 102.5, 10))[k % 3]
        bond = Bond(("stack", "stretcher", "third", "herringbone", "basket")[k % 5 if k % 3 != 1 else 0])
        turn, at = rng.uniform(-3, 3), rng.uniform(-0.5, 0.5, 2)
        layout = lay(shape, kind, bond, Point(*at), turn, ease=0.0)
        assert abs(layout.misfit) < 1e-9
        c, s = layout.frame.axis
        x, y = layout.boxes[:, [0, 2, 2, 0]], layout.boxes[:, [1, 1, 3, 3]]
        boxes = shapely.polygons(np.stack([at[0] + c * x - s * y, at[1] + s * x + c * y], axis=-1))
        overlay = shapely.area(shapely.intersection(boxes, _shapely(shape[0], 1e-6)))
        worst = max(worst, float(np.abs(overlay - layout.areas).max()))
        cut_units(layout)
        units += layout.count
    assert units > 10_000
    assert worst < 2e-6


@pytest.mark.deep
def test_outlines_on_the_lattice_touching_and_tangent_are_all_followed():
    """Circles, rectangles, rounded rectangles on half modules, joined and cut: no unit is refused or misclassed."""
    rng = np.random.default_rng(5)
    cuts = 0
    for k in range(900):
        kind = unit(*((200, 100), (600, 600), (450, 300))[k % 3], (0, 0, 4, 10)[k % 4])
        a, b = kind.length + kind.joint, kind.width + kind.joint
        x, y = rng.integers(-6, 7, (3, 2)).T * np.array([[a / 2], [b / 2]])
        m, n = rng.integers(2, 9, 2)
        parts = [
            disc(m * b / 2, x[0], y[0]),
            rectangle(m * a / 2, n * b / 2, x[1], y[1]),
            moved(rounded((m + 3) * a / 2, (n + 3) * b / 2, b / 2), 0.0, x[2], y[2]),
        ]
        order = rng.permutation(3)
        first, second = parts[order[0]], parts[order[1]]
        shape = union((*first, *second)) if k % 2 else difference(first, second)
        if sum(r.area for r in shape) < 1.1 * kind.area:
            continue
        bond = Bond(("stack", "stretcher", "third")[k % 3])
        layout = lay(shape, kind, bond, Point(0, 0), (0.0, math.pi / 4, math.pi / 2, 0.3)[k % 4], (0.0, 0.002)[k % 2])
        assert abs(layout.misfit) < 1e-8
        cuts += len(cut_units(layout))
    assert cuts > 5_000


def test_mean_number_of_cuts_follows_the_law_of_girths():
    """Over random origins: (Ty ex + Tx ey) / module; a circle on squares cuts 8 R / s (integral geometry, memory)."""
    rng = np.random.default_rng(3)
    s = 0.61
    counts = [lay(CIRCLE, unit(600, 600, 10), Bond(), Point(*rng.uniform(0, s, 2)), ease=0.0).cuts for _ in range(120)]
    law = (4 * 2.5 * 0.6 * 2) / (s * s)
    assert np.mean(counts) == pytest.approx(law, rel=0.03)


def test_a_notch_and_a_hole_are_named_by_the_cut():
    tree = disc(0.1, 0.3, 0.3)[0].outer
    layout = lay(rectangle(1.8, 1.8, holes=(tree,)), unit(600, 600), Bond(), Point(0, 0))
    assert [c.kind for c in cut_units(layout)] == [Cut.HOLED]
    corner = lay(
        polygon((0, 0), (1.8, 0), (1.8, 1.5), (1.5, 1.5), (1.5, 1.8), (0, 1.8)), unit(600, 600), Bond(), Point(0, 0)
    )
    assert [c.kind for c in cut_units(corner)] == [Cut.NOTCH]
    askew = lay(polygon((0, 0), (1.2, 0), (1.8, 0.6), (1.8, 1.8), (0, 1.8)), unit(600, 600), Bond(), Point(0, 0))
    assert [c.kind for c in cut_units(askew)] == [Cut.OBLIQUE]


def test_a_missing_corner_is_no_ease():
    """A corner triangle of 49 mm has the area of a 2 mm strip of a 600 slab; the strip is ease, the corner is a cut."""
    bitten = polygon((0, 0), (1.2, 0), (1.2, 1.151), (1.151, 1.2), (0, 1.2))
    assert lay(bitten, unit(600, 600), Bond(), Point(0, 0)).cuts == 1
    narrow = rectangle(1.198, 1.2)
    assert lay(narrow, unit(600, 600), Bond(), Point(0, 0)).cuts == 0


def test_woven_bonds_close_or_say_which_size_would():
    assert closing_joints(unit(200, 100, 3))[:2] == pytest.approx((0.006, 0.003))
    assert closing_joints(unit(215, 102.5, 10))[:2] == pytest.approx((0.010, 0.010))
    assert closing_joints(unit(215, 65, 10))[:2] == pytest.approx((0.010, 0.010))
    with pytest.raises(GeometryError) as refused:
        closing_joints(unit(250, 100, 3))
    assert refused.value.problems[0].code == "bond-does-not-close"


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: unit(0, 100), "bad-unit"),
        (lambda: unit(200, float("nan")), "bad-unit"),
        (lambda: unit(200, 100, 120), "bad-joint"),
        (lambda: Bond("zigzag"), "unknown-bond"),
        (lambda: lay(rectangle(0.3, 0.3), unit(600, 600), Bond(), Point(0, 0)), "unit-too-large"),
        (lambda: lay((), unit(600, 600), Bond(), Point(0, 0)), "no-area"),
        (lambda: lay(rectangle(900, 900), unit(60, 20), Bond(), Point(0, 0)), "too-many-units"),
        (lambda: lay(rectangle(3, 0.004, y=-0.007), unit(600, 600, 10), Bond(), Point(0, 0)), "no-units"),
    ],
)
def test_what_cannot_be_laid_is_refused(make, code):
    with pytest.raises(GeometryError) as refused:
        make()
    assert refused.value.problems[0].code == code
    assert refused.value.problems[0].mend


# --- how firm a count is -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("region", "size", "bond"),
    [
        (rectangle(7.3, 4.9), unit(600, 600, 10), "stack"),
        (rectangle(7.31, 4.87), unit(600, 600, 10), "stack"),
        (disc(2.5), unit(600, 600, 10), "stack"),
        (rectangle(3.0, 2.0), unit(450, 450, 10), "stretcher"),
    ],
)
def test_a_count_says_how_far_it_may_move_on_the_ground(region, size, bond):
    """Against laying the same outline again, larger and smaller, by real pieces; the estimate pairs by area alone."""
    work = laid(region, size, Bond(bond), Point(0, 0))
    low, high = firmness(work.layout, work.units)
    assert low <= work.units <= high
    for by in (-0.01, 0.01):
        again = laid(grown(region, by, Corners.SQUARE), size, Bond(bond), Point(0, 0))
        assert low - 0.06 * work.units <= again.units <= high + 0.06 * work.units


def test_a_design_of_whole_units_is_the_least_firm():
    work = laid(rectangle(7.31, 4.87), unit(600, 600, 10), Bond("stack"), Point(0, 0))
    assert (work.units, len(work.cuts)) == (96, 0)
    low, high = firmness(work.layout, work.units)
    assert low == 96
    assert high > 96


@pytest.mark.parametrize(
    ("bond", "words"),
    [
        ("stack", "along the courses, 12 units with joints of 9.1 mm need no cut"),
        ("stretcher", "in courses that begin with a whole unit, 12 units with joints of 9.1 mm need no cut"),
    ],
)
def test_the_bill_tells_the_joint_that_spares_the_saw(bond, words):
    """7.3 m takes twelve 600 slabs with joints of (7.3 - 7.2) / 11 m."""
    work = laid(rectangle(7.3, 4.9), unit(600, 600, 10, joint_range=(0.008, 0.015)), Bond(bond), Point(0, 0))
    rows = {item.item: item for item in paving_items(work, "paving", "terrace", Choices())}
    assert words in rows["units cut"].basis
