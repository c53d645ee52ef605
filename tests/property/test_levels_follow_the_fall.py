"""Pegs on a surface that falls have the levels of its plane, from a mark of known level where there is one."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.drawings.booklet import booklet
from pegbook.drawings.html import page
from pegbook.drawings.sheet import Text, flat
from pegbook.geometry.errors import ReadingsError
from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.model.garden import loads
from pegbook.geometry.pegs.csvs import checks_csv, pegs_csv, recovery_csv
from pegbook.geometry.pegs.levels import Plane, completed
from pegbook.geometry.pegs.peg import CheckKind, Rise
from pegbook.geometry.pegs.proof import prove_set
from pegbook.geometry.setout import SettingOut, set_out
from support.aspegged import of_seed
from support.issued import DEMO, issued, worked

metres = st.floats(-20, 20)


@given(metres, metres, metres, metres, st.floats(30, 100), st.floats(0, 2 * math.pi))
def test_a_fall_is_so_much_in_so_much(x: float, y: float, run: float, aside: float, one_in: float, turn: float) -> None:
    """One in N: a metre lower after N metres down the fall; nothing gained or lost square to it."""
    plane = Plane(down=Vec.polar(turn, 1 / one_in), spots=((Point(x, y), 10.0),))
    at = Point(x, y) + Vec.polar(turn, run) + Vec.polar(turn + math.pi / 2, aside)
    assert plane.level(at) == pytest.approx(10.0 - run / one_in, abs=1e-9)


@pytest.mark.parametrize("name", DEMO)
def test_readings_give_the_levels_again(name: str) -> None:
    pegs = worked(name).pegs
    step = pegs.options.tape.step
    rows = list(csv.DictReader(io.StringIO(pegs_csv(pegs))))
    stands: dict[str, float] = {}
    levelled = [row for row in rows if row["level"]]
    assert levelled
    for row in levelled:
        if not row["level_from"]:
            stands[row["peg"]] = float(row["level"])
            assert row["purpose"] == "control"
            continue
        stands[row["peg"]] = stands[row["level_from"]] + float(row["level_reading"])
        assert stands[row["peg"]] == pytest.approx(float(row["level"]), abs=step / 2 + 0.0011)
    assert sum(bool(row["level_from"]) for row in levelled) >= 4


def test_without_a_spot_level_heights_are_to_each_other_alone() -> None:
    garden, pegs = of_seed(301)
    element = next(p.element for p in pegs.pegs if p.purpose is Purpose.CORNER)
    own = [p for p in pegs.of(element) if p.purpose is Purpose.CORNER]
    done = completed(pegs, {element: Plane(down=Vec(0.0, 1 / 60))}, {"A": 10.0})
    found = done.by_name()
    assert found["A"].level == 10.0
    assert all(p.level is None for p in done.of(element))
    first = found[own[0].name]
    assert not first.level_from
    for peg in own[1:]:
        reading = found[peg.name].level_reading
        assert reading is not None
        assert found[peg.name].level_from == first.name
        assert reading.metres == pytest.approx((first.at.y - peg.at.y) / 60, abs=pegs.options.tape.step / 2 + 1e-9)
    del garden


def test_levels_that_disagree_with_the_fall_are_said_and_not_used() -> None:
    _, pegs = of_seed(301)
    element = next(p.element for p in pegs.pegs if p.purpose is Purpose.CORNER)
    plane = Plane(down=Vec(0.0, 1 / 60), spots=((Point(0, 0), 10.0), (Point(0, 3), 10.0)))
    done = completed(pegs, {element: plane}, {"A": 10.0})
    assert [str(p) for p in done.problems[len(pegs.problems):]] == [
        f"advice: {element}: its levels (10.000 at (0.000, 0.000), 10.000 at (0.000, 3.000)) differ by 50 mm from its "
        "fall\n    mend: correct the levels or the fall; until then its pegs have heights to each other alone"]
    assert all(p.level is None for p in done.of(element))


@pytest.mark.parametrize("name", DEMO)
def test_every_way_back_has_its_check(name: str) -> None:
    pegs = worked(name).pegs
    again = {c.end: c for c in pegs.checks if c.kind is CheckKind.FOUND}
    assert pegs.recovery
    for way in pegs.recovery:
        check = again[way.peg]
        assert (way.check_from, way.check_reading, way.check_limit) == (check.start, check.distance, check.allowed)
    assert prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs)).good


def test_a_wrong_check_of_a_way_back_fails_the_set() -> None:
    pegs = worked(DEMO[0]).pegs
    way = pegs.recovery[0]
    assert way.check_reading is not None
    wrong = replace(way, check_reading=pegs.options.tape.reading(way.check_reading.metres + 0.05))
    fault = prove_set(pegs, pegs_csv(pegs), recovery_csv(replace(pegs, recovery=(wrong, *pegs.recovery[1:])))).fault
    assert fault.startswith(f"the check of {way.peg}, found again, says {wrong.check_reading} from {way.check_from}: ")


@pytest.mark.parametrize("name", DEMO)
def test_the_proof_takes_levels_again(name: str) -> None:
    pegs = worked(name).pegs
    text = pegs_csv(pegs)
    proof = prove_set(pegs, text, recovery_csv(pegs))
    assert proof.good
    assert proof.levels == sum(bool(p.level_from) for p in pegs.pegs) >= 4
    assert proof.level <= pegs.options.tape.step / 2 * 1000 + 1.001
    assert proof.as_record()["levels"] == proof.levels


def _changed(text: str, peg: str, column: str, value: str) -> str:
    rows = list(csv.DictReader(io.StringIO(text)))
    for row in rows:
        if row["peg"] == peg:
            row[column] = value
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize("name", DEMO)
def test_a_wrong_level_reading_fails_the_proof(name: str) -> None:
    pegs = worked(name).pegs
    text = pegs_csv(pegs)
    for peg in pegs.pegs:
        if peg.level_from and peg.level is not None and peg.level_reading is not None:
            for slip in (0.010, -0.010, -2 * peg.level_reading.metres):     # the last: up read as down
                if abs(slip) >= 0.010:
                    wrong = _changed(text, peg.name, "level_reading", f"{peg.level_reading.metres + slip:.3f}")
                    assert "comes out at level" in prove_set(pegs, wrong, "").fault


def test_levels_of_nothing_are_refused() -> None:
    pegs = worked(DEMO[0]).pegs
    text = pegs_csv(pegs)
    one = next(p for p in pegs.pegs if p.level_from and p.level is not None)
    for column, value in (("level_from", "Z9"), ("level_reading", ""), ("level_from", "")):
        with pytest.raises(ReadingsError, match=f"{one.name} is levelled from"):
            prove_set(pegs, _changed(text, one.name, column, value), "")
    loose = next(p.name for p in pegs.pegs if p.purpose is Purpose.CORNER and p.level is None)
    assert "which has none before it" in prove_set(pegs, _changed(text, one.name, "level_from", loose), "").fault


FLIGHT = """
pegbook: 1
project: {title: Flight}
site:
  control:
    A: {at: [0, 0], mark: corner of the barn on the left, short: left corner}
    B: {at: [9, 0], mark: corner of the barn on the right, short: right corner}
  baseline: [A, B]
  levels: [{at: A, level: 20.0}, {at: [3, 4.5], level: 20.3}]
