"""What a bed is asked to hold: its region, its list of plants, its neighbours. Neutral values for any reader.

Lengths in metres, shares as parts of one (0.3 is 30 %) of the area that is left when holes, stems, single plants and
groups drawn by hand are taken off.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from ..errors import ModelError, refuse
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point
from .plants import Plant, SpacingForm

STEM = 0.30
"""Radius kept free round a tree's stem where nothing else is said. Common practice, no source."""


class Row(StrEnum):
    """Where groups stand across the bed."""

    FRONT = "front"
    MIDDLE = "middle"
    BACK = "back"


@dataclass(frozen=True, slots=True, kw_only=True)
class MixEntry:
    """One line of a bed's list. Exactly one of five forms:

    - `share` (and `groups`, `row`): that part of the bed in so many drifts;
    - `at`: single plants, exactly placed;
    - `along`: plants at equal steps on lines in the bed (a Loop has no ends), never nearer than their spacing;
    - `outlines`: groups drawn by hand, each with its own region;
    - `through` and `share`: bulbs or matrix plants through the groups of those plants ('*': through all of them).
    """

    plant: str
    groups: int = 1
    share: float | None = None
    row: Row | None = None
    at: tuple[Point, ...] = ()
    along: tuple[Path | Loop, ...] = ()
    outlines: tuple[Region, ...] = ()
    through: tuple[str, ...] = ()
    form: SpacingForm | None = None     # none: the bed's
    spacing: float | None = None        # none: the plant's

    def __post_init__(self) -> None:
        forms = sum((bool(self.at), bool(self.along), bool(self.outlines), self.share is not None))
        if forms != 1 or (self.through and self.share is None):
            raise refuse(ModelError, f"{self.plant}: say once how it is planted",
                         "give one of share, at, along or outlines; through goes with share", "mix-form")
        if self.share is not None and not 0 < self.share <= 1:
            raise refuse(ModelError, f"{self.plant}: a share of {self.share * 100:.1f} %",
                         "a share is more than nothing and at most 100 %", "bad-share")
        if not 1 <= self.groups <= 200:
            raise refuse(ModelError, f"{self.plant}: {self.groups} groups", "ask for 1 to 200 groups", "bad-groups")
        if self.spacing is not None and not 0.02 <= self.spacing <= 30:
            raise refuse(ModelError, f"{self.plant}: a spacing of {self.spacing:.3f} m",
                         "give the distance between plants, 0.02 to 30 m", "bad-spacing")


@dataclass(frozen=True, slots=True)
class Stem:
    """A tree's stem or root plate in the bed: nothing is planted within `radius` metres of `at`."""

    at: Point
    radius: float = STEM


@dataclass(frozen=True, slots=True)
class Arrangement:
    """An order kept from an earlier run: the kinds of each strip from front to back, left to right.

    Used while the bed's kinds, group counts and rows are the same, so that small changes of share do not reshuffle.
    """

    strips: tuple[tuple[str, ...], ...]


