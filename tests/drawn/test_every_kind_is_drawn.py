"""One garden that holds every kind of element in every status: nothing that the model knows goes unseen on paper."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from pegbook.drawings import cuts_on_plan
from pegbook.drawings.brief import read
from pegbook.drawings.compose import compose
from pegbook.drawings.gates import warnings_of
from pegbook.drawings.issue import issue_files
from pegbook.drawings.obstacles import lettered, text_region
from pegbook.drawings.once import shared
from pegbook.drawings.plan import rooms, wall_width
from pegbook.drawings.schedule import counted
from pegbook.drawings.sheet import Dimension, Fill, Group, Hatch, Mark, Sheet, SheetSet, Stroke, Text, flat
from pegbook.drawings.surfaces import SURFACE, surface_of
from pegbook.drawings.svg import svg_text
from pegbook.drawings.tables import unit_words
from pegbook.drawings.textures import UNIT_LAID
from pegbook.drawings.warnings import WORDS
from pegbook.drawings.words import Words
from pegbook.geometry.features import Caution, Feature, Purpose, Role, Status
from pegbook.geometry.kernel.enclosure import inside_region
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.kernel.station import project
from pegbook.geometry.kinds import kinds
from pegbook.geometry.kinds.base_units import BONDS
from pegbook.geometry.kinds.feature import SYMBOLS
from pegbook.geometry.kinds.service import Carried
from pegbook.geometry.model.garden import Garden, loads
from pegbook.geometry.setout import SettingOut, set_out
from support.clean import unclean

GARDEN = Path(__file__).with_name("every_kind.yaml")
SIGNS = Path(__file__).with_name("every_sign.yaml")
BESIDE_PLAN = 30.0
"""Rows of dimensions and the gap before a column reach no further than this from the plan, mm."""

MADE_BY_PLANTING = {Role.PLANT, Role.PLANT_GROUP}


@cache
def garden() -> Garden:
    return loads(GARDEN.read_text("utf-8"), GARDEN.name)


@cache
def worked() -> SettingOut:
    return set_out(garden())


@cache
def sheets(style: str) -> SheetSet:
    return compose(worked(), style)


@cache
def features() -> tuple[Feature, ...]:
    return tuple(f for placed in garden().elements for f in placed.element.features(placed, garden()))


def layout(style: str = "line") -> Sheet:
    return next(s for s in sheets(style).sheets if s.name == "layout")


def words(sheet: Sheet) -> list[str]:
    return [m.words for m in flat(sheet.marks) if isinstance(m, Text)]


def groups(marks: tuple[Mark, ...], role: str, status: str) -> list[Group]:
    wanted = (role, status)
    return [m for m in marks if isinstance(m, Group) and m.ground and (m.ground.role, m.ground.status) == wanted]


def strokes(mark: Group) -> list[Stroke]:
    return [m for m in flat(mark.marks) if isinstance(m, Stroke)]


def test_every_kind_stands_here_in_every_status() -> None:
    here = {(placed.kind, placed.status) for placed in garden().elements}
    assert here == {(kind, status) for kind in kinds() for status in Status}


@cache
def yard() -> SettingOut:
    """Return the yard of every sign of furniture and every buried service, worked out."""
    return set_out(loads(SIGNS.read_text("utf-8"), SIGNS.name))


def test_every_sign_and_every_service_lies_in_the_yard_in_every_status() -> None:
    drawn = [f for placed in yard().garden.elements for f in placed.element.features(placed, yard().garden)]
    signs = {(f.symbol, f.status) for f in drawn if f.role is Role.FURNITURE}
    assert signs == {(symbol, status) for symbol in {*SYMBOLS.values(), ""} for status in Status}
    carried = {(f.note, f.status) for f in drawn if f.role is Role.SERVICE}
    assert carried == {(one.value, status) for one in Carried for status in Status}


@pytest.mark.parametrize("style", ["line", "presentation"])
def test_the_yard_is_legible(style: str) -> None:
    for sheet in compose(yard(), style).sheets:
        assert not unclean(svg_text(sheet)), sheet.name


def test_what_is_to_go_stands_on_white_with_its_outline_alone() -> None:
    """Boards or joints through a crossed thing would be a tangle: its ground is white, its inner lines are left out."""
    sheet = next(s for s in compose(yard()).sheets if s.name == "layout")
    for group in groups(sheet.marks, "furniture", "remove"):
        if "gate" not in group.classes:
            assert any(isinstance(m, Fill) and m.tone == "white" for m in group.marks), group.classes
        assert {s.pen for s in strokes(group)} == {"thin", "edge"}


def test_services_are_named_in_a_gap_of_their_line() -> None:
    """Common practice: the name of a service stands in its line, and the line breaks for it."""
    sheet = next(s for s in compose(yard()).sheets if s.name == "layout")
    boxes = [text_region(lettered(m)).box for m in flat(sheet.marks) if isinstance(m, Text) and " deep" in m.words]
    assert len(boxes) == len(Carried) * len(Status)
    lines = [s for status in Status for g in groups(sheet.marks, "service", status.value) for s in strokes(g)]
    for stroke in lines:
        middle = stroke.path.segments[0].point(0.5)
        assert not any(b.x0 < middle.x < b.x1 and b.y0 < middle.y < b.y1 for b in boxes)


def test_no_lettering_stands_on_a_cut_wall() -> None:
    for work in (worked(), yard()):
        brief = read(work)
        for sheet in (s for s in compose(work).sheets if s.name in {"layout", "hardscape"}):
            view = sheet.views[0]
            room = wall_width(view) / view.factor
            for feature in brief.of(Role.BUILDING):
                if feature.status is not Status.REMOVE and isinstance(feature.shape, Region):
                    outer = view.region(feature.shape)
                    inner = [view.region(r) for r in rooms(feature.shape, room)]
                    for mark in flat(sheet.marks):
                        if isinstance(mark, Text) and mark.layer == "labels":
                            corners = text_region(lettered(mark)).outer.vertices()
                            for at in corners:
                                assert not inside_region(outer, at) or any(inside_region(r, at) for r in inner), \
                                    (sheet.name, mark.words)


def test_every_section_is_marked_where_it_is_cut() -> None:
    """The hardscape plan shows the letter of each view of the details that is cut in the garden."""
    whole = sheets("line").sheets
    heads = {m.title for m in next(s for s in whole if s.name == "hardscape").marks
             if isinstance(m, Group) and "section" in m.classes}
    marked = {title.split()[-1] for title in heads}
    titles = [m for s in whole if s.name.startswith("details") for m in s.marks
              if isinstance(m, Group) and "view-title" in m.classes]
    letters = {t.words for g in titles for t in flat(g.marks) if isinstance(t, Text) and t.tone == "white"}
    assert marked <= letters
    assert len(marked) >= len(letters) - 3      # typical posts and the like are cut nowhere in particular


@pytest.mark.parametrize("name", ["layout", "hardscape"])
def test_no_leader_crosses_the_plan(name: str) -> None:
    """Names that hang in a column hang at the nearer side, beyond the figures of the dimensions there."""
    sheet = next(s for s in sheets("line").sheets if s.name == name)
    boundary = worked().garden.boundary
    assert boundary is not None
    most = boundary.box.width * sheet.views[0].factor / 2 + BESIDE_PLAN
    leaders = [m for m in flat(sheet.marks) if isinstance(m, Stroke) and "leader" in m.classes]
    assert leaders
    assert max(m.path.length for m in leaders) <= most


def test_every_role_surface_bond_and_service_is_here() -> None:
    roles = {f.role for f in features()} | {Role.BOUNDARY, Role.LEVEL} | MADE_BY_PLANTING
    assert roles == set(Role)
    assert {surface_of(f) for f in features()} >= set(SURFACE.values()) | {"setts", "blocks", "stone"}
    assert {f.symbol for f in features() if f.role is Role.FURNITURE} == {"seat", "pot", "sundial", "gate", ""}
    text = GARDEN.read_text("utf-8")
    assert all(f"bond: {bond}" in text for bond in BONDS)
    assert all(f"carries: {carried.value}" in text for carried in Carried)


def test_it_issues_and_is_proved_and_its_sheets_are_legible() -> None:
    files = issue_files(worked())
    assert {"drawings.pdf", "drawings.dxf", "pegging.pdf", "pegs.csv"} <= set(files)
    for name, data in files.items():
        if name.endswith(".svg"):
            assert not unclean(data.decode()), name


def test_its_presentation_copy_is_legible() -> None:
    assert not unclean(svg_text(layout("presentation")))


def test_new_standing_and_going_are_told_apart_without_colour() -> None:
    """Weight, dash and crosses: a copy in black and white keeps them (ISO 128-2: line types carry meaning)."""
    pens = {}
    for role in ("paving", "wall", "steps", "hedge", "deck", "water", "turf", "planting", "fence", "building"):
        for status in ("existing", "proposed", "remove"):
            drawn = [s for g in groups(layout().marks, role, status) for s in strokes(g)]
            pens[role, status] = {(s.pen, s.dash) for s in drawn if s.path.length > CROSS}
            crossed = [s for s in drawn if s.path.length <= CROSS and s.pen == "mark"]
            assert bool(crossed) == (status == "remove"), (role, status)
        assert all(dash == "removed" and pen == "thin" for pen, dash in pens[role, "remove"]), role
        assert not any(dash == "removed" for s in ("existing", "proposed") for _, dash in pens[role, s]), role
        assert role in ALIKE or pens[role, "existing"] != pens[role, "proposed"], role


CROSS = 4.1
"""The arms of a cross on the outline of a thing to go, or down the middle of a narrow band, are shorter, mm."""

ALIKE = {"building", "fence"}
"""The walls of a new building are hatched both ways; fences on the boundary have their posts, open or filled."""


def test_new_buildings_are_hatched_both_ways() -> None:
    view = layout().views[0]
    leans: dict[str, set[int]] = {}
    for feature in features():
        if feature.role is Role.BUILDING and isinstance(feature.shape, Region) and feature.status is not Status.REMOVE:
            room = view.region(feature.shape).box.grown(0.1)
            for mark in layout().marks:
                if isinstance(mark, Hatch) and mark.name == "brick-cut":
                    lines = [s for s in mark.strokes if room.x0 < s.box.centre.x < room.x1
                             and room.y0 < s.box.centre.y < room.y1]
                    leans.setdefault(feature.status.value, set()).update(
                        round(math.degrees((s.end - s.start).heading)) % 180 for s in lines)
    assert leans == {"existing": {45}, "proposed": {45, 135}}


def test_one_of_a_thing_is_said_in_the_singular() -> None:
    assert counted(1, "plant") == "1 plant"
    assert counted(2, "plant") == "2 plants"
    assert unit_words("bags of 25 kg", 1.0) == "bag of 25 kg"
    assert unit_words("bags of 25 kg", 3.0) == "bags of 25 kg"
    assert unit_words("number", 1.0) == "no."
    assert unit_words("m3", 1.0) == "m³"
    said = " ".join(p.what for p in worked().advice)
    assert "1 straight piece is under" in said
    assert "1 straight pieces" not in said


def test_posts_show_whether_they_stand() -> None:
    shown = {status: groups(layout().marks, "post", status)[0].marks for status in ("existing", "proposed", "remove")}
    assert [m.tone for m in shown["proposed"] if isinstance(m, Fill)] == ["black"]
    assert [m.tone for m in shown["existing"] if isinstance(m, Fill)] == ["white"]
    assert not any(isinstance(m, Fill) for m in shown["remove"])


def test_lettering_is_white_on_dark_buildings_and_nowhere_else() -> None:
    view = layout("presentation").views[0]
    stand = [view.region(f.shape) for f in features() if f.role is Role.BUILDING and f.status is Status.EXISTING
             and isinstance(f.shape, Region)]
    for mark in flat(layout("presentation").marks):
        if isinstance(mark, Text) and mark.layer == "labels":
            on_dark = any(inside_region(r, text_region(lettered(mark)).box.centre) for r in stand)
            assert (mark.tone == "white") == on_dark, mark.words


def test_all_that_is_to_go_says_so() -> None:
    going = [p for p in garden().elements if p.status is Status.REMOVE]
    said = " ".join(words(layout()))
    assert said.count("to go") >= len(going)


def test_sheets_for_later_work_leave_out_what_has_gone() -> None:
    for name in ("setting out", "planting", "levels"):
        sheet = next(s for s in sheets("line").sheets if s.name == name)
        gone = {m.ground.role for m in sheet.marks if isinstance(m, Group) and m.ground and m.ground.status == "remove"
                and strokes(m)}
        assert gone <= {"service"}, name
        assert "Old shed" not in " ".join(words(sheet))


def test_no_band_bars_tapes_where_nothing_stands() -> None:
    sheet = next(s for s in sheets("line").sheets if s.name == "setting out")
    bands = [m for m in flat(sheet.marks) if isinstance(m, Hatch) and m.name == "obstacle"]
    assert len(bands) == 1                                  # the house: the shed has gone, the garden room is not built


ON_EDGES = {Purpose.CORNER, Purpose.CURVE, Purpose.TANGENT, Purpose.LINE}


def test_pegs_stand_on_the_heavy_lines_of_the_setting_out_plan() -> None:
    """Where an edging or a pond's rim lies inside the outline, the outline is what is pegged and drawn strong."""
    sheet = next(s for s in sheets("line").sheets if s.name == "setting out")
    view = sheet.views[0]
    heavy = [m.path for m in flat(sheet.marks) if isinstance(m, Stroke) and m.pen == "edge"]
    for peg in worked().pegs.pegs:
        if peg.purpose in ON_EDGES:
            at = view.point(peg.at)
            assert min(project(path, at).distance for path in heavy) < 0.15, peg.name


