"""The search for label places counts what bars what as it goes: the counts are those of a count from nothing."""

from __future__ import annotations

from functools import cache

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.drawings.blocks import Block, block
from pegbook.drawings.candidates import Anchor, Options, led, touching
from pegbook.drawings.obstacles import ObstacleIndex
from pegbook.drawings.placing import Search
from pegbook.drawings.thinning import Sheet, Thinning
from pegbook.geometry.kernel.point import Box
from support.label_sheets import setting_out_sheet

SEEDS = 4
MOST_INK = 0.05
"""So little ink that every square with lettering is too full, and every label is asked to move."""


@cache
def places(seed: int) -> tuple[Options, Options, tuple[Block, ...], Box]:
    """Return places beside their pegs and places on leaders of sixty numbers, their blocks, and the field."""
    sheet = setting_out_sheet("A3", 60, seed)
    index = ObstacleIndex(sheet.obstacles, sheet.field)
    anchors = [Anchor(k, r.name, r.at.x, r.at.y, r.radius, block(r.lines), r.gaps, r.places, r.leader)
               for k, r in enumerate(sheet.requests)]
    return touching(anchors, index), led(anchors, index), tuple(a.setting for a in anchors), sheet.field


def counted(search: Search) -> list[int]:
    """Count for each option the labels that stand in its way, one pair at a time."""
    found = np.zeros(len(search.pool), dtype=np.int64)
    for option in search.chosen[search.chosen >= 0].tolist():
        found[search.struck(option, np.arange(len(search.pool)))] += 1
    return found.tolist()


@settings(max_examples=12, deadline=None)
@given(st.integers(0, SEEDS - 1), st.sets(st.integers(0, 59)), st.sets(st.integers(0, 59)))
def test_what_is_blocked_is_what_stands_in_the_way(seed: int, gone: set[int], late: set[int]) -> None:
    near, far, _, _ = places(seed)
    search = Search(60, near)
    search.construct()
    for label in sorted(gone):
        if search.chosen[label] >= 0:
            search.leave(label)
    search.offer(far.kept(np.isin(far.owner, sorted(late))))
    for label in sorted(gone):
        search.settle(label)
    search.polish()
    assert search.blocked.tolist() == counted(search)
    standing = search.chosen[search.chosen >= 0]
    assert not search.blocked[standing].any()


@settings(max_examples=8, deadline=None)
@given(st.integers(0, SEEDS - 1), st.floats(0.0, 40.0))
def test_the_ink_of_squares_follows_what_moves(seed: int, inked: float) -> None:
    near, far, blocks, field = places(seed)
    search = Search(60, near)
    search.construct()
    sheet = Sheet.of(field)
    ink = np.full(sheet.across * sheet.up, inked / 16)
    shade = ink / 2
    thinning = Thinning(search, sheet, ink, shade, lambda label, way: blocks[label], MOST_INK)
    before = search.chosen.copy()
    thinning.run(lambda labels: far.kept(np.isin(far.owner, labels)))
    again = Thinning(search, sheet, ink, shade, lambda label, way: blocks[label], MOST_INK)
    assert (search.chosen != before).any()
    assert np.allclose(thinning.squares, again.squares, atol=1e-9)
