"""Taped measures say which peg is wrong, where they can show it; where they cannot, the candidates are named."""

from __future__ import annotations

from collections import Counter

import pytest

from pegbook.geometry.pegs.measured import judge
from support.aspegged import TAPED, of_seed
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
    found = honest(range(300, 303))
    assert found["gardens"] > 1
    assert found["blamed"] == 0


def test_a_check_and_the_peg_at_its_end_are_told_apart_by_one_more_measure() -> None:
    """A peg that one measure alone touches, and which reads wrong: either may be; the advice says what decides."""
    _, pegs = of_seed(301)
    touched = Counter(name for c in pegs.checks if c.kind in TAPED for name in (c.start, c.end))
    check = next(c for c in pegs.checks if c.kind in TAPED and touched[c.end] == 1 and not c.end.isalpha())
    named = pegs.by_name()
    rows = ["from,to,reading,when"]
    for c in pegs.checks:
        if c.kind in TAPED:
            d = (named[c.start].rebuilt or named[c.start].at).distance(named[c.end].rebuilt or named[c.end].at)
            rows.append(f"{c.start},{c.end},{d + (0.137 if c is check else 0.0):.3f},")
    verdict = judge(pegs, "\n".join(rows))
    assert not verdict.good
    assert not verdict.sure
    assert {f.subject for f in verdict.faults[:2]} >= {check.end}
    assert verdict.advice[-1] == (f"if {check.start} to {check.end} reads the same again, {check.end} stands wrong: "
                                  f"measure {check.end} from one more mark as well")


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
