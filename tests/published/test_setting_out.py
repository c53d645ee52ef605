"""Setting out with tapes and least squares against cases in print; the source of each stands in setting_out.yaml."""

from __future__ import annotations

import math
from pathlib import Path as File
from typing import Any

import numpy as np
import pytest
import yaml
from scipy.optimize import least_squares

from pegbook.geometry.features import MarkGiven, Tie
from pegbook.geometry.kernel.construct import rounded_path
from pegbook.geometry.kernel.fit import ellipse
from pegbook.geometry.kernel.point import Point, Vec
from pegbook.geometry.kernel.segment import Arc
from pegbook.geometry.pegs.choose import NEVER_BELOW
from pegbook.geometry.pegs.control import TYPED_SD, adjust
from pegbook.geometry.pegs.curves import halving_error
from pegbook.geometry.pegs.linear import SHARPEST, line_form, ties_form
from pegbook.geometry.pegs.network import READ_FIXED, READ_PER_METRE, Fit, Network, Row, Typed, fitted
from pegbook.geometry.pegs.outlines import strays
from pegbook.geometry.pegs.placing import Seen
from pegbook.geometry.pegs.rebuild import across, along_line
from pegbook.geometry.pegs.tape import FIXED_SHARE, PER_METRE_SHARE, Tape
from support.networks import network_at_random

CASES: dict[str, Any] = {case["id"]: case for case in yaml.safe_load(
    (File(__file__).parent / "setting_out.yaml").read_text(encoding="utf-8"))}
A_DEGREE = math.radians(1)


def agrees(case: dict[str, Any], **found: float) -> None:
    """Each figure is the printed one within the print's own rounding; where none is printed, the recomputed one."""
    slack = case["tolerance"]
    for name, value in found.items():
        near = slack if not isinstance(slack, dict) else next((slack[k] for k in sorted(slack, key=len, reverse=True)
                                                              if name.startswith(k)), slack["default"])
        assert value == pytest.approx(case["results"].get(name, case["recomputed"].get(name)), abs=near), name


def crossing(a: Point, b: Point, r1: float, r2: float, *, left: bool = True) -> Point:
    at = across(a, b, r1, r2, left)
    assert at is not None
    return at


# -- tapes that cross, offsets, checks -----------------------------------------------------------------------------


@pytest.mark.parametrize("scale", [1, 4])
def test_a_right_angle_by_two_tapes(scale: int) -> None:
    case = CASES["POS-01"]
    first, second = (Point(*(scale * v for v in p)) for p in case["inputs"]["pegs_m"])
    one, two = (scale * r for r in case["inputs"]["tapes_m"])
    at = crossing(first, second, one, two)
    if scale == 1:
        agrees(case, x=at.x, y=at.y, angle_deg=math.degrees(abs((at - first).heading - (second - first).heading)))
    else:
        assert [4 * v for v in (3, 4, 5)] == case["inputs"]["scaled_m"]
        agrees(case, scaled_x=at.x, scaled_y=at.y)


def test_the_oldest_right_angle_by_measure() -> None:
    case = CASES["POS-03"]
    a, b, c = case["inputs"]["rods_ft"]
    at = crossing(Point(0, 0), Point(b, 0), a, c)
    agrees(case, squares_sum=at.x**2 + at.y**2 + b * b, square_hyp=at.distance(Point(b, 0)) ** 2,
           angle_deg=math.degrees((at - Point(0, 0)).heading))


def test_an_angle_by_its_offset() -> None:
    case = CASES["POS-04"]
    length, angle = case["inputs"]["adjacent_ft"], case["inputs"]["angle_deg"]
    at = along_line(Point(0, 0), Point(10, 0), length, case["results"]["offset_ft"])
    assert math.degrees((at - Point(0, 0)).heading) == pytest.approx(angle, abs=math.degrees(0.05 / length))
    exact = along_line(Point(0, 0), Point(10, 0), length, case["recomputed"]["offset_ft"])
    assert math.degrees((exact - Point(0, 0)).heading) == pytest.approx(angle, abs=1e-6)


def test_a_check_line_across_a_triangle() -> None:
    case = CASES["POS-06"]
    inputs = case["inputs"]
    c, d = Point(0, 0), Point(inputs["DB_m"] + inputs["BC_m"], 0)
    a = crossing(c, d, inputs["AC_m"], inputs["AD_m"])
    b = along_line(c, d, inputs["BC_m"], 0.0)
    agrees(case, AB=a.distance(b))


