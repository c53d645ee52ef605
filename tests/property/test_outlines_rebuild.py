"""Edges come again from their pegs: areas agree with areas worked out otherwise, and a wrong reading fails the set."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import pytest

from pegbook.drawings.issue import proved, tables
from pegbook.geometry.errors import DrawingError, ReadingsError
from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.path import Loop
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc, Line
from pegbook.geometry.pegs.csvs import pegs_csv, recovery_csv
from pegbook.geometry.pegs.peg import Method, PegSet
from pegbook.geometry.pegs.proof import Proof, prove, prove_set, rebuilt, rows_of
from pegbook.geometry.pegs.tape import read_length
from support.aspegged import of_seed
from support.issued import STARTERS, worked

SEEDS = range(300, 312)


def proof_of(pegs: PegSet) -> Proof:
    return prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs))


def changed(text: str, peg: str, column: str, value: str) -> str:
    """A table with one cell changed."""
    rows = list(csv.DictReader(io.StringIO(text)))
    assert any(row["peg"] == peg for row in rows)
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), lineterminator="\n")
    writer.writeheader()
    writer.writerows({**row, column: value} if row["peg"] == peg else row for row in rows)
    return out.getvalue()


def shoelace(corners: list[Point]) -> float:
    return sum(a.x * b.y - b.x * a.y for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)) / 2


def whole_circles(pegs: PegSet) -> list[tuple[str, Arc]]:
    return [(name, arc) for name, outlines in pegs.outlines.items() for outline in outlines
            if isinstance(outline, Loop) and all(isinstance(s, Arc) for s in outline.segments)
            for arc in outline.segments[:1]
            if isinstance(arc, Arc) and math.isclose(outline.area, math.pi * arc.radius**2, rel_tol=1e-9)]


def test_a_circle_adds_what_its_printed_radius_adds() -> None:
    found = 0
    for seed in SEEDS:
        _, pegs = of_seed(seed)
        edges = proof_of(pegs).outlines
        for name, arc in whole_circles(pegs):
            centre = next(p for p in pegs.of(name) if p.purpose is Purpose.CENTRE)
            printed = [p.reading_1.metres for p in pegs.of(name)
                       if p.from_1 == centre.name and p.reading_1 and p.method in (Method.LINE, Method.RADIUS)]
            if printed:
                more = math.pi * (printed[0] ** 2 - arc.radius**2)
                assert edges[name].area == pytest.approx(more, abs=1e-3)
                found += 1
    assert found > 2


def test_straight_sides_add_what_their_corners_add() -> None:
    found = 0
    for seed in SEEDS:
        _, pegs = of_seed(seed)
        edges = proof_of(pegs).outlines
        places = rebuilt(rows_of(pegs_csv(pegs)))
        for name, outlines in pegs.outlines.items():
            loop = outlines[0]
            if not isinstance(loop, Loop) or not all(isinstance(s, Line) for s in loop.segments):
                continue
            stand = {p.name: p for p in pegs.pegs if p.purpose is not Purpose.RECOVERY}
            corners = [next(places[n] for n, p in stand.items() if p.at.distance(s.start) < 0.0015)
                       for s in loop.segments]
            assert edges[name].area == pytest.approx(abs(shoelace(corners)) - abs(loop.area), abs=2e-4)
            found += 1
    assert found > 3


def test_an_ellipse_adds_what_its_loop_and_foci_add() -> None:
    found = 0
    for seed in range(300, 318):
        _, pegs = of_seed(seed)
        edges = proof_of(pegs).outlines
        places = rebuilt(rows_of(pegs_csv(pegs)))
        for name, outlines in pegs.outlines.items():
            loop = outlines[0]
            if not isinstance(loop, Loop) or loop.ellipse is None:
                continue
            foci = [p for p in pegs.of(name) if p.purpose is Purpose.FOCUS]
            if len(foci) != 2:
                continue
            length = read_length(foci[0].remark.split("loop ")[1].split(";")[0], feet=False)
            apart = places[foci[0].name].distance(places[foci[1].name])
            a = (length - apart) / 2
            b = math.sqrt(a * a - apart * apart / 4)
            own = loop.ellipse
            more = math.pi * (a * b - own.half_length * own.half_width)
            assert edges[name].area == pytest.approx(more, abs=3e-3), (seed, name)
            found += 1
    assert found > 2


def test_edges_stray_no_further_than_their_pegs_and_radii_can_move_them() -> None:
    for seed in SEEDS:
        _, pegs = of_seed(seed)
        proof = proof_of(pegs)
        assert proof.good
        for name, stray in proof.outlines.items():
            assert 0 <= stray.mean <= stray.largest < 12, name
            length = sum(outline.length for outline in pegs.outlines[name])
            assert abs(stray.area) <= stray.mean / 1000 * length + 1e-9


def test_a_wrong_length_of_the_loop_alone_fails_the_set() -> None:
    seed = next(s for s in range(300, 340) if any("loop" in p.remark for p in of_seed(s)[1].pegs))
    _, pegs = of_seed(seed)
    focus = next(p for p in pegs.pegs if "loop" in p.remark)
    length = focus.remark.split("loop ")[1].split(";")[0]
    wrong = focus.remark.replace(length, f"{read_length(length, feet=False) + 0.1:.3f}")
    text = pegs_csv(pegs)
    for one in pegs.pegs:
        if one.element == focus.element and "loop" in one.remark:
            text = changed(text, one.name, "remark", wrong)
    proof = prove_set(pegs, text, recovery_csv(pegs))
    assert not proof.good
    assert proof.fault.startswith(f"the edge of {focus.element} comes out ")
    assert prove(text, recovery_csv(pegs)).good          # the pegs are right, the edge is not


@pytest.mark.parametrize("seed", [301, 306])
def test_a_wrong_check_reading_fails_the_set(seed: int) -> None:
    _, pegs = of_seed(seed)
    peg = next(p for p in pegs.pegs if p.check_reading)
    assert peg.check_reading
    text = changed(pegs_csv(pegs), peg.name, "check_reading", f"{peg.check_reading.metres + 0.1:.3f}")
    assert prove_set(pegs, text, recovery_csv(pegs)).fault == (
        f"the check of {peg.name} from {peg.check_from} says {peg.check_reading.metres + 0.1:.3f}, "
        f"{proof_gap(pegs, peg.name, peg.check_from, peg.check_reading.metres + 0.1):.1f} mm beside what its readings "
        "give")


def proof_gap(pegs: PegSet, peg: str, mark: str, said: float) -> float:
    places = rebuilt(rows_of(pegs_csv(pegs)))
    return abs(places[peg].distance(places[mark]) - round(said, 3)) * 1000


@pytest.mark.parametrize("seed", [300, 305, 308])
def test_a_wrong_way_back_fails_the_set(seed: int) -> None:
    _, pegs = of_seed(seed)
    text = recovery_csv(pegs)
    taped = [r for r in pegs.recovery if r.reading_1 is not None]
    for way in taped[:3]:
        assert way.reading_1
        wrong = changed(text, way.peg, "reading_1", f"{way.reading_1.metres + 0.1:.3f}")
        assert "is found again" in prove_set(pegs, pegs_csv(pegs), wrong).fault
    crossing = next(r for r in pegs.recovery if r.method == "crossing")
    other = next(r.from_1 for r in pegs.recovery
                 if r.method == "crossing" and r.from_1 not in (crossing.from_1, crossing.from_2))
    wrong = changed(text, crossing.peg, "from_2", other)
    assert "is found again" in prove_set(pegs, pegs_csv(pegs), wrong).fault


def test_issue_refuses_a_set_with_one_wrong_reading() -> None:
    work = worked(STARTERS[0])
    written = tables(work)
    assert proved(work, written)["good"]
    peg = next(p for p in work.pegs.pegs if p.reading_2)
    assert peg.reading_2
    wrong = changed(written["pegs.csv"].decode("utf-8"), peg.name, "reading_2", f"{peg.reading_2.metres + 0.05:.3f}")
    with pytest.raises(DrawingError, match="the printed readings do not give the garden again"):
        proved(work, {**written, "pegs.csv": wrong.encode("utf-8")})


def test_an_outline_elsewhere_than_its_pegs_is_found() -> None:
    seed = next(s for s in SEEDS if whole_circles(of_seed(s)[1]))
    _, pegs = of_seed(seed)
    name, arc = whole_circles(pegs)[0]
    larger = {**pegs.outlines, name: (Loop.circle(arc.centre, arc.radius + 0.025),)}
    proof = proof_of(replace(pegs, outlines=larger))
    stray = proof.outlines[name]
    assert stray.largest > 15
    assert proof.fault == f"the edge of {name} comes out {stray.largest:.1f} mm beside the design"


def test_two_loops_for_one_string_are_refused() -> None:
    seed = next(s for s in range(300, 340) if any("loop" in p.remark for p in of_seed(s)[1].pegs))
    _, pegs = of_seed(seed)
    focus = next(p for p in pegs.pegs if "loop" in p.remark)
    text = changed(pegs_csv(pegs), focus.name, "remark", "loop 1.000")
    with pytest.raises(ReadingsError, match="are foci of one string, with two loops"):
        prove_set(pegs, text, recovery_csv(pegs))
