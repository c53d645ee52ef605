"""The search for label places: nothing overlaps, nothing is dropped, order does not matter, refusals say why."""

from __future__ import annotations

import hashlib
import itertools
import math
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.drawings.annotate import place
from pegbook.drawings.blocks import block
from pegbook.drawings.candidates import Anchor, Options, led, touching
from pegbook.drawings.columns import heights, spaced
from pegbook.drawings.crowding import crowding
from pegbook.drawings.obstacles import ObstacleIndex
from pegbook.drawings.placing import Search
from pegbook.drawings.requests import (
    AreaLabel,
    Column,
    ColumnLabel,
    Inked,
    LineLabel,
    Obstacles,
    Placement,
    PointLabel,
    Sign,
    Words,
)
from pegbook.drawings.spots import DOT_ROOM, EDGE_ROOM, ENOUGH, SLACK, dots
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.path import Path as Line
from pegbook.geometry.kernel.point import Box, Point
from support.label_sheets import PAGE, LabelSheet, setting_out_sheet
from support.optimum import optimum

ROOT = Path(__file__).resolve().parents[2]


def placed(sheet: LabelSheet) -> Placement:
    return place(sheet.requests, sheet.obstacles, sheet.field)


@pytest.mark.parametrize(("size", "count", "seed"), [("A3", 30, 1), ("A3", 120, 2), ("A2", 250, 3), ("A1", 500, 4)])
def test_every_label_of_a_sheet_is_placed_and_the_proof_holds(size: str, count: int, seed: int) -> None:
    sheet = setting_out_sheet(size, count, seed)
    found = placed(sheet)           # `place` proves what it returns and raises otherwise
    assert {label.name for label in found.labels} == {request.name for request in sheet.requests}
    assert found.report.longest_leader <= 30.0
    assert found.report.mean_leader <= 10.0


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(21))
def test_generated_sheets_are_placed(seed: int) -> None:
    sheet = setting_out_sheet(("A3", "A2", "A1")[seed % 3], (120, 250, 500)[seed % 3], 100 + seed)
    assert len(placed(sheet).labels) == len(sheet.requests)


def test_the_order_of_requests_and_obstacles_does_not_matter() -> None:
    sheet = setting_out_sheet("A3", 80, 5)
    first = placed(sheet)
    for seed in range(3):
        rng = random.Random(seed)
        requests, lines, signs = list(sheet.requests), list(sheet.obstacles.lines), list(sheet.obstacles.signs)
        for lot in (requests, lines, signs):
            rng.shuffle(lot)
        again = place(requests, Obstacles(lines=tuple(lines), signs=tuple(signs)), sheet.field)
        assert again.marks == first.marks


def test_hash_seeds_do_not_matter() -> None:
    script = ("from support.label_sheets import setting_out_sheet as s\nfrom pegbook.drawings.annotate import place\n"
              "import hashlib\nx = s('A3', 60, 7)\n"
              "print(hashlib.sha256(repr(place(x.requests, x.obstacles, x.field).marks).encode()).hexdigest())")
    sheet = setting_out_sheet("A3", 60, 7)
    here = hashlib.sha256(repr(placed(sheet).marks).encode()).hexdigest()
    for seed in ("1", "77"):
        env = {"PYTHONHASHSEED": seed, "PYTHONPATH": f"{ROOT / 'tests'}:{':'.join(sys.path)}"}
        out = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True, text=True, env=env)
        assert out.stdout.strip() == here


@pytest.mark.parametrize("seed", [0, 1])
def test_cost_is_near_the_proved_optimum(seed: int) -> None:
    # Outside check: the same choice by integer programming (scipy's milp), all labels placed.
    sheet = setting_out_sheet("A3", 60, seed)
    index = ObstacleIndex(sheet.obstacles, sheet.field)
    anchors = [Anchor(k, r.name, r.at.x, r.at.y, r.radius, block(r.lines), r.gaps, r.places, r.leader)
               for k, r in enumerate(sheet.requests)]
    pool = touching(anchors, index)
    search = Search(len(anchors), pool)
    search.run(range(len(anchors)), lambda lot: led([anchors[k] for k in lot], index))
    assert not search.unplaced()
    best = optimum(len(anchors), Options.joined([pool, *(led([a], index).kept(np.arange(min(len(led([a], index)), 20)))
                                                         for a in anchors)]))
    assert best is not None
    assert search.cost() <= 1.05 * best + 0.5