def test_how_long_an_offset_may_be_for_its_squareness() -> None:
    """Our linear form gives the shift per radian that the offset's right angle is out; the print uses the sine."""
    case = CASES["POS-08"]
    inputs = case["inputs"]
    lean, may = inputs["squareness_error_deg"] * A_DEGREE, inputs["plot_accuracy_cm"] * inputs["scale_m_per_cm"]
    form = line_form(np.array([10.0, 1.0]), np.zeros(2), np.array([20.0, 0.0]), Tape(), out=True)
    per_metre = float(np.hypot(*form.noise[:, 2]))
    assert may / (per_metre * math.sin(lean)) == pytest.approx(case["results"]["max_offset"], abs=1e-3)
    turned = along_line(Point(0, 0), Point(20, 0), 10.0, 0.0) + Vec.polar(math.pi / 2 + lean, 6.884)
    assert turned.x == pytest.approx(10.0 - may, abs=1e-3)


def test_no_angle_under_30_degrees_without_a_third_tape() -> None:
    assert math.degrees(math.asin(SHARPEST)) == pytest.approx(CASES["POS-10"]["results"]["limit_low_deg"])


def test_error_of_a_fix_by_the_angle_of_its_tapes() -> None:
    case = CASES["POS-13"]
    for cut in case["inputs"]["cut_deg"]:
        p = np.zeros(2)
        away = np.array([math.cos(cut * A_DEGREE), math.sin(cut * A_DEGREE)])
        form = ties_form(p, [np.array([8.0, 0.0]), 8.0 * away], Tape())
        agrees(case, **{f"k{cut}": math.sqrt(float(np.trace(form.noise @ form.noise.T)))})


def test_two_corners_by_four_tapes() -> None:
    case = CASES["POS-14"]
    inputs = case["inputs"]
    sw, se = Point(*inputs["SW"]), Point(*inputs["SE"])
    nw = crossing(sw, se, inputs["NW_from_SW"], inputs["NW_from_SE"])
    ne = crossing(sw, se, inputs["NE_from_SW"], inputs["NE_from_SE"])
    agrees(case, NW_x=nw.x, NW_y=nw.y, NE_x=ne.x, NE_y=ne.y, fourth_side=nw.distance(ne))


def test_table_of_crossing_tapes() -> None:
    case = CASES["DER-01"]
    step = case["inputs"]["step_mm"]
    for cut, total, worst in zip(case["inputs"]["cut_deg"], case["results"]["total_over_s"],
                                 case["results"]["worst_shift_mm"], strict=True):
        g = cut * A_DEGREE
        far = np.array([math.cos(g), math.sin(g)]) * 9.0
        form = ties_form(np.zeros(2), [np.array([9.0, 0.0]), far], Tape())
        assert math.sqrt(float(np.trace(form.noise @ form.noise.T))) == pytest.approx(total, abs=0.05)
        a, b = Point(9.0, 0.0), Point(*far)
        shifts = [crossing(a, b, 9.0 + i * step / 2000, 9.0 + j * step / 2000, left=left).distance(Point(0, 0)) * 1000
                  for i in (-1, 1) for j in (-1, 1) for left in [(b - a).cross(Point(0, 0) - a) > 0]]
        assert max(shifts) == pytest.approx(worst, abs=0.08)


def test_bigger_triangles_make_better_right_angles() -> None:
    case = CASES["DER-02"]
    for (a, b, c), aside in zip(case["inputs"]["triangles_m"], case["results"]["aside_mm"], strict=True):
        at = crossing(Point(0, 0), Point(b, 0), a, c + case["inputs"]["excess_m"])
        lean = (at - Point(0, 0)).heading - math.pi / 2
        assert case["inputs"]["out_m"] * 1000 * lean == pytest.approx(aside, abs=case["tolerance"])


# -- curves --------------------------------------------------------------------------------------------------------


