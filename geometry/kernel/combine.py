"""Union, difference, intersection, partition and clipping of regions bounded by lines and arcs, exact.

Every operation is one arrangement: all segments noded, the planar map certified, windings flooded, faces chosen, their
edges walked. Arcs of results carry the centre and radius of a source arc bit for bit. A result that cannot be
certified is tried again with other tolerances, and refused with its place if none of them serves. Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from ..errors import GeometryError, refuse
from .noding import Edges, edges_of
from .path import Path, Region
from .planar import Planar, Uncertain, planar
from .point import Point
from .rings import Joiner, Piece, regions_of
from .segment import Segment
from .table import Source, Table, sources_of, table_of
from .tolerance import NODE
from .winding import Label, labels, winding

LADDER = (1.0, 3.0, 10.0, 0.3, 30.0)
"""Factors of NODE that are tried in turn."""

Regions = tuple[Region, ...]


@dataclass(frozen=True, slots=True)
class Arrangement:
    """A certified arrangement: the planar map with the label (windings by column) of each cycle's left side."""

    table: Table
    edges: Edges
    graph: Planar
    labels: list[Label]
    eps: float

    def regions(self, kind: Callable[[Label], Hashable]) -> dict[Hashable, Regions]:
        """Return the regions of each kind of face; faces of kind None are left out."""
        known: dict[Label, Hashable] = {}
        kinds: list[Hashable] = []
        for label in self.labels:
            if label not in known:
                known[label] = kind(label)
            kinds.append(known[label])
        return regions_of(Joiner(self.table, self.graph, self.eps), kinds)


def arrangement(sources: Sequence[Source]) -> Arrangement:
    """Return the arrangement of segments. Raises GeometryError, naming the place, where none can be certified."""
    place: Point | None = None
    for factor in LADDER:
        eps = NODE * factor
        table = table_of(sources, eps)
        edges = edges_of(table, eps)
        try:
            graph = planar(table, edges)
            return Arrangement(table, edges, graph, labels(table, graph), eps)
        except Uncertain as fault:
            x, y = edges.nodes[fault.node].tolist()
            place = place or Point(x + table.origin[0], y + table.origin[1])
    assert place is not None
    raise refuse(GeometryError, f"edges near ({place.x:.3f}, {place.y:.3f}) lie so close to each other that no result "
                 "can be trusted", "move one of them by a millimetre, or give both the same line or arc",
                 "uncertain-result")


def _columns(columns: Sequence[Regions], keep: Callable[[dict[int, int]], bool]) -> Regions:
    sources = sources_of(columns)
    if not sources:
        return ()
    found = arrangement(sources).regions(lambda label: True if keep(dict(label)) else None)
    return found.get(True, ())


def union(regions: Iterable[Region]) -> Regions:
    """Return the regions made one where they overlap or share edges."""
    return _columns([tuple(regions)], lambda w: w.get(0, 0) > 0)


def difference(regions: Iterable[Region], away: Iterable[Region]) -> Regions:
    """Return the regions with `away` cut out of them."""
    return _columns([tuple(regions), tuple(away)], lambda w: w.get(0, 0) > 0 and not w.get(1, 0) > 0)


def common(regions: Iterable[Region], others: Iterable[Region]) -> Regions:
    """Return what the regions have in common with the others."""
    return _columns([tuple(regions), tuple(others)], lambda w: w.get(0, 0) > 0 and w.get(1, 0) > 0)


@dataclass(frozen=True, slots=True)
class Face:
    """One piece of a partition: its region, and the names of all that cover it, in the order they were given."""

    region: Region
    labels: tuple[str, ...]


