"""Halving: the quarter rule's error is what geometry says, it is stated where the rule is used, and never large.

That each rise is about a quarter of the one before is a rule of the trade (common practice, no source); its error
follows from the circle, and is compared with points worked out on the arc itself.
"""

from __future__ import annotations

import csv
import io
import json
import math
import pathlib
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook import show
from pegbook.drawings.edges import edges_of
from pegbook.geometry.features import MarkGiven, Pegging, Tolerance
from pegbook.geometry.kernel.path import Loop, Path
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.pegs.control import adjust
from pegbook.geometry.pegs.curves import halving_error
from pegbook.geometry.pegs.halving import halvings
from pegbook.geometry.pegs.peg import PegSet
from pegbook.geometry.pegs.solve import set_out
from pegbook.geometry.pegs.tape import INCH, Options, Tape
from support.issued import worked

FREE = Tolerance(position=0.030, shape=0.015, built=0.015)


def bend(gap: float, tape: Tape | None = None, radius: float = 18.0, sweep: float = 0.5) -> tuple[Arc, PegSet]:
    """A bend too wide to be swung, before a house, with some gap between string and edge."""
    marks = (MarkGiven(name="A", at=Point(0, 0)), MarkGiven(name="B", at=Point(9, 0)))
    arc = Arc.swung(Point(4.5, 8.0 + radius), radius, -math.pi / 2 - sweep / 2, sweep)
    pegging = Pegging(element="bend", kind="path", outlines=(Path((arc,)),), tolerance=FREE)
    field = Loop.polygon([Point(-9, -1), Point(20, -1), Point(20, 30), Point(-9, 30)])
    return arc, set_out((pegging,), adjust(marks), (), field, Options(tape=tape or Tape(), chord_gap=gap))


@given(st.floats(1.0, 30.0), st.floats(0.02, 1.5))
def test_the_error_is_that_of_the_circle(radius: float, half: float) -> None:
    arc = Arc.swung(Point(0, 0), radius, 0.3, 2 * half)
    middle = arc.start.toward(arc.end, 0.5)
    rise = middle.distance(arc.point(0.5))
    again = arc.start.toward(arc.point(0.5), 0.5).distance(arc.point(0.25))
    assert halving_error(radius, arc.start.distance(arc.end)) == pytest.approx(again - rise / 4, abs=1e-9)


@pytest.mark.parametrize("gap", [0.02, 0.05, 0.1])
def test_it_is_offered_between_the_pegs_farthest_apart(gap: float) -> None:
    arc, pegs = bend(gap)
    (found,) = halvings(pegs, "bend")
    start, end = pegs.peg(found.start).at, pegs.peg(found.end).at
    rise = arc.radius - math.sqrt(arc.radius**2 - start.distance(end) ** 2 / 4)
    assert rise <= gap + 1e-9
    assert found.rise.metres == pytest.approx(rise, abs=0.00051)
    assert found.quarter.metres == pytest.approx(rise / 4, abs=0.00051)
    rule = abs(halving_error(arc.radius, start.distance(end)))
    assert found.error <= rule + 0.00025 + 0.0005 + 1e-9          # and the rounding of both to 1 mm
    assert _beside(arc, start, end, found.rise.metres, found.quarter.metres) <= found.error + 0.0001
    between = sorted((p.at - arc.centre).heading for p in pegs.of("bend"))
    assert max(b - a for a, b in pairwise(between)) * arc.radius == pytest.approx(
        2 * arc.radius * math.asin(start.distance(end) / 2 / arc.radius), abs=1e-9)


def _beside(arc: Arc, start: Point, end: Point, rise: float, quarter: float) -> float:
    """How far points set out from the strings by these figures stand beside the arc, as on the ground."""
    def out(a: Point, b: Point, by: float) -> Point:
        middle = a.toward(b, 0.5)
        return middle + (middle - arc.centre).unit() * by

    half_way = out(start, end, rise)
    points = (half_way, out(start, half_way, quarter), out(half_way, end, quarter))
    return max(abs(p.distance(arc.centre) - arc.radius) for p in points)


def test_it_is_not_offered_where_its_error_shows() -> None:
    _, just = bend(2.0, Tape(step=0.005, length=15.0), radius=15.5, sweep=0.9)
    (found,) = halvings(just, "bend")
    assert found.error == pytest.approx(0.0049, abs=0.00075)
    _, finer = bend(2.0, Tape(step=0.001, length=15.0), radius=15.5, sweep=0.9)
    assert halvings(finer, "bend") == ()
    _, wider = bend(2.0, Tape(step=0.005, length=16.0), radius=16.5, sweep=0.95)
    assert halvings(wider, "bend") == ()


def test_arcs_swung_from_their_centre_are_not_halved() -> None:
    marks = (MarkGiven(name="A", at=Point(0, 0)), MarkGiven(name="B", at=Point(9, 0)))
    pegging = Pegging(element="ring", kind="lawn", outlines=(Loop.circle(Point(4, 8), 3.0),), tolerance=FREE)
    pegs = set_out((pegging,), adjust(marks), (), None, Options(chord_gap=0.1))
    assert halvings(pegs, "ring") == ()


def test_feet_are_read_off_a_rule_in_sixteenths() -> None:
    _, pegs = bend(0.03, Tape(feet=True, step=INCH / 8))
    (found,) = halvings(pegs, "bend")
    assert round(found.quarter.metres / INCH * 16, 6).is_integer()
    assert "'" in found.quarter.text


@pytest.mark.parametrize("form", ["table", "csv", "json"])
def test_why_says_it_in_every_form(form: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
                                   ) -> None:
    monkeypatch.setattr(show, "worked", lambda file: worked(str(file)))
    show.show_pegs(pathlib.Path("quarry-end"), form, why=True)
    text = capsys.readouterr().out
    work = worked("quarry-end")
    want = [(f"{h.start} {h.end}", h.rise.text, h.quarter.text, f"{h.error * 1000:.2f}")
            for e in work.pegs.elements for h in halvings(work.pegs, e)]
    assert len(want) > 3
    if form == "table":
        lines = [" ".join(line.split()) for line in text.splitlines()]
        assert [any(line.endswith(" ".join(row)) for line in lines) for row in want] == [True] * len(want)
        return
    rows = json.loads(text) if form == "json" else list(csv.DictReader(io.StringIO(text)))
    halved = [row for row in rows if row["method"] == "halving"]
    assert [tuple(r[k] for k in ("from", "out half way", "then a quarter", "wrong by mm")) for r in halved] == want
    assert all(row["peg"] and not row["wrong by mm"] for row in rows if row["method"] != "halving")


def test_the_booklet_says_how_wrong_it_is() -> None:
    work = worked("quarry-end")
    said = [s for e in work.pegs.elements for s in edges_of(work, e, work.pegs.of(e)).others if "halving" in s]
    assert said
    for sentence in said:
        wrong = re.search(r"wrong by (\d\.\d) mm at most", sentence)
        assert wrong
        assert 0.1 <= float(wrong.group(1)) <= 1.0
        assert "m, then 0.00" in sentence
