"""Materials: densities, how each is sold, and the rows that order a volume of one.

Mass is the compacted volume times the compacted density; the volume to order is the mass by the loose
density. A compaction factor is never used beside them: it would count compaction twice. Densities in t/m3.
"""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass, replace
from functools import partial

from ..errors import ModelError, refuse
from ..features import Item
from .build_ups import Layer
from .factors import USUAL, Factors, HandMix
from .ordering import counted, tenths
from .tables import table

CEMENT_BULK = 1.44
"""Cement in bulk, t/m3, by which mixes by volume are read (construction estimating sheet)."""

OWN = "the model"
"""Source of a density that a layer of the model gives itself."""

BY_HAND = 2.0
"""Up to this volume, m3, the parts of a hand mix are printed beside the order of concrete."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One material: how it is sold, densities compacted and loose (None: not known), kg in a bag, m2 in a roll.

    `size` is the usual work length, width, height and joint, m; None where there is none.
    """

    name: str
    sold: str
    compacted: float | None = None
    loose: float | None = None
    bag: float = 25.0
    roll: float = 1.0
    size: tuple[float, float, float, float] | None = None
    source: str = ""


def material(name: str) -> Material:
    """Return a supplied material; ModelError 'unknown-material' with the nearest name."""
    row = table("materials").get(name)
    if row is None:
        near = difflib.get_close_matches(name, table("materials"), n=1, cutoff=0.5)
        hint = (
            f"did you mean '{near[0]}'?" if near else f"the supplied ones are {', '.join(sorted(table('materials')))}"
        )
        raise refuse(
            ModelError,
            f"the material '{name}' is not known",
            f"{hint}; or give the layer `density` and `loose_density` in t/m3",
            "unknown-material",
        )
    return Material(
        name=name,
        sold=row["sold"],
        compacted=row.get("compacted"),
        loose=row.get("loose"),
        bag=row.get("bag", 25.0),
        roll=row.get("roll", 1.0),
        size=tuple(row["size"]) if "size" in row else None,
        source=row.get("source", ""),
    )


def material_of(layer: Layer) -> Material:
    """Return the material of a layer, with the layer's own densities before the supplied ones.

    A material that is not supplied is sold by mass and must bring its density: ModelError 'unknown-material'
    without any, 'no-density' where only the loose one is given.
    """
    if layer.material not in table("materials") and (layer.density or layer.loose_density):
        if layer.density is None:
            raise refuse(
                ModelError,
                f"{layer.material} has no density as laid, and its mass is asked for",
                "give the layer `density` in t/m3, compacted",
                "no-density",
            )
        return Material(
            name=layer.material, sold="mass", compacted=layer.density, loose=layer.loose_density, source=OWN
        )
    known = material(layer.material)
    if layer.density is None and layer.loose_density is None:
        return known
    return replace(
        known, compacted=layer.density or known.compacted, loose=layer.loose_density or known.loose, source=OWN
    )


def density_of(stuff: Material) -> float:
    """Return the compacted density, t/m3; ModelError 'no-density' where there is none."""
    if stuff.compacted is None:
        raise refuse(
            ModelError,
            f"{stuff.name} has no density, and its mass is asked for",
            "give the layer `density` in t/m3, compacted",
            "no-density",
        )
    return stuff.compacted


def mass(volume: float, stuff: Material) -> float:
    """Return the mass in tonnes of a compacted volume in m3."""
    return volume * density_of(stuff)


def loose_volume(volume: float, stuff: Material) -> float | None:
    """Return the volume in m3 as delivered of a compacted volume; None where no loose density is known."""
    return None if stuff.loose is None else mass(volume, stuff) / stuff.loose


def mix_parts(cement: float, sand: float, gravel: float) -> tuple[float, float]:
    """Return sand and gravel in m3 for 1 m3 of placed concrete with `cement` tonnes, by parts of volume."""
    part = cement / CEMENT_BULK
    return part * sand, part * gravel


