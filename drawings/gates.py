"""The gates: points at which work stops until everything is ticked, and the cautions of the pegging.

Takes: a SettingOut. Gives: what each gate asks, in words, with its check measures. Shared by booklet and phone
page. The cautions defer to local law and licensed practice.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..geometry.features import Caution
from ..geometry.pegs.peg import CheckKind
from ..geometry.setout import SettingOut
from .chapters import Chapter, chapters, checks_of
from .closing_table import closing_table
from .heights import Heights, heights
from .pictures import Pictures
from .steps import CheckLine, check_line
from .words import Words

BUILT_GATE = 4
"""The gate that heights come before."""

STOP = "Not good? STOP. Go to the last page."

WARNINGS = {
    Caution.SERVICES: "WARNING: cables and pipes under the ground can kill. Before you hammer anything, find out what "
    "is buried: ask the utility owners, look for covers and meters, use a detector. Not sure? Do not hammer. Dig by "
    "hand near anything you find. Follow your local law.",
    Caution.WATER: "WARNING: open water drowns children. Fence it or fill it before you leave.",
    Caution.WALLS: "WARNING: a wall can fall on people. A licensed engineer or builder must approve it where your "
    "local law says so.",
    Caution.HEIGHTS: "WARNING: what stands overhead can fall on people. A licensed engineer or builder must approve it "
    "where your local law says so. Two people lift what goes overhead.",
    Caution.TREES: "STOP. No dig under the crown of a tree that stays until its roots have been looked at. Ask a "
    "tree surgeon.",
    Caution.DUST: "WARNING: dust burns eyes and lungs. Use sand for marking; wear mask and glasses for cement, lime "
    "and cutting. Cut wet.",
    Caution.CLEARANCE: "WARNING: old buildings and walls can hold asbestos and live cables, and fall on people. Have "
    "them taken down before you peg, by those whom your local law allows.",
    Caution.FELLING: "WARNING: trees and stumps kill those who fell them untrained. A qualified person fells them, "
    "before you peg. Ask first whether your local law protects them.",
    Caution.DRAINING: "WARNING: empty and fill a pond that goes on the same day. Half empty it drowns a child.",
    Caution.LOWERING: "WARNING: beams fall when their posts are cut. Prop them, take down from the top, two people to "
    "a beam, nobody below. A licensed builder where it leans on a building.",
    Caution.BREAKING: "WARNING: cables can lie right under old paving. Trace them before you break it. Wear glasses, "
    "mask, ear guards and boots.",
    Caution.EXCAVATION: "WARNING: the sides of a hole fall in. Nobody goes into a hole deeper than the waist. Follow "
    "your local rules for shoring.",
}
"""What booklet and phone say of each danger. Common practice, no source; local law comes first."""

GENERAL = "Wear glasses. Cap every steel pin. Keep children and pets away from strings."


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """One gate: its number, what it asks, what must be ticked, what must be measured."""

    number: int
    title: str
    head: str
    under: str
    warnings: tuple[str, ...]
    ticks: tuple[str, ...]
    checks: tuple[CheckLine, ...]
    stop: str = STOP


def warnings_of(work: SettingOut) -> tuple[str, ...]:
    """Return the warnings that this garden needs, services first; services are always named."""
    wanted = {Caution.SERVICES, *(caution for caution, _ in work.cautions)}
    return (*(words for caution, words in WARNINGS.items() if caution in wanted), GENERAL)


def gates(work: SettingOut) -> tuple[Gate, ...]:
    """Return the gates in their order: 0 before the first peg, 1 all shapes, 2 the dig, 3 found again, 4 built."""
    words = Words(work)
    return tuple(gate for gate in (_control(words), _shapes(words), _dig(work), _found(words), _built(words)) if gate)


@dataclass(frozen=True, slots=True)
class Told:
    """The whole pegging in words and pictures, as booklet and phone page both say it."""

    chapters: tuple[Chapter, ...]
    gates: tuple[Gate, ...]
    heights: Heights
    pictures: Pictures


def told(work: SettingOut) -> Told:
    """Return the pegging of a garden in words; its pictures are drawn when they are asked for."""
    return Told(chapters(work), gates(work), heights(work), Pictures(work))


def _control(words: Words) -> Gate:
    work = words.work
    marks = work.garden.site.marks
    ticks = ["Both tapes say the same along one line of 10 m."]
    ticks += [f"We stood at {m.name}: {m.what}{f', {m.point}' if m.point else ''}." for m in marks]
    return Gate(number=0, title="Gate 0: the marks", head="Are the marks where they should be?",
                under="Hammer nothing until this page is ticked.",
                warnings=tuple(w for w in warnings_of(work) if "cables and pipes" in w), ticks=tuple(ticks),
                checks=checks_of(words, CheckKind.CONTROL),
                stop="One is not good? STOP. Peg nothing. Send all the readings to the designer.")


def _shapes(words: Words) -> Gate:
    checks = tuple(check_line(c, words) for c in closing_table(words.work))
    return Gate(number=1, title="Gate 1: all shapes stand", head="Look, and measure across.",
                under="Measured by the one who did not drive the pegs.", warnings=(),
                ticks=("We looked at all shapes from the house and from upstairs. They look right.",), checks=checks)


def _dig(work: SettingOut) -> Gate | None:
    if not work.pegs.recovery:
        return None
    from_pegs = list(dict.fromkeys(h.peg for own in work.pegs.heights.values() for h in own))
    stakes = (f"A stake stands beside {', '.join(from_pegs)}, clear of the dig, its top level with the peg: heights "
              "are measured from it.",) if from_pegs else ()
    return Gate(number=2, title="Gate 2: before the dig", under="Then dig.",
                head=f"Tick all {'seven' if stakes else 'six'}, or do not dig.",
                warnings=tuple(w for w in warnings_of(work) if "hole" in w or "crown" in w), checks=(),
                ticks=("Every string was stretched over its nails, and its recovery pegs stand.",
                       "The closing measures of gate 1 are ticked.",
                       "Buried services are found and marked on the ground.",
                       "Two lines between marks were measured again, and are good.",
                       "Every recovery peg carries its writing and a rag.",
                       "The ground was looked at from upstairs once more.", *stakes))


def _found(words: Words) -> Gate | None:
    checks = checks_of(words, CheckKind.FOUND)
    if not checks:
        return None
    return Gate(number=3, title="Gate 3: pegs found again", head="Is each peg back where it was?",
                under="After the dig, and again at the finished level.", warnings=(), ticks=(), checks=checks)


def _built(words: Words) -> Gate | None:
    checks = checks_of(words, CheckKind.BUILT)
    if not checks:
        return None
    return Gate(number=BUILT_GATE, title="Gate 4: built", head="Measure the finished edges.",
                under="Before the last mortar sets.", warnings=(), ticks=(), checks=checks)