def test_radii_are_those_that_are_pegged() -> None:
    pegged = [s.radius for lines in worked().pegs.outlines.values() for line in lines for s in line.segments
              if isinstance(s, Arc)]
    for name in ("layout", "setting out"):
        sheet = next(s for s in sheets("line").sheets if s.name == name)
        radii = [m.value for m in sheet.marks if isinstance(m, Dimension) and m.form == "radius"]
        assert radii
        assert all(any(abs(r - p) < 1e-9 for p in pegged) for r in radii)


def test_an_opening_over_a_sill_is_no_cut_wall() -> None:
    """In a wall 0.215 thick an opening 0.8 wide leaves 8 mm of face at 1:100 without its heavy line."""
    faces = [s for g in groups(layout().marks, "wall opening", "proposed") for s in strokes(g)]
    assert faces
    assert {s.pen for s in faces} == {"thin"}
    assert sum(s.path.length for s in faces) == pytest.approx(2 * 0.8 * 1000 / 100, abs=0.5)


def test_lettering_breaks_what_is_overhead_or_to_go() -> None:
    sheet = layout()
    boxes = [text_region(lettered(m)).box for m in flat(sheet.marks) if isinstance(m, Text)]
    for mark in sheet.marks:
        if isinstance(mark, Group) and mark.ground and (mark.ground.role in {"beam", "rafter"}
                                                        or mark.ground.status == "remove"):
            for stroke in strokes(mark):
                middle = stroke.path.segments[0].point(0.5)
                assert not any(b.x0 < middle.x < b.x1 and b.y0 < middle.y < b.y1 for b in boxes)


