"""Textures: whole marks inside their area, room for lettering, an even scatter without random numbers."""

from __future__ import annotations

import itertools
import math

import pytest
import shapely

from pegbook.drawings.brief import read
from pegbook.drawings.compose import sheets_of
from pegbook.drawings.field import Field, scatter
from pegbook.drawings.sheet import Hatch, Text, View, flat
from pegbook.drawings.textures import NAMES, texture
from pegbook.drawings.united import every, too_small
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.features import UnitPattern
from pegbook.geometry.kernel.construct import rectangle
from pegbook.geometry.kernel.flatten import line, polygon
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Box, Point
from support.issued import worked

AREA = Region(rectangle(Point(30, 40), 70, 45, 0.15), (Loop.circle(Point(60, 70), 6),))
ROUND = Region(Loop.circle(Point(120, 90), 30))


def made(name: str, region: Region = AREA, **more: object) -> Hatch:
    width = {"brick-edge": 5.0, "hedge": 9.0}.get(name, 0.0)
    return texture(name, region, width=width, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", [n for n in NAMES if n != "steel"])
@pytest.mark.parametrize("region", [AREA, ROUND], ids=["holed", "round"])
def test_all_marks_lie_within_the_area(name: str, region: Region) -> None:
    hatch = made(name, region)
    assert hatch.strokes or hatch.dots
    limits = polygon(region, 0.01).buffer(0.06)
    assert all(limits.covers(line(s, 0.01)) for s in hatch.strokes)
    assert all(limits.covers(shapely.Point(d.at.x, d.at.y).buffer(d.radius)) for d in hatch.dots)


@pytest.mark.parametrize("name", [n for n in NAMES if n not in {"steel", "ground"}])
def test_lettering_keeps_its_room(name: str) -> None:
    box = Box(80, 60, 95, 64)
    hatch = made(name, AREA, clear=[box])
    room = shapely.box(box.x0, box.y0, box.x1, box.y1).buffer(0.85, join_style="mitre")
    assert not any(room.intersects(line(s, 0.01)) for s in hatch.strokes)
    assert not any(room.intersects(shapely.Point(d.at.x, d.at.y)) for d in hatch.dots)


@pytest.mark.parametrize("name", NAMES)
def test_the_same_again(name: str) -> None:
    assert made(name) == made(name)


def test_the_middle_of_a_large_lawn_stays_white() -> None:
    lawn = Region(Loop.circle(Point(100, 100), 60))
    blades = made("turf", lawn).strokes
    assert blades
    assert all(Point(100, 100).distance(b.segments[0].start) > 60 - 13 for b in blades)
    # ink of turf, 0.13 pen, on a circle of 60 across: about 1.3 % (worked out for the house's drawing style)
    small = Region(Loop.circle(Point(100, 100), 30))
    ink = sum(s.length for s in made("turf", small).strokes) * 0.13 / small.area
    assert 0.009 < ink < 0.017


def test_scatter_is_the_hash_written_out_again() -> None:
    # the same whole-number hash in plain Python: no outside source, but a second writing of the rule
    low, a = 0xFFFFFFFF, math.sqrt(8.5 / 0.866)
    expected = []
    for j in range(-3, 12):
        for i in range(-3, 12):
            h = ((i * 0x8DA6B343) & low) ^ ((j * 0xD8163841) & low)
            h ^= h >> 15
            h = (h * 0x2C1B3C6D) & low
            h ^= h >> 12
            h = (h * 0x297A2D39) & low
            h ^= h >> 15
            u, v = (h & 1023) / 1023, (h >> 10 & 1023) / 1023
            x, y = (i + (j % 2) / 2 + (u - 0.5) * 0.72) * a, (j + (v - 0.5) * 0.72) * 0.866 * a
            if 0 <= x <= 20 and 0 <= y <= 20:
                expected.append((round(x, 9), round(y, 9), round((h >> 20) / 4095, 9)))
    found = [(round(s.at.x, 9), round(s.at.y, 9), round(s.pick, 9)) for s in scatter(Box(0, 0, 20, 20), 8.5)]
    assert sorted(found) == sorted(expected)


def test_scatter_has_one_point_for_so_many_square_millimetres() -> None:
    assert len(scatter(Box(0, 0, 300, 300), 2.1)) == pytest.approx(90000 / 2.1, rel=0.01)


def test_shore_lines_widen_inward_and_never_touch() -> None:
    lines = [line(s, 0.01) for s in made("water", ROUND).strokes]
    away = [30 - min(Point(120, 90).distance(Point(*xy)) for xy in one.coords) for one in lines]
    rings = sorted(round(a, 2) for a in away)
    assert rings[:5] == pytest.approx([0.8, 1.8, 3.2, 5.13, 7.8], abs=0.1)


def test_units_too_small_are_thinned() -> None:
    view = View(name="p", scale=200.0, window=Box(0, 0, 200, 200), origin=Point(0, 0))
    courses = tuple(Path.through([Point(0, y / 10), Point(6, y / 10)]) for y in range(1, 60))
    units = UnitPattern(joints=courses, courses=courses, length=0.2, width=0.1, lay_from=Point(0, 0))
    area = Region(rectangle(Point(0, 0), 30, 30, 0.0))
    hatch = texture("blocks", area, units=units, view=view)
    levels = sorted({round(s.segments[0].start.y, 3) for s in hatch.strokes if abs(s.segments[0].heading()) < 1e-9})
    assert min(b - a for a, b in itertools.pairwise(levels)) >= 2.0 - 1e-6
    assert hatch.ground_lines == courses


def test_a_name_without_a_texture_is_refused() -> None:
    with pytest.raises(DrawingError, match="no texture"):
        texture("marble", AREA)


def test_no_visible_region_gives_an_empty_hatch() -> None:
    assert texture("turf", ()).strokes == ()


def test_a_scrap_between_label_and_edge_is_dropped() -> None:
    area = Region(rectangle(Point(0, 0), 50, 20, 0.0))
    line_ = [[(-1.0, 10.0), (60.0, 10.0)]]
    # the label's room ends 1.0 before the edge: what is left is under 1.1 and goes; 1.5 stays
    assert len(Field.of(area, [Box(20, 8, 48.1, 12)]).cut(line_)) == 1
    assert len(Field.of(area, [Box(20, 8, 47.6, 12)]).cut(line_)) == 2


def test_boxes_of_one_label_leave_no_strip_between_them() -> None:
    area = Region(rectangle(Point(0, 0), 50, 40, 0.0))
    boxes = [Box(10, 10, 30, 12.5), Box(10, 15.8, 30, 18.3)]      # 3.3 apart, 1.5 once each has its room
    assert not Field.of(area, boxes).free.covers(shapely.Point(20, 14.15))


def test_a_thinned_stack_bond_stays_a_grid_and_a_stretcher_bond_does_not() -> None:
    """Stack bond has its upright joints in line; stretcher bond moves every second course by half a unit."""
    area = Region(rectangle(Point(10, 10), 40, 40, 0.0))
    view = View(name="plan", scale=100.0, window=area.box, origin=Point(0.0, 0.0))
    courses = tuple(Path.through((Point(0.0, 0.1 * k), Point(4.0, 0.1 * k))) for k in range(41))
    for shifts, stations in (((0.0,), 1), ((0.0, 0.5), 2)):
        laid = UnitPattern(joints=courses, courses=courses, length=0.1, width=0.1, shifts=shifts)
        strokes = texture("setts", area, units=laid, view=view).strokes
        upright = [s for s in strokes if abs(s.box.width) < 1e-6]
        pitch = 0.3 * 10
        assert len({round((s.box.x0 - 10) / (pitch / 2)) % 2 for s in upright}) == stations


def test_a_woven_bond_too_small_to_draw_is_drawn_larger_in_the_same_bond() -> None:
    """Bricks of 8 by 4 inches at 1:100 are 2 by 1 mm: herringbone of larger bricks stands for them, not a net."""
    brief = read(worked("town-yard-feet"))
    feature = next(f for f in brief.features if f.units and not f.units.courses)
    assert feature.units is not None
    sheets = {s.name: s for s in sheets_of(brief, "line").sheets}
    view = sheets["layout"].views[0]
    assert too_small("blocks", feature.units, view)
    many = every("blocks", min(feature.units.length, feature.units.width) * view.factor)
    hatch = next(m for m in flat(sheets["layout"].marks) if isinstance(m, Hatch) and m.units)
    longest = max(s.length for s in hatch.strokes)
    assert many >= 2
    assert longest <= 2.1 * many * feature.units.length * view.factor       # lines of a net run from edge to edge
    words = " ".join(m.words for m in flat(sheets["hardscape"].marks) if isinstance(m, Text))
    assert "to be laid, larger where they are too small to draw." in words


def test_a_bond_is_grown_only_where_that_fills_the_surface() -> None:
    bent = Region(Loop.polygon([Point(0, 0), Point(60, 0), Point(60, 10), Point(10, 10), Point(10, 60), Point(0, 60)]))
    assert Field.of(bent).holds_itself(Point(0, 0), 3)
    assert not Field.of(bent).holds_itself(Point(60, 0), 3)


@pytest.mark.parametrize(("garden", "marked"), [("town-yard-feet", True), ("two-circles", False)])
def test_notes_speak_of_a_mark_only_where_one_is_drawn(garden: str, marked: bool) -> None:
    sheet = next(s for s in sheets_of(read(worked(garden)), "line").sheets if s.name == "hardscape")
    assert ("Begin at the mark" in " ".join(m.words for m in flat(sheet.marks) if isinstance(m, Text))) is marked
