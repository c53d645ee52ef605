"""Where a group can be written on: its largest inscribed circle and its run. Metres and radians, no paper.

Takes exact regions. Gives for each label a centre, a radius and a direction; text itself stays level.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..kernel.flatten import polygon
from ..kernel.path import Region
from ..kernel.point import Point
from .ground import drift_heading

if TYPE_CHECKING:
    from shapely import Polygon

CHORD = 2e-3
CLOSE = 5e-3
"""The circle's centre is found within this distance, metres."""


@dataclass(frozen=True, slots=True)
class Label:
    """Number and name at a group, or at like groups that touch.

    `groups` are the numbers of the groups counted in it. `centre` and `radius` (m) are those of the largest circle in
    the first of them, `heading` (radians) is the run of the drift; `text` is 'number name'.
    """

    count: int
    name: str
    groups: tuple[int, ...]
    centre: Point
    radius: float
    heading: float
    through: bool = False           # bulbs or matrix plants between others: a note, not a name on the plan

    @property
    def text(self) -> str:
        """The words of the label."""
        return f"{self.count} {self.name}"


def inscribed(region: Region | Polygon) -> tuple[Point, float]:
    """Return centre and radius (m) of the largest circle inside a region."""
    from shapely import maximum_inscribed_circle

    body = polygon(region, CHORD) if isinstance(region, Region) else region
    ends = np.asarray(maximum_inscribed_circle(body, tolerance=CLOSE).coords)
    return Point(float(ends[0, 0]), float(ends[0, 1])), float(np.hypot(*(ends[-1] - ends[0])))


def label_of(count: int, name: str, groups: tuple[int, ...], region: Region) -> Label:
    """Return the label of a group."""
    centre, radius = inscribed(region)
    return Label(count, name, groups, centre, radius, drift_heading(region))