def partition(named: Mapping[str, Iterable[Region]]) -> tuple[Face, ...]:
    """Return every bounded face under at least one name, from one arrangement: faces share edges, never overlap."""
    names = list(named)
    sources = sources_of([tuple(named[name]) for name in names])
    if not sources:
        return ()

    def kind(label: Label) -> Hashable:
        return tuple(column for column, count in label if count > 0) or None

    found = arrangement(sources).regions(kind)
    return tuple(Face(region, tuple(names[column] for column in columns))
                 for columns, regions in found.items() if isinstance(columns, tuple) for region in regions)


@dataclass(frozen=True, slots=True)
class Clipped:
    """A path parted by regions: the stretches inside, outside, and along an edge, each in the path's direction."""

    inside: tuple[Path, ...]
    outside: tuple[Path, ...]
    along: tuple[Path, ...]


def clip(path: Path, regions: Iterable[Region]) -> Clipped:
    """Return the stretches of an open path inside, outside and along the edges of regions."""
    whole = tuple(regions)
    if not whole:
        return Clipped((), (path,), ())
    made = arrangement(sources_of([whole], [path]))
    joiner = Joiner(made.table, made.graph, made.eps)
    found: dict[str, list[Path]] = {"inside": [], "outside": [], "along": []}
    for state, run in groupby(_walk(made, joiner), key=lambda item: item[0]):
        found[state].append(joiner.open([piece for _, piece in run]))
    return Clipped(tuple(found["inside"]), tuple(found["outside"]), tuple(found["along"]))


def _walk(made: Arrangement, joiner: Joiner) -> Iterator[tuple[str, Piece]]:
    """Yield the pieces of the open path in order, each with where it lies."""
    table, cycle = made.table, made.graph.cycle
    rows, edges, ways = made.edges.parts
    for row, edge, way in zip(rows.tolist(), edges.tolist(), ways.tolist(), strict=True):
        if table.sources[table.source[row]].weight:
            continue
        left, right = (dict(made.labels[cycle[h]]).get(0, 0) > 0 for h in (2 * edge, 2 * edge + 1))
        state = "along" if left != right else "inside" if left else "outside"
        piece = joiner.piece(2 * edge if way > 0 else 2 * edge + 1)
        yield state, Piece(piece.a, piece.b, piece.sweep, row, True, edge)


def contains(regions: Iterable[Region], point: Point) -> bool:
    """Say whether a point lies in one of the regions (on an edge: one side or the other, always the same)."""
    return winding(regions, point) > 0


@dataclass(frozen=True, slots=True)
class Edge:
    """A stretch of boundary, and the names of all that have it as their edge, in the order they were given."""

    segment: Segment
    sources: tuple[str, ...]


def shared_edges(named: Mapping[str, Iterable[Region]]) -> tuple[Edge, ...]:
    """Return every stretch of edge of the named regions once, with the names of all that share it."""
    names = list(named)
    sources = sources_of([tuple(named[name]) for name in names])
    if not sources:
        return ()
    made = arrangement(sources)
    joiner = Joiner(made.table, made.graph, made.eps)
    owners: list[set[int]] = [set() for _ in made.edges.a]
    rows, edges, ways = (column.tolist() for column in made.edges.parts)
    for row, edge in zip(rows, edges, strict=True):
        owners[edge].add(sources[made.table.source[row]].column)
    seen: set[int] = set()
    found: list[Edge] = []
    run: list[Piece] = []
    held: tuple[int, ...] = ()

    def close() -> None:
        if run:
            found.extend(Edge(segment, tuple(names[c] for c in held)) for segment in joiner.open(run).segments)
            run.clear()

    for row, edge, way in zip(rows, edges, ways, strict=True):
        if edge in seen:
            close()
            continue
        seen.add(edge)
        piece = joiner.piece(2 * edge if way > 0 else 2 * edge + 1)
        own = tuple(sorted(owners[edge]))
        if run and (run[-1].b != piece.a or held != own or run[-1].row != row):
            close()
        held = own
        run.append(Piece(piece.a, piece.b, piece.sweep, piece.row, piece.along, edge))
    close()
    return tuple(found)
