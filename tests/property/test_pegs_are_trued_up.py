"""Truing up does what it says: errors after it are those of trials, its lines are free, and gardens come out inside.

Gardens of seeds that nobody looked at while building; the long campaign takes forty.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.features import Purpose
from pegbook.geometry.kernel.flatten import polygon
from pegbook.geometry.pegs.csvs import checks_csv, pegs_csv, recovery_csv
from pegbook.geometry.pegs.peg import CheckKind, Method, PegSet
from pegbook.geometry.pegs.proof import prove_set
from pegbook.geometry.pegs.shape import shape_errors
from pegbook.geometry.pegs.tape import Tape
from pegbook.geometry.pegs.truing import Truing, free_basis, of_extra_marks
from support.aspegged import of_seed
from support.plots import Plot

TAPE = Tape()
QUICK = (330, 331, 332)
MANY = [*QUICK, *(pytest.param(seed, marks=pytest.mark.deep) for seed in range(400, 440))]
RECTANGLE = np.array([(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0)])
SIX = ((0, 1), (1, 2), (2, 3), (0, 3), (0, 2), (1, 3))


def joint_of(seed: int, count: int, size: float) -> np.ndarray:
    """A random joint covariance of `count` places with errors of about `size` metres."""
    rng = np.random.default_rng(seed)
    root = rng.standard_normal((2 * count, 2 * count)) * size / math.sqrt(2 * count)
    return (root @ root.T).reshape(count, 2, count, 2).transpose(0, 2, 1, 3)


def rectangle(held: tuple[int, int] = (0, 2)) -> Truing:
    """A rectangle of 6 by 4 m with its sides and diagonals; one corner fixed, one free in line with it only."""
    way = RECTANGLE[held[1]] - RECTANGLE[held[0]]
    free = [k for k in range(4) if k not in held]
    return Truing(RECTANGLE, SIX, free_basis(4, free, {held[1]: way / np.hypot(*way)}))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.003, 0.03))
def test_errors_after_truing_are_those_of_trials(seed: int, size: float) -> None:
    truing, rng = rectangle(), np.random.default_rng(seed)
    joint = joint_of(seed, 4, size)
    values, vectors = np.linalg.eigh(joint.transpose(0, 2, 1, 3).reshape(8, 8))
    before = rng.standard_normal((20_000, 8)) @ (vectors * np.sqrt(np.maximum(values, 0.0))).T
    errors = rng.standard_normal((20_000, 6)) * [TAPE.sd(float(d)) for d in truing.lengths]
    places = truing.moved(RECTANGLE + before.reshape(-1, 4, 2), errors) - RECTANGLE
    places += np.where(truing.moving[:, None], TAPE.peg_sd, 0.0) * rng.standard_normal(places.shape)
    after = truing.after(joint, TAPE)
    for k in range(4):
        assert math.sqrt(float(np.trace(after[k, k]))) == pytest.approx(
            math.sqrt(float((places[:, k] ** 2).sum(axis=1).mean())), rel=0.04)


@given(st.integers(0, 10_000), st.sampled_from([(0, 2), (1, 3), (0, 1)]))
def test_shape_after_truing_does_not_hang_on_how_the_pegs_were_set(seed: int, held: tuple[int, int]) -> None:
    truing = rectangle(held)
    found = [shape_errors(RECTANGLE, [None] * 4, truing.after(joint_of(seed, 4, size), TAPE)) for size in (0.005, 0.05)]
    assert np.allclose(found[0], found[1], rtol=1e-6)
    assert float(found[0].max()) < 0.005


def test_a_rectangle_out_of_true_is_made_true() -> None:
    truing = rectangle()
    wrong = RECTANGLE + np.array([(0.0, 0.0), (0.004, -0.003), (0.006, 0.005), (-0.005, 0.002)])
    for _ in range(4):
        wrong = truing.moved(wrong[None], np.zeros((1, 6)))[0]
    for a, b in SIX:
        assert math.dist(wrong[a], wrong[b]) == pytest.approx(math.dist(RECTANGLE[a], RECTANGLE[b]), abs=1e-7)
    assert tuple(wrong[0]) == (0.0, 0.0)


def test_what_no_line_fixes_stays() -> None:
    places = np.array([(0.0, 0.0), (8.0, 0.0), (4.0, 0.01)])     # all but in line: nothing holds the third across
    truing = Truing(places, ((0, 2), (1, 2)), free_basis(3, [2], {}))
    after = truing.after(joint_of(1, 3, 0.01), TAPE)
    assert math.sqrt(after[2, 2, 1, 1]) < 0.05


def free_of(garden: Plot, pegs: PegSet, a: str, b: str) -> bool:
    """Whether a tape between two pegs keeps clear of everything that stands; ends within a thing's clearance may."""
    named = pegs.by_name()
    ends = [(p.at.x, p.at.y) for p in (named[a], named[b])]
    line = shapely.LineString(ends)
    for thing in garden.obstacles:
        body = polygon(thing.body, 0.001)
        banded = min(body.distance(shapely.Point(e)) for e in ends) <= thing.clear + 1e-6
        if line.intersection(body.buffer(-0.015)).length > 0.005 or (
                not banded and body.distance(line) < thing.clear - 0.01):
            return False
    return True