def test_offsets_from_chords_produced_lie_on_the_curve() -> None:
    """The printed offsets, laid by two tapes from peg and produced chord, come to lie on the printed circle."""
    case = CASES["CRV-03"]
    radius, chord = case["inputs"]["R_m"], case["inputs"]["normal_chord_m"]
    middle = Point(0, radius)
    before, at, offset = Point(-chord, 0), Point(0, 0), case["results"]["O_first"]
    for _ in range(6):
        produced = along_line(before, at, before.distance(at) + chord, 0.0)
        before, at = at, crossing(at, produced, chord, offset, left=True)
        offset = case["results"]["O_normal"]
        assert middle.distance(at) == pytest.approx(radius, abs=0.02)     # the rules are parabolas: 12 mm in 30 m
    agrees(case, T=radius * math.tan(math.radians(180 - case["inputs"]["intersection_angle_deg"]) / 2))


def test_two_curves_by_their_degree() -> None:
    case = CASES["CRV-09"]
    radius = 18000 / math.pi / case["inputs"]["D_deg"]                    # an arc of 100 ft turns by D
    for k in (1, 2):
        turn = math.radians(case["inputs"][f"deflection{k}_deg"])
        path = rounded_path([(Point(-5000, 0), 0.0), (Point(0, 0), radius), (Point(0, 0) + Vec.polar(turn, 5000), 0.0)])
        arc = path.segments[1]
        assert isinstance(arc, Arc)
        agrees(case, R_ft=arc.radius, **{f"T{k}_ft": -arc.start.x, f"L{k}_ft": arc.length})


def test_rise_of_a_chord_on_a_railway_curve() -> None:
    case = CASES["CRV-18"]
    half, radius = case["inputs"]["chord_m"] / 2, case["inputs"]["R_m"]
    foot = along_line(Point(-half, 0), Point(half, 0), half, case["recomputed"]["versine_mm"] / 1000)
    assert foot.distance(Point(0, -math.sqrt(radius**2 - half**2))) == pytest.approx(radius, abs=1e-6)
    agrees(case, versine_mm=1000 * foot.y)


def test_the_quarter_rule_is_only_good_for_flat_arcs() -> None:
    case = CASES["DER-03"]
    for (radius, chord), error in zip(case["inputs"]["R_chord_m"], case["results"]["error_mm"], strict=True):
        assert 1000 * halving_error(radius, chord) == pytest.approx(error, abs=case["tolerance"])


def test_a_stretched_loop_makes_a_wider_ellipse() -> None:
    case = CASES["DER-04"]
    for (a, b), loop, longer, wider in zip(case["inputs"]["half_axes_m"], case["results"]["loop_m"],
                                           case["results"]["longer_mm"], case["results"]["wider_mm"], strict=True):
        f = math.sqrt(a * a - b * b)
        assert 2 * a + 2 * f == pytest.approx(loop, abs=6e-4)
        outline = ellipse(Point(0, 0), 2 * a, 2 * b, 0.0, gap=0.005)
        stretched = 1.01 * (2 * a + 2 * f)
        rows = [{"peg": name, "element": "oval", "purpose": "focus", "x": f"{x}", "y": "0", "from_1": "",
                 "method": "ties", "reading_1": "", "remark": f"loop {stretched:.6f}"}
                for name, x in (("F1", -f), ("F2", f))]
        found = strays(rows, {"F1": Point(-f, 0), "F2": Point(f, 0)}, {"oval": (outline,)})["oval"]
        half = (stretched - 2 * f) / 2
        assert 2000 * (half - a) == pytest.approx(longer, abs=case["tolerance"])
        across_it = 2000 * (math.sqrt(half**2 - f**2) - b)
        assert across_it == pytest.approx(wider, abs=case["tolerance"])
        assert found.area == pytest.approx(math.pi * (half * math.sqrt(half**2 - f**2) - a * b), rel=0.1)
        assert found.largest == pytest.approx(across_it / 2, rel=0.1)


# -- adjustment ----------------------------------------------------------------------------------------------------


def levels(known: dict[str, float], lines: list[tuple[str, str, float, float]], start: dict[str, float]) -> Fit:
    """Level lines as readings along one straight line: heights are x, differences are distances of known sign."""
    names = [*known, *start]
    marks = tuple(MarkGiven(name=n) for n in names)
    rows: list[Row] = []
    for one, other, difference, sd in lines:
        i, j = names.index(one), names.index(other)
        low, high = (i, j) if difference > 0 else (j, i)
        rows.append(Seen(low, high, one, other, abs(difference), sd))
    places = np.array([[{**known, **start}[n], 0.0] for n in names])
    basis = np.zeros((2 * len(names), len(start)))
    for k, name in enumerate(start):
        basis[2 * names.index(name), k] = 1.0
    return fitted(Network(marks, tuple(rows), places, basis, 0), places, rows)


