"""Walls: bricks, openings, piers, copings, damp-proof course, mortar.

Takes: the plan of the wall and its sizes. Gives: items and cautions. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ..errors import GeometryError, Problem, Weight, refuse
from ..features import Item
from ..kernel.offset import Corners, grown
from ..kernel.path import Path, Region
from ..kernel.runs import area_of
from ..kernel.segment import Arc
from ..kernel.tolerance import JOINT
from .bricks import (
    Brick,
    brick_lengths,
    courses,
    facing_per_m2,
    height_words,
    mortar_volume,
    per_course,
    stretched_joint,
)
from .courses import chains, least_radius
from .factors import USUAL, Factors
from .materials import material, volume_item
from .ordering import OrderingLike, counted, laid_item

WALLS = "walls"
SHARPEST = 0.9 * math.pi
"""A corner that turns by more is mitred as if it turned by this."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A hole in a wall: width, height and sill above the wall's foot, m."""

    width: float
    height: float
    sill: float = 0.0

    def __post_init__(self) -> None:
        if not (self.width > 0 and self.height > 0 and self.sill >= 0):
            raise refuse(
                GeometryError, "an opening of no size", "give its width and height; a sill is 0 or more", "bad-opening"
            )

    def within(self, height: float) -> float:
        """Return the height of the opening that lies inside a wall of `height`, m."""
        return max(0.0, min(self.sill + self.height, height) - min(self.sill, height))


@dataclass(frozen=True, slots=True, kw_only=True)
class WallPlan:
    """A wall to be counted: its centre line, the plan of the solid masonry with piers, thickness and height.

    `height` stands over the ground, `below` in it down to the footing; sills of openings are over the ground.
    `piers` are the plans of the piers alone.
    """

    element: str
    centre: Path
    plan: tuple[Region, ...]
    thickness: float
    height: float
    below: float = 0.0
    openings: tuple[Opening, ...] = ()
    piers: tuple[Region, ...] = ()

    def __post_init__(self) -> None:
        if not (self.thickness > 0 and self.height > 0 and self.below >= 0):
            raise refuse(
                GeometryError,
                f"{self.element}: a wall of no thickness or height",
                "give both, more than nothing",
                "bad-wall",
            )

    @property
    def masonry(self) -> float:
        """Height of the masonry from the footing up, m."""
        return self.height + self.below

    @property
    def closed(self) -> bool:
        """Whether the wall is a ring."""
        return self.centre.start.distance(self.centre.end) < JOINT

    @property
    def corners(self) -> int:
        """Bends of the centre line that are no tangent joints, the one where a ring closes included."""
        return (
            chains(self.centre.segments, self.closed)[1]
            if self.closed
            else len(chains(self.centre.segments, False)[0]) - 1
        )

    @property
    def ends(self) -> int:
        """Stopped ends: free ends, and two reveals an opening."""
        return (0 if self.closed else 2) + 2 * len(self.openings)


def check_unit(wall: WallPlan, brick: Brick) -> None:
    """Refuse a wall that is thinner than its unit (GeometryError 'wall-too-thin')."""
    if wall.thickness < min(brick.width, brick.length) - 1e-6:
        raise refuse(
            GeometryError,
            f"{wall.element}: a wall of {wall.thickness * 1000:g} mm is thinner than its unit of "
            f"{brick.width * 1000:g} mm",
            "give the wall the width of the unit, or more",
            "wall-too-thin",
        )


def brick_count(wall: WallPlan, brick: Brick) -> float:
    """Return the bricks of a wall as equivalents, net of every opening.

    Plan grown by half a joint over the brick's cell, times courses; an opening takes its width less a joint
    (its reveals keep theirs) from the courses that it passes.
    """
    check_unit(wall, brick)
    grown_area = area_of(grown(wall.plan, brick.joint / 2, Corners.SQUARE)) if brick.joint > 0 else area_of(wall.plan)
    total = per_course(grown_area, brick) * courses(wall.masonry, brick)
    for opening in wall.openings:
        gap = max(0.0, opening.width - brick.joint) * (wall.thickness + brick.joint)
        total -= per_course(gap, brick) * opening.within(wall.height) / brick.course
    return total


