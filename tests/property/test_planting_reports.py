"""Labels, schedule, table, months, strip, clarity and setting out all speak of the same plants."""

import csv
import io
import itertools
import math
from collections import Counter
from dataclasses import replace

import pytest

from pegbook.geometry.errors import Weight
from pegbook.geometry.kernel.path import Loop, Path
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.planting.clarity import clarity, clarity_advice, elongation
from pegbook.geometry.planting.lines import plant_line
from pegbook.geometry.planting.mix import ClarityRules, LineInput, Measure, MixEntry, SinglesInput
from pegbook.geometry.planting.months import month_charts
from pegbook.geometry.planting.plan import plant_bed
from pegbook.geometry.planting.planted import BedPlanting
from pegbook.geometry.planting.plants import Habit, Interest, Supply
from pegbook.geometry.planting.profile import strips_of
from pegbook.geometry.planting.sanding import sanding_of
from pegbook.geometry.planting.schedule import plants_csv, schedule, supply_words
from support.beds import mixed_border, plant, random_bed, straight_bed


@pytest.fixture(scope="module")
def border() -> BedPlanting:
    return plant_bed(mixed_border())


def test_labels_points_and_schedule_are_one(border: BedPlanting) -> None:
    other = plant_bed(random_bed(5))
    rows = schedule([border, other])
    points: Counter[str] = Counter()
    for bed in (border, other):
        points.update(bed.counts())
    assert {r.plant.name: r.number for r in rows} == dict(points)
    labels: Counter[str] = Counter()
    for bed in (border, other):
        for label in bed.labels:
            labels[label.name] += label.count
    assert labels == points
    assert all(sum(n for _, n in r.position) == r.number for r in rows)


def test_area_times_density_stands_beside_and_counts_more(border: BedPlanting) -> None:
    for row in schedule([border]):
        area = sum(g.area for g in border.groups if g.plant.name == row.plant.name)
        assert row.by_area == pytest.approx(area / (row.spacing**2 * math.sqrt(3) / 2))
        assert row.by_area > row.number


def test_spare_plants_have_a_line_of_their_own() -> None:
    bed = straight_bed(5, 2, [MixEntry(plant="a", share=1.0)], [plant("a", 0.4, spare=5.0)])
    first, spare = schedule([plant_bed(bed)])
    assert spare.spare
    assert spare.number == math.ceil(first.number * 0.05)
    assert "spare, 5 % of" in spare.remark


def test_schedule_goes_from_trees_to_bulbs_and_says_how_each_is_supplied() -> None:
    tree = plant("crab", 4.0, habit=Habit.TREE, supply=Supply(girth=(0.12, 0.14), form="multi-stem"))
    shrub = plant("yew", 0.45, habit=Habit.SHRUB, supply=Supply(height=(0.6, 0.8), pot=5.0))
    sage = plant("sage", 0.4, supply=Supply(pot=2.0), caution="sap irritates skin")
    bulb = plant("squill", 0.1, habit=Habit.BULB)
    bed = plant_bed(straight_bed(6, 2, [MixEntry(plant="sage", share=1.0),
                                        MixEntry(plant="squill", through=("sage",), share=0.05)], [sage, bulb]))
    hedge = plant_line(LineInput(name="west hedge", plant="yew", plants={"yew": shrub}, rows=2, per_metre=2,
                                 lines=(Path.through([Point(0, 0), Point(10, 0)]),)))
    rows = schedule([bed], [hedge], [SinglesInput(name="lawn", plant="crab", plants={"crab": tree}, at=(Point(1, 1),))])
    assert [r.plant.name for r in rows] == ["crab", "yew", "sage", "squill"]
    assert [r.supply for r in rows[:3]] == ["12–14 cm girth, multi-stem", "60–80 cm, 5 l", "2 l"]
    assert rows[1].number == 39
    assert rows[1].per_metre
    assert "sap irritates skin" in rows[2].remark
    assert "through groups 1" in rows[3].remark
    assert supply_words(Supply(pot_width=0.09)) == "9 cm pot"