def test_points_levelled_from_several_benchmarks() -> None:
    case = CASES["LSQ-02"]
    to_q, to_r, out = (case["inputs"][k] for k in ("dElev_to_Q_ft", "dElev_to_R_ft", "residuals_Q_ft"))
    marks = {name: -(d + v) for (name, d), v in zip(to_q.items(), out, strict=True)}      # Q at nothing
    q = levels(marks, [(name, "Q", d, 1.0) for name, d in to_q.items()], {"Q": 0.0})
    assert float(q.places[-1, 0]) == pytest.approx(0.0, abs=6e-3)
    agrees(case, sum_v2_Q=q.omega)
    r = levels(marks, [(name, "R", d, 1.0) for name, d in to_r.items()], {"R": -12.5})
    left = {name: (float(r.places[-1, 0]) - marks[name]) - d for name, d in to_r.items()}
    agrees(case, vR_A=left["BMA"], vR_C=left["BMC"], vR_D=left["BMD"], sum_v2_R=r.omega, sum_v2=q.omega + r.omega)
    assert q.redundant + r.redundant == 5


def test_a_level_net_weighted_by_length() -> None:
    case = CASES["LSQ-04"]
    lines = []
    for text in case["inputs"]["lines"]:
        name, rest = text.split(": ")
        rise, run = rest.split(" m over ")
        lines.append((*name.split("-"), float(rise), math.sqrt(0.1 * float(run.removesuffix(" km")))))
    fit = levels({"A": case["inputs"]["A_m"]}, lines, {"B": 825.4, "C": 835.8, "D": 809.9, "E": 831.2})
    agrees(case, **dict(zip("BCDE", (float(v) for v in fit.places[1:, 0]), strict=True)),
           variance_factor=fit.omega / fit.redundant)


def test_a_level_net_between_two_benchmarks() -> None:
    case = CASES["LSQ-06"]
    lines = []
    for text in case["inputs"]["lines"]:
        name, rise = text.split(" ")
        lines.append((*name.split("-"), float(rise), 1.0))
    fit = levels({"X": case["inputs"]["BMX"], "Y": case["inputs"]["BMY"]}, lines, {"A": 105.1, "B": 104.4, "C": 106.1})
    agrees(case, **dict(zip("ABC", (float(v) for v in fit.places[2:, 0]), strict=True)))


def test_a_point_by_three_distances() -> None:
    case = CASES["LSQ-03"]
    names = "ABCU"
    known = [case["inputs"][f"{n}_xy_ft"] for n in "ABC"]
    places = np.array([*known, [6800.0, 3700.0]])
    rows = [Seen(i, 3, names[i], "U", d, 1.0) for i, d in enumerate(case["inputs"]["distances_ft"])]
    basis = np.zeros((8, 2))
    basis[6, 0] = basis[7, 1] = 1.0
    fit = fitted(Network(tuple(MarkGiven(name=n) for n in names), tuple(rows), places, basis, 0), places, rows)
    agrees(case, Ux=float(fit.places[3, 0]), Uy=float(fit.places[3, 1]), S0=math.sqrt(fit.omega / fit.redundant),
           **{f"v{k + 1}": -float(v) for k, v in enumerate(fit.residuals)})


