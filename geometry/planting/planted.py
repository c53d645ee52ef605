"""A planted bed: what sheets, schedule and reports read. All counts are of points that stand here.

Lengths in metres, areas in m2, angles in radians. Groups are numbered from 1 in each bed.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import Problem
from ..kernel.path import Region
from ..kernel.point import Point
from .labels import Label
from .mix import Arrangement, BedInput
from .plants import Plant, SpacingForm


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """One drift or one group drawn by hand, with its plants.

    `wanted` is the area asked for (0: drawn by hand). `nominal` is area over the ground of one plant, the figure that
    over-counts. `along` is its reach along the bed, `middle` the mean, `stations` and `places` the way along (m) and
    the place from front (0) to back (1) of each plant. `radius` is of the largest circle inside, at `centre`.
    """

    number: int
    plant: Plant
    region: Region
    points: tuple[Point, ...]
    spacing: float
    form: SpacingForm
    wanted: float
    nominal: float
    centre: Point
    radius: float
    heading: float
    along: tuple[float, float]
    middle: float
    across: float
    stations: tuple[float, ...]
    places: tuple[float, ...]
    joined: int = 1
    by_hand: bool = False

    @property
    def area(self) -> float:
        """Exact area, m2."""
        return self.region.area


@dataclass(frozen=True, slots=True, kw_only=True)
class Single:
    """One plant, exactly placed."""

    plant: Plant
    at: Point
    spacing: float
    station: float = 0.0
    place: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Bulbs or matrix plants through groups: `asked` by share, `points` placed, `groups` they grow through."""

    plant: Plant
    points: tuple[Point, ...]
    spacing: float
    groups: tuple[int, ...]
    area: float
    asked: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BedPlanting:
    """A planted bed. `length` and `depth` (mean) in metres; `arrangement` is worth keeping for the next run."""

    bed: BedInput
    groups: tuple[Group, ...]
    singles: tuple[Single, ...]
    scatters: tuple[Scatter, ...]
    labels: tuple[Label, ...]
    messages: tuple[Problem, ...]
    arrangement: Arrangement
    area: float
    length: float
    depth: float
    island: bool

    @property
    def name(self) -> str:
        """The bed's name."""
        return self.bed.name

    def counts(self) -> dict[str, int]:
        """Return how many plants of each name stand in the bed."""
        counts: dict[str, int] = {}
        for plant, points in self.placed():
            counts[plant.name] = counts.get(plant.name, 0) + len(points)
        return counts

    def placed(self) -> list[tuple[Plant, tuple[Point, ...]]]:
        """Return all plants with their points: groups, single plants, those that grow through."""
        return ([(g.plant, g.points) for g in self.groups] + [(s.plant, (s.at,)) for s in self.singles]
                + [(s.plant, s.points) for s in self.scatters])