def test_the_table_reads_back(border: BedPlanting) -> None:
    rows = schedule([border])
    read = list(csv.DictReader(io.StringIO(plants_csv(rows))))
    assert [int(r["number"]) for r in read] == [r.number for r in rows]
    assert len({r["key"] for r in read}) == len({r.plant.name for r in rows})
    assert list(read[0]) == ["key", "botanical", "common", "number", "supply", "spacing", "density", "position",
                             "remark", "by_area"]


@pytest.mark.parametrize("closed", [False, True])
def test_hedges_stand_at_equal_steps_on_curves(closed: bool) -> None:
    line = Loop.circle(Point(0, 0), 4.0) if closed else Path.through([Point(0, 0), Point(5, 0), Point(5, 4)])
    planted = plant_line(LineInput(name="h", plant="a", plants={"a": plant("a", 0.33)}, lines=(line,)))
    n = round(line.length / 0.33)
    assert planted.count == n
    assert planted.step == pytest.approx(line.length / n)
    if closed:
        turns = sorted((p - Point(0, 0)).heading % (2 * math.pi) for p in planted.points)
        gaps = [b - a for a, b in itertools.pairwise(turns)]
        assert max(gaps) - min(gaps) < 1e-9


def test_double_rows_on_a_curve_keep_their_stagger_and_warn_when_tight() -> None:
    plants = {"a": plant("a", 0.4)}
    planted = plant_line(LineInput(name="h", plant="a", plants=plants, lines=(Loop.circle(Point(0, 0), 3.0),), rows=2))
    inner, outer = planted.rows[1], planted.rows[0]
    assert len(inner) == len(outer)
    assert {round(p.distance(Point(0, 0)), 9) for p in inner} == {2.85}
    assert {round(p.distance(Point(0, 0)), 9) for p in outer} == {3.15}
    half = math.pi / len(inner)
    turn = ((inner[0] - Point(0, 0)).heading - (outer[0] - Point(0, 0)).heading) % (2 * half)
    assert turn == pytest.approx(half)
    assert planted.messages == ()
    tight = plant_line(LineInput(name="h", plant="a", plants=plants, lines=(Loop.circle(Point(0, 0), 1.5),), rows=2))
    assert [m.code for m in tight.messages] == ["rows-uneven"]


def test_months_name_their_gaps(border: BedPlanting) -> None:
    (chart,) = month_charts([border])
    assert chart.gaps == (1, 2, 3, 11, 12)
    assert sum(r.share for r in chart.rows) == pytest.approx(1.0)
    assert next(r.signs for r in chart.rows if r.plant.name == "catmint") == "---LFFFFFL--"
    assert chart.flowering[6] == pytest.approx(sum(r.share for r in chart.rows if r.signs[6] == "F"))


def test_a_view_joins_the_beds_that_are_seen_from_it(border: BedPlanting) -> None:
    winter = plant("hellebore", 0.4, interest=Interest(flower=(1, 2, 3), winter=(11, 12)))
    second = plant_bed(straight_bed(4, 2, [MixEntry(plant="hellebore", share=1.0)], [winter], views=("kitchen",)))
    first = replace(border, bed=replace(border.bed, views=("kitchen", "bench")))
    charts = {c.name: c for c in month_charts([first, second])}
    assert charts["kitchen"].gaps == ()
    assert charts["bench"].gaps == (1, 2, 3, 11, 12)


def test_the_strip_shows_what_stands_in_each_season(border: BedPlanting) -> None:
    spring, summer, autumn, winter = strips_of(border)
    count = sum(border.counts().values())
    assert len(summer.plants) == len(autumn.plants) == len(spring.plants) == count
    assert {s.plant.name for s in winter.plants} == {"bergenia"}
    places = [s.place for s in summer.plants]
    assert all(a >= b - 1e-3 for a, b in itertools.pairwise(places))
    assert all(0 <= s.station <= summer.length for s in summer.plants)
    assert summer.height == 1.2