@pytest.mark.parametrize("seed", range(12))
def test_networks_are_adjusted_as_a_general_library_does(seed: int) -> None:
    """Scipy's least squares, from the same start and datum: places, residuals and covariance agree."""
    marks, _ = network_at_random(seed, 4 + seed % 4, noise=True)
    control = adjust(marks)
    seen = control.readings
    names = [m.name for m in marks]
    rows = [(names.index(r.start), names.index(r.end), r.reading, r.sd) for r in seen]

    def unfold(v: np.ndarray) -> np.ndarray:
        return np.concatenate([[0.0, 0.0, v[0], 0.0], v[1:]]).reshape(-1, 2)

    def misfits(v: np.ndarray) -> list[float]:
        places = unfold(v)
        return [(float(np.hypot(*(places[i] - places[j]))) - d) / sd for i, j, d, sd in rows]

    start = np.array([control.marks[1].at.x, *(c for m in control.marks[2:] for c in (m.at.x, m.at.y))])
    found = least_squares(misfits, start + 0.05, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    places = unfold(found.x)
    for k, mark in enumerate(control.marks):
        assert (mark.at.x, mark.at.y) == pytest.approx(tuple(places[k]), abs=6e-4)       # printed to the millimetre
    left = [-v * r.sd for v, r in zip(found.fun, seen, strict=True)]
    assert [r.residual for r in seen] == pytest.approx(left, abs=1e-7)
    assert control.omega == pytest.approx(float(np.sum(found.fun**2)), rel=1e-6, abs=1e-9)
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    ours = control.covariance
    keep = [2, *range(4, 2 * len(names))]
    assert np.allclose(ours[np.ix_(keep, keep)], covariance, rtol=1e-3, atol=1e-10)
    assert control.redundant == len(rows) - len(start)
    assert sum(r.redundancy for r in seen) == pytest.approx(control.redundant, abs=1e-6)


def test_residuals_do_not_depend_on_the_datum() -> None:
    marks, _ = network_at_random(3, 5, noise=True)
    one, other = adjust(marks, ("A", "B")), adjust(marks, ("B", "A"))
    assert [r.residual for r in one.readings] == pytest.approx([r.residual for r in other.readings], abs=1e-8)
    assert [r.detectable for r in one.readings] == pytest.approx([r.detectable for r in other.readings], rel=1e-6)


# -- tapes and tolerances ------------------------------------------------------------------------------------------


def test_classes_of_tapes() -> None:
    case = CASES["TOL-01"]
    for name, printed in case["results"].items():
        group, length = name.split("_")
        assert case["inputs"]["a_mm"][group] + case["inputs"]["b"][group] * int(length) == pytest.approx(printed)
    by_metre = case["inputs"]["b"]["III"]
    assert pytest.approx(by_metre) == 1000 * READ_PER_METRE
    assert 1000 * PER_METRE_SHARE * Tape().error == pytest.approx(by_metre)
    # What is read and lined up by hand is coarser than the scale itself may be.
    scale = case["inputs"]["a_mm"]["III"] + case["inputs"]["c_mm_end"]["III"]
    assert min(1000 * FIXED_SHARE * Tape().error, 1000 * READ_FIXED) > scale
    assert 1000 * TYPED_SD >= 1000 * READ_FIXED


def test_no_peg_is_asked_for_more_than_standards_ask_of_their_classes() -> None:
    """The least tolerance grows with the root of the distance as in ISO 4463-1, between its two earthwork classes."""
    read, memory = CASES["TOL-04"], CASES["TOL-05"]
    for length in read["inputs"]["L_m"]:
        structure = read["results"]["formula_K"] * math.sqrt(length)
        agrees(read, **{f"d{length}": structure})
        ours = 1000 * NEVER_BELOW * math.sqrt(length)
        assert structure < ours
        assert (memory["results"]["position_normal_earthwork_K"] * math.sqrt(length) <= ours
                <= memory["results"]["position_rough_earthwork_K"] * math.sqrt(length))


def test_limits_of_checks_let_honest_tapes_pass() -> None:
    """From memory: a steel tape in general use is good to 5, 10 and 15 mm; a check of that length allows it."""
    case = CASES["TOL-06"]["results"]
    for length, good in ((5.0, case["general_to5m"]), (25.0, case["general_5_25m"]), (30.0, case["general_over25m"])):
        tape = Tape()
        assert tape.limit(tape.sd(length)) >= good
        assert 1000 * tape.sd(length) <= good + 0.5


def test_typed_coordinates_and_ties_share_one_rule() -> None:
    """A tie's own error, where the model states one, is what the adjustment uses."""
    marks = (MarkGiven(name="A", at=Point(0, 0)), MarkGiven(name="B", at=Point(8, 0)),
             MarkGiven(name="C", side="left",
                       ties=(Tie(mark="A", reading=5.0, error=0.02), Tie(mark="B", reading=6.0))))
    sds = {r.name: r.sd for r in adjust(marks).readings}
    assert sds["C-A"] == pytest.approx(0.02)
    assert sds["C-B"] == pytest.approx(math.sqrt(READ_FIXED**2 + (6 * READ_PER_METRE) ** 2 + 0.005**2 / 12))
    assert isinstance(Typed(1, 0, "B", 8.0, TYPED_SD), Typed)
