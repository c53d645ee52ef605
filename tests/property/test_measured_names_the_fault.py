"""Taped measures say which peg is wrong, where they can show it; where they cannot, the candidates are named."""

from __future__ import annotations

import pytest

from support.faults import campaign, honest

GOALS = {"reading": 0.95, "knocked": 0.92, "misread": 0.95}
"""Shares of clear faults that are named at once: a wrong reading, a peg knocked aside, a check misread."""


@pytest.mark.parametrize("kind", GOALS)
def test_a_few_gardens(kind: str) -> None:
    found = campaign(range(300, 302), kind, each=2)
    assert found["clear and named"] == found["clear"]
    assert found["seen and listed"] == found["seen"]
    assert found["sure and right"] == found["sure"]


def test_honest_work_is_blamed_for_nothing() -> None:
    found = honest(range(300, 306))
    assert found["gardens"] > 3
    assert found["blamed"] == 0


@pytest.mark.deep
def test_many_gardens() -> None:
    print("\nfault      made  named   seen  in three  clear  named   sure  right")
    for kind, goal in GOALS.items():
        f = campaign(range(700, 725), kind)
        shares = {part: f[part] / max(f[whole], 1) for part, whole in (
            ("named", "made"), ("seen and listed", "seen"), ("clear and named", "clear"), ("sure and right", "sure"))}
        print(f"{kind:10} {f['made']:4} {shares['named']:6.3f} {f['seen']:6} {shares['seen and listed']:9.3f} "
              f"{f['clear']:6} {shares['clear and named']:6.3f} {f['sure']:6} {shares['sure and right']:6.3f}",
              flush=True)
        assert shares["clear and named"] >= goal, kind
        assert shares["seen and listed"] >= 0.95, kind
        assert shares["sure and right"] >= 0.97, kind
    f = honest(range(700, 740))
    print(f"honest     {f['gardens']:4} gardens, {f['blamed']} blamed")
    assert f["blamed"] == 0
