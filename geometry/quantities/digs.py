"""Excavation: all digs in one arrangement, so that overlaps are counted once.

Takes: digs (outline and depth below the ground). Gives: the volume by element and in all, the topsoil strip,
the spoil as a range, skips by mass. Every face of the arrangement is as deep as its deepest dig and is given
to that element (ties: the first declared), so the lines of the bill add up to the total. Metres, m3.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ..errors import GeometryError, ModelError, refuse
from ..features import Dig, Item
from ..kernel.combine import partition
from ..kernel.offset import grown
from ..kernel.path import Region
from ..kernel.runs import area_of
from .factors import SKIP, USUAL, Factors
from .ordering import tenths
from .tables import table

EXCAVATION = "excavation"

TOPSOIL = "topsoil"


@dataclass(frozen=True, slots=True, kw_only=True)
class Soil:
    """A soil: its swell when dug (shares, least and most) and the mass of the loose spoil, t/m3."""

    name: str
    swell: tuple[float, float]
    loose_mass: float


def soil(name: str, factors: Factors = USUAL) -> Soil:
    """Return a supplied soil, with the model's own bulking and mass; ModelError 'unknown-soil' names the nearest."""
    row = table("soils").get(name)
    if row is None:
        near = difflib.get_close_matches(name, table("soils"), n=1, cutoff=0.5)
        hint = f"did you mean '{near[0]}'?" if near else f"choose one of {', '.join(table('soils'))}"
        raise refuse(ModelError, f"there is no soil '{name}'", hint, "unknown-soil")
    low, high = row["swell"]
    return Soil(
        name=name,
        swell=factors.bulking or (low / 100, high / 100),
        loose_mass=factors.spoil_mass or row["loose_mass"],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DugFace:
    """A face of the arrangement: area (m2), depth (m), and the element that digs it deepest."""

    element: str
    area: float
    depth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Excavation:
    """Everything dug: faces of even depth, and the sum of the parts as if nothing overlapped (m3)."""

    faces: tuple[DugFace, ...]
    parts: float

    @property
    def area(self) -> float:
        """Area of the union of all digs, m2."""
        return math.fsum(face.area for face in self.faces)

    @property
    def volume(self) -> float:
        """Volume dug in the bank, m3."""
        return math.fsum(face.area * face.depth for face in self.faces)

    def by_element(self, strip: float = 0.0) -> dict[str, tuple[float, float]]:
        """Return area and volume below a strip of `strip` metres, by element in their order."""
        found: dict[str, tuple[float, float]] = {}
        for face in self.faces:
            area, volume = found.get(face.element, (0.0, 0.0))
            found[face.element] = area + face.area, volume + face.area * max(0.0, face.depth - strip)
        return found

    def stripped(self, strip: float) -> float:
        """Return the volume of topsoil taken off all that is dug, m3."""
        return math.fsum(face.area * min(face.depth, strip) for face in self.faces)


def excavation(digs: Iterable[Dig]) -> Excavation:
    """Return the arrangement of all digs; GeometryError for a dig of no depth."""
    wanted = [dig for dig in digs if dig.outline]
    for dig in wanted:
        if not dig.depth > 0:
            raise refuse(
                GeometryError, f"{dig.element} digs to a depth of {dig.depth:g} m", "a dig goes down", "no-thickness"
            )
    if not wanted:
        return Excavation(faces=(), parts=0.0)
    # one name a dig: an element may dig twice, and ties go to the first declared
    named: dict[str, tuple[Region, ...]] = {str(k): dig.outline for k, dig in enumerate(wanted)}
    faces = []
    for face in partition(named):
        deepest = max((int(label) for label in face.labels), key=lambda k: (wanted[k].depth, -k))
        faces.append((deepest, face.region.area))
    ordered = sorted(faces, key=lambda f: f[0])
    return Excavation(
        faces=tuple(DugFace(element=wanted[k].element, area=area, depth=wanted[k].depth) for k, area in ordered),
        parts=math.fsum(area_of(dig.outline) * dig.depth for dig in wanted),
    )


def battered_volume(outline: Sequence[Region], depth: float, run: float) -> float:
    """Return the volume of a dig whose sides lean out by `run` over `depth`: depth/6 (A0 + 4 A(run/2) + A(run)).

    Exact while no arc or hole collapses between (areas of round offsets are quadratic there).
    """
    if not run > 0:
        return area_of(outline) * depth
    a0, a1, a2 = area_of(outline), area_of(grown(tuple(outline), run / 2)), area_of(grown(tuple(outline), run))
    return depth / 6 * (a0 + 4 * a1 + a2)


def skips(loose: float, mass: float, factors: Factors = USUAL) -> int:
    """Return the skips for a loose volume (m3) of `mass` t/m3, by their limit of mass or their volume."""
    room = min(factors.skip, factors.skip_load / mass)
    return math.ceil(loose / room - 1e-9)


def excavation_items(
    dug: Excavation, ground: Soil, strip: float = 0.0, kept: float = 0.0, factors: Factors = USUAL
) -> Iterator[Item]:
    """Yield the rows of excavation: each element below the topsoil strip, the total, the topsoil, the spoil.

    `strip` is the depth of topsoil taken off first, m; `kept` the volume that stays on the plot, m3 (bank).
    """
    if not dug.faces:
        return
    below = f" below {strip * 1000:g} mm of topsoil" if strip > 0 else ""
    for element, (area, volume) in dug.by_element(strip).items():
        yield Item(
            section=EXCAVATION,
            element=element,
            item="dig",
            unit="m3",
            net=volume,
            basis=f"{area:.3f} m2 as dug{below}; what a deeper neighbour digs is counted there",
        )
    total = math.fsum(v for _, v in dug.by_element(strip).values())
    if strip > 0:
        yield Item(
            section=EXCAVATION,
            element="",
            item="topsoil stripped",
            unit="m3",
            net=dug.stripped(strip),
            basis=f"{dug.area:.3f} m2 of all digs, once, × {strip * 1000:g} mm; kept apart for beds",
        )
    saved = dug.parts - dug.volume
    yield Item(
        section=EXCAVATION,
        element="",
        item="dig in all",
        unit="m3",
        net=total,
        basis=f"one arrangement of all digs, deepest counts; overlaps of {saved:.3f} m3 counted once",
    )
    away = max(0.0, total - kept)
    low, high = (away * (1 + s) for s in ground.swell)
    fewest, most = skips(low, ground.loose_mass, factors), skips(high, ground.loose_mass, factors)
    count = f"{fewest} to {most}" if most > fewest else f"{most}"
    yield Item(
        section=EXCAVATION,
        element="",
        item="spoil to take away",
        unit="m3",
        net=away,
        allowance=ground.swell[1] * 100,
        order=float(most),
        order_unit="8 yd3 skips" if factors.skip == SKIP else f"skips of {factors.skip:g} m3",
        basis=f"{ground.name} bulks by {ground.swell[0] * 100:g} to {ground.swell[1] * 100:g} %: {tenths(low):g} to "
        f"{tenths(high):g} m3 loose at {ground.loose_mass:g} t/m3; {count} skips of "
        f"{factors.skip:.4g} m3 and {factors.skip_load:g} t at most",
    )
