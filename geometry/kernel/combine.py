"""Union, difference, intersection and partition of regions, and open lines cut by them: arcs stay what they are.

Every arc of a result has the centre and the radius of a given arc, bit for bit; areas are exact but for nodes
nearer than NODE (0.1 micrometre), which are one. A result that contradicts itself is refused, never returned.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from .arrange import Arrangement, arranged
from .enclosure import inside_region, on_edge
from .path import Path, Region
from .point import Box, Point
from .rings import Maker, Run, regions_of
from .segment import Segment
from .tolerance import NODE
from .winding import State

FEW = 12
Regions: TypeAlias = tuple[Region, ...]


@dataclass(frozen=True, slots=True)
class Face:
    """One connected area of a partition and the names of all that cover it, in the order in which they were given."""

    region: Region
    labels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Clipped:
    """A line's stretches inside, outside and along the edge of regions, in the line's order and direction."""

    inside: tuple[Path, ...]
    outside: tuple[Path, ...]
    along: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Edge:
    """A stretch of boundary: whose outlines run along it, and what lies left and right of it."""

    segment: Segment
    sources: tuple[str, ...]
    left: tuple[str, ...]
    right: tuple[str, ...]


def _chosen(columns: Sequence[Sequence[Region]], keep: Callable[[State], bool]) -> Regions:
    """Return the regions of all faces whose windings satisfy `keep`."""
    whole = arranged(columns)
    if whole is None:
        return ()
    kept = [1 if keep(state) else 0 for state in whole.labels.states.states]
    found = regions_of(whole.map, whole.maker(), [kept[state] for state in whole.labels.of_cycle])
    return found.get(1, ())


def _held(state: State, column: int) -> bool:
    return any(c == column and n > 0 for c, n in state)


def _meeting(regions: Sequence[Region], boxes: Sequence[Box]) -> list[Region]:
    """Return the regions whose boxes meet one of `boxes`: no others can matter to them. A few are not worth asking."""
    if len(regions) <= FEW:
        return list(regions)
    kept: list[Region] = []
    for region in regions:
        box = region.box.grown(NODE)
        if any(box.meets(other) for other in boxes):
            kept.append(region)
    return kept


def union(regions: Iterable[Region]) -> Regions:
    """Return the area covered by at least one region."""
    return _chosen((list(regions),), lambda state: _held(state, 0))


def difference(regions: Iterable[Region], away: Iterable[Region]) -> Regions:
    """Return the area covered by one of `regions` and by none of `away`."""
    kept = list(regions)
    gone = _meeting(list(away), [region.box for region in kept])
    return _chosen((kept, gone), lambda state: _held(state, 0) and not _held(state, 1))


def common(regions: Iterable[Region], others: Iterable[Region]) -> Regions:
    """Return the area covered by one of `regions` and by one of `others`."""
    first = list(regions)
    second = _meeting(list(others), [region.box for region in first])
    first = _meeting(first, [region.box for region in second])
    return _chosen((first, second), lambda state: _held(state, 0) and _held(state, 1))


def _labels(whole: Arrangement, names: Sequence[str]) -> list[tuple[str, ...]]:
    """Return the names that cover each state."""
    return [tuple(names[c] for c, n in state if n > 0) for state in whole.labels.states.states]


def partition(named: Mapping[str, Iterable[Region]]) -> tuple[Face, ...]:
    """Return all areas that the outlines of `named` regions cut each other into, from one arrangement.

    A face for each connected area under the same names; areas under none are left out.
    """
    names = list(named)
    whole = arranged([list(named[name]) for name in names])
    if whole is None:
        return ()
    labels = _labels(whole, names)
    number: dict[tuple[str, ...], int] = {(): 0}
    for label in labels:
        number.setdefault(label, len(number))
    found = regions_of(whole.map, whole.maker(), [number[labels[state]] for state in whole.labels.of_cycle])
    by_number = list(number)
    return tuple(Face(region, by_number[k]) for k in sorted(found) for region in found[k])


def shared_edges(named: Mapping[str, Iterable[Region]]) -> tuple[Edge, ...]:
    """Return every boundary stretch of `named` regions with the names whose outlines run along it.

    Stretches follow the outlines as given, each once, owned by the first name that has it.
    """
    names = list(named)
    whole = arranged([list(named[name]) for name in names])
    if whole is None:
        return ()
    labels, of_cycle, cycle = _labels(whole, names), whole.labels.of_cycle, whole.map.cycle
    maker = whole.maker()
    found: list[tuple[Run, tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = []
    for row, edge, way in zip(*(part.tolist() for part in whole.edges.parts), strict=True):
        if whole.edges.row[edge] != row:
            continue
        half = 2 * edge if way > 0 else 2 * edge + 1
        run = maker.run(half, whole.map.origin[half], whole.map.origin[half ^ 1])
        sources = tuple(names[c] for c, _ in whole.edges.deltas[edge])
        left, right = labels[of_cycle[cycle[half]]], labels[of_cycle[cycle[half ^ 1]]]
        last = found[-1] if found else None
        same = last is not None and last[1:] == (sources, left, right) and last[0].end == run.start
        joined = maker.joined(last[0], run) if last is not None and same else None
        if joined:
            found[-1] = (joined, sources, left, right)
        else:
            found.append((run, sources, left, right))
    return tuple(Edge(maker.segment(run), sources, left, right) for run, sources, left, right in found)


def clip(path: Path, regions: Iterable[Region]) -> Clipped:
    """Return the stretches of `path` inside, outside and along the edge of `regions`."""
    whole = arranged((list(regions),), (path,))
    if whole is None:
        return Clipped((), (path,), ())
    held = [_held(state, 0) for state in whole.labels.states.states]
    first = next(k for k, source in enumerate(whole.table.sources) if not source.weight)
    stretches: list[tuple[str, list[Run]]] = []
    maker = whole.maker()
    for row, edge, way in zip(*(part.tolist() for part in whole.edges.parts), strict=True):
        source = whole.table.source[row]
        if source < first:
            continue
        half = 2 * edge if way > 0 else 2 * edge + 1
        left, right = (held[whole.labels.of_cycle[whole.map.cycle[h]]] for h in (half, half ^ 1))
        where = "along" if left != right else "inside" if left else "outside"
        run = maker.run(half, whole.map.origin[half], whole.map.origin[half ^ 1])
        if stretches and stretches[-1][0] == where and stretches[-1][1][-1].end == run.start:
            stretches[-1][1].append(run)
        else:
            stretches.append((where, [run]))
    sorted_: dict[str, list[Path]] = {"inside": [], "outside": [], "along": []}
    for where, runs in stretches:
        sorted_[where].append(_path(maker, runs))
    return Clipped(tuple(sorted_["inside"]), tuple(sorted_["outside"]), tuple(sorted_["along"]))


def _path(maker: Maker, runs: list[Run]) -> Path:
    return Path(tuple(maker.segment(run) for run in maker.merged(runs, closed=False)))


def contains(regions: Iterable[Region], point: Point) -> bool:
    """Say whether `point` lies in one of the regions or within NODE of an edge of one."""
    return any(inside_region(region, point) or on_edge(region, point, NODE) for region in regions
               if region.box.grown(NODE).meets(Box.of((point,))))
