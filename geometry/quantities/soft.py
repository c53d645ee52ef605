"""Turf, seed, topsoil, mulch, edgings and hedges.

Takes: regions, lines, sizes. Gives: items. Lengths in metres, areas in m2.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from ..errors import GeometryError, refuse
from ..features import Item
from ..kernel.path import Region
from ..kernel.runs import area_of
from ..kernel.segment import Arc, Segment
from .courses import ChainCourse, chain_course, chains, least_radius, nearest_closing_radius, tapered
from .factors import USUAL, Factors
from .materials import material, volume_item, with_factors
from .ordering import OrderingLike, counted, laid_item
from .tables import table

SOFT = "soft landscape"
EDGES = "edgings"

TURF_SIMPLE, TURF_SHAPED = 5.0, 10.0
"""Offcut of turf, per cent: 5 simple, 10 irregular shapes (UK turf growers, read)."""

SEED_RATE = 0.030
"""Seed of fine grass, kg a m2 (30 g: Royal Horticultural Society, read)."""

STRAIGHT = 40.0
"""An outline counts as simple while girth^2 / area is under this (a square has 16, a 5:1 rectangle 29)."""

FITS = 0.006
"""A unit lies across a row when its side is within this of the row's width, m."""

TIGHT_BOARD = 1.5
"""A timber edging 20 mm thick bends to about this radius, m; tighter needs saw cuts (common practice, no source)."""


def is_simple(regions: Sequence[Region]) -> bool:
    """Say whether turf is laid with little waste: straight edges only and not long and thin."""
    straight = not any(isinstance(s, Arc) for region in regions for ring in region.rings() for s in ring)
    return straight and all(region.length**2 / region.area < STRAIGHT for region in regions)


def turf_item(
    element: str, regions: Sequence[Region], allowance: float | None = None, factors: Factors = USUAL
) -> Item:
    """Return the turf of a lawn, its offcut by the shape, or the `allowance` (per cent) that is given."""
    area = area_of(regions)
    shape = "simple" if is_simple(regions) else "shaped"
    usual = TURF_SIMPLE if shape == "simple" else TURF_SHAPED
    allowance = usual if allowance is None else allowance
    words = f"offcut of a {shape} outline" if allowance == usual else "offcut as the model says"
    roll = with_factors(material("turf"), factors).roll
    rolls = math.ceil(area * (1 + allowance / 100) / roll - 1e-9)
    return Item(
        section=SOFT,
        element=element,
        item="turf",
        unit="m2",
        net=area,
        allowance=allowance,
        order=float(rolls),
        order_unit=f"rolls of {roll:g} m2",
        basis=f"area of the lawn; {words}",
        again=partial(turf_item, element, regions),
    )


def seed_item(element: str, regions: Sequence[Region], rate: float = SEED_RATE) -> Item:
    """Return the grass seed of a lawn."""
    area = area_of(regions)
    if not rate > 0:
        raise refuse(GeometryError, "seed at no rate", "give kilograms a square metre, 0.02 to 0.05", "bad-rate")
    mass = area * rate
    return Item(
        section=SOFT,
        element=element,
        item="grass seed",
        unit="kg",
        net=mass,
        order=math.ceil(mass * 2 - 1e-9) / 2,
        order_unit="kg",
        basis=f"{area:.3f} m2 × {rate * 1000:g} g a m2",
    )


def spread_item(element: str, stuff: str, area: float, depth: float, allowance: float) -> Item:
    """Return a soil or mulch spread over an area; GeometryError 'no-thickness' for none."""
    if not depth > 0:
        raise refuse(
            GeometryError, f"{element}: {stuff} of no depth", "give its depth, or leave it out", "no-thickness"
        )
    return volume_item(
        section=SOFT,
        element=element,
        item=stuff,
        volume=area * depth,
        stuff=material(stuff),
        allowance=allowance,
        where=f"{area:.3f} m2 × {depth * 1000:g} mm",
    )


