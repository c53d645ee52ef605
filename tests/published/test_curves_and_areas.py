"""Curves, areas and ellipses against worked examples in print; the source of each stands in curves_and_areas.yaml."""

import math
from pathlib import Path as File
from typing import Any

import pytest
import yaml

from pegbook.geometry.kernel.construct import arc_by_radius, arc_through, rounded_path, tangent_segment
from pegbook.geometry.kernel.fit import ellipse
from pegbook.geometry.kernel.path import Loop, Path
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import Arc, Line
from pegbook.geometry.kernel.station import point_at, project

CASES: dict[str, Any] = {case["id"]: case for case in yaml.safe_load(
    (File(__file__).parent / "curves_and_areas.yaml").read_text(encoding="utf-8"))}


def agrees(case: dict[str, Any], **found: float) -> None:
    slack = case["tolerance"]
    for name, value in found.items():
        key = next((k for k in sorted(slack, key=len, reverse=True) if name.startswith(k)), "default") \
            if isinstance(slack, dict) else ""
        assert value == pytest.approx(case["results"][name], abs=slack[key] if key else slack, rel=1e-12), name


def simple_curve(radius: float, deflection: float) -> tuple[Path, Arc]:
    """Two long straights that meet at (0, 0) and turn by `deflection` degrees, rounded with `radius`."""
    far = 10 * radius
    path = rounded_path([(Point(-far, 0), 0.0), (Point(0, 0), radius),
                         (Point(0, 0) + Vec.polar(math.radians(deflection), far), 0.0)])
    arc = path.segments[1]
    assert isinstance(arc, Arc)
    return path, arc


def test_elements_of_a_simple_curve() -> None:
    case = CASES["CRV-01"]
    radius, deflection, pi = (case["inputs"][k] for k in ("R_m", "deflection_deg", "PI_chainage_m"))
    _, arc = simple_curve(radius, deflection)
    tangent, chord = -arc.start.x, arc.start.distance(arc.end)
    agrees(case, T=tangent, long_chord=chord, arc=arc.length, ch_T1=pi - tangent, ch_T2=pi - tangent + arc.length,
           apex=arc.point(0.5).distance(Point(0, 0)),
           mid_ordinate=arc.point(0.5).distance(arc.start.toward(arc.end, 0.5)))


def test_offsets_from_a_long_chord() -> None:
    case = CASES["CRV-02"]
    _, arc = simple_curve(case["results"]["R"], case["inputs"]["bearing_out_deg"] - case["inputs"]["bearing_in_deg"])
    chord = Line(arc.start, arc.end)
    agrees(case, T=-arc.start.x, arc=arc.length, long_chord=chord.length, half_chord=chord.length / 2)
    for x in (30, 60, 90, 120):
        foot = chord.point(0.5 + x / chord.length)
        # A long straight square to the chord meets the curve at the offset.
        apart = math.sqrt(arc.radius**2 - x * x) - math.sqrt(arc.radius**2 - (chord.length / 2) ** 2)
        curve_point = foot + (arc.end - arc.start).unit().left() * -apart
        assert project(Path((arc,)), curve_point).distance < 1e-9
        agrees(case, **{f"O{x}": apart})


def test_two_arcs_of_one_radius_on_a_middle_tangent() -> None:
    case = CASES["CRV-06"]
    one, two = (math.radians(d) for d in case["inputs"]["deflections_deg"])
    middle = case["inputs"]["middle_tangent_m"]
    radius = middle / (math.tan(one / 2) + math.tan(two / 2))
    second = Point(middle, 0)
    path = rounded_path([(Point(0, 0) + Vec.polar(-one, -900), 0.0), (Point(0, 0), radius), (second, radius),
                         (second + Vec.polar(two, 900), 0.0)])
    arcs = [s for s in path.segments if isinstance(s, Arc)]
    assert len(arcs) == 2
    assert arcs[0].end.distance(arcs[1].start) < 1e-6       # the radius uses the middle tangent up
    agrees(case, R=radius, arc1=arcs[0].length, arc2=arcs[1].length)


def test_compound_curve_stations() -> None:
    case = CASES["CRV-07"]
    first, second = (math.radians(180 - a) for a in case["inputs"]["interior_angles_deg"])
    one, two = (case["inputs"][k] for k in ("R1_m", "R2_m"))
    start = Arc.swung(Point(0, one), one, -math.pi / 2, first)
    then = tangent_segment(start.end, first, start.end + _chord(two, second, first))
    assert isinstance(then, Arc)
    assert then.radius == pytest.approx(two, rel=1e-12)
    common = one * math.tan(first / 2) + two * math.tan(second / 2)
    pcc = case["results"]["ch_T1"] + start.length
    agrees(case, common_tangent=common, ch_PCC=pcc, ch_T2=pcc + then.length)


def _chord(radius: float, turn: float, heading: float) -> Vec:
    return Vec.polar(heading + turn / 2, 2 * radius * math.sin(turn / 2))


def test_offset_from_the_tangent() -> None:
    case = CASES["CRV-08"]
    radius, run = case["inputs"]["R_m"], case["inputs"]["arc_from_PC_m"]
    curve = Path((Arc.swung(Point(0, radius), radius, -math.pi / 2, 1.0),))
    agrees(case, offset=point_at(curve, run).y, central_angle_deg=math.degrees(run / radius))