def test_no_string_runs_through_lettering_and_solid_signs_stand_apart() -> None:
    sheet = next(s for s in sheets("line").sheets if s.name == "recovery")
    boxes = [text_region(lettered(m)).box for m in flat(sheet.marks) if isinstance(m, Text) and m.layer == "labels"]
    strings = [m for m in flat(sheet.marks) if isinstance(m, Stroke) and "recovery-line" in m.classes]
    assert strings
    for string in strings:
        line = string.path.segments[0]
        for box in (b for b in boxes if b.meets(string.path.box)):
            for k in range(1, 60):
                at = line.point(k / 60)
                assert not (box.x0 < at.x < box.x1 and box.y0 < at.y < box.y1), (string.path.box, box)
    near = [m for m in sheet.marks if isinstance(m, Fill) and m.tone == "white" and m.layer == "marks"]
    assert near, "P301 and P401 stand 0.1 m apart"


def test_sides_are_named_by_what_stands_and_can_be_seen() -> None:
    """A tree not planted yet, a shed that has gone or a drain under the ground shows nobody a side."""
    seen = {mark.word for mark in Words(worked()).landmarks}
    stand = {p.name for p in garden().elements if p.status is Status.EXISTING and p.kind != "service"}
    assert stand <= seen
    assert not seen & {p.name for p in garden().elements if p.name not in stand}