def test_clarity_has_ten_measures_and_each_can_be_switched_off(border: BedPlanting) -> None:
    assert [f.rule for f in clarity(border)] == list(Measure)
    assert all(f.source for f in clarity(border))
    quiet = replace(border, bed=replace(border.bed, rules=ClarityRules(off=(Measure.SIZES, Measure.MONTHS))))
    assert [f.rule for f in clarity(quiet)] == [m for m in Measure if m not in (Measure.SIZES, Measure.MONTHS)]
    assert all(p.weight is Weight.ADVICE for p in clarity_advice(border))


def test_clarity_measures_what_it_says(border: BedPlanting) -> None:
    found = {f.rule: f for f in clarity(border)}
    assert found[Measure.KINDS].figure == 9
    assert found[Measure.HEIGHTS].figure == pytest.approx(1.2 / 2.4, rel=0.05)
    evergreen = sum(g.area for g in border.groups if g.plant.evergreen) / sum(g.area for g in border.groups)
    assert found[Measure.EVERGREENS].figure == pytest.approx(evergreen)
    assert not found[Measure.MONTHS].fine
    assert found[Measure.REACH].figure == pytest.approx(1.2, abs=0.1)
    limits = replace(border, bed=replace(border.bed, rules=ClarityRules(limits={Measure.KINDS: (1, 12)})))
    assert next(f for f in clarity(limits) if f.rule == Measure.KINDS).fine


def test_colours_are_flagged_by_the_scheme_alone(border: BedPlanting) -> None:
    assert next(f for f in clarity(border) if f.rule == Measure.COLOURS).figure is None
    rules = ClarityRules(partners=(("violet", "blue"), ("violet", "pink"), ("blue", "pink")))
    told = next(f for f in clarity(replace(border, bed=replace(border.bed, rules=rules))) if f.rule == Measure.COLOURS)
    assert told.figure is not None
    assert told.figure > 0
    assert "yarrow" in told.detail


@pytest.mark.parametrize(("length", "width", "turn"), [(4, 1, 0.0), (3, 1, 0.7), (2, 2, 0.3)])
def test_length_over_width_of_a_rectangle(length: float, width: float, turn: float) -> None:
    from pegbook.geometry.kernel.construct import rectangle
    from pegbook.geometry.kernel.path import Region

    assert elongation(Region(rectangle(Point(5, 5), length, width, turn))) == pytest.approx(length / width)


def test_canes_and_lines_rebuild_the_borders(border: BedPlanting) -> None:
    """Every border stands in the table once, its canes and points lie on both groups' outlines, tapes lead to them."""
    from shapely import Point as Spot

    from pegbook.geometry.kernel.flatten import polygon

    sanding = sanding_of(border)
    assert [c.name for c in sanding.canes] == [f"K{n}" for n in range(1, len(sanding.canes) + 1)]
    assert sanding.on_edge
    way = (sanding.end - sanding.start).unit()
    edges = {g.number: polygon(g.region, 1e-4).boundary for g in border.groups}
    canes = {c.name: c.spot for c in sanding.canes}
    for line in sanding.lines:
        for taped in (canes[line.start], *line.through, canes[line.end]):
            there = sanding.start + way * taped.along + way.left() * taped.offset
            assert there.distance(taped.at) < 1e-9
            assert all(edges[n].distance(Spot(there.x, there.y)) < 1e-3 for n in line.groups)
    inner = sum(g.region.length for g in border.groups) - border.bed.regions[0].length
    assert sum(line.length for line in sanding.lines) == pytest.approx(inner / 2)
    assert sorted(sanding.standing_order) == [g.number for g in border.groups]
    assert abs(Vec(1, 0).dot(way)) == pytest.approx(1)      # along a long edge of the bed
    assert all(c.spot.offset > -1e-9 for c in sanding.canes)        # with the bed on its left
