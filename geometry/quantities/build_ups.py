"""Build-ups: the layers under a surface, how thick each is and how far it runs; and the supplied ones.

Takes: values, or templates/build_ups/*.yaml. Gives: BuildUp values, and the outlines of an element by extent.
Lengths in metres, densities in t/m3.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from ..errors import GeometryError, ModelError, refuse
from ..kernel.offset import Corners, grown, inset
from ..kernel.path import Region
from ..reading.quantity import read_length
from .tables import build_up_files, table


class Extent(StrEnum):
    """How far a layer runs: to the finished outline, inside the edging, under the haunch, or as dug."""

    FINISHED = "finished"
    INSIDE_EDGING = "inside edging"
    HAUNCH = "haunch"
    DUG = "dug"


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """One layer: material, thickness (m), extent; its own densities (t/m3) and allowance (%) if it has any."""

    material: str
    thickness: float
    to: Extent = Extent.FINISHED
    density: float | None = None
    loose_density: float | None = None
    allowance: float = 0.0

    def __post_init__(self) -> None:
        if not self.thickness > 0:
            raise refuse(
                ModelError,
                f"a layer of {self.material} that is {self.thickness * 1000:g} mm thick",
                "give the layer a thickness, or leave it out",
                "no-thickness",
            )
        for value in (self.density, self.loose_density):
            if value is not None and not value > 0:
                raise refuse(
                    ModelError,
                    f"{self.material} of {value:g} t/m3",
                    "a density is more than nothing, in t/m3: 1.9",
                    "bad-density",
                )
        if not 0 <= self.allowance <= 100:
            raise refuse(
                ModelError, f"an allowance of {self.allowance:g} %", "give an allowance of 0 to 100 %", "bad-allowance"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """What holds the outline from outside: its material, width beyond the finished outline and depth, m."""

    material: str
    width: float
    depth: float

    def __post_init__(self) -> None:
        if not (self.width > 0 and self.depth > 0):
            raise refuse(
                ModelError,
                f"an edge of {self.width * 1000:g} × {self.depth * 1000:g} mm",
                "give width and depth of the haunch, or leave the edge out",
                "no-thickness",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUp:
    """Layers from the top down, the edge that holds them, and the working space dug outside, m."""

    name: str
    layers: tuple[Layer, ...]
    edge: Edge | None = None
    working_space: float = 0.0
    title: str = ""

    def __post_init__(self) -> None:
        if not self.layers:
            raise refuse(
                ModelError, f"the build-up '{self.name}' has no layer", "give its layers from the top down", "no-layers"
            )
        if not self.working_space >= 0:
            raise refuse(
                ModelError, "a working space below nothing", "give 0 or more, about 100 mm", "bad-working-space"
            )

    @property
    def depth(self) -> float:
        """Depth of all layers together, m."""
        return sum(layer.thickness for layer in self.layers)

    @property
    def beyond(self) -> float:
        """How far the dug outline lies outside the finished one, m."""
        return (self.edge.width if self.edge else 0.0) + self.working_space

    def beyond_of(self, to: Extent) -> float:
        """Return how far a layer of this extent runs beyond the finished outline, m."""
        haunch = self.edge.width if self.edge else 0.0
        return {Extent.HAUNCH: haunch, Extent.DUG: self.beyond}.get(to, 0.0)


def outlines(finished: Sequence[Region], build_up: BuildUp, edging: float = 0.0) -> Mapping[Extent, tuple[Region, ...]]:
    """Return the outlines that layers are measured to.

    `edging` is the width of an edging that stands inside the finished outline, m. Outside corners stay
    square: edges and forms are straight.
    """
    haunch = build_up.beyond_of(Extent.HAUNCH)
    at = tuple(finished)
    return {
        Extent.FINISHED: at,
        Extent.INSIDE_EDGING: inset(at, edging, Corners.SQUARE) if edging > 0 else at,
        Extent.HAUNCH: grown(at, haunch, Corners.SQUARE) if haunch > 0 else at,
        Extent.DUG: grown(at, build_up.beyond, Corners.SQUARE) if build_up.beyond > 0 else at,
    }


def _length(value: float | str) -> float:
    return read_length(str(value))


def _layer(row: Mapping[str, Any]) -> Layer:
    return Layer(
        material=row["material"],
        thickness=_length(row["thickness"]),
        to=Extent(row.get("to", Extent.FINISHED)),
        density=row.get("density"),
        loose_density=row.get("loose_density"),
        allowance=float(row.get("allowance", 0.0)),
    )


def _build_up(name: str, row: Mapping[str, Any]) -> BuildUp:
    edge = row.get("edge")
    return BuildUp(
        name=name,
        title=row.get("title", ""),
        layers=tuple(_layer(layer) for layer in row["layers"]),
        edge=Edge(material=edge["material"], width=_length(edge["width"]), depth=_length(edge["depth"]))
        if edge
        else None,
        working_space=_length(row.get("working_space", 0.0)),
    )


@cache
def supplied() -> Mapping[str, BuildUp]:
    """Return the supplied build-ups by name; GeometryError if a name stands in two files."""
    found: dict[str, BuildUp] = {}
    for file in build_up_files():
        for name, row in table(file).items():
            if name in found:
                raise refuse(GeometryError, f"the build-up '{name}' is supplied twice", "", "bad-table")
            found[name] = _build_up(name, row)
    return found
