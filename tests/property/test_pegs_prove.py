"""Every peg rebuilds from its printed readings alone, hangs on earlier ones only, and no tape crosses a thing."""

from __future__ import annotations

import csv
import io
import math
from contextlib import suppress

import pytest
import shapely

from pegbook.geometry.errors import ReadingsError
from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.flatten import polygon
from pegbook.geometry.pegs.csvs import checks_csv, pegs_csv, points_csv, recovery_csv
from pegbook.geometry.pegs.peg import Method, PegSet
from pegbook.geometry.pegs.proof import prove, prove_set, rebuilt, rows_of
from support.aspegged import of_seed
from support.crossed import crossed

SEEDS = range(300, 312)
GARDENS = [(seed, feet) for seed in SEEDS for feet in (False, True) if not feet or seed % 4 == 0]


@pytest.mark.parametrize(("seed", "feet"), GARDENS)
def test_rebuild_within_the_bound_of_rounding(seed: int, feet: bool) -> None:
    _, pegs = of_seed(seed, feet=feet)
    proof = prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs))
    assert proof.good, proof.fault
    assert proof.largest < 15
    assert proof.pegs == sum(p.method is not Method.FIXED for p in pegs.pegs)


@pytest.mark.parametrize(("seed", "feet"), GARDENS)
def test_the_chain_is_earlier_and_short(seed: int, feet: bool) -> None:
    _, pegs = of_seed(seed, feet=feet)
    order = {p.name: p.order for p in pegs.pegs}
    assert sorted(order.values()) == list(range(1, len(order) + 1))
    level: dict[str, int] = {}
    for p in pegs.pegs:
        assert all(order[s] < p.order for s in p.sources), p.name
        below = max((level[s] for s in p.sources), default=0)
        level[p.name] = 0 if p.purpose in (Purpose.CONTROL, Purpose.AUXILIARY) else below + 1
        if p.purpose is not Purpose.RECOVERY:
            assert level[p.name] <= (2 if p.primary else 3), p.name
    figures = [p.name.lstrip("XTPFRLE") for p in pegs.pegs if p.element]
    assert len(set(figures)) == len(figures)


@pytest.mark.parametrize(("seed", "feet"), GARDENS)
def test_two_tapes_cross_at_30_degrees_or_a_third_is_there(seed: int, feet: bool) -> None:
    _, pegs = of_seed(seed, feet=feet)
    for p in pegs.pegs:
        if p.method in (Method.TIES, Method.RADIUS) and not p.from_3:
            at = {q.name: q.at for q in pegs.pegs}
            u, v = at[p.from_1] - p.at, at[p.from_2] - p.at
            assert abs(u.cross(v)) / (u.length * v.length) > math.sin(math.radians(29.5)), p.name
            assert max(u.length, v.length) <= pegs.options.tape.length + 0.02


@pytest.mark.parametrize("seed", SEEDS)
def test_no_tape_crosses_an_obstacle(seed: int) -> None:
    garden, pegs = of_seed(seed)
    assert not list(crossed(garden, pegs))


@pytest.mark.parametrize("seed", SEEDS)
def test_recovery_pegs_stand_clear_and_their_strings_cross_at_the_peg(seed: int) -> None:
    garden, pegs = of_seed(seed)
    digs = shapely.union_all([polygon(r, 0.001) for p in garden.peggings for r in p.dug])
    plot = polygon(garden.boundary, 0.001)
    kept = [p for p in pegs.pegs if p.purpose is Purpose.RECOVERY]
    for p in kept:
        spot = shapely.Point(p.at.x, p.at.y)
        assert digs.distance(spot) >= pegs.options.recovery - 0.01, p.name
        assert plot.covers(spot), p.name
        for o in garden.obstacles:
            assert polygon(o.body, 0.001).distance(spot) > 0.05, (p.name, o.element)
    named = pegs.by_name()
    for way in pegs.recovery:
        if way.method == "crossing":
            lines = [[named[n].at for n in line.split("-")] for line in (way.from_1, way.from_2)]
            u, v = ((b - a).unit() for a, b in lines)
            assert abs(u.cross(v)) >= math.sin(math.radians(45)) - 1e-6
            for (a, _), d in zip(lines, (u, v), strict=True):
                assert abs(d.cross(named[way.peg].at - a)) < 0.015


def _mutated(pegs: PegSet, name: str, column: str, change: float) -> str:
    rows = list(csv.DictReader(io.StringIO(pegs_csv(pegs))))
    for row in rows:
        if row["peg"] == name:
            row[column] = f"{float(row[column]) + change:.3f}"
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize("seed", [300, 305])
def test_any_reading_changed_by_25_mm_fails_the_proof(seed: int) -> None:
    _, pegs = of_seed(seed)
    for p in pegs.pegs:
        if p.method is Method.FIXED or p.from_3:
            continue
        for column in ("reading_1", "reading_2"):
            if getattr(p, column) is None:
                continue
            for change in (0.025, -0.025):
                text = _mutated(pegs, p.name, column, change)
                with suppress(ReadingsError):
                    assert not prove(text, "", {q.name: q.bound for q in pegs.pegs}).good, (p.name, column)


def test_tables_say_the_same_every_time_and_read_back() -> None:
    garden, pegs = of_seed(301)
    from support.aspegged import pegged
    again = pegged(garden)
    for write in (pegs_csv, checks_csv, recovery_csv, points_csv):
        assert write(pegs) == write(again)
    places = rebuilt(rows_of(pegs_csv(pegs)))
    assert set(places) == {p.name for p in pegs.pegs}


@pytest.mark.parametrize("seed", SEEDS)
def test_checks_agree_with_the_rebuilt_pegs(seed: int) -> None:
    _, pegs = of_seed(seed)
    places = rebuilt(rows_of(pegs_csv(pegs)))
    step = pegs.options.tape.step
    for c in pegs.checks:
        assert abs(places[c.start].distance(places[c.end]) - c.distance.metres) <= step / 2 + 0.001, c
        assert c.low.metres <= c.distance.metres - c.allowed / 1000 + 1e-6 or c.low.metres == 0
        assert c.high.metres >= c.distance.metres + c.allowed / 1000 - 1e-6
    own = [p for p in pegs.pegs if p.element and p.purpose is not Purpose.RECOVERY]
    assert sum(bool(p.check_from) for p in own) >= 0.95 * len(own)
    order = {p.name: p.order for p in pegs.pegs}
    for p in own:
        if p.check_from:
            assert order[p.check_from] < p.order
        else:
            assert "check" in p.remark