elements:
  flight: {kind: steps, foot: [3, 4], heading: 60, width: 1.2, rise: 0.60, risers: 4, going: 0.35}
  tank: {kind: pond, outline: {circle: {centre: [6.5, 6], radius: 1.2}}, depth: 0.8}
  screen: {kind: wall, line: {straight: [[1, 8], [5, 8.5]]}, thickness: 215 mm, height: 1.1,
           footing: {width: 0.5, depth: 0.25, cover: 0.2}, coping: {height: 0.06}}
"""


def test_steps_ponds_and_walls_have_their_levels() -> None:
    # the heights are worked out by hand: 0.60 m in four risers of 0.15 m; 0.2 m cover over 0.25 m of footing
    work = set_out(loads(FLIGHT, "flight.yaml"))
    pegs, found = work.pegs, work.pegs.by_name()
    said = {(e, h.what): h.reading.metres for e, own in pegs.heights.items() for h in own}
    assert said == pytest.approx({
        ("flight", "tread 1"): 0.15, ("flight", "tread 2"): 0.30, ("flight", "tread 3"): 0.45,
        ("flight", "landing"): 0.6, ("tank", "bottom of the hole"): -0.8, ("screen", "bottom of the trench"): -0.45,
        ("screen", "top of the footing"): -0.2, ("screen", "top of the masonry"): 1.1,
        ("screen", "top of the coping"): 1.16})
    foot = Point(3, 4)
    for peg in pegs.of("flight"):
        top = 0.6 * round((peg.at - foot).dot(Vec.polar(math.radians(60))) / 1.05)
        rise = peg.level_reading.metres if peg.level_reading else 0.0
        start = found[peg.level_from] if peg.level_from else peg
        low = 0.6 * round((start.at - foot).dot(Vec.polar(math.radians(60))) / 1.05)
        assert rise == pytest.approx(top - low, abs=1e-9)
        assert peg.level is None                        # no spot level says where a tread lies
    assert {h.peg for h in pegs.heights["flight"]} <= {p.name for p in pegs.of("flight")}
    for element in ("tank", "screen"):
        edge = [p for p in pegs.of(element) if p.purpose is not Purpose.CENTRE]
        assert len(edge) >= 2
        assert all(p.level_reading is None or p.level_reading.metres == 0 for p in edge)
        assert sum(p.level_reading is None for p in edge) == 1
    proof = prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs), checks_csv(pegs))
    assert proof.good
    assert proof.heights == len(said)
    assert proof.level <= 1.0


def _of_three(work: SettingOut) -> tuple[list[tuple[str, ...]], list[tuple[str, ...]], list[tuple[str, ...]]]:
    """What table, booklet and phone page say of tops and heights: peg, way, from, figure; what, way, peg, figure."""
    def way(reading: str) -> str:
        if not re.search("[1-9]", reading):
            return "level with"
        return "lower than" if reading.startswith("-") else "higher than"

    tables = [(r["peg"], way(r["level_reading"]), r["level_from"], r["level_reading"].lstrip("-"))
              for r in csv.DictReader(io.StringIO(pegs_csv(work.pegs))) if r["level_from"]]
    tables += [(r["to"], way(r["distance"]), r["from"], r["distance"].lstrip("-"))
               for r in csv.DictReader(io.StringIO(checks_csv(work.pegs))) if r["kind"] == "level"]
    paper: list[tuple[str, ...]] = []
    for sheet in booklet(work).sheets:
        texts = [m.words for m in flat(sheet.marks) if isinstance(m, Text)]
        for k, text in enumerate(texts):
            found = re.fullmatch(r"(higher than|lower than|level with) (\w+)", text)
            if found:
                what = texts[k - 1] if re.fullmatch(r"[A-Z]+\d+", texts[k - 1]) else texts[k - 2]
                name = what if re.fullmatch(r"[A-Z]+\d+", what) else what[:1].lower() + what[1:]
                paper.append((name, found.group(1), found.group(2), texts[k + 1]))
    data = re.search(r'id="work">(.*?)</script>', page(work), re.DOTALL)
    assert data
    held = json.loads(data.group(1))["heights"]
    phone = [(t["peg"], t["way"], t["start"], t["reading"]) for t in held["tops"]]
    phone += [(b["what"], b["way"], b["peg"], b["reading"]) for b in held["built"]]
    return tables, paper, phone


def test_tables_booklet_and_phone_say_the_same_heights() -> None:
    for work in (set_out(loads(FLIGHT, "flight.yaml")), worked("town-yard-feet")):
        tables, paper, phone = _of_three(work)
        assert tables == paper == phone
        assert ("top of the masonry", "higher than") in [row[:2] for row in tables]
        assert ("'" in tables[-1][3]) == work.pegs.options.tape.feet


@pytest.mark.parametrize("name", DEMO)
def test_heights_of_the_demos_are_said_and_proved(name: str) -> None:
    work = worked(name)
    tables, paper, phone = _of_three(work)
    assert tables == paper == phone
    record = json.loads(issued(name)["issue.json"])["proof"]
    assert record["heights"] == sum(len(own) for own in work.pegs.heights.values()) >= 2


def test_a_wrong_height_fails_the_proof() -> None:
    pegs = set_out(loads(FLIGHT, "flight.yaml")).pegs
    text, heights = pegs_csv(pegs), checks_csv(pegs)
    for element, own in pegs.heights.items():
        for height in own:
            right = f"{height.peg},{height.what},{height.reading}"
            wrong = f"{height.peg},{height.what},{height.reading.metres + 0.01:.3f}"
            assert f"{height.what} of {element} comes out" in prove_set(
                pegs, text, "", heights.replace(right, wrong)).fault
            gone = "\n".join(line for line in heights.split("\n") if not line.startswith(right))
            assert "has no height in checks.csv" in prove_set(pegs, text, "", gone).fault
    tread = next(line for line in heights.split("\n") if ",tread 1," in line)
    more = heights + tread.replace("tread 1", "tread 9") + "\n"
    assert "tread 9 of flight is a height that the design does not have" in prove_set(pegs, text, "", more).fault
    with pytest.raises(ReadingsError, match="tread 1 of flight hangs on 'A', which is no peg of it"):
        prove_set(pegs, text, "", heights.replace(tread, f"A{tread[tread.index(','):]}"))
    peg = next(p for p in pegs.of("flight") if p.level_reading and p.level_reading.metres > 0.1)
    raised = _changed(text, peg.name, "level_reading", "0.100")
    assert f"{peg.name} is 0.100 higher than" in prove_set(pegs, raised, "", heights).fault


def test_posts_of_a_pergola_have_one_top() -> None:
    # by hand: posts carry beams of 0.15 m whose tops are 2.3 m above the ground
    model = FLIGHT + ("  arbour: {kind: pergola, line: {straight: [[1, 11], [7, 11]]}, width: 2, height: 2.3, "
                      "beam: 150 mm}\n")
    pegs = set_out(loads(model, "flight.yaml")).pegs
    assert [(h.what, h.reading.text) for h in pegs.heights["arbour"]] == [
        ("top of every post", "2.150"), ("top of the beams", "2.300")]
    assert {h.peg for h in pegs.heights["arbour"]} <= {p.name for p in pegs.of("arbour")}
    assert all(not p.level_from for p in pegs.of("arbour"))


def test_heights_are_from_the_foot_where_only_the_head_is_pegged() -> None:
    _, pegs = of_seed(301)
    element = next(p.element for p in pegs.pegs if p.purpose is Purpose.CORNER)
    corner = next(p for p in pegs.of(element) if p.purpose is Purpose.CORNER)
    plane = Plane(down=Vec(0.0, -0.5))                  # climbing with y
    low = Point(corner.at.x, min(p.at.y for p in pegs.of(element)) - 2.0)
    rise = Rise(low=low, down=plane.down, built=(("landing", 3.0, 10),))
    done = completed(pegs, {element: plane}, {"A": 10.0}, {element: rise})
    (height,) = done.heights[element]
    assert height.reading.metres == pytest.approx(3.0 - 0.5 * (done.peg(height.peg).at.y - low.y), abs=0.0026)
