"""The booklet followed on paper, from its text alone, by somebody who knows nothing: every peg comes to its place."""

from __future__ import annotations

import math
import subprocess
from functools import cache
from shutil import which

import pytest

from pegbook.geometry.pegs.proof import PRINTED, SLACK, rebuilt, rows_of
from support.issued import DEMO, STARTERS, issued, rows, worked
from support.walker import UnclearError, Walk, recovered, steps, walked

pytestmark = pytest.mark.skipif(not which("pdftotext"), reason="pdftotext is not installed")
EVERY = (*DEMO, *STARTERS)


@cache
def paper(name: str) -> str:
    """The booklet's text as any reader of PDF files gives it."""
    return subprocess.run(["pdftotext", "-raw", "-", "-"], input=issued(name)["pegging.pdf"], capture_output=True,
                          check=True).stdout.decode("utf-8")


def marks(name: str) -> dict[str, tuple[float, float]]:
    return {r["peg"]: (float(r["x"]), float(r["y"])) for r in rows(name, "pegs.csv") if r["method"] == "fixed"}


@cache
def followed(name: str) -> Walk:
    walk = walked(paper(name), marks(name))
    recovered(walk, paper(name))
    return walk


@pytest.mark.parametrize("name", EVERY)
def test_every_peg_is_driven_once_from_what_stands(name: str) -> None:
    walk = followed(name)
    wanted = {r["peg"] for r in rows(name, "pegs.csv") if r["method"] != "fixed"}
    assert len(walk.driven) == len(set(walk.driven))
    assert set(walk.driven) == wanted


@pytest.mark.parametrize("name", EVERY)
def test_every_peg_comes_to_its_place(name: str) -> None:
    walk, pegs = followed(name), worked(name).pegs.by_name()
    again = rebuilt(rows_of(issued(name)["pegs.csv"].decode("utf-8")))
    for peg, (x, y) in walk.stands.items():
        assert math.hypot(x - again[peg].x, y - again[peg].y) < 1e-4, peg
        off = math.hypot(x - pegs[peg].at.x, y - pegs[peg].at.y)
        assert off <= pegs[peg].bound / 1000 * SLACK + PRINTED or (off < 0.015 and peg.startswith("R")), (peg, off)


@pytest.mark.parametrize("name", EVERY)
def test_steps_are_numbered_in_the_order_of_the_pegs(name: str) -> None:
    order = {r["peg"]: int(r["order"]) for r in rows(name, "pegs.csv")}
    told = list(steps(paper(name)))
    assert [s.number for s in told] == list(range(1, len(told) + 1))
    first = [min(order[p] for p in s.pegs) for s in told]
    assert first == sorted(first)


def comes_out(name: str, text: str) -> bool:
    """Whether a text leads to where the honest one does."""
    honest = followed(name).stands
    try:
        walk = walked(text, marks(name))
    except UnclearError:
        return False
    return all(math.dist(walk.stands[p], honest[p]) < 0.01 for p in walk.driven)


def test_a_booklet_with_a_wrong_word_is_not_followed() -> None:
    """The walker is worth something: a hand, a direction or a reading changed in the text shows."""
    name, reading = DEMO[0], next(r for r in rows(DEMO[0], "pegs.csv") if r["method"] == "ties")["reading_1"]
    text = paper(name)
    assert comes_out(name, text)
    for old, new in (("your LEFT", "your RIGHT"), (", away from it", ""), (reading, f"{float(reading) + 0.1:.3f}")):
        assert old in text
        assert not comes_out(name, text.replace(old, new)), old
