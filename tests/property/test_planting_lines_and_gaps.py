"""Plants on lines in a bed, hedges with gaps, limits of the clarity report, the report for other programs."""

import csv
import io
import json
import math
from itertools import pairwise
from pathlib import Path as File

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.__main__ import pegbook
from pegbook.geometry.errors import ModelError
from pegbook.geometry.kernel.construct import arc_by_radius
from pegbook.geometry.kernel.path import Loop, Path
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kernel.segment import Line
from pegbook.geometry.kinds.hedge import Hedge
from pegbook.geometry.model.beds import planted
from pegbook.geometry.model.garden import Garden, loads
from pegbook.geometry.planting.clarity import clarity
from pegbook.geometry.planting.lines import LinePlanting, on_line, plant_line
from pegbook.geometry.planting.mix import ClarityRules, LineInput, Measure, MixEntry
from pegbook.geometry.planting.plan import plant_bed
from pegbook.geometry.planting.planted import BedPlanting
from pegbook.geometry.planting.schedule import schedule
from support.beds import plant, straight_bed
from support.models import HEAD, PLANTS
from support.planting_laws import broken_laws, share_error

BED = """elements:
  south border:
    kind: bed
    outline: {rectangle: {corner: [0, 0], length: 9.0, width: 3.0}}
    back: {edge: {of: south border, from: south border.corner 3, to: south border.corner 4}}
"""


def bed_with(lines: str) -> BedPlanting:
    text = HEAD + PLANTS + BED + lines
    garden = loads(text)
    (bed,) = (b for b in (planted(p, garden) for p in garden.elements) if b is not None)
    return bed


def hedge(text: str) -> tuple[Garden, LinePlanting]:
    garden = loads(HEAD + PLANTS + "elements:\n  far hedge: " + text + "\n")
    (placed,) = garden.elements
    (line,) = placed.element.plantings(placed, garden)
    assert isinstance(line, LineInput)
    return garden, plant_line(line)


def pieces(garden: Garden) -> list[float]:
    """The lengths of the pieces of the one hedge."""
    (placed,) = garden.elements
    assert isinstance(placed.element, Hedge)
    assert placed.line is not None
    return [round(p.length, 6) for p in placed.element.pieces(placed.line)]


def test_a_line_along_an_edge_stands_among_the_drifts() -> None:
    bed = bed_with("""    planting:
      - {plant: tall grass, groups: 2, share: 100 %}
      - {plant: blue sage, along: [{offset: {of: {straight: [[0, 0], [9, 0]]}, by: 0.25}}]}
""")
    assert [round(s.at.y, 6) for s in bed.singles] == [0.25] * 22
    assert [b.at.x - a.at.x for a, b in pairwise(bed.singles)] == pytest.approx([9 / 22] * 21)
    assert bed.singles[0].at.x == pytest.approx(9 / 44)
    assert broken_laws(bed) == []
    assert share_error(bed) <= 0.02
    assert [label.text for label in bed.labels if "sage" in label.name] == ["22 blue sage"]
    assert {r.plant.name: r.number for r in schedule([bed])}["blue sage"] == 22
    assert not [m for m in bed.messages if m.code.startswith("single")]


def test_a_line_that_leaves_the_bed_is_said() -> None:
    bed = bed_with("    planting: [{plant: blue sage, along: [{straight: [[1, 1], [1, 5]]}]}]\n")
    assert {m.code for m in bed.messages} == {"single-outside"}


@given(st.floats(0.2, 0.7), st.floats(2.05, 9.0), st.booleans())
@settings(max_examples=30, deadline=None)
def test_plants_on_a_bend_keep_their_spacing_as_the_crow_flies(spacing: float, radius: float, ring: bool) -> None:
    line = Loop.circle(Point(0, 0), radius / 4) if ring else \
        Path((arc_by_radius(Point(0, 0), Point(4, 0), radius, left=True),))
    points = on_line(line, spacing)
    pairs = list(pairwise([*points, *points[:1]] if ring and len(points) > 1 else points))
    assert all(a.distance(b) >= spacing - 1e-3 for a, b in pairs)
    assert len(points) >= max(1, math.floor(line.length / spacing) * 0.8 - 2)
    with_one_more = line.length / (len(points) + 1)
    assert with_one_more < spacing * 1.3


def test_line_plants_and_drifts_keep_apart_in_one_bed() -> None:
    line = Path((Line(Point(1, 0.4), Point(4, 1.0)), Line(Point(4, 1.0), Point(8, 0.5))))
    mix = [MixEntry(plant="a", groups=3, share=0.5), MixEntry(plant="b", groups=2, share=0.5),
           MixEntry(plant="c", along=(line,))]
    bed = plant_bed(straight_bed(9, 2.5, mix, [plant("a", 0.3), plant("b", 0.4), plant("c", 0.35)]))
    assert broken_laws(bed) == []
    assert len(bed.singles) == math.floor(line.length / 0.35)


