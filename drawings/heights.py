"""Tops of pegs and heights of what is built, in words: what booklet and phone page both say.

Takes: a SettingOut. Gives: a row for each peg that is levelled from another, and a row for each height of what is built
above or below a peg. Readings are those of pegs.csv and checks.csv; nothing is worked out here but the range that is
good.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ..geometry.pegs.peg import Height
from ..geometry.pegs.tape import Reading, Tape
from ..geometry.setout import SettingOut

TITLE = "Set the tops to their levels"

HOW = (
    "**Each row:** lay a straight board from the first peg to this one, with the level on it. Tap the peg down "
    "until the gap under the board is the reading. Turn the level round: the gap must not change.",
    "The top of the peg is the finished surface. More than 3 m: use a water level or a hired laser.")

BUILT = "What is built above and below them"

KEEP = "Was the peg dug away? Measure from the stake that was driven beside it before the dig, its top level with it."


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """A peg whose top is set `way` ('higher than') the top of the peg `start`, by a reading without a sign."""

    peg: str
    way: str
    start: str
    reading: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """What of an element is built `way` the top of `peg`, by a reading without a sign, good from `low` to `high`."""

    element: str
    what: str
    way: str
    peg: str
    reading: str
    low: str
    high: str
    unit: str = ""

    @property
    def words(self) -> str:
        """Return it as a sentence."""
        much = f"{self.reading}{self.unit} {self.way}" if self.way != LEVEL else self.way
        return f"{self.element}, {self.what}: {much} {self.peg}{self.good}."

    @property
    def good(self) -> str:
        """Return the range that is good, as the end of a sentence; nothing where it lies both ways of the peg."""
        return f", good from {self.low} to {self.high}" if self.low else ""


@dataclass(frozen=True, slots=True)
class Heights:
    """All tops, in working order, and all heights."""

    tops: tuple[Top, ...]
    built: tuple[Built, ...]


LEVEL = "level with"


def heights(work: SettingOut) -> Heights:
    """Return the tops and heights of a garden in words."""
    pegs = work.pegs
    tape = pegs.options.tape
    tops = tuple(Top(peg=p.name, way=_way(p.level_reading), start=p.level_from, reading=_unsigned(p.level_reading))
                 for p in sorted(pegs.pegs, key=lambda p: p.order) if p.level_from and p.level_reading)
    return Heights(tops, tuple(_built(element, own, tape.rule()) for element, own in _each(work)))


def _each(work: SettingOut) -> Iterator[tuple[str, Height]]:
    return ((element, height) for element, own in work.pegs.heights.items() for height in own)


def _built(element: str, height: Height, rule: Tape) -> Built:
    much = abs(height.reading.metres)
    low, high = rule.span(much, height.allowed)
    both = much * 1000 <= height.allowed
    return Built(element=element, what=height.what, way=_way(height.reading), peg=height.peg,
                 reading=_unsigned(height.reading), low="" if both else low.text, high="" if both else high.text,
                 unit="" if rule.feet else " m")


def _way(reading: Reading) -> str:
    return LEVEL if reading.metres == 0 else "lower than" if reading.metres < 0 else "higher than"


def _unsigned(reading: Reading) -> str:
    return reading.text.lstrip("-")


__all__ = ["BUILT", "HOW", "KEEP", "LEVEL", "TITLE", "Built", "Heights", "Top", "heights"]