def test_a_full_sheet_is_refused_with_a_proposal() -> None:
    rng = random.Random(3)
    requests = [PointLabel(name=f"P{k}", at=Point(100 + rng.uniform(0, 34), 100 + rng.uniform(0, 34)),
                           lines=(Words(f"P{k}"),)) for k in range(100, 140)]
    with pytest.raises(DrawingError) as caught:
        place(requests, Obstacles(), Box(20, 10, 400, 280))
    assert [p.code for p in caught.value.problems] == ["sheet-too-full"]
    assert "larger scale" in caught.value.problems[0].mend
    assert "enlarged view" in caught.value.problems[0].mend
    assert crowding(requests).insets


def test_a_label_without_a_place_is_named_and_never_dropped() -> None:
    wall = [Inked(Line.through((Point(50, y), Point(90, y))), 0.7) for y in range(60, 90, 2)]
    request = PointLabel(name="P101", at=Point(70, 75), lines=(Words("P101"),), leader=10.0)
    with pytest.raises(DrawingError) as caught:
        place([request], Obstacles(lines=tuple(wall)), Box(20, 10, 400, 280))
    assert caught.value.problems[0].code == "label-no-place"
    assert "P101" in caught.value.problems[0].what


@pytest.mark.parametrize("name", ["P101", "the gardener's shed"])
def test_a_refusal_says_which_label_it_is_about(name: str) -> None:
    """Plans leave such a label out, or show it in an enlarged view: they must know it by its name, not by words."""
    wall = [Inked(Line.through((Point(50, y), Point(90, y))), 0.7) for y in range(60, 90, 2)]
    request = PointLabel(name=name, at=Point(70, 75), lines=(Words("2.170"),), leader=10.0)
    with pytest.raises(DrawingError) as caught:
        place([request], Obstacles(lines=tuple(wall)), Box(20, 10, 400, 280))
    assert [problem.about for problem in caught.value.problems] == [name]


def test_two_labels_of_one_name_are_refused() -> None:
    one = PointLabel(name="A", at=Point(50, 50), lines=(Words("A"),))
    with pytest.raises(DrawingError, match="two labels"):
        place([one, one], Obstacles(), Box(20, 10, 200, 200))


def _square(x: float, y: float, wide: float, high: float) -> Region:
    return Region(Loop.polygon((Point(x, y), Point(x + wide, y), Point(x + wide, y + high), Point(x, y + high))))


def test_areas_go_inside_then_along_a_strip_then_on_a_leader_then_to_the_column() -> None:
    name = (Words("Kitchen garden", "bold", 3.5), Words("12.3 m²"))
    field = Box(20, 10, 200, 280)
    column = Column(side="left", edge=60, limit=20, low=40, high=240)

    def way(region: Region, columns: tuple[Column, ...] = (), leader: float = 40.0) -> str:
        edge = Inked(region.outer, 0.35)
        request = AreaLabel(name="bed", regions=(region,), lines=name, leader=leader)
        return place([request], Obstacles(lines=(edge,)), field, columns).labels[0].way

    assert way(_square(80, 100, 60, 40)) == "inside"
    assert way(_square(80, 60, 8, 120)) == "strip"
    assert way(_square(80, 100, 9, 9)) == "leader"
    assert way(_square(80, 100, 9, 9), (column,), leader=0.0) == "column"


def test_names_of_lines_read_from_below_or_from_the_right() -> None:
    for end in (Point(60, 200), Point(140, 60), Point(20, 60), Point(60, 20), Point(100, 190)):
        start = Point(60, 60) if end.distance(Point(60, 60)) > 1 else Point(160, 160)
        path = Line.through((start, end))
        label = place([LineLabel(name="path", path=path, lines=(Words("Path", "bold", 3.5),))], Obstacles(),
                      Box(5, 5, 250, 250)).labels[0]
        turn = np.degrees(label.marks[0].turn)
        assert -90 < turn <= 90


