"""Paving in units: the layout with its cuts and pairs, the rows of the bill, and the drawing.

Takes: an outline, a unit, a bond, a build-up. Gives: Laid, from which both items and pattern are made.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from ..errors import Problem, Weight
from ..features import Item, UnitPattern
from ..kernel.path import Region
from ..kernel.point import Point
from .cuts import CutUnit, cut_units
from .firmness import MANY, WORDS, firmness
from .joint_lines import pattern
from .laying import Layout, lay
from .materials import material, volume_item
from .ordering import OrderingLike, laid_item
from .origin import Offer, equal_ends, joint_that_fits, offers, turned_offers
from .pairing import Pairing, Reuse, pair
from .patterns import Bond, Unit
from .tables import table

HEAVY = 0.025
"""Tonnes from which a unit wants two people or a machine (about 20 to 25 kg: memory)."""


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A layout with its cut units and the pairs of offcuts."""

    layout: Layout
    cuts: tuple[CutUnit, ...]
    pairing: Pairing

    @property
    def units(self) -> int:
        """Units that are laid whole or cut into."""
        return self.layout.wholes + self.pairing.units

    def pattern(self) -> UnitPattern:
        """Return the same units for drawing."""
        unit, bond = self.layout.unit, self.layout.bond
        name = f"{unit.material} {unit.length * 1000:g} × {unit.width * 1000:g}, {bond.name}"
        return pattern(self.layout, self.cuts, name)


@lru_cache(maxsize=64)
def laid(
    regions: tuple[Region, ...],
    unit: Unit,
    bond: Bond,
    lay_from: Point,
    turn: float = 0.0,
    ease: float = 0.002,
    reuse: Reuse = Reuse.STRAIGHT,
    kerf: float = 0.003,
) -> Laid:
    """Lay units, cut them and pair the offcuts; the same arguments give the same value without new work.

    Raises the errors of `lay` and `cut_units`.
    """
    layout = lay(regions, unit, bond, lay_from, turn, ease)
    cuts = cut_units(layout)
    return Laid(layout, cuts, pair(cuts, layout, reuse, kerf))


def _basis(work: Laid, kerf: float) -> str:
    layout, pairing = work.layout, work.pairing
    joint = f"joints {layout.lattice.end_joint * 1000:g} mm"
    if abs(layout.lattice.end_joint - layout.lattice.side_joint) > 1e-9:
        joint = (
            f"joints {layout.lattice.end_joint * 1000:g} mm at ends, {layout.lattice.side_joint * 1000:g} mm at sides"
        )
    reuse = {Reuse.NONE: "no offcut used again", Reuse.STRAIGHT: "straight cuts paired", Reuse.ALL: "all cuts paired"}
    cut = f"{layout.cuts} cut from {pairing.units} units ({reuse[pairing.reuse]}, saw {kerf * 1000:g} mm)"
    at = layout.lay_from
    return (
        f"{layout.wholes} whole; {cut if layout.cuts else 'none cut'}; {joint}; "
        f"laid from ({at.x:.3f}, {at.y:.3f}), turn {math.degrees(layout.frame.turn):g}{_firm(work)}"
    )


def _firm(work: Laid) -> str:
    """Say how far the count may move on the ground; of many small units it moves too little to matter."""
    if work.layout.count > MANY:
        return ""
    low, high = firmness(work.layout, work.units)
    return f"; {low} to {high} if {WORDS}" if low < high else f"; the same if {WORDS}"


def _needs(work: Laid, kerf: float) -> str:
    """Return the kinds of cut, and the units that the pieces need by each way of using offcuts."""
    if not work.cuts:
        return ""
    needs = {
        reuse: pair(work.cuts, work.layout, reuse, kerf).units for reuse in Reuse if reuse is not work.pairing.reuse
    }
    needs[work.pairing.reuse] = work.pairing.units
    return (
        f"{_kinds(work.cuts)}; from {needs[Reuse.NONE]} units if no offcut is used again, "
        f"{needs[Reuse.STRAIGHT]} with straight cuts paired, {needs[Reuse.ALL]} with all paired"
        f"{_along_the_courses(work)}"
    )


def _informing(work: Laid, section: str, element: str, kerf: float) -> Iterator[Item]:
    straight = math.fsum(c.straight_saw for c in work.cuts)
    curved = math.fsum(c.curved_saw for c in work.cuts)
    rows: list[tuple[str, str, float, str]] = [("units cut", "number", len(work.cuts), _needs(work, kerf))]
    rows.append(("saw cut, straight", "m", straight, "outline inside the units, lines"))
    rows.append(("saw cut, curved", "m", curved, "outline inside the units, arcs"))
    slivers = sum(c.sliver for c in work.cuts if c.straight), sum(c.sliver for c in work.cuts if not c.straight)
    words = "pieces under a quarter of a unit, cut by lines only: a better origin cures them"
    rows.append(("slivers, straight", "number", slivers[0], words))
    rows.append(("slivers, curved", "number", slivers[1], "pieces under a quarter of a unit, on a curve"))
    for item, unit, net, basis in rows:
        if net:
            yield Item(section=section, element=element, item=item, unit=unit, net=float(net), basis=basis)


def _kinds(cuts: tuple[CutUnit, ...]) -> str:
    counts: dict[str, int] = {}
    for cut in cuts:
        counts[cut.kind.value] = counts.get(cut.kind.value, 0) + 1
    return ", ".join(f"{number} {kind}" for kind, number in sorted(counts.items()))


