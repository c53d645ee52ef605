"""The sheet of sand lines: its canes stand where its table says, and its pots are those of the planting plan."""

from functools import cache

import pytest

from pegbook.drawings.brief import Brief, read
from pegbook.drawings.compose import compose
from pegbook.drawings.planting_canes import cane_table, pot_table, sanded
from pegbook.drawings.ruled import Row
from pegbook.drawings.sheet import Group, Sheet, Text, flat
from pegbook.drawings.svg import svg_text
from pegbook.geometry.kernel.point import Point
from support.issued import worked
from support.legibility import faults

GARDEN = "quarry-end"


@cache
def brief() -> Brief:
    return read(worked(GARDEN))


@cache
def sheet() -> Sheet:
    return next(s for s in compose(worked(GARDEN)).sheets if s.name == "sand lines")


def test_every_cane_is_drawn_where_it_is_taped() -> None:
    view = sheet().views[0]
    drawn = {m.title: m for m in sheet().marks if isinstance(m, Group) and "cane" in m.classes}
    wanted = {f"{c.name} {bed.name}": (c, s) for bed, s in sanded(brief()) for c in s.canes}
    assert drawn.keys() == wanted.keys()
    for name, (cane, sanding) in wanted.items():
        way = (sanding.end - sanding.start).unit()
        taped = sanding.start + way * cane.spot.along + way.left() * cane.spot.offset
        boxes = [m.path.box for m in flat((drawn[name],))]      # type: ignore[union-attr]
        middle = boxes[0].centre
        assert middle.distance(view.point(taped)) < 1e-6


def test_readings_of_canes_are_the_plan_to_the_step_of_the_tape() -> None:
    rows = [r for r in cane_table(brief(), sanded(brief())).rows if isinstance(r, Row)]
    canes = [c for _, s in sanded(brief()) for c in s.canes]
    named = [r for r in rows if r.cells[0] != "+"]
    assert [r.cells[0] for r in named] == [c.name for c in canes]
    for row, cane in zip(named, canes, strict=True):
        for cell, true, other in ((row.cells[1], cane.spot.along, "behind"), (row.cells[2], cane.spot.offset, "right")):
            word, _, figure = cell.rpartition(" ")
            assert word == (other if true < -5e-4 else "")
            assert float(figure) == pytest.approx(abs(true), abs=brief().tape.step / 2 + 1e-9)


def test_all_plants_of_the_beds_are_stood_out() -> None:
    rows = [r for r in pot_table(brief(), sanded(brief())).rows if isinstance(r, Row)]
    count = sum(len(g.points) for bed, _ in sanded(brief()) for g in bed.groups)
    count += sum(len(s.points) for bed, _ in sanded(brief()) for s in bed.scatters)
    assert sum(int(r.cells[2]) for r in rows) == count


def test_out_is_to_the_left_of_the_arrow() -> None:
    # Every bed lies on the left of its line: so the middle of its canes does.
    for _, sanding in sanded(brief()):
        way = (sanding.end - sanding.start).unit()
        middle = Point(
            sum(c.spot.at.x for c in sanding.canes) / len(sanding.canes),
            sum(c.spot.at.y for c in sanding.canes) / len(sanding.canes),
        )
        assert way.cross(middle - sanding.start) > 0


def test_the_sheet_is_legible() -> None:
    counts, notes = faults(svg_text(sheet()))
    for name in ("text_overlap", "text_on_heavy", "text_hidden", "ambiguous", "duplicate_lines", "leader_crossings"):
        assert not counts.get(name), notes


def test_zero_says_which_bed_it_is_of() -> None:
    """Canes are counted from 1 in each bed, so that a plan of several has to say whose they are."""
    names = [brief().label(bed.name) for bed, _ in sanded(brief())]
    assert len(names) > 1
    italic = [m for m in flat(sheet().marks) if isinstance(m, Text) and m.style == "italic"]
    zeros = [m.at for m in flat(sheet().marks) if isinstance(m, Text) and m.words.endswith("zero")]
    for name in names:
        assert min(at.distance(m.at) for m in italic if m.words == name for at in zeros) < 10.0
