"""Pairs are sought at once among few rows and along a sweep among many: both find the same."""

import random

import numpy as np
import pytest

from pegbook.geometry.kernel import crossings
from pegbook.geometry.kernel.crossings import Rows, nodes_near, pairs_near
from pegbook.geometry.kernel.table import sources_of, table_of
from support.shapes import NASTY, arrangement_of


@pytest.mark.parametrize("kind", NASTY)
def test_sweep_finds_what_all_pairs_find(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for seed in range(4):
        rows = Rows.of(table_of(sources_of([arrangement_of(kind, seed)]), 1e-7), 1e-7)
        rng = random.Random(seed)
        nodes = np.array([[rng.uniform(-3, 9), rng.uniform(-3, 9)] for _ in range(50)])
        plain = sorted(zip(*(k.tolist() for k in pairs_near(rows)), strict=True))
        plain_nodes = sorted(zip(*(k.tolist() for k in nodes_near(rows, nodes)), strict=True))
        for chunk in (2_000_000, 7):
            with monkeypatch.context() as patch:
                patch.setattr(crossings, "BROADCAST", 0)
                patch.setattr(crossings, "CHUNK", chunk)
                assert sorted(zip(*(k.tolist() for k in pairs_near(rows)), strict=True)) == plain
                assert sorted(zip(*(k.tolist() for k in nodes_near(rows, nodes)), strict=True)) == plain_nodes