def net_face(wall: WallPlan) -> float:
    """Return the face of the wall in m2, net of every opening (one side)."""
    return wall.centre.length * wall.height - math.fsum(o.width * o.within(wall.height) for o in wall.openings)


def cut_count(wall: WallPlan, brick: Brick, share: float = USUAL.end_cuts) -> int:
    """Return the bricks cut: `share` of the courses has a half bat or closer at each end, reveal and corner."""
    return math.ceil((wall.ends + wall.corners) * share * math.ceil(courses(wall.masonry, brick) - 1e-9))


def wall_items(wall: WallPlan, brick: Brick, bond: str, ordering: OrderingLike) -> Iterator[Item]:
    """Yield bricks, facing bricks and mortar of a wall."""
    exact = brick_count(wall, brick)
    rows = courses(wall.masonry, brick)
    units = math.ceil(exact - 1e-6)
    words = f"plan {area_of(wall.plan):.3f} m2 grown by half a joint / {brick.cell:.5f} m2 a brick × {rows:.2f} courses"
    if wall.below > 0:
        words += f" ({wall.below * 1000:g} mm of them in the ground)"
    words += f", a cut in {ordering.factors.end_cuts * 100:g} % of courses at each end and corner"
    if wall.openings:
        words += f", less {counted(len(wall.openings), 'opening')}"
    yield laid_item(
        section=WALLS,
        element=wall.element,
        item=f"{brick.material} {brick.length * 1000:g} × {brick.width * 1000:g} × {brick.height * 1000:g} "
        f"mm, {bond} bond",
        material=brick.material,
        units=units,
        cuts=cut_count(wall, brick, ordering.factors.end_cuts),
        basis=words,
        ordering=ordering,
    )
    face = net_face(wall)
    yield Item(
        section=WALLS,
        element=wall.element,
        item="facing bricks, one face",
        unit="number",
        net=face * facing_per_m2(brick, bond),
        basis=f"{face:.3f} m2 of face × {facing_per_m2(brick, bond):.1f} by {bond} bond, headers as whole bricks",
    )
    holes = math.fsum(o.width * wall.thickness * o.within(wall.height) for o in wall.openings)
    solid = area_of(wall.plan) * wall.masonry - holes
    mortar = mortar_volume(solid, exact, brick)
    yield volume_item(
        section=WALLS,
        element=wall.element,
        item="mortar",
        volume=mortar,
        stuff=material("mortar"),
        allowance=10.0,
        where=f"wall {solid:.3f} m3 less {exact:.1f} bricks of {brick.volume * 1e6:.0f} cm3"
        + (f", {brick.voids * 100:g} % of them voids" if brick.voids else ""),
    )


def coping_runs(wall: WallPlan, overhang: float) -> tuple[float, ...]:
    """Return the lengths of coping between corners, m: overhang at free ends, the long side of each mitre.

    A mitre adds (thickness / 2 + overhang) tan(turn / 2) to both runs that meet there.
    """
    parts, corners = chains(wall.centre.segments, wall.closed)
    if not corners and len(parts) == 1:
        return (wall.centre.length + (0.0 if wall.closed else 2 * overhang),)
    reach = wall.thickness / 2 + overhang
    runs = []
    for k, part in enumerate(parts):
        meets = [(parts[k - 1][-1], part[0])] if k or wall.closed else []
        if k < len(parts) - 1 or wall.closed:
            meets.append((part[-1], parts[(k + 1) % len(parts)][0]))
        turns = [abs((b.heading(0.0) - a.heading(1.0) + math.pi) % (2 * math.pi) - math.pi) for a, b in meets]
        mitres = math.fsum(reach * math.tan(min(turn, SHARPEST) / 2) for turn in turns)
        runs.append(math.fsum(s.length for s in part) + mitres + (2 - len(meets)) * overhang)
    return tuple(runs)