def with_factors(stuff: Material, factors: Factors) -> Material:
    """Return a material by the model's own figures for it; those of a layer (its source is the model) stay."""
    own = factors.materials.get(stuff.name)
    if own is None:
        return stuff
    made = replace(stuff, bag=own.bag or stuff.bag, roll=own.roll or stuff.roll)
    if stuff.source == OWN or not (own.density or own.loose_density):
        return made
    return replace(
        made, compacted=own.density or stuff.compacted, loose=own.loose_density or stuff.loose, source="ordering"
    )


def _hand_words(volume: float, mix: HandMix) -> str:
    sand, gravel = (volume * v for v in mix_parts(mix.cement, mix.sand, mix.gravel))
    bags = math.ceil(volume * mix.cement * 1000 / mix.bag - 1e-9)
    return (
        f"; or by hand 1:{mix.sand:g}:{mix.gravel:g}: {counted(bags, 'bag')} of {mix.bag:g} kg cement, "
        f"{sand:.2f} m3 sand, {gravel:.2f} m3 gravel"
    )


def _by_mass(
    volume: float, stuff: Material, allowance: float, where: str, factors: Factors
) -> tuple[str, float, float, str, str]:
    tonnes = mass(volume, stuff)
    gross = tonnes * (1 + allowance / 100)
    loose = loose_volume(volume, stuff)
    words = f"{where} = {volume:.3f} m3 compacted × {density_of(stuff):g} t/m3"
    if loose is not None:
        words += f"; {loose * (1 + allowance / 100):.2f} m3 as delivered at {stuff.loose:g} t/m3"
    bags = math.ceil(gross / factors.bulk_bag - 1e-9)
    words += f"; or {counted(bags, 'bulk bag')} of {factors.bulk_bag * 1000:.0f} kg"
    return "t", tonnes, tenths(gross), "t", words


def _by_volume(
    volume: float, stuff: Material, allowance: float, where: str, factors: Factors
) -> tuple[str, float, float, str, str]:
    gross = volume * (1 + allowance / 100)
    words = f"{where} = {volume:.3f} m3"
    if stuff.name == "concrete" and gross <= BY_HAND:
        words += _hand_words(gross, factors.hand_mix)
    loose = loose_volume(gross, stuff) if stuff.loose != stuff.compacted else None
    if loose is not None:
        words += f" settled at {stuff.compacted:g} t/m3; {loose:.2f} m3 as delivered at {stuff.loose:g} t/m3"
        gross = loose
    return "m3", volume, tenths(gross), "m3", words


def _by_bags(
    volume: float, stuff: Material, allowance: float, where: str, factors: Factors
) -> tuple[str, float, float, str, str]:
    del factors
    bags = math.ceil(mass(volume, stuff) * 1000 * (1 + allowance / 100) / stuff.bag - 1e-9)
    words = f"{where} = {volume:.4f} m3 × {density_of(stuff):g} t/m3"
    return "m3", volume, float(bags), f"bags of {stuff.bag:g} kg", words


_SOLD = {"mass": _by_mass, "volume": _by_volume, "bags": _by_bags}


def volume_item(
    *,
    section: str,
    element: str,
    item: str,
    volume: float,
    stuff: Material,
    allowance: float,
    where: str,
    factors: Factors = USUAL,
) -> Item:
    """Return the row that orders a compacted volume (m3) of a loose material, concrete or mortar.

    `where` says how the volume came about: '32.55 m2 as dug × 100 mm'.
    """
    known = with_factors(stuff, factors)
    unit, net, order, order_unit, words = _SOLD.get(known.sold, _by_mass)(volume, known, allowance, where, factors)
    return Item(
        section=section,
        element=element,
        item=item,
        unit=unit,
        net=net,
        allowance=allowance,
        order=order,
        order_unit=order_unit,
        basis=words,
        again=partial(
            volume_item, section=section, element=element, item=item, volume=volume, stuff=stuff, where=where
        ),
    )