def test_deflections_of_a_garden_sized_curve() -> None:
    case = CASES["CRV-11"]
    _, arc = simple_curve(case["inputs"]["R_m"], case["inputs"]["deflection_deg"])
    agrees(case, T=-arc.start.x, long_chord=arc.start.distance(arc.end), arc=arc.length)
    for k, run in enumerate(case["inputs"]["subchords_m"], 1):
        # A chord leaves the tangent by half of what its arc turns.
        at = point_at(Path((arc,)), run)
        agrees(case, **{f"defl{k}_deg": math.degrees((at - arc.start).heading)})


@pytest.mark.parametrize(("name", "arc"), [
    ("CRV-13", arc_through(Point(0, 0), Point(10.5, -6), Point(21, 0))),
    ("CRV-14", Arc.swung(Point(0, 0), 1 / math.radians(45), 0.0, math.radians(45))),
])
def test_parts_of_a_circle(name: str, arc: Arc) -> None:
    case = CASES[name]
    middle = arc.start.toward(arc.end, 0.5)
    segment = Loop.of((arc, Line(arc.end, arc.start)))
    sector = Loop.of((arc, Line(arc.end, arc.centre), Line(arc.centre, arc.start)))
    full = Loop.circle(arc.centre, arc.radius)
    agrees(case, R=arc.radius, segment_area=segment.area, sector_area=sector.area, circle_area=full.area,
           distance_centre_chord=middle.distance(arc.centre))
    if name == "CRV-13":
        agrees(case, arc=arc.length, central_deg=math.degrees(arc.sweep), circumference=full.length)
    else:
        agrees(case, chord=arc.start.distance(arc.end), rise=arc.radius - middle.distance(arc.centre))


def test_long_chord_of_a_road_curve() -> None:
    case = CASES["CRV-16"]
    _, arc = simple_curve(case["inputs"]["R_m"], case["inputs"]["deviation_deg"])
    agrees(case, long_chord=arc.start.distance(arc.end))


def test_a_road_curve_by_its_degree() -> None:
    """From memory, as its case says."""
    case = CASES["CRV-17"]
    radius, pi = 18000 / math.pi / case["inputs"]["D_deg"], case["inputs"]["PI_station_ft"]
    _, arc = simple_curve(radius, case["inputs"]["I_deg"])
    agrees(case, R_ft=radius, T_ft=-arc.start.x, L_ft=arc.length, PC_ft=pi + arc.start.x,
           PT_ft=pi + arc.start.x + arc.length)


def test_segments_of_the_unit_circle() -> None:
    case = CASES["CRV-19"]
    for angle in case["inputs"]["angles_deg"]:
        chord = 2 * math.sin(math.radians(angle) / 2)
        arc = arc_by_radius(Point(0, 0), Point(chord, 0), 1.0, left=True)
        loop = Loop.of((arc, Line(arc.end, arc.start)))
        agrees(case, **{f"arc{angle}": arc.length, f"rise{angle}": -arc.point(0.5).y, f"chord{angle}": chord,
                        f"area{angle}": loop.area})


def test_field_from_a_base_line() -> None:
    case = CASES["ARE-06"]
    left, right = case["inputs"]["left_chainage_offset_m"], case["inputs"]["right_chainage_offset_m"]
    field = Loop.polygon([Point(0, 0), *(Point(x, -y) for x, y in right), Point(case["inputs"]["base_m"], 0),
                          *(Point(x, y) for x, y in reversed(left))])
    agrees(case, area=field.area)


def test_field_that_crosses_its_base_line() -> None:
    case = CASES["ARE-07"]
    agrees(case, area=Loop.polygon([Point(x, y) for x, y in case["inputs"]["polygon_chainage_offset_m"]]).area)


def test_perimeters_of_ellipses() -> None:
    case = CASES["ELL-01"]
    for a, b in case["inputs"]["ab"]:
        loop = ellipse(Point(0, 0), 2 * a, 2 * b, 0.3, gap=1e-3)
        # Convex curves within a gap of each other differ in girth by less than a full turn of the gap.
        assert loop.length == pytest.approx(case["results"][f"P_{a}_{b}"], abs=2 * math.pi * 1e-3)


def test_foci_of_an_ellipse() -> None:
    case = CASES["ELL-02"]
    true = ellipse(Point(0, 0), 2 * case["inputs"]["a"], 2 * case["inputs"]["b"], 0.0, gap=0.02).ellipse
    assert true is not None
    agrees(case, focal_distance=math.sqrt(true.half_length**2 - true.half_width**2))


def test_three_centred_arch() -> None:
    """From memory: a basket-handle arch of three arcs of 60 degrees; our tangent continuation must close it."""
    case = CASES["ELL-07"]
    span, rise = case["inputs"]["half_span"], case["inputs"]["rise"]
    small, large = case["results"]["r_small"], case["results"]["R_large"]
    first = Arc.swung(Point(span - small, 0), small, 0.0, math.pi / 3)
    crown = Point(-first.end.x, first.end.y)
    second = tangent_segment(first.end, first.heading(1.0), crown)
    assert isinstance(second, Arc)
    assert second.radius == pytest.approx(large, abs=case["tolerance"])
    assert second.point(0.5).y == pytest.approx(rise, abs=case["tolerance"])
