"""One wrong reading of a network of marks is named, where it can be seen at all and told from others."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from pegbook.geometry.errors import ModelError
from pegbook.geometry.pegs.control import adjust
from support.networks import mistaken, network_at_random, ties_of, with_reading

KINDS = ("metre", "decimetre", "swapped")
NETWORKS = ((5, 2), (5, 3), (6, 3), (6, 6), (7, 10))
"""Marks, and how many of the distances between them are redundant."""


def campaign(count: int, redundant: int, kind: str, seeds: range) -> Counter[str]:
    """Corrupt one reading of each network. `clear`: the mistake is detectable and its reading separable."""
    found: Counter[str] = Counter()
    for seed in seeds:
        marks, _ = network_at_random(1000 * seed + 31 * count + redundant, count, redundant=redundant)
        rng = random.Random(10 * seed + KINDS.index(kind))
        honest = adjust(marks)
        found["honest"] += 1
        found["falsely sure"] += honest.wrong > 0.5 and honest.sure
        found["falsely flagged"] += honest.wrong > 0.5
        m, t = where = rng.choice(ties_of(marks))
        tie = marks[m].ties[t]
        value = mistaken(rng, tie.reading, kind)
        if value is None:
            continue
        reading = next(r for r in honest.readings if r.start == marks[m].name and r.end == tie.mark)
        clear = abs(value - tie.reading) >= reading.detectable and not reading.like
        found["wrong"] += 1
        found["clear"] += clear
        try:
            judged = adjust(with_reading(marks, where, value))
        except ModelError:
            found["refused"] += 1
            continue
        named = judged.wrong > 0.5 and judged.suspects[0].names == (reading.name,)
        found["named"] += named
        found["clear and named"] += clear and named
        found["clear, in three"] += clear and any(s.names == (reading.name,) for s in judged.suspects[:3])
        found["sure"] += judged.sure and judged.wrong > 0.5
        found["sure and right"] += judged.sure and named
    return found


def share(found: Counter[str], part: str, whole: str) -> float:
    return found[part] / max(found[whole], 1)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("count", "redundant"), [(5, 3), (6, 6)])
def test_a_few_networks(count: int, redundant: int, kind: str) -> None:
    found = campaign(count, redundant, kind, range(14))
    assert found["clear and named"] >= found["clear"] - 1
    assert found["sure and right"] == found["sure"]
    assert found["falsely sure"] == 0


@pytest.mark.deep
def test_many_networks() -> None:
    """At least 95 in 100 of what is detectable and separable are named, of each kind; who is sure is right."""
    total: dict[str, Counter[str]] = {kind: Counter() for kind in KINDS}
    print("\nmarks redundant  kind        wrong  named   clear  named  in three    sure  right  refused  in vain")
    for count, redundant in NETWORKS:
        for kind in KINDS:
            f = campaign(count, redundant, kind, range(2000, 2200))
            total[kind] += f
            print(f"{count:5} {redundant:9}  {kind:10} {f['wrong']:6} {share(f, 'named', 'wrong'):6.3f} {f['clear']:7} "
                  f"{share(f, 'clear and named', 'clear'):6.3f} {share(f, 'clear, in three', 'clear'):9.3f} "
                  f"{f['sure']:7} {share(f, 'sure and right', 'sure'):6.3f} {f['refused']:8} "
                  f"{f['falsely flagged']:5}", flush=True)
    for kind, f in total.items():
        print(f"all {kind}: {f['clear']} clear, {share(f, 'clear and named', 'clear'):.3f} named; "
              f"{f['sure']} sure, {share(f, 'sure and right', 'sure'):.3f} right")
        assert share(f, "clear and named", "clear") >= 0.95, kind
        assert share(f, "sure and right", "sure") >= 0.975, kind
        assert f["falsely sure"] == 0
        assert share(f, "falsely flagged", "honest") < 0.01


def test_a_reading_that_nothing_checks_is_said_to_be_so() -> None:
    marks, _ = network_at_random(5, 4, redundant=0)
    control = adjust(marks)
    assert control.redundant == 0
    assert not control.suspects
    assert [p.code for p in control.problems] == ["reading-unchecked"] * len(control.readings)


def test_with_one_redundant_reading_nothing_is_separable() -> None:
    marks, _ = network_at_random(8, 4, redundant=1)
    control = adjust(marks)
    assert all(r.like or not r.checked for r in control.readings)


def test_a_reading_out_by_many_metres_leads_no_mark_astray() -> None:
    """The places come out as without the wrong reading, however far it is out."""
    marks, places = network_at_random(21, 6, noise=False)
    for m, t in ties_of(marks):
        for change in (1.0, 9.0, 60.0):
            judged = adjust(with_reading(marks, (m, t), marks[m].ties[t].reading + change))
            assert judged.suspects[0].names == (f"{marks[m].name}-{marks[m].ties[t].mark}",)
            assert judged.suspects[0].should_be[0] == pytest.approx(marks[m].ties[t].reading, abs=0.02)
    del places