def _edging(
    element: str, segments: Sequence[Segment], name: str, allowance: float, factors: Factors = USUAL
) -> Item:
    del factors
    length = math.fsum(s.length for s in segments)
    straight = math.fsum(s.length for s in segments if not isinstance(s, Arc))
    return Item(
        section=EDGES,
        element=element,
        item=name,
        unit="m",
        net=length,
        allowance=allowance,
        order=math.ceil(length * (1 + allowance / 100) - 1e-9),
        order_unit="m",
        basis=f"{straight:.3f} m straight, {length - straight:.3f} m curved",
        again=partial(_edging, element, segments, name),
    )


def edging_items(
    element: str, segments: Sequence[Segment], name: str = "edging", allowance: float = 5.0
) -> Iterator[Item]:
    """Yield an edging: its whole length to order, and its curved length by radius."""
    yield _edging(element, segments, name, allowance)
    radii: dict[float, float] = {}
    for s in segments:
        if isinstance(s, Arc):
            radii[round(s.radius, 3)] = radii.get(round(s.radius, 3), 0.0) + s.length
    for radius, run in sorted(radii.items()):
        tight = "; tighter than a board bends: saw its back or use metal" if radius < TIGHT_BOARD else ""
        yield Item(
            section=EDGES,
            element=element,
            item=f"{name}, curved to radius {radius:.3f} m",
            unit="m",
            net=run,
            basis=f"part of the length above{tight}",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Kerb:
    """A unit set along a line: its length along, depth across (m), joint and the joints allowed."""

    along: float
    across: float
    joint: float
    joints: tuple[float, float]
    material: str = "paving brick"


def _taper(made: Sequence[Sequence[Segment]], kerb: Kerb) -> float:
    """Return the inner width of a unit cut to a taper for the tightest arc, m."""
    radius = min(s.radius for chain in made for s in chain if isinstance(s, Arc)) - kerb.across / 2
    return tapered(max(radius, 0.01), kerb.along, kerb.across, kerb.joint)[1]


def _too_tight(course: ChainCourse, kerb: Kerb) -> str:
    """Say what the joints come to on the tightest arc, and what would do: a wider curve, another radius, a taper."""
    least = least_radius(kerb.along, kerb.across, kerb.joints)
    words = (
        f"joints of {course.least_joint * 1000:.0f} to {course.most_joint * 1000:.0f} mm "
        f"at the inner radius of {course.tightest:.2f} m"
    )
    if least > course.tightest:
        return f"{words}, whole units want {least:.2f} m or more"
    near = nearest_closing_radius(course.tightest, kerb.along, kerb.across, kerb.joints)
    return f"{words}, a full ring closes at {near:.3f} m" if near is not None else words


def course_items(
    element: str, segments: Sequence[Segment], kerb: Kerb, closed: bool, ordering: OrderingLike
) -> Iterator[Item]:
    """Yield the whole units along a line of lines and arcs, broken at corners only."""
    made, corners = chains(segments, closed)
    units = cuts = 0
    tight: list[str] = []
    for chain in made:
        course = chain_course(chain, kerb.along, kerb.across, kerb.joint, kerb.joints, closed and corners == 0)
        units += course.units
        if not course.fits and math.isfinite(course.tightest):
            tight.append(_too_tight(course, kerb))
            cuts += course.units
    cuts += 2 * corners
    length = math.fsum(s.length for s in segments)
    words = (
        f"{length:.3f} m in {counted(len(made), 'run')}, {(kerb.along + kerb.joint) * 1000:g} mm a unit "
        f"with its joint of {kerb.joint * 1000:g} mm ({kerb.joints[0] * 1000:g} to {kerb.joints[1] * 1000:g} allowed), "
        f"{counted(corners, 'corner')} mitred"
    )
    if tight:
        words += (
            "; "
            + "; ".join(dict.fromkeys(tight))
            + f": ease the curve, or cut them to a taper of about {_taper(made, kerb) * 1000:.0f} mm at the inside"
        )
    yield laid_item(
        section=EDGES,
        element=element,
        item=f"{kerb.material} {kerb.along * 1000:g} × {kerb.across * 1000:g} mm in a row",
        material=kerb.material,
        units=units,
        cuts=cuts,
        basis=words,
        ordering=ordering,
    )


def kerb_of(
    name: str, width: float, own_joint: float | None = None, own_joints: tuple[float, float] | None = None
) -> Kerb | None:
    """Return a material's usual unit set in a row of `width` (m): whichever side is that wide lies across.

    Flat along the row or across it, else on edge. None where the material has no usual size or no side fits.
    `own_joint` and `own_joints` are the model's, m; else the material's usual joint, 7 mm less to 5 mm more.
    GeometryError 'bad-joint' where they run backwards or are no thinner than the unit.
    """
    if name not in table("materials") or (size := material(name).size) is None:
        return None
    length, depth, height, joint = size
    joint = joint if own_joint is None else own_joint
    joints = own_joints or (max(0.0, joint - 0.007), joint + 0.005)
    if not 0 <= joints[0] <= joint <= joints[1] < min(length, depth, height):
        raise refuse(
            GeometryError,
            f"a joint of {joint * 1000:g} mm, allowed {joints[0] * 1000:g} to {joints[1] * 1000:g} mm",
            "write the least first, then the most, the joint between them: [3 mm, 12 mm]",
            "bad-joint",
        )
    for along, across in ((length, depth), (depth, length), (length, height)):
        if abs(across - width) < FITS:
            return Kerb(along=along, across=across, joint=joint, joints=joints, material=name)
    return None


def row_items(
    element: str,
    loops: Sequence[Sequence[Segment]],
    width: float,
    stuff: str,
    closed: bool,
    ordering: OrderingLike,
    name: str = "edging",
    joint: float | None = None,
    joints: tuple[float, float] | None = None,
) -> Iterator[Item]:
    """Yield an edging along lines or rings (their middle lines): counted units where the size is known, else metres."""
    kerb = kerb_of(stuff, width, joint, joints)
    for segments in loops:
        if kerb is None:
            yield from edging_items(element, segments, f"{name} of {stuff}" if stuff else name)
        else:
            yield from course_items(element, segments, kerb, closed, ordering)


NEAR_WHOLE = 1e-6
"""A length that is a whole number of spacings within this part of one is that number."""


def hedge_plants(length: float, per_metre: float, rows: int = 1, closed: bool = False) -> tuple[int, ...]:
    """Return the plants of each row of a hedge.

    End rule: the first plant stands half a spacing in, so a row holds length x plants a metre; the second row of
    a staggered pair stands half a spacing on and loses one plant (6 m at 3 a metre: 18 + 17, hedging guide).
    `per_metre` counts one row. A ring loses none.
    """
    if not (length > 0 and per_metre > 0 and rows in (1, 2)):
        raise refuse(
            GeometryError, "a hedge without length or plants", "give `per_metre`, plants to a metre", "bad-hedge"
        )
    first = max(1, math.floor(length * per_metre + 0.5 + NEAR_WHOLE))
    if rows == 1:
        return (first,)
    return first, first if closed else max(first - 1, 0)


def hedge_items(
    element: str, length: float, per_metre: float, plant: str, rows: int = 1, closed: bool = False
) -> Iterator[Item]:
    """Yield the plants of a hedge, the end rule stated."""
    counts = hedge_plants(length, per_metre, rows, closed)
    total = sum(counts)
    rule = "first plant half a spacing in" if not closed else "round a ring"
    words = (
        f"{length:.3f} m × {per_metre:g} a metre{' a row' if rows == 2 else ''}, {' + '.join(map(str, counts))}, {rule}"
    )
    yield Item(
        section="planting",
        element=element,
        item=plant,
        unit="number",
        net=float(total),
        order=float(total),
        order_unit="plants",
        basis=words,
    )
