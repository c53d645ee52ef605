"""Units and joints together cover the outline exactly, whatever the bond, the turn and the shape."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.kernel.inside import areas
from pegbook.geometry.kernel.pieces import pieces_of, region_of
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.runs import Frame, area_of, runs_of
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.quantities.cuts import cut_units, regions_of
from pegbook.geometry.quantities.laying import lay
from pegbook.geometry.quantities.patterns import BONDS, Bond
from support.areas import disc, moved, polygon, rectangle, rounded, unit

SHAPES = {
    "rectangle": rectangle(3.3, 2.1),
    "circle": disc(1.4, 0.3, -0.2),
    "ring": disc(1.6, hole=0.5),
    "rounded": rounded(3.0, 2.0, 0.5),
    "holed": rectangle(3.0, 2.4, holes=(disc(0.13, 1.1, 1.2)[0].outer, disc(0.4, 2.1, 0.9)[0].outer)),
    "notched": polygon((0, 0), (3, 0), (3, 1), (1.2, 1.1), (1.3, 2.2), (0, 2)),
}

UNITS = [unit(600, 600, 10), unit(450, 450, 8), unit(200, 100, 3), unit(215, 102.5, 10), unit(600, 300, 0)]

shapes = st.sampled_from(sorted(SHAPES)).map(SHAPES.__getitem__)
origins = st.tuples(st.floats(-1, 1), st.floats(-1, 1))
turns = st.one_of(st.sampled_from([0.0, math.pi / 4, math.pi / 2]), st.floats(-3, 3))


@settings(max_examples=60, deadline=None)
@given(shapes, st.sampled_from(UNITS), st.sampled_from(BONDS), origins, turns)
def test_cells_sum_to_the_region(shape, kind, bond, origin, turn):
    layout = lay(shape, kind, Bond(bond), Point(*origin), turn)
    assert abs(layout.misfit) <= 1e-9
    whole = math.fsum(areas(layout.runs, layout.cells))
    # cells of units that the ease dropped are not in the layout
    assert whole <= area_of(shape) + 1e-9
    assert layout.unit_area + layout.joint_area == pytest.approx(area_of(shape), abs=1e-9)
    raw = lay(shape, kind, Bond(bond), Point(*origin), turn, ease=0.0)
    assert abs(raw.misfit) <= 1e-9
    assert raw.unit_area >= layout.unit_area - 1e-9


@settings(max_examples=40, deadline=None)
@given(shapes, st.sampled_from(UNITS), st.sampled_from(BONDS), origins, turns)
def test_a_grid_of_cells_sums_to_the_region_to_a_nanometre(shape, kind, bond, origin, turn):
    runs = runs_of(shape, Frame(Point(*origin), turn))
    del bond
    step = kind.length + kind.joint
    x = np.arange(math.floor(runs.x_least.min() / step), math.ceil(runs.x_most.max() / step)) * step
    y = np.arange(math.floor(runs.yl.min() / step), math.ceil(runs.yu.max() / step)) * step
    gx, gy = (v.ravel() for v in np.meshgrid(x, y))
    cells = np.stack([gx, gy, gx + step, gy + step], axis=1)
    assert math.fsum(areas(runs, cells)) == pytest.approx(area_of(shape), abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(shapes, st.sampled_from(UNITS), st.sampled_from(BONDS), origins, turns)
def test_pieces_sum_to_their_units_and_keep_their_arcs(shape, kind, bond, origin, turn):
    layout = lay(shape, kind, Bond(bond), Point(*origin), turn)
    numbers = np.nonzero(~layout.whole)[0]
    pieces = pieces_of(layout.runs, layout.boxes[numbers])
    for found, exact in zip(pieces, layout.areas[numbers], strict=True):
        assert sum(p.area for p in found) == pytest.approx(exact, abs=1e-6)
    sources = {(s.centre, s.radius) for s in layout.runs.segments if isinstance(s, Arc)}
    for piece in (p for found in pieces for p in found):
        region = region_of(piece, layout.frame, layout.runs.segments)
        assert region.area == pytest.approx(piece.area, abs=1e-8)
        arcs = {(s.centre, s.radius) for ring in region.rings() for s in ring if isinstance(s, Arc)}
        assert arcs <= sources


def test_drawn_pieces_are_the_counted_ones():
    layout = lay(SHAPES["circle"], unit(450, 450, 10), Bond("stretcher"), Point(0.1, 0.2), 0.3)
    cuts = cut_units(layout)
    drawn = regions_of(cuts, layout)
    assert len(drawn) == sum(len(c.pieces) for c in cuts)
    assert area_of(drawn) == pytest.approx(math.fsum(layout.areas[~layout.whole]), abs=1e-4)


@settings(max_examples=30, deadline=None)
@given(shapes, st.sampled_from(UNITS[:3]), origins, turns, st.floats(-3, 3), st.floats(-1e5, 1e5), st.floats(-1e5, 1e5))
def test_moving_and_turning_all_changes_nothing(shape, kind, origin, turn, spin, dx, dy):
    before = lay(shape, kind, Bond("stretcher"), Point(*origin), turn)
    c, s = math.cos(spin), math.sin(spin)
    at = Point(c * origin[0] - s * origin[1] + dx, s * origin[0] + c * origin[1] + dy)
    after = lay(moved(shape, spin, dx, dy), kind, Bond("stretcher"), at, turn + spin)
    assert after.region_area == pytest.approx(before.region_area, abs=1e-6)
    assert after.unit_area == pytest.approx(before.unit_area, abs=1e-6)
    # noise of the move may tip a unit whose edge lies within it of the ease
    assert abs(after.wholes - before.wholes) <= 1
    assert abs(after.count - before.count) <= 1


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(UNITS), st.sampled_from(BONDS), origins, turns, st.floats(0.01, 0.4))
def test_growth_never_loses_units(kind, bond, origin, turn, by):
    small = lay(disc(1.2), kind, Bond(bond), Point(*origin), turn)
    large = lay(disc(1.2 + by), kind, Bond(bond), Point(*origin), turn)
    assert large.wholes >= small.wholes
    assert large.count >= small.count
    assert large.unit_area >= small.unit_area - 1e-9


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(UNITS), st.sampled_from(BONDS), origins, turns, st.floats(0.4, 2.9), st.floats(0.4, 2.9))
def test_parts_of_a_partition_add_up(kind, bond, origin, turn, low, high):
    left = polygon((0, 0), (low, 0), (high, 2.1), (0, 2.1))
    right = polygon((low, 0), (3.3, 0), (3.3, 2.1), (high, 2.1))
    whole, a, b = (lay(r, kind, Bond(bond), Point(*origin), turn, ease=0.0) for r in (rectangle(3.3, 2.1), left, right))
    assert a.unit_area + b.unit_area == pytest.approx(whole.unit_area, abs=1e-8)
    assert a.count + b.count >= whole.count


@settings(max_examples=40, deadline=None)
@given(shapes, st.sampled_from(UNITS), st.sampled_from(BONDS), origins, turns, st.integers(-3, 3), st.integers(-3, 3))
def test_shifting_by_the_lattice_changes_nothing(shape, kind, bond, origin, turn, i, j):
    first = lay(shape, kind, Bond(bond), Point(*origin), turn)
    grid = first.lattice
    at = first.frame.outward(i * grid.period + j * grid.step[0], j * grid.step[1])
    second = lay(shape, kind, Bond(bond), at, turn)
    assert second.unit_area == pytest.approx(first.unit_area, abs=1e-8)
    assert abs(second.wholes - first.wholes) <= 1
    assert abs(second.count - first.count) <= 1