class Measure(StrEnum):
    """The measures of the clarity report, by the names that the model uses."""

    SIZES = "group size"
    KINDS = "kinds"
    REPEATS = "repeats"
    LENGTHS = "long drifts"
    HEIGHTS = "heights"
    EVERGREENS = "evergreen"
    MONTHS = "months"
    COLOURS = "colours"
    REACH = "reach"
    ONES = "ones and twos"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClarityRules:
    """What the clarity report measures. `off` holds the measures left out; `limits` overrides limits.

    `partners` lists pairs of colour families that the scheme wants side by side; `formal` widens the evergreen band.
    """

    off: tuple[Measure, ...] = ()
    limits: Mapping[Measure, tuple[float, float]] = field(default_factory=dict)
    partners: tuple[tuple[str, str], ...] = ()
    formal: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BedInput:
    """All that one bed's planting needs.

    `plants` maps keys (as in `mix`) to plants. `back` is the stated back edge; else `neighbours` (walls, fences,
    hedges, buildings, boundary) within 0.3 m of the outline make the back; neither: an island, tallest in the middle.
    `views` names the places from which the bed is seen. `steps` are stepping places.
    `slope` is the rise as a part of the run (0.1 is 1 in 10): true ground is larger than its plan.
    """

    name: str
    regions: tuple[Region, ...]
    mix: tuple[MixEntry, ...]
    plants: Mapping[str, Plant]
    back: tuple[Path, ...] = ()
    neighbours: tuple[Path | Loop | Region, ...] = ()
    stems: tuple[Stem, ...] = ()
    steps: tuple[Point, ...] = ()
    views: tuple[str, ...] = ()
    seed: int = 0
    form: SpacingForm = SpacingForm.FITTED
    arrangement: Arrangement | None = None
    rules: ClarityRules = field(default_factory=ClarityRules)
    slope: float = 0.0

    def __post_init__(self) -> None:
        if self.slope:
            raise refuse(ModelError, f"{self.name}: a sloping bed is not planted along its slope",
                         "leave the slope out: plants are set out level, as pegs are", "bed-slope")
        if not self.regions:
            raise refuse(ModelError, f"{self.name}: a bed without an area", "give it an outline", "no-bed")
        for entry in self.mix:
            if entry.plant not in self.plants:
                raise refuse(ModelError, f"{self.name}: the plant '{entry.plant}' is not known",
                             "list it under the plants", "unknown-plant")
        total = sum(e.share for e in self.mix if e.share is not None and not e.through)
        if total > 1 + 1e-9:
            raise refuse(ModelError, f"{self.name}: the shares add up to {total * 100:.1f} %",
                         "shares are of the whole bed: lower them to 100 %", "shares-over")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineInput:
    """Plants at equal steps on a line: a hedge, an edging, an avenue.

    `lines` are the pieces between gaps and gates; a Loop has no ends. Give `per_metre` (plants a metre of each row)
    or `spacing` (m); neither: the plant's own. `rows` 2 is staggered, `row_gap` metres apart.
    """

    name: str
    plant: str
    plants: Mapping[str, Plant]
    lines: tuple[Path | Loop, ...]
    rows: int = 1
    row_gap: float = 0.30
    per_metre: float | None = None
    spacing: float | None = None
    hedge: bool = True

    def __post_init__(self) -> None:
        if self.plant not in self.plants:
            raise refuse(ModelError, f"{self.name}: the plant '{self.plant}' is not known",
                         "list it under the plants", "unknown-plant")
        if self.rows not in {1, 2}:
            raise refuse(ModelError, f"{self.name}: {self.rows} rows", "a line of plants has one row or two",
                         "bad-rows")
        if self.rows == 2 and not self.row_gap > 0:
            raise refuse(ModelError, f"{self.name}: rows {self.row_gap:.3f} m apart", "give the distance",
                         "bad-row-gap")
        if self.per_metre is not None and not 0.02 <= self.per_metre <= 100:
            raise refuse(ModelError, f"{self.name}: {self.per_metre} plants a metre", "give 0.02 to 100", "bad-density")
        if self.spacing is not None and not 0.01 <= self.spacing <= 50:
            raise refuse(ModelError, f"{self.name}: plants {self.spacing:.3f} m apart", "give 0.01 to 50 m",
                         "bad-spacing")

    @property
    def step(self) -> float:
        """The asked distance between plants of one row, metres."""
        if self.per_metre is not None:
            return 1 / self.per_metre
        return self.spacing if self.spacing is not None else self.plants[self.plant].spacing


@dataclass(frozen=True, slots=True, kw_only=True)
class SinglesInput:
    """Plants placed one by one outside beds: trees in a lawn, pots on a terrace."""

    name: str
    plant: str
    plants: Mapping[str, Plant]
    at: tuple[Point, ...]

    def __post_init__(self) -> None:
        if self.plant not in self.plants:
            raise refuse(ModelError, f"{self.name}: the plant '{self.plant}' is not known",
                         "list it under the plants", "unknown-plant")
