"""The rows of a build-up: every layer over its own extent, and the haunch round the edge.

Takes: a finished outline and a build-up. Gives: items and the dig. Lengths in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

from ..features import Dig, Item, SectionLayer
from ..kernel.path import Region
from ..kernel.runs import area_of
from .build_ups import BuildUp, Edge, Extent, Layer, outlines
from .factors import USUAL, Factors
from .materials import Material, material, material_of, volume_item, with_factors

EDGE_OFFCUT = 5.0
"""Offcut of boards and kerbs round an outline, per cent (common practice, no source)."""

WORDS = {
    Extent.FINISHED: "inside the outline",
    Extent.INSIDE_EDGING: "inside the edging",
    Extent.HAUNCH: "with the haunch",
    Extent.DUG: "as dug",
}


def _area_item(
    section: str, element: str, stuff: Material, area: float, where: str, allowance: float, factors: Factors = USUAL
) -> Item:
    gross, roll = area * (1 + allowance / 100), with_factors(stuff, factors).roll
    rolls = math.ceil(gross / roll - 1e-9)
    unit = "m2" if roll == 1 else f"rolls of {roll:g} m2"
    return Item(
        section=section,
        element=element,
        item=stuff.name,
        unit="m2",
        net=area,
        allowance=allowance,
        order=float(rolls),
        order_unit=unit,
        basis=where,
        again=partial(_area_item, section, element, stuff, area, where),
    )


def layer_item(section: str, element: str, layer: Layer, area: float) -> Item | None:
    """Return the row of one layer over `area` (m2); None for a void, or for timber that is listed by the piece."""
    stuff = material_of(layer)
    where = f"{area:.3f} m2 {WORDS[layer.to]}"
    if stuff.sold in ("none", "length"):
        return None
    if stuff.sold == "area":
        return _area_item(section, element, stuff, area, where, layer.allowance)
    if stuff.sold == "units":
        return Item(
            section=section,
            element=element,
            item=layer.material,
            unit="m2",
            net=area,
            basis=f"{where}; not counted: the model gives no size of a unit",
        )
    return volume_item(
        section=section,
        element=element,
        item=layer.material,
        volume=area * layer.thickness,
        stuff=stuff,
        allowance=layer.allowance,
        where=f"{where} × {layer.thickness * 1000:g} mm",
    )


def build_up_items(
    section: str,
    element: str,
    finished: Sequence[Region],
    build_up: BuildUp,
    *,
    edging: float = 0.0,
    counted: Sequence[str] = (),
) -> Iterator[Item]:
    """Yield the rows of all layers and of the haunch.

    `edging` is the width of an edging inside the outline, m; `counted` names materials that are counted by
    the piece elsewhere.
    """
    at = {extent: area_of(regions) for extent, regions in outlines(finished, build_up, edging).items()}
    for layer in build_up.layers:
        if layer.material in counted:
            continue
        item = layer_item(section, element, layer, at[layer.to])
        if item is not None:
            yield item
    if build_up.edge is not None:
        yield edge_item(section, element, finished, build_up.edge, at[Extent.HAUNCH] - at[Extent.FINISHED])


def edge_item(
    section: str,
    element: str,
    finished: Sequence[Region],
    edge: Edge,
    ring: float,
    allowance: float = EDGE_OFFCUT,
    factors: Factors = USUAL,
) -> Item:
    """Return the row of what holds the outline from outside: a haunch by volume, boards and kerbs by length.

    `allowance` (per cent) is that of boards and kerbs. `ring` is the area between the outline and the outline grown
    by the edge's width, m2.
    """
    del factors
    stuff = material(edge.material)
    if stuff.sold in ("length", "units", "none"):
        girth = math.fsum(region.length for region in finished)
        return Item(
            section=section,
            element=element,
            item=f"edge of {edge.material} {edge.width * 1000:g} × {edge.depth * 1000:g} mm",
            unit="m",
            net=girth,
            allowance=allowance,
            order=float(math.ceil(girth * (1 + allowance / 100) - 1e-9)),
            order_unit="m",
            basis="all round the outline, sides against a wall included",
            again=partial(edge_item, section, element, finished, edge, ring),
        )
    return volume_item(
        section=section,
        element=element,
        item=f"haunch of {edge.material}",
        volume=ring * edge.depth,
        stuff=stuff,
        allowance=0.0,
        where=f"{ring:.3f} m2 outside the outline, {edge.width * 1000:g} mm wide × {edge.depth * 1000:g} mm",
    )


def dig_of(element: str, finished: Sequence[Region], build_up: BuildUp) -> Dig:
    """Return what an element on a build-up digs: its dug outline, as deep as its layers."""
    return Dig(
        element=element,
        outline=outlines(finished, build_up)[Extent.DUG],
        depth=build_up.depth,
        finished=tuple(finished),
    )


def section_layers(build_up: BuildUp) -> tuple[SectionLayer, ...]:
    """Return the layers for a typical section."""
    return tuple(
        SectionLayer(material=layer.material, thickness=layer.thickness, beyond=build_up.beyond_of(layer.to))
        for layer in build_up.layers
    )
