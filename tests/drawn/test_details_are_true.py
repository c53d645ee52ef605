"""The details: each way of building once, layers at their true thickness, sizes as the model has them."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from pegbook.drawings.brief import read
from pegbook.drawings.compose import compose
from pegbook.drawings.details_parts import Detail, Measure, Piece, millimetres, rect
from pegbook.drawings.details_sheet import details
from pegbook.drawings.details_sizes import sized
from pegbook.drawings.details_steps import steps
from pegbook.drawings.details_views import SCALES, at_scale
from pegbook.drawings.sheet import Sheet, Text, flat
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.point import Point
from support.issued import DEMO, worked


def test_sections_that_differ_by_their_fall_alone_are_one_detail() -> None:
    brief = read(worked("tannery-row"))
    surface = next(s for s in brief.sections if s.form == "surface" and s.sizes.get("fall"))
    level = replace(surface, elements=("elsewhere",), sizes={k: v for k, v in surface.sizes.items() if k != "fall"})
    steep = replace(surface, elements=("third",), sizes={**surface.sizes, "fall": 40.0})
    one = details(replace(brief, sections=(surface,)))
    many = details(replace(brief, sections=(level, surface, steep)))
    assert len(one) == len(many) == 1
    assert one[0].fall == "1:60"
    assert many[0].fall == "1:40 or 1:60 or level"
    assert set(many[0].elements) == {*surface.elements, "elsewhere", "third"}


@pytest.mark.parametrize("name", DEMO)
def test_layers_are_drawn_as_thick_as_they_are(name: str) -> None:
    for section in (s for s in read(worked(name)).sections if s.form == "surface"):
        (detail,) = details(replace(read(worked(name)), sections=(section,)))
        thick = [round(layer.thickness, 6) for layer in section.layers if layer.thickness > 0.004]
        drawn = {round(piece.outline.box.height, 6) for piece in detail.pieces}
        assert set(thick) <= drawn
        for scale in SCALES:
            assert at_scale(detail, scale).view.factor == pytest.approx(1000 / scale)


@pytest.mark.parametrize("name", DEMO)
def test_every_layer_and_its_thickness_is_written_beside_it(name: str) -> None:
    brief = read(worked(name))
    words = " ".join(m.words for s in sheets(name) for m in flat(s.marks) if isinstance(m, Text))
    for section in brief.sections:
        for layer in section.layers:
            assert layer.material[:1].upper() + layer.material[1:] in words
            assert layer.thickness <= 0.004 or millimetres(layer.thickness) in words


@pytest.mark.parametrize("name", DEMO)
def test_details_warn_of_services_and_send_walls_to_an_engineer(name: str) -> None:
    for sheet in sheets(name):
        words = " ".join(m.words for m in flat(sheet.marks) if isinstance(m, Text))
        assert "Buried services" in words
        if any(s.form == "wall" for s in read(worked(name)).sections):
            assert "licensed engineer" in words


def test_half_millimetres_are_not_lost() -> None:
    # Brickwork sizes of common practice: a brick is 102.5 mm wide and 65 mm high.
    assert [millimetres(v) for v in (0.1025, 0.065, 0.04, 0.215)] == ["102.5", "65", "40", "215"]


def test_a_flight_is_drawn_with_the_concrete_that_is_ordered() -> None:
    """n - 1 treads for n risers, solid concrete under them, a block on edge behind each riser (common practice)."""
    work = worked("tannery-row")
    section = next(s for s in read(work).sections if s.form == "steps")
    flight = next(e.element for e in work.garden.elements if e.kind == "steps")
    drawn = steps(section)
    assert drawn is not None
    by: dict[str, list[Loop]] = {}
    for piece in drawn.pieces:
        by.setdefault(piece.hatch, []).append(piece.outline)
    risers, going = round(section.sizes["risers"]), section.sizes["going"]
    assert [round(p.box.width, 6) for p in by["stone-cut"]] == [round(going, 6)] * (risers - 1)
    (solid,) = by["concrete"]
    assert [round(b.box.x0, 6) for b in by["brick-cut"]] == [round(k * going, 6) for k in range(risers)]
    ordered = next(i for i in work.bill.items if i.element == section.elements[0] and "concrete" in i.item)
    # The lowest block is counted whole; drawn, it ends on the bottom of the dig.
    assert Region(solid).area * flight.width == pytest.approx(ordered.net, rel=0.015)


def test_details_of_a_sheet_keep_clear_of_each_other_and_fill_few_sheets() -> None:
    for name in DEMO:
        for sheet in sheets(name):
            windows = [view.window for view in sheet.views]
            assert not any(a.meets(b) for i, a in enumerate(windows) for b in windows[i + 1:])
            letters = [view.name for view in sheet.views]
            assert letters == sorted(letters)
    assert len(sheets("tannery-row")) == 2


def test_a_size_between_two_neighbours_too_close_for_its_figure_has_a_row_of_its_own() -> None:
    piece = Piece(rect(0.0, 0.0, 1.0, 1.0))
    ends = ((0.0, 0.4), (0.4, 0.45), (0.45, 1.0))
    measures = tuple(Measure(Point(0.0, a), Point(0.0, b), "left") for a, b in ends)
    first, middle, last = sized(Detail(title="trial", pieces=(piece,), measures=measures), 50.0)
    assert (first.where, last.where) == ("between", "between")
    assert (middle.where, middle.measure.row) == ("high", 1)
    assert sized(Detail(title="trial", pieces=(piece,), measures=measures[1:]), 50.0)[0].where == "low"


def test_a_garden_in_feet_has_its_details_and_heights_in_feet() -> None:
    # The wall of the starter is 18 in high and 8 in thick on a footing 16 in wide, as written in its model.
    (sheet,) = sheets("town-yard-feet")
    said = [m.words for m in flat(sheet.marks) if isinstance(m, Text) and m.layer in {"dimensions", "labels"}]
    assert {"1' 6\"", "8\"", "1' 4\""} <= set(said)
    assert not any(w.isdecimal() for w in said)
    (layout,) = (s for s in compose(worked("town-yard-feet"), style="line").sheets if s.name == "layout")
    assert any("1' 6\" high" in m.words for m in flat(layout.marks) if isinstance(m, Text))


@cache
def sheets(name: str) -> list[Sheet]:
    return [s for s in compose(worked(name), style="line").sheets if s.name.startswith("details")]
