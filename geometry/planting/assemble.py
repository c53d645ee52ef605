"""Puts exact groups together from the bed's edge and the chains that neighbours share.

Takes the edge's rings and the borders' segments. Gives one region for each drift. A border's segments are used twice,
once each way, and the edge's stretches once: so the groups fill the bed with no gap and no overlap.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import GeometryError, refuse
from ..kernel.path import Loop, Region, signed_area
from ..kernel.segment import Segment
from .edges import Ring
from .relax import Border

Stop = tuple[float, int, int]
"""An end of a border on a ring: its station (m), the border's number, 0 for its start or 1 for its end."""


@dataclass(frozen=True, slots=True)
class _Piece:
    """A directed run of segments with a drift on its left, from one node to another."""

    left: int
    start: tuple[int, ...]
    end: tuple[int, ...]
    segments: tuple[Segment, ...]


def assembled(rings: Sequence[Ring], borders: Sequence[Border], chains: Sequence[Sequence[Segment]],
              lone: Sequence[int], count: int) -> list[Region]:
    """Return the region of each of `count` drifts. `lone[k]` is the drift round ring k if no border meets it.

    GeometryError if the chains do not part the bed into one piece for each drift.
    """
    pieces = _both_ways(borders, chains) + _stretches(rings, borders, lone)
    outers: list[list[Loop]] = [[] for _ in range(count)]
    holes: list[list[Loop]] = [[] for _ in range(count)]
    for drift, segments in _walks(pieces):
        loop = Loop.of(segments)
        (outers if signed_area(segments) > 0 else holes)[drift].append(loop)
    for drift in range(count):
        if len(outers[drift]) != 1:
            raise refuse(GeometryError, f"a group of a bed in {len(outers[drift])} pieces",
                         "ask for fewer groups, or draw the group by hand", "group-in-pieces")
    return [Region(outers[k][0], tuple(holes[k])) for k in range(count)]


def _node(border: int, end: int, borders: Sequence[Border]) -> tuple[int, ...]:
    """Return what names an end: its junction, or itself on the edge."""
    number = borders[border].start if end == 0 else borders[border].end
    return (0, number) if borders[border].feet[end] is None else (1, border, end)


def _both_ways(borders: Sequence[Border], chains: Sequence[Sequence[Segment]]) -> list[_Piece]:
    pieces = []
    for k, (border, chain) in enumerate(zip(borders, chains, strict=True)):
        start, end = _node(k, 0, borders), _node(k, 1, borders)
        pieces.append(_Piece(border.left, start, end, tuple(chain)))
        pieces.append(_Piece(border.right, end, start, tuple(s.reversed() for s in reversed(chain))))
    return pieces


def _stretches(rings: Sequence[Ring], borders: Sequence[Border], lone: Sequence[int]) -> list[_Piece]:
    """Return the stretches of the edge between chains; a ring that no chain meets is one piece."""
    pieces = []
    for number, ring in enumerate(rings):
        stops = stops_on(borders, number)
        if not stops:
            pieces.append(_Piece(lone[number], (2, number), (2, number), ring.segments))
        stops = _in_turn(stops, borders)
        for at, then in zip(stops, stops[1:] + stops[:1], strict=True):
            pieces.append(_Piece(ahead(at, borders), _node(at[1], at[2], borders), _node(then[1], then[2], borders),
                                 tuple(ring.stretch(at[0], then[0]))))
    return pieces


def stops_on(borders: Sequence[Border], ring: int) -> list[Stop]:
    """Return the ends of borders on a ring, in the order of their stations."""
    return sorted((foot.station, k, e) for k, border in enumerate(borders)
                  for e, foot in enumerate(border.feet) if foot is not None and foot.ring == ring)


def ahead(stop: Stop, borders: Sequence[Border]) -> int:
    """Return the drift of the edge after a chain's end: the left of the chain as it arrives."""
    border = borders[stop[1]]
    return border.left if stop[2] == 1 else border.right


def behind(stop: Stop, borders: Sequence[Border]) -> int:
    """Return the drift of the edge before a chain's end: the right of the chain as it arrives."""
    border = borders[stop[1]]
    return border.right if stop[2] == 1 else border.left


def _in_turn(stops: list[Stop], borders: Sequence[Border]) -> list[Stop]:
    """Check that each stretch of the edge has one drift at both its ends."""
    for at, then in zip(stops, stops[1:] + stops[:1], strict=True):
        if ahead(at, borders) != behind(then, borders):
            raise refuse(GeometryError, "borders of groups meet the edge of the bed out of turn",
                         "ask for fewer groups, or draw the group by hand", "edge-out-of-turn")
    return stops


def _walks(pieces: Sequence[_Piece]) -> list[tuple[int, list[Segment]]]:
    """Join pieces with the same drift on the left into rings."""
    leaving: dict[tuple[int, tuple[int, ...]], list[int]] = {}
    for k, piece in enumerate(pieces):
        leaving.setdefault((piece.left, piece.start), []).append(k)
    used = [False] * len(pieces)
    walks = []
    for k, piece in enumerate(pieces):
        if used[k]:
            continue
        segments: list[Segment] = []
        at = k
        while not used[at]:
            used[at] = True
            segments += pieces[at].segments
            ahead = [n for n in leaving.get((piece.left, pieces[at].end), []) if not used[n] or n == k]
            if len(ahead) != 1:
                raise refuse(GeometryError, "a group of a bed that touches itself",
                             "ask for fewer groups, or draw the group by hand", "group-touches-itself")
            at = ahead[0]
        walks.append((piece.left, segments))
    return walks