def test_taking_down_is_warned_of_where_something_is_taken_down() -> None:
    lead, said = WORDS[Caution.CLEARANCE]
    assert "asbestos" in said
    for name in ("layout", "hardscape"):
        sheet = next(s for s in sheets("line").sheets if s.name == name)
        assert any(w.startswith(lead) for w in words(sheet)), name
    assert any("asbestos" in warning for warning in warnings_of(worked()))


@pytest.mark.parametrize("style", ["line", "presentation"])
def test_no_joint_runs_along_a_leader(style: str) -> None:
    for sheet in sheets(style).sheets:
        marks = tuple(flat(sheet.marks))
        leaders = [s.segments[0] for s in (m.path for m in marks if isinstance(m, Stroke) and "leader" in m.classes)]
        joints = [p for m in marks if isinstance(m, Hatch) and m.name in UNIT_LAID for p in m.strokes]
        for joint in joints:
            for segment in joint.segments:
                along = sum((b - a) * segment.length for leader in leaders if leader.box.grown(0.5).meets(segment.box)
                            for a, b in shared(segment, leader, 0.3))
                assert along < 1.0, (sheet.name, segment)


def test_every_section_is_marked_on_the_hardscape_plan() -> None:
    def heads(name: str) -> list[str]:
        return [m.words for s in sheets("line").sheets if s.name.startswith(name) for m in flat(s.marks)
                if isinstance(m, Text) and m.tone == "white" and m.words.isalpha()]

    letters, plan = heads("details"), next(s for s in sheets("line").sheets if s.name == "hardscape")
    assert len(letters) > 10
    assert sorted(heads("hardscape")) == sorted([*letters, "A"])       # the key shows one
    assert "no mark" not in " ".join(words(plan))


def test_sections_that_find_no_place_for_a_mark_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cuts_on_plan, "_best", lambda *_: None)
    plan = next(s for s in compose(worked()).sheets if s.name == "hardscape")
    assert "Sections A, B, C, D, E" in " ".join(words(plan))
