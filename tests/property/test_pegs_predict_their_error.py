"""Predicted errors are what happens: linear forms add up, covariances agree with trials, textbook forms hold."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.pegs.as_built import trials
from pegbook.geometry.pegs.ground import form_of
from pegbook.geometry.pegs.linear import CHORD, LINE, OFFSET, RADIUS, THREE, TIES, line_form, ties_form
from pegbook.geometry.pegs.peg import Method
from pegbook.geometry.pegs.rebuild import across, along_line, three_tapes
from pegbook.geometry.pegs.rounding import _best
from pegbook.geometry.pegs.shape import shape_errors
from pegbook.geometry.pegs.tape import Tape
from support.aspegged import driven, of_seed

TAPE = Tape()
metres = st.floats(1.0, 25.0)
turns = st.floats(0.0, 2 * math.pi)


@given(metres, metres, metres, st.floats(0.55, 2.5), turns, st.sampled_from((TIES, RADIUS, OFFSET, CHORD, LINE, THREE)))
def test_shifts_of_all_sources_together_shift_the_peg(r1: float, r2: float, r3: float, cut: float, turn: float,
                                                      method: int) -> None:
    p = np.array([3.0, -2.0])
    away = [np.array([math.cos(turn + k * cut), math.sin(turn + k * cut)]) * r for k, r in enumerate((r1, r2, r3))]
    sources = [p + a for a in away[:3 if method == THREE else 2]]
    form = form_of(method, p, sources, TAPE)
    assert np.allclose(sum(form.shifts), np.eye(2), atol=1e-9)


@given(metres, metres, st.floats(0.55, 2.55))
def test_forms_are_the_derivatives_of_the_rebuild(r1: float, r2: float, cut: float) -> None:
    p = Point(1.0, 2.0)
    a, b = Point(p.x + r1, p.y), Point(p.x + r2 * math.cos(cut), p.y + r2 * math.sin(cut))
    left = (b - a).cross(p - a) > 0
    form = ties_form(np.array([p.x, p.y]), [np.array([a.x, a.y]), np.array([b.x, b.y])], TAPE)
    h = 1e-6
    for k in (0, 1):
        readings = [r1, r2]
        readings[k] += h
        moved = across(a, b, *readings, left)
        assert moved is not None
        assert np.allclose(form.noise[:, k], [(moved.x - p.x) / h, (moved.y - p.y) / h], atol=1e-4 * (1 + r1 + r2))


@given(metres, st.floats(0.53, 2.6))
def test_two_tapes_of_one_length_as_in_the_textbook(r: float, cut: float) -> None:
    # total s sqrt 2 / sin g, half axes s / sqrt(1 +- cos g): derived; the total is Kahmen's (from memory)
    p = np.zeros(2)
    form = ties_form(p, [np.array([r, 0.0]), np.array([r * math.cos(cut), r * math.sin(cut)])], TAPE)
    cov = (form.noise * form.sds**2) @ form.noise.T
    s = TAPE.sd(r)
    assert math.sqrt(np.trace(cov)) == pytest.approx(s * math.sqrt(2) / math.sin(cut), rel=1e-9)
    axes = sorted(s / math.sqrt(1 + sign * math.cos(cut)) for sign in (1, -1))
    assert np.sqrt(np.linalg.eigvalsh(cov)) == pytest.approx(axes, rel=1e-6)


@pytest.mark.parametrize(("along", "out", "total"), [(5.0, 3.0, 15.9), (4.0, 0.0, 4.40), (14.0, 0.0, 8.92)])
def test_lines_against_simulation(along: float, out: float, total: float) -> None:
    rng = np.random.default_rng(5)
    n = 60_000
    a, b = rng.normal(0, 0.002, (2, n, 2))
    b = b + np.array([10.0, 0.0])
    u = (b - a) / np.hypot(*(b - a).T)[:, None]
    left = np.column_stack([-u[:, 1], u[:, 0]])
    t = along + rng.normal(0, TAPE.sd(along), n)
    o = out + (rng.normal(0, TAPE.sd(out), n) if out else 0)
    lean = rng.normal(0, 0.005, n) if out else np.zeros(n)
    at = (a + u * (t - out * lean)[:, None] + left * (o + rng.normal(0, 0.002, n))[:, None]
          + rng.normal(0, 0.002, (n, 2)))
    form = line_form(np.array([along, out]), np.zeros(2), np.array([10.0, 0.0]), TAPE, out=bool(out))
    cov = (form.noise * form.sds**2) @ form.noise.T + np.eye(2) * 4e-6
    cov = cov + sum(s @ s.T for s in form.shifts) * 4e-6
    seen = math.sqrt(float(np.trace(np.cov(at.T))))
    assert math.sqrt(float(np.trace(cov))) == pytest.approx(seen, rel=0.03)
    del total


@pytest.mark.parametrize("seed", [301, 307, 310])
def test_predicted_errors_agree_with_trials(seed: int) -> None:
    _, pegs = of_seed(seed)
    seen = list(trials(pegs, 2000, seed=3))
    worst = max(seen, key=lambda t: abs(t.ratio - 1))
    assert 0.9 < worst.ratio < 1.1, worst


def test_pegs_of_one_centre_are_nearer_to_each_other_than_their_errors_say() -> None:
    _, pegs = of_seed(303)
    rim = next(ps for e in pegs.elements for ps in [[p for p in pegs.of(e) if p.purpose is Purpose.CURVE
                                                     and p.method is Method.LINE]] if len(ps) >= 2)
    rng = random.Random(4)
    gaps = []
    for _ in range(600):
        places = driven(pegs, rng)
        assert places is not None
        gaps.append(places[rim[0].name].distance(places[rim[1].name]))
    alone = math.hypot(rim[0].error, rim[1].error) / 1000
    assert float(np.std(gaps)) < alone


@settings(max_examples=60)
@given(st.floats(2.0, 20.0), st.floats(2.0, 20.0), st.floats(0.53, 2.6), st.sampled_from((0.005, 0.001, 0.003175)))
def test_best_of_nine_is_never_worse_and_within_its_bound(r1: float, r2: float, cut: float, step: float) -> None:
    tape = Tape(step=step, feet=step == 0.003175)
    p = Point(0.0, 0.0)
    a, b = Point(r1, 0.0), Point(r2 * math.cos(cut), r2 * math.sin(cut))
    left = (b - a).cross(p - a) > 0
    _, at = _best((r1, r2), tape, lambda r: across(a, b, r[0].metres, r[1].metres, left), p)
    plain = across(a, b, tape.reading(r1).metres, tape.reading(r2).metres, left)
    assert plain is None or at.distance(p) <= plain.distance(p) + 1e-9
    g = min(cut, math.pi - cut)
    if min(r1, r2) > 100 * step:
        assert at.distance(p) <= 1.06 * step / (2 * math.sin(g) * math.cos(g / 2)) + 1e-6
        assert plain is None or plain.distance(p) <= 1.06 * step / (2 * math.sin(g / 2)) + 1e-6


def test_sliding_along_the_curve_is_no_error_of_shape() -> None:
    angles = np.linspace(0, 2 * math.pi, 9)[:-1]
    points = np.column_stack([np.cos(angles), np.sin(angles)]) * 3
    normals = [p / 3 for p in points]
    tangents = np.column_stack([-points[:, 1], points[:, 0]]) / 3
    joint = np.zeros((8, 8, 2, 2))
    for k in range(8):
        joint[k, k] = np.outer(tangents[k], tangents[k]) * 1e-4
    assert np.allclose(shape_errors(points, normals, joint), 0, atol=1e-9)
    joint = np.array([[np.eye(2) * 1e-4] * 8] * 8)          # the whole shifted: no error of shape either
    assert np.allclose(shape_errors(points, [None] * 8, joint), 0, atol=1e-8)


def test_the_middle_of_the_little_triangle_is_least_squares() -> None:
    from scipy.optimize import least_squares
    marks = [Point(0, 0), Point(8, 1), Point(3, 9)]
    readings = [5.02, 6.41, 5.13]
    at = three_tapes(marks, readings, True)
    assert at is not None
    taped = list(zip(marks, readings, strict=True))
    found = least_squares(lambda v: [math.hypot(v[0] - m.x, v[1] - m.y) - r for m, r in taped],
                          [3.0, 4.0], xtol=1e-14, ftol=1e-14, gtol=1e-14)
    assert (at.x, at.y) == pytest.approx(tuple(found.x), abs=1e-6)
    assert along_line(marks[0], Point(4, 0), 3.0, 1.0) == Point(3.0, 1.0)