def test_a_hedge_has_no_plants_in_its_gaps() -> None:
    garden, line = hedge("{kind: hedge, line: {straight: [[0, 5], [6, 5]]}, per_metre: 4, gaps: "
                         "[{at: 1.5, width: 1.0}, {at: 4, width: 0.5}]}")
    assert pieces(garden) == [1.0, 1.75, 1.75]
    assert line.count == 4 + 7 + 7
    assert line.length == pytest.approx(4.5)
    xs = [p.x for p in line.points]
    assert not [x for x in xs if 1.0 < x < 2.0 or 3.75 < x < 4.25]
    assert sum(r.area for r in garden.elements[0].regions) == pytest.approx(4.5 * 0.6)


def test_a_ring_is_open_at_its_gap_only() -> None:
    garden, line = hedge("{kind: hedge, spacing: 0.3, width: 0.5, gaps: [{at: 3, width: 1}], line: "
                         "{straight: [[0, 5], [4, 5], [4, 8], [0, 8], [0, 5]]}}")
    assert pieces(garden) == [13.0]
    assert line.length == pytest.approx(13.0)
    assert line.count == 43
    assert len(garden.elements[0].regions) == 1


@pytest.mark.parametrize("gaps", ["{at: 0.2, width: 1}", "{at: 2, width: 1}, {at: 2.5, width: 0.5}",
                                  "{at: 3, width: 6}", "{at: 5.9, width: 0.4}"])
def test_gaps_that_cannot_be_are_refused(gaps: str) -> None:
    with pytest.raises(ModelError, match="gap"):
        hedge(f"{{kind: hedge, line: {{straight: [[0, 5], [6, 5]]}}, gaps: [{gaps}]}}")


def test_every_measure_can_be_switched_off_and_given_other_limits() -> None:
    mix = [MixEntry(plant="a", groups=3, share=0.5), MixEntry(plant="b", groups=2, share=0.5)]

    def found(rules: ClarityRules) -> dict[Measure, bool]:
        bed = plant_bed(straight_bed(9, 2.5, mix, [plant("a", 0.3, height=0.9), plant("b", 0.4, height=2.0)],
                                     rules=rules))
        return {f.rule: f.fine for f in clarity(bed)}

    assert set(found(ClarityRules())) == set(Measure)
    for measure in Measure:
        assert set(found(ClarityRules(off=(measure,)))) == set(Measure) - {measure}
        never = found(ClarityRules(limits={measure: (1e6, 2e6)}))
        assert found(ClarityRules(limits={measure: (-math.inf, math.inf)}))[measure]
        assert not never[measure] or measure is Measure.COLOURS          # no partners named: nothing measured


def test_limits_are_read_from_the_model() -> None:
    bed = bed_with("""    planting:
      - {plant: tall grass, groups: 2, share: 60 %}
      - {plant: blue sage, groups: 2, share: 40 %}
    clarity: {off: [months], limits: [{measure: heights, most: 0.1}, {measure: reach, least: 0, most: 5}]}
""")
    findings = {f.rule: f for f in clarity(bed)}
    assert Measure.MONTHS not in findings
    assert (findings[Measure.HEIGHTS].low, findings[Measure.HEIGHTS].high) == (-math.inf, 0.1)
    assert not findings[Measure.HEIGHTS].fine
    assert findings[Measure.HEIGHTS].limits_words() == "at most 0.1"
    assert findings[Measure.REACH].fine


def test_the_report_is_for_other_programs_too(tmp_path: File) -> None:
    file = tmp_path / "g.yaml"
    file.write_text(HEAD + PLANTS + BED + "    planting: [{plant: tall grass, share: 100 %}]\n", encoding="utf-8")

    def said(*options: str) -> str:
        run = CliRunner().invoke(pegbook, ["plants", str(file), *options])
        assert run.exit_code == 0, run.output
        return run.stdout

    whole = json.loads(said("--json"))
    tables = {part: list(csv.DictReader(io.StringIO(said("--csv", "--of", part))))
              for part in ("schedule", "clarity", "months")}
    assert set(whole) == {"schedule", "clarity", "months"}
    assert {part: len(rows) for part, rows in tables.items()} == {part: len(rows) for part, rows in whole.items()}
    assert [row["measure"] for row in whole["clarity"]] == [m.value for m in Measure]
    grass, flower = whole["months"]
    assert "".join(str(grass[str(m)]) for m in range(1, 13)) == "-------FF---"
    assert [flower[str(m)] for m in (7, 8, 9)] == [0.0, 1.0, 1.0]
    assert whole["schedule"][0]["number"] == float(tables["schedule"][0]["number"])
