"""Where the views of the details sheet are cut in the garden: what the plans need to mark them.

Takes: the details as arranged, and the features of the garden. Gives: one SectionMark a view, metres on the ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..geometry.features import Cut, Feature, Role, Status
from ..geometry.kernel.enclosure import inside_region
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Point, Vec
from ..geometry.kernel.tolerance import JOINT
from .details_sheet import Arranged

BESIDE = 0.25
"""A cut across an edge is better where nothing solid stands so far outside it, metres."""

SOLID = frozenset({Role.BUILDING, Role.WALL, Role.STEPS, Role.HEDGE})
HARD = frozenset({Role.PAVING, Role.LOOSE, Role.CONCRETE, Role.DECK, Role.WATER})


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionMark:
    """A view of the details sheet on a plan: its letter, what it shows, and the places where it may be marked.

    The first place is the best; a plan on which another mark stands there takes the next.
    """

    letter: str
    title: str
    places: tuple[Cut, ...]
    elevation: bool = False     # looked at from there, not cut

    @property
    def at(self) -> Point:
        """The point on the ground that the best cut goes through."""
        return self.places[0].at

    @property
    def looking(self) -> Vec:
        """The way one looks at the view, of length 1."""
        return looking(self.places[0])

    @property
    def half(self) -> float:
        """How far the best cut reaches each way of its point, metres."""
        return self.places[0].reach


def looking(cut: Cut) -> Vec:
    """Return the way one looks at a cut, of length 1: its right-hand side is then at the right."""
    return cut.along.left()


def section_marks(on: Arranged, features: Sequence[Feature]) -> tuple[SectionMark, ...]:
    """Return the marks of all views that know where they are cut, in the order of their letters."""
    bodies = [(f.role, f.shape) for f in features
              if f.role in SOLID | HARD and f.status is not Status.REMOVE and isinstance(f.shape, Region)]
    plots = [Region(Loop(f.shape.segments)) for f in features if f.role is Role.BOUNDARY and isinstance(f.shape, Path)]
    return tuple(
        SectionMark(letter=letter, title=place.drawn.detail.title, elevation=place.drawn.detail.elevation,
                    places=tuple(sorted(place.drawn.detail.cuts, key=lambda cut: _hindrance(cut, bodies, plots))))
        for letter, _, place in on.lettered() if place.drawn.detail.cuts)


def _hindrance(cut: Cut, bodies: Sequence[tuple[Role, Region]], plots: Sequence[Region]) -> int:
    """Return 3 if what is beyond a cut's right-hand end is outside the plot, 2 if solid, 1 if hard, 0 if free."""
    start, end = cut.at + cut.along * -JOINT, cut.at + cut.along * BESIDE
    if plots and not any(_holds(plot, end) for plot in plots):
        return 3
    met = [role for role, shape in bodies if _holds(shape, end) and not _holds(shape, start)]
    return 2 if any(role in SOLID for role in met) else 1 if met else 0


def _holds(shape: Region, at: Point) -> bool:
    box = shape.box
    if not (box.x0 <= at.x <= box.x1 and box.y0 <= at.y <= box.y1):
        return False
    return inside_region(shape, at)
