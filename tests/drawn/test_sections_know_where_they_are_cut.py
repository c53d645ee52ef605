"""Every view of the details sheet says where it is cut in the garden, so that plans can mark it."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from pegbook.drawings.brief import Brief, read
from pegbook.drawings.compose import compose
from pegbook.drawings.composition import plate
from pegbook.drawings.details_cuts import SectionMark, looking, section_marks
from pegbook.drawings.details_sheet import Arranged, arranged, letter_of
from pegbook.drawings.frame import paper
from pegbook.geometry.features import Role
from pegbook.geometry.kernel.enclosure import inside_region
from pegbook.geometry.kernel.path import Loop, Region
from pegbook.geometry.kernel.station import project
from pegbook.geometry.model.garden import loads
from pegbook.geometry.setout import SettingOut, set_out
from support.issued import DEMO, worked

GARDENS = (*DEMO, "every kind", "town-yard-feet", "two-circles")


EVERY_KIND = Path(__file__).with_name("every_kind.yaml")


@cache
def garden(name: str) -> SettingOut:
    return set_out(loads(EVERY_KIND.read_text("utf-8"), EVERY_KIND.name)) if name == "every kind" else worked(name)


@cache
def shown(name: str) -> tuple[Brief, Arranged]:
    brief = read(garden(name))
    return brief, arranged(brief, plate(paper("A2", ""), "page", 56.0, 40.0))


def marks_of(name: str) -> tuple[SectionMark, ...]:
    brief, on = shown(name)
    return section_marks(on, brief.features)


@pytest.mark.parametrize("name", GARDENS)
def test_every_view_has_one_mark_with_its_letter(name: str) -> None:
    _, on = shown(name)
    assert [(m.letter, m.title) for m in marks_of(name)] == [
        (letter, place.drawn.detail.title) for letter, _, place in on.lettered()]


@pytest.mark.parametrize("name", GARDENS)
def test_a_mark_lies_on_what_it_shows_and_is_looked_at_from_its_side(name: str) -> None:
    brief, on = shown(name)
    elements = {letter: place.drawn.detail.elements for letter, _, place in on.lettered()}
    for mark in marks_of(name):
        own = [f.shape for f in brief.features if f.element in elements[mark.letter]]
        lines = [ring for shape in own if isinstance(shape, Region) for ring in (shape.outer, *shape.holes)]
        reached = any(inside_region(shape, mark.at) if isinstance(shape, Region) else shape == mark.at for shape in own)
        assert reached or mark.elevation or any(project(line, mark.at).distance < 1e-6 for line in lines)
        for cut in mark.places:
            assert math.isclose(cut.along.length, 1.0, abs_tol=1e-9)
            assert math.isclose(cut.along.cross(looking(cut)), 1.0, abs_tol=1e-9)
            assert cut.reach > 0
        assert mark.looking == looking(mark.places[0])


def test_a_cut_across_an_edge_looks_for_one_with_nothing_solid_outside() -> None:
    # The terrace lies against the house along its longest side; its section is cut elsewhere.
    brief, _ = shown("every kind")
    (mark,) = (m for m in marks_of("every kind") if m.title.startswith("Slabs"))
    house = [f.shape for f in brief.of(Role.BUILDING, Role.WALL) if isinstance(f.shape, Region)]
    outside = mark.at + mark.places[0].along * 0.25
    assert not any(inside_region(shape, outside) for shape in house)


def test_a_bed_along_the_boundary_is_cut_across_an_edge_inside_the_plot() -> None:
    brief, _ = shown("tannery-row")
    (plot,) = (Region(Loop(f.shape.segments)) for f in brief.of(Role.BOUNDARY))      # type: ignore[union-attr]
    (mark,) = (m for m in marks_of("tannery-row") if m.title == "Planting bed")
    assert inside_region(plot, mark.at + mark.places[0].along * 0.25)
    assert not inside_region(plot, mark.places[-1].at + mark.places[-1].along * 0.25)


def test_a_flight_is_cut_along_its_arrow() -> None:
    brief, _ = shown("every kind")
    (mark,) = (m for m in marks_of("every kind") if m.title == "Steps")
    arrow = next(f.shape for f in brief.of(Role.STEP_ARROW) if f.element == "garden steps")
    way = (arrow.end - arrow.start).unit()      # type: ignore[union-attr]
    assert way.dot(mark.places[0].along) == pytest.approx(1.0)


def test_plans_are_told_of_the_marks_only_where_there_is_a_sheet_of_details() -> None:
    sheets = compose(garden("every kind")).sheets
    letters = [view.name for s in sheets if s.name.startswith("details") for view in s.views]
    assert letters == sorted(letters)
    assert len(set(letters)) == len(letters) > 10


def test_letters_go_on_after_the_last_one() -> None:
    found = [letter_of(k) for k in range(60)]
    assert found[:9] == list("ABCDEFGHJ")
    assert found[23:26] == ["Z", "AA", "AB"]
    assert len(set(found)) == 60
    assert not any(set(letters) & set("IO") for letters in found)