def coping_items(
    wall: WallPlan, unit: float, joint: float, overhang: float, ordering: OrderingLike, tolerance: float = 0.002
) -> Iterator[Item]:
    """Yield the copings along a wall: each run between corners ceil((run + joint) / (unit + joint)); pier caps apart.

    The last coping of a run is cut if it is out by more than `tolerance`, m; a corner is two mitre cuts.
    """
    if not unit > 0:
        raise refuse(GeometryError, f"{wall.element}: a coping of no length", "give the coping its unit", "bad-unit")
    runs = coping_runs(wall, overhang)
    shares = [(run + joint) / (unit + joint) for run in runs]
    units = sum(math.ceil(share - tolerance / (unit + joint)) for share in shares)
    ends = sum(abs(share - round(share)) * (unit + joint) > tolerance for share in shares)
    length = math.fsum(runs)
    yield laid_item(
        section=WALLS,
        element=wall.element,
        item=f"coping {unit * 1000:g} mm",
        material="coping",
        units=units,
        cuts=2 * wall.corners + ends,
        basis=f"{counted(len(runs), 'run')}, {length:.3f} m in all / {(unit + joint) * 1000:g} mm; "
        f"{counted(2 * wall.corners, 'mitre cut')}, {counted(ends, 'end')} cut, "
        f"{tolerance * 1000:g} mm taken up by the joints; overhang {overhang * 1000:g} mm",
        ordering=ordering,
    )
    if wall.piers:
        yield Item(
            section=WALLS,
            element=wall.element,
            item="pier cap",
            unit="number",
            net=float(len(wall.piers)),
            order=float(len(wall.piers)),
            order_unit="number",
            basis="one a pier",
        )


def damp_proof_item(wall: WallPlan, factors: Factors = USUAL) -> Item:
    """Return the damp-proof course: the centre line, laps at corners and at the joints of rolls."""
    length, roll, lap = wall.centre.length, factors.dpc_roll, factors.lap
    laps = wall.corners + max(0, math.ceil(length / roll) - 1) + (1 if wall.closed else 0)
    gross = length + laps * lap
    return Item(
        section=WALLS,
        element=wall.element,
        item=f"damp-proof course {wall.thickness * 1000:g} mm wide",
        unit="m",
        net=length,
        allowance=(gross / length - 1) * 100,
        order=float(math.ceil(gross / roll - 1e-9)),
        order_unit=f"rolls of {roll:g} m",
        basis=f"length of the wall, {laps} laps of {lap * 1000:g} mm",
    )


def wall_advice(wall: WallPlan, brick: Brick | None) -> Iterator[Problem]:
    """Yield cautions: height, lengths that need cut bricks, curves tighter than the joints allow."""
    words = height_words(wall.thickness, wall.height)
    if words:
        yield Problem(
            f"{wall.element}: {words}", "local codes and an engineer decide", "wall-height", weight=Weight.ADVICE
        )
    if brick is None:
        return
    if not wall.closed and wall.centre.length < 6.35 and stretched_joint(wall.centre.length, brick) is None:
        below, above = brick_lengths(wall.centre.length, brick)
        yield Problem(
            f"{wall.element}: {wall.centre.length:.3f} m is no length of whole and half bricks, and "
            "joints of 8 to 12 mm do not meet it",
            f"{below:.3f} m or {above:.3f} m need no cut; or allow one cut brick a course",
            "brick-length",
            weight=Weight.ADVICE,
        )
    arcs = [s.radius for s in wall.centre.segments if isinstance(s, Arc)]
    if arcs:
        tight, least = min(arcs) - wall.thickness / 2, least_radius(brick.length, brick.width, (0.008, 0.014))
        if tight < least:
            yield Problem(
                f"{wall.element}: an inner radius of {tight:.2f} m opens the joints of "
                f"{brick.length * 1000:g} mm bricks beyond 8 to 14 mm",
                f"{least:.2f} m or more takes whole stretchers; lay headers, or cut the bricks to a taper",
                "tight-curve",
                weight=Weight.ADVICE,
            )