@pytest.mark.parametrize("seed", MANY)
def test_truing_lines_and_strings_are_free(seed: int) -> None:
    garden, pegs = of_seed(seed)
    for check in pegs.checks:
        if check.kind in (CheckKind.TRUE, CheckKind.CLOSING, CheckKind.PEG):
            assert free_of(garden, pegs, check.start, check.end), (check.start, check.end)
    for p in pegs.pegs:
        if p.method in (Method.LINE, Method.OFFSET, Method.CHORD) and p.purpose is not Purpose.RECOVERY:
            assert free_of(garden, pegs, *p.sources[:2]), p.name


@pytest.mark.parametrize("seed", MANY)
def test_what_is_held_and_trued_is_its_own(seed: int) -> None:
    _, pegs = of_seed(seed)
    for element, (fixed, along) in pegs.held.items():
        own = {p.name: p for p in pegs.of(element)}
        assert fixed != along
        assert own[fixed].primary
        assert own[along].primary
        assert all(p.trued_square is not None and p.trued_shape is not None for p in own.values())
        lines = [c for c in pegs.checks if c.kind is CheckKind.TRUE and c.element == element]
        assert lines
        assert all(c.start in own and c.end in own for c in lines)
    assert all(p.trued_square is None for p in pegs.pegs if p.element not in pegs.held)
    extra = of_extra_marks(pegs)
    if extra is not None:
        names, truing = extra
        moving = {n for n, m in zip(names, truing.moving, strict=True) if m}
        assert moving == {p.name for p in pegs.pegs if p.purpose is Purpose.AUXILIARY}


@pytest.mark.parametrize("seed", MANY)
def test_gardens_are_set_proved_and_sharp(seed: int) -> None:
    garden, pegs = of_seed(seed)
    proof = prove_set(pegs, pegs_csv(pegs), recovery_csv(pegs))
    assert proof.good, proof.fault
    order = {p.name: p.order for p in pegs.pegs}
    for p in pegs.pegs:
        assert all(order[s] < p.order for s in p.sources), p.name
        assert p.angle is None or p.from_3 or 30 - 1e-6 <= p.angle <= 150 + 1e-6, p.name
    assert "true" in checks_csv(pegs) or not pegs.held
    assert len({p.element for p in pegs.pegs if p.element}) == len(garden.peggings)


@pytest.mark.deep
def test_forty_gardens_are_inside() -> None:
    mine = [p for seed in range(400, 440) for p in of_seed(seed)[1].pegs if p.element and p.shape_limit is not None]
    assert sum(p.inside for p in mine) >= 0.92 * len(mine)
