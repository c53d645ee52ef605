"""From a garden to everything that is handed over: the one value that every output is made from.

Takes: a Garden. Gives: a SettingOut with features to draw, pegs, bill, planting, cautions and sections,
all worked out once, so that no two outputs can disagree. Knows nothing of paper or files.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from .errors import Problem
from .features import Caution, Feature, Obstacle, SectionDetail

if TYPE_CHECKING:
    from .model.garden import Garden
    from .pegs.peg import PegSet
    from .planting.plan import BedPlanting
    from .quantities.bill import Bill


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingOut:
    """A garden worked out: the value that sheets, booklet, tables and proof are written from."""

    garden: Garden
    features: tuple[Feature, ...]
    pegs: PegSet
    bill: Bill
    beds: tuple[BedPlanting, ...]
    cautions: tuple[tuple[Caution, tuple[str, ...]], ...]   # each with the elements that call for it
    sections: tuple[SectionDetail, ...]
    obstacles: tuple[Obstacle, ...]
    advice: tuple[Problem, ...] = ()
