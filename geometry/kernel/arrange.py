"""One arrangement of all operands, checked by its own certificate.

Tried again at other eps where it contradicts itself, and refused with the place if it always does.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..errors import GeometryError, refuse
from . import clear, few_clear
from .few import edges_of as few_edges
from .few_faces import planar_map as few_map
from .noding import Edges, edges_of
from .path import Path, Region
from .planar import PlanarMap, planar_map
from .rings import Maker
from .table import Source, Table, sources_of, table_of
from .tolerance import NODE
from .winding import Labels, UncertainError, labelled

LADDER = (1.0, 0.3, 3.0, 0.1, 0.03, 10.0)
"""What eps is multiplied by, one try after the other."""


FEW_ROWS = 32
"""Rows up to which plain Python is quicker than numpy with its fixed cost; both give the same bits."""

FEW_PAIRS = 28
"""Pairs of arcs near each other up to which it is for noding."""

FEW_EDGES = 42
"""Edges up to which it is for the planar map."""


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Edges, planar map and labels of one operation; `tries` is 1 unless the certificate refused a first result."""

    table: Table
    edges: Edges
    map: PlanarMap
    labels: Labels
    eps: float
    tries: int

    def maker(self) -> Maker:
        """Return a maker of segments from this arrangement."""
        return Maker(self.table, self.edges, self.eps)


def arranged(columns: Sequence[Iterable[Region]], lines: Iterable[Path] = (), eps: float = NODE) -> Arrangement | None:
    """Return the arrangement of regions (a column for each group) and open lines; None if there is no segment.

    GeometryError names the place if every try contradicts itself: a wrong area is never returned.
    """
    sources = sources_of(columns, lines)
    return arranged_sources(sources, eps) if sources else None


def arranged_sources(sources: Sequence[Source], eps: float = NODE) -> Arrangement:
    """Return the arrangement of single segments, as `arranged` does of regions."""
    spot = ""
    for tries, factor in enumerate(LADDER, 1):
        table = table_of(sources, eps * factor)
        few = len(table.source) <= FEW_ROWS
        edges = few_edges(table, eps * factor, FEW_PAIRS) if few else edges_of(table, eps * factor)
        few = few and len(edges.a) <= FEW_EDGES
        map_ = (few_map if few else planar_map)(edges, table, eps * factor)
        try:
            labels = labelled(edges, map_, table)
            (few_clear if few else clear).check(edges, map_, labels, table, eps * factor)
        except UncertainError as doubt:
            spot = spot or _spot(doubt, map_, edges, table)
            continue
        return Arrangement(table, edges, map_, labels, eps * factor, tries)
    raise refuse(GeometryError, f"outlines that cannot be told apart with certainty near {spot}",
                 "let the outlines share an edge there, or move them a millimetre apart", "uncertain")


def _spot(doubt: UncertainError, map_: PlanarMap, edges: Edges, table: Table) -> str:
    def chord(half: int) -> float:
        a, b = edges.nodes[map_.origin[half]], edges.nodes[map_.origin[half ^ 1]]
        return float((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2)

    x, y = edges.nodes[map_.origin[min(doubt.half_edges, key=chord)]]
    return f"({x + table.origin[0]:.3f}, {y + table.origin[1]:.3f})"
