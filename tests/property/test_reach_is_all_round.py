"""What is within a tape of what: found by strips, against every pair measured."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pegbook.geometry.pegs.linear import NEAREST
from pegbook.geometry.pegs.reach import in_reach, longest
from pegbook.geometry.pegs.tape import Tape

SIZES = st.integers(0, 40)


@given(SIZES, SIZES, st.floats(0.5, 200), st.floats(0.5, 200), st.floats(0, 40), st.integers(0, 10_000))
def test_pairs_within_reach_are_those_of_every_pair_measured(count: int, others: int, wide: float, deep: float,
                                                             length: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    points, spots = (rng.uniform(-1, 1, (n, 2)) * (wide, deep) + 50.0 for n in (count, others))
    spots = np.round(spots, 1)
    lengths = rng.uniform(0, length, count) if length else np.zeros(count)
    a, b = in_reach(points, spots, lengths)
    assert list(a) == sorted(a)
    apart = np.hypot(*(points[:, None] - spots[None]).transpose(2, 0, 1))
    want = np.argwhere((apart <= lengths[:, None]) & (apart >= NEAREST))
    assert sorted(zip(a.tolist(), b.tolist(), strict=True)) == [tuple(pair) for pair in want.tolist()]


@given(st.floats(1e-9, 1.0), st.floats(0.001, 0.05))
def test_the_longest_reading_of_a_variance_has_that_variance(variance: float, error: float) -> None:
    tape = Tape(error=error)
    found = float(longest(np.array([variance]), tape)[0])
    assert 0 <= found <= tape.length
    sure = tape.sd(found) ** 2
    assert sure <= variance * (1 + 1e-9) or found == 0.0
    assert found == tape.length or found == 0.0 or abs(sure - variance) <= 1e-9 * variance