def _joints(work: Laid, section: str, element: str, thickness: float, sand_joint: float) -> Iterator[Item]:
    layout = work.layout
    if not layout.joint_area > 1e-6:
        return
    yield Item(
        section=section,
        element=element,
        item="joints",
        unit="m2",
        net=layout.joint_area,
        basis=f"outline {layout.region_area:.3f} m2 less {layout.unit_area:.3f} m2 of units",
    )
    if thickness > 0:
        wide = min(layout.lattice.end_joint, layout.lattice.side_joint) > sand_joint + 1e-9
        stuff = material("mortar" if wide else "jointing sand")
        yield volume_item(
            section=section,
            element=element,
            item=f"{stuff.name} in joints",
            volume=layout.joint_area * thickness,
            stuff=stuff,
            allowance=10.0,
            where=f"{layout.joint_area:.3f} m2 of joints × {thickness * 1000:g} mm, "
            f"{'over' if wide else 'up to'} {sand_joint * 1000:g} mm wide",
        )


def unit_mass(unit: Unit) -> float | None:
    """Return the mass of one unit in tonnes; None where thickness or density are not known."""
    row = table("materials").get(unit.material, {})
    density = row.get("compacted")
    return unit.area * unit.thickness * density if density and unit.thickness > 0 else None


def paving_items(
    work: Laid, section: str, element: str, ordering: OrderingLike, thickness: float = 0.0
) -> Iterator[Item]:
    """Yield the rows of units that are laid: what to order, and the working beneath it.

    `thickness` (m) is taken where the unit names none.
    """
    unit = work.layout.unit
    unit = unit if unit.thickness > 0 else replace(unit, thickness=thickness)
    basis = _basis(work, ordering.kerf)
    each = unit_mass(unit)
    if each is not None and each > HEAVY:
        basis += f"; each about {each * 1000:.0f} kg: two people or a machine"
    yield laid_item(
        section=section,
        element=element,
        item=f"{unit.material} {unit.length * 1000:g} × {unit.width * 1000:g} mm, {work.layout.bond.name}",
        material=unit.material,
        units=work.units,
        cuts=len(work.cuts),
        basis=basis,
        ordering=ordering,
    )
    yield from _informing(work, section, element, ordering.kerf)
    yield from _joints(work, section, element, unit.thickness, ordering.factors.sand_joint)


def _advice(what: str, mend: str, code: str) -> Problem:
    return Problem(what, mend, code, weight=Weight.ADVICE)


def paving_advice(work: Laid, element: str) -> Iterator[Problem]:
    """Yield what a foreman would say of a layout: nominal sizes, fragile fits, slivers, joints that save all cuts."""
    unit, layout = work.layout.unit, work.layout
    if unit.joint == 0 and all(round(v * 1000) in (300, 450, 600, 900) for v in (unit.length, unit.width)):
        yield _advice(
            f"{element}: units of {unit.length * 1000:g} × {unit.width * 1000:g} mm with no joint are "
            "likely nominal sizes",
            "measure one: a 600 slab is often 590 with a 10 mm joint",
            "nominal-size",
        )
    straight = [c for c in work.cuts if c.straight and c.sliver]
    if straight:
        one, count = len(straight) == 1, len(straight)
        yield _advice(
            f"{element}: {count} straight {'piece is' if one else 'pieces are'} under a quarter of a unit",
            f"another `lay_from` may avoid {'it' if one else 'them'}; or share each sliver with its neighbour "
            f"({count} inboard {'cut' if one else 'cuts'})",
            "slivers",
        )
    if not work.cuts:
        spread = unit.joints[1] - unit.joints[0]
        box = layout.boxes
        n = max(round((box[:, 2].max() - box[:, 0].min()) / (unit.length + unit.joint)), 1)
        yield _advice(
            f"{element}: whole units only; the joints take up {(n - 1) * spread * 1000:.0f} mm along the courses",
            "lay a row dry before the edging is fixed",
            "whole-units",
        )


def _along_the_courses(work: Laid) -> str:
    """Return how units fit between two edges square to the courses; empty where there is no such pair."""
    runs, unit = work.layout.runs, work.layout.unit
    low, high = runs.x_least.min(), runs.x_most.max()
    upright = runs.xl[(runs.xl == runs.xu) & (runs.yu > runs.yl)]
    if not ((abs(upright - low) < 1e-6).any() and (abs(upright - high) < 1e-6).any()) or work.layout.bond.woven:
        return ""
    where = "along the courses" if work.layout.bond.name == "stack" else "in courses that begin with a whole unit"
    return f"; {where}, {fit_words(float(high - low), unit)}"


def fit_words(length: float, unit: Unit) -> str:
    """Return how units fit a clear length (m) between two parallel edges: a joint that needs no cut, or equal ends."""
    fit = joint_that_fits(length, unit.length, unit.joints)
    if fit is not None:
        return f"{fit[0]} units with joints of {fit[1] * 1000:.1f} mm need no cut"
    whole, end = equal_ends(length, unit.length, unit.joint)
    return f"{whole} whole units between two equal ends of {end * 1000:.0f} mm"


def better_layouts(work: Laid, ordering: OrderingLike) -> tuple[Offer, ...]:
    """Return other origins and turns to choose from, with their figures; none is imposed."""
    reuse = Reuse(ordering.reuse)
    return (*offers(work.layout, reuse, ordering.kerf), *turned_offers(work.layout, reuse, ordering.kerf))
