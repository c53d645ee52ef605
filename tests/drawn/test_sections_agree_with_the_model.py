"""Typical sections show what is pegged, dug and ordered: heights, spacings and volumes are those of the model."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.drawings.brief import read
from pegbook.drawings.details_forms import edging, surface
from pegbook.drawings.details_frames import deck, pond
from pegbook.drawings.details_hatches import cut_texture
from pegbook.drawings.details_names import APART, KEPT, Name, column
from pegbook.drawings.details_parts import Detail, Piece
from pegbook.drawings.details_posts import fence, pergola, post_foot
from pegbook.drawings.details_sheet import details
from pegbook.drawings.details_views import at_scale, detail_of
from pegbook.drawings.details_walls import wall
from pegbook.drawings.sheet import Stroke, Text, flat
from pegbook.geometry.features import SectionDetail, SectionLayer
from pegbook.geometry.kernel.path import Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kinds.base import Placed
from pegbook.geometry.model.garden import Garden, loads
from support.issued import worked
from support.models import HEAD

WALL = {"thickness": 0.215, "height": 0.6, "retained": 0.4, "below": 0.15, "footing width": 0.5, "footing depth": 0.25,
        "coping width": 0.275, "coping height": 0.05, "unit height": 0.065, "unit width": 0.1025, "joint": 0.01}
DRAIN = {"drain stone": 0.3, "drain pipe": 0.1, "drain cover": 0.15, "weep": 0.04, "weep spacing": 1.2}


def garden_of(elements: str) -> tuple[Garden, Placed]:
    garden = loads(HEAD + "elements:\n" + elements, "trial.yaml")
    return garden, garden.elements[0]


def drawn(detail: Detail | None) -> Detail:
    assert detail is not None
    return detail


def hatched(detail: Detail, hatch: str) -> list[Piece]:
    return [piece for piece in detail.pieces if piece.hatch == hatch]


def words_of(detail: Detail) -> str:
    return " ".join(line for tag in detail.tags for line in tag.lines)


@given(st.floats(0.05, 0.4), st.floats(0.04, 0.2), st.floats(0.05, 0.3), st.floats(0.02, 0.25))
def test_a_haunch_holds_the_concrete_that_is_ordered(wide: float, deep: float, thick: float, beyond: float) -> None:
    section = SectionDetail(form="edging", title="Edge", sizes={"width": wide, "depth": deep},
                            layers=(SectionLayer(material="concrete", thickness=thick, beyond=beyond),))
    (bed,) = hatched(drawn(edging(section)), "concrete")
    ordered = (wide + 2 * beyond) * thick        # as counted: the dug outline by the thickness
    assert Region(bed.outline).area == pytest.approx(ordered, rel=0.25)
    if thick / 2 <= deep * 0.6:
        assert Region(bed.outline).area == pytest.approx(ordered)


def test_an_edging_of_the_model_is_drawn_with_its_own_haunch() -> None:
    garden, placed = garden_of(
        "  kerb: {kind: edging, line: {straight: [[0, 0], [4, 0]]}, width: 65 mm, build_up: edging}\n")
    (section,) = placed.element.sections(placed, garden)
    (bed,) = hatched(drawn(edging(section)), "concrete")
    ordered = next(i for i in placed.element.items(placed, garden) if "concrete" in i.item)
    assert Region(bed.outline).area * 4.0 == pytest.approx(ordered.net, rel=0.06)      # its ends are dug besides


def test_a_coping_lies_on_the_masonry_whose_height_is_pegged() -> None:
    garden, placed = garden_of(
        "  wall: {kind: wall, line: {straight: [[0, 0], [4, 0]]}, thickness: 215 mm, height: 0.6, "
        "coping: {height: 50 mm}}\n")
    (section,) = placed.element.sections(placed, garden)
    heights = dict(placed.element.heights(placed))
    (coping,) = hatched(drawn(wall(section)), "stone-cut")
    assert coping.outline.box.y0 == pytest.approx(heights["top of the masonry"])
    assert coping.outline.box.y1 == pytest.approx(heights["top of the coping"])


def test_a_drained_wall_shows_stone_pipe_weep_and_drip() -> None:
    sizes = {**WALL, **DRAIN, "damp course": 1.0, "pier": 0.44}
    words = {"unit": "brick", "bond": "English bond", "coping": "stone coping", "drip": "yes", "fabric": "yes"}
    detail = drawn(wall(SectionDetail(form="wall", title="Wall", sizes=sizes, words=words)))
    (stone,) = hatched(detail, "drainage-stone")
    box = stone.outline.box
    assert (box.width, box.y0, box.y1) == pytest.approx((0.3, -0.15, 0.25))
    assert box.x1 == pytest.approx(-0.215 / 2)
    (pipe,) = stone.holes
    assert pipe.box.width == pytest.approx(0.1)
    assert box.x0 < pipe.box.x0 < pipe.box.x1 < box.x1
    assert len(hatched(detail, "brick-cut")) == 2       # the weep pipe runs between
    (coping,) = hatched(detail, "stone-cut")
    assert Region(coping.outline).area == pytest.approx(0.275 * 0.05 - 2 * 0.01 * 0.01)
    said = words_of(detail)
    for part in ("Drainage stone", "300 wide", "Drain pipe Ø 100", "Weep pipe Ø 40", "at most 1200 apart",
                 "Damp course", "Pier", "drip under each side", "English bond", "215 thick"):
        assert part in said
    assert len(detail.fabrics) == len(detail.damp) == 1


def test_a_wall_without_a_drain_shows_none() -> None:
    detail = drawn(wall(SectionDetail(form="wall", title="Wall", sizes=WALL)))
    assert not hatched(detail, "drainage-stone")
    assert not detail.fabrics
    assert "Weep" not in words_of(detail)
    assert len(hatched(detail, "brick-cut")) == 1


def test_courses_are_drawn_at_their_height() -> None:
    detail = drawn(wall(SectionDetail(form="wall", title="Wall", sizes=WALL)))
    beds = sorted({round(p.start.y, 6) for p in detail.joints if abs(p.start.y - p.end.y) < 1e-9})
    assert beds[0] == pytest.approx(-0.15 + 0.075)
    assert [round(b - a, 6) for a, b in pairwise(beds)] == [0.075] * (len(beds) - 1)


def test_rafters_and_beams_stand_as_they_are_cut_and_counted() -> None:
    garden, placed = garden_of(
        "  arbour: {kind: pergola, line: {straight: [[0, 0], [0, 7]]}, width: 2, bay: 2.4, height: 2.3, "
        "rafter: {size: 75 mm, spacing: 0.6, overhang: 0.3}}\n")
    section = next(s for s in placed.element.sections(placed, garden) if s.form == "pergola")
    rafters = [f for f in placed.element.features(placed, garden) if f.role.value == "rafter"]
    apart = rafters[0].shape.start.distance(rafters[1].shape.start)      # type: ignore[union-attr]
    assert section.sizes["rafter spacing"] == pytest.approx(apart)
    detail = drawn(pergola(section))
    ends = sorted(p.outline.box.centre.x for p in detail.pieces if p.outline.box.y0 >= section.sizes["height"] - 1e-9)
    assert ends[:3] == pytest.approx([0.0, apart, 2 * apart])
    assert f"{section.sizes['bays']:.0f} bays in all" in words_of(detail)
    assert section.sizes["bay"] == pytest.approx(7 / 3, abs=1e-3)


def test_a_fence_is_measured_from_post_to_post() -> None:
    garden, placed = garden_of(
        "  side: {kind: fence, line: {straight: [[0, 0], [9.65, 0]]}, panel: 1.83, post: 100 mm}\n")
    section = next(s for s in placed.element.sections(placed, garden) if s.form == "fence")
    posts = [p.at for p in placed.element.wanted(placed, garden)]
    level = next(m for m in drawn(fence(section)).measures if m.side == "below")
    assert level.end.x - level.start.x == pytest.approx(posts[0].distance(posts[1]))


def test_a_post_on_a_shoe_stands_clear_and_fills_no_concrete() -> None:
    text = ("  arbour: {{kind: pergola, line: {{straight: [[0, 0], [0, 4]]}}, width: 2, height: 2.3, "
            "footing: {{width: 0.4, depth: 0.6{0}}}}}\n")
    orders = []
    for more, off in (("", 0.0), (", stand_off: 50 mm", 0.05)):
        garden, placed = garden_of(text.format(more))
        section = next(s for s in placed.element.sections(placed, garden) if s.form == "post foot")
        detail = drawn(post_foot(section))
        (post,) = hatched(detail, "timber-upright")
        assert post.outline.box.y0 == pytest.approx(off or -0.6)
        assert bool(hatched(detail, "steel")) == bool(off)
        items = {i.item: i for i in placed.element.items(placed, garden)}
        orders.append((items["concrete round posts"].net, "post shoes" in items))
    (with_posts, no_shoes), (whole, shoes) = orders
    assert (no_shoes, shoes) == (False, True)
    assert whole == pytest.approx(with_posts * 0.16 / (0.16 - 0.01))


def test_a_height_that_the_model_does_not_say_has_no_figure() -> None:
    boards = {"board width": 0.145, "board gap": 0.005, "board thickness": 0.028, "joist depth": 0.15}
    assert not drawn(deck(SectionDetail(form="deck", title="Deck", sizes=boards))).measures
    known = drawn(deck(SectionDetail(form="deck", title="Deck", sizes={**boards, "clear": 0.12})))
    assert known.measures[0].end.y == pytest.approx(-0.298)
    edge = {"depth": 0.6, "edge width": 0.3}
    assert "300 wide" in words_of(drawn(pond(SectionDetail(form="pond", title="Pond", sizes=edge))))
    edge |= {"edge depth": 0.04}
    assert "300 × 40" in words_of(drawn(pond(SectionDetail(form="pond", title="Pond", sizes=edge))))


@given(st.lists(st.tuples(st.floats(0, 30), st.floats(0, 80), st.integers(1, 4)), min_size=1, max_size=6),
       st.lists(st.floats(-20, 90), max_size=5))
def test_names_keep_apart_and_off_the_lines_that_cross_their_column(
    tags: list[tuple[float, float, int]], keep: list[float]
) -> None:
    names = [Name(Point(x, y), ("Name",) * lines) for x, y, lines in tags]
    marks = list(flat(tuple(column(names, 40.0, 1, keep))))
    texts = sorted((m for m in marks if isinstance(m, Text)), key=lambda m: -m.at.y)
    tops = [m.at.y for m in texts]
    assert all(a - b >= 2.5 for a, b in pairwise(tops))
    assert len(texts) == sum(lines for *_, lines in tags)
    for text in texts:
        assert not any(text.at.y + 1e-6 < y < text.at.y + 2.5 - 1e-6 for y in keep)
    leaders = [m.path for m in marks if isinstance(m, Stroke)]
    assert len(leaders) == len(names)
    assert min(APART, KEPT) > 0


def test_a_larger_scale_is_a_larger_drawing() -> None:
    detail = drawn(wall(SectionDetail(form="wall", title="Wall", sizes={**WALL, **DRAIN})))
    sizes = [at_scale(detail, scale) for scale in (5, 10, 20)]
    assert sizes[0].height > sizes[1].height > sizes[2].height
    assert sizes[0].view.window.width == pytest.approx(2 * sizes[1].view.window.width)


def test_a_board_that_holds_an_edge_is_cut_across_its_grain() -> None:
    section = SectionDetail(form="surface", title="Path", layers=(SectionLayer(material="gravel", thickness=0.05),),
                            sizes={"edge width": 0.03, "edge depth": 0.15}, words={"edge": "timber board"})
    assert hatched(drawn(surface(section)), "timber-across")


def test_no_sheet_is_issued_for_soil_alone() -> None:
    brief = read(worked("round-lawn"))
    assert {s.form for s in brief.sections} == {"bed"}
    assert details(brief) == ()


def test_a_wall_that_holds_ground_to_its_top_is_drawn_with_its_piers() -> None:
    sizes = {**WALL, "retained": WALL["height"], "pier": 0.44}
    detail = drawn(wall(SectionDetail(form="wall", title="Wall", sizes=sizes)))
    assert at_scale(detail, 10).height > 0
    assert len([piece for piece in detail.pieces if piece.pen == "thin"]) == 1


@pytest.mark.parametrize("section", [
    SectionDetail(form="pond", title="Rill", sizes={"depth": 0.05, "edge width": 0.2, "edge depth": 0.05}),
    SectionDetail(form="surface", title="Thin", layers=(SectionLayer(material="resin gravel", thickness=0.008),)),
    SectionDetail(form="edging", title="Strip", sizes={"width": 0.005, "depth": 0.01}),
    SectionDetail(form="steps", title="One step", sizes={"riser": 0.03, "going": 0.3, "risers": 1.0, "tread": 0.03}),
])
def test_a_shallow_thing_is_drawn(section: SectionDetail) -> None:
    detail = drawn(detail_of(section))
    assert at_scale(detail, 5).marks(cut_texture)