def test_columns_are_sorted_and_their_leaders_do_not_cross() -> None:
    rng = random.Random(11)
    column = Column(side="left", edge=60, limit=22, low=30, high=270)
    requests = [ColumnLabel(name=f"thing {k}", at=Point(rng.uniform(70, 180), rng.uniform(100, 200)),
                            lines=(Words(f"Thing {k}", "bold"), Words("noted"))) for k in range(9)]
    found = place(requests, Obstacles(), Box(20, 10, 200, 280), (column,))
    assert all(label.way == "column" for label in found.labels)     # crossings are refused by the proof
    low = Column(side="left", edge=60, limit=22, low=100, high=130)
    with pytest.raises(DrawingError, match="mm high"):
        place(requests, Obstacles(), Box(20, 10, 200, 280), (low,))


@given(st.lists(st.floats(0, 200), min_size=1, max_size=12), st.floats(1, 8))
@settings(max_examples=60, deadline=None)
def test_spaced_stations_keep_their_order_and_distance(stations: list[float], apart: float) -> None:
    rising = sorted(stations)
    moved = spaced(rising, apart)
    assert all(b - a >= apart - 2e-3 for a, b in itertools.pairwise(moved))
    if all(b - a >= apart for a, b in itertools.pairwise(rising)):
        assert moved == pytest.approx(rising, abs=1e-3)


@given(st.lists(st.floats(0, 100), min_size=1, max_size=8))
@settings(max_examples=60, deadline=None)
def test_column_heights_stay_within_and_apart(wanted: list[float]) -> None:
    order = sorted(wanted, reverse=True)
    tops = heights(order, [10.0] * len(order), 0.0, 120.0)
    assert all(a - b >= 10.0 - 1e-9 for a, b in itertools.pairwise(tops))
    assert max(tops) <= 120.0 + 1e-9
    assert min(tops) - 10.0 >= -2.2 - 1e-9


def test_the_page_of_the_literature_has_its_size() -> None:
    # Christensen, Marks, Shieber 1995: 792 x 612 points of a landscape page (from memory).
    assert (PAGE.width, PAGE.height) == (792.0, 612.0)


def test_a_leader_leaves_the_sign_that_its_own_peg_stands_in_and_never_runs_over_it() -> None:
    """A peg 0.09 m beside a control mark at 1:100: drawn under its sign, named all the same."""
    mark = Sign(at=Point(100.0, 100.0), radius=2.3, owner="B")
    index = ObstacleIndex(Obstacles(signs=(mark, Sign(at=Point(99.1, 100.0), radius=1.2, owner="P1"))), PAGE)
    away, beside, over = [98.0, 100.6, 92.0, 104.0], [99.1, 101.3, 99.8, 110.0], [100.2, 100.5, 106.0, 104.0]
    of_another = [90.0, 101.0, 110.0, 101.0]
    blocked = index.blocked_leaders(np.array([away, beside, over, of_another]), ["P1", "P1", "P1", "P2"])
    assert blocked.tolist() == [False, False, True, True]


def test_dots_of_leaders_stand_between_marks_and_off_edges_where_some_place_is_better() -> None:
    marks = tuple(Sign(at=Point(101.3 + 3 * i, 101.3 + 3 * j), radius=1.2) for i in range(4) for j in range(4))
    area = Region(Loop.polygon([Point(100, 100), Point(112, 100), Point(112, 112), Point(100, 112)]))
    found = dots([area], ObstacleIndex(Obstacles(signs=marks), PAGE)).tolist()

    def room(x: float, y: float) -> float:
        edge = min(x - 100, 112 - x, y - 100, 112 - y) - EDGE_ROOM
        return min(edge, min(math.hypot(x - m.at.x, y - m.at.y) - m.radius for m in marks) - DOT_ROOM, 0.0)

    rooms = [room(x, y) for x, y in found]
    assert len(rooms) >= ENOUGH
    assert rooms[0] == max(rooms)
    assert all(r >= rooms[0] - SLACK - 1e-9 for r in rooms[ENOUGH:])
