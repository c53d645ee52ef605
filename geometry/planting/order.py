"""Which group stands where: the strips of a bed from front to back and the groups of each from left to right.

Takes kinds with their group counts, rows and heights (never their shares, so that a small change of share keeps the
order). Gives strips of groups. Repeats of a kind are spread by the golden ratio; neighbours are swapped while that
keeps like groups further apart, wanted places nearer, and clashing colours from touching.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from .mix import Row

GOLDEN = (math.sqrt(5) - 1) / 2
"""Steps of this part of a turn never bunch."""

SWEEPS = 6
LIKE_WEIGHT, LIKE_SLOTS = 1.5, 1.8
TOLD_WEIGHT, TOLD_SLOTS = 4.0, 3.0
PLACE_WEIGHT = 4.0
COLOUR_WEIGHT = 0.3
AWAY_WEIGHT = 0.4
EXCHANGES = 3
GAIN = 1e-9


@dataclass(frozen=True, slots=True)
class Drift:
    """One group to be placed: the number of its kind in the list, which of how many, its row, and what its kind is."""

    kind: int
    number: int
    of: int
    row: Row | None = None
    height: float = 0.0
    colour: str = ""
    see_through: bool = False


@dataclass(frozen=True, slots=True)
class Order:
    """Strips from front to back; each holds the numbers of drifts from left to right."""

    strips: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the order minds besides places: pairs of kinds told to keep apart, pairs of colours that clash."""

    apart: frozenset[int] = frozenset()
    clashes: frozenset[tuple[str, str]] = field(default_factory=frozenset)


def strip_rows(count: int, island: bool) -> tuple[Row | None, ...]:
    """Return what each strip is, front to back. An island's back is its middle, and it has an odd number of strips."""
    f, m, b = Row.FRONT, Row.MIDDLE, Row.BACK
    if island:
        return {1: (None,), 3: (f, b, f), 5: (f, m, b, m, f)}[count]
    return {1: (None,), 2: (f, b), 3: (f, m, b), 4: (f, m, b, b), 5: (f, m, m, b, b)}[count]


def strip_count(depth: float, thickness: float, drifts: int, island: bool) -> int:
    """Return how many strips a bed of this mean depth takes when drifts are so thick (both m)."""
    count = min(5, max(1, math.floor(depth / thickness + 0.5)), max(1, drifts // 2))
    if island and count % 2 == 0:
        count -= 1
    return count


def place_wanted(drift: Drift, seed: int) -> float:
    """Return where along the bed (0 to 1) a drift wants to be: its kind's phase, its repeats evenly behind it."""
    phase = (GOLDEN * (drift.kind + seed)) % 1.0
    if drift.of == 1:
        return 0.08 + 0.84 * phase
    return (drift.number + 0.5 + 0.7 * (phase - 0.5)) / drift.of


def order_of(drifts: Sequence[Drift], strips: int, island: bool, seed: int, wishes: Wishes) -> Order:
    """Return the order of `drifts` in so many strips."""
    wanted = [place_wanted(d, seed) for d in drifts]
    rows = _fill(drifts, strip_rows(strips, island), wanted)
    for row in rows:
        row.sort(key=lambda i: (wanted[i], i))
    _swap(rows, drifts, wanted, wishes)
    if len(rows) == strips:
        _exchange(rows, drifts, wanted, wishes, _homes(drifts, strip_rows(strips, island)))
    return Order(tuple(tuple(row) for row in rows))


def _fill(drifts: Sequence[Drift], rows: Sequence[Row | None], wanted: Sequence[float]) -> list[list[int]]:
    """Deal the drifts out to strips: those with a row first, then the free ones, low to tall from front to back."""
    filled: list[list[int]] = [[] for _ in rows]
    stated = [i for i, d in enumerate(drifts) if d.row is not None]
    free = [i for i, d in enumerate(drifts) if d.row is None]
    for i in stated:
        _put(i, _strips_for(drifts[i].row, rows), filled, drifts, wanted)
    levels = _levels(drifts, free, len(rows))
    for i in sorted(free, key=lambda i: (-drifts[i].of, drifts[i].kind, drifts[i].number)):
        near = _strips_near(levels.get(drifts[i].kind), rows)
        lonely = [k for k in range(len(rows)) if _lonely(k, i, filled, drifts) > 0]
        _put(i, [k for k in near if k in lonely] or lonely or near, filled, drifts, wanted)
    for row in filled:
        if not row:         # a strip that nothing wants takes a drift from the fullest
            fullest = max(filled, key=len)
            if len(fullest) > 1:
                row.append(fullest.pop())
    return [row for row in filled if row]


def _strips_for(row: Row | None, rows: Sequence[Row | None]) -> list[int]:
    held = [k for k, what in enumerate(rows) if what is row]
    return held or list(range(len(rows)))


def _levels(drifts: Sequence[Drift], free: Sequence[int], strips: int) -> Mapping[int, float]:
    """Return for each free kind how far back its height puts it (0 front, 1 back); empty if heights are not known."""
    kinds = {drifts[i].kind: drifts[i] for i in free}
    if strips < 2 or len(kinds) < 2 or any(not d.height > 0 for d in kinds.values()):
        return {}
    ranked = sorted(kinds, key=lambda k: (kinds[k].height, k))
    total = sum(kinds[k].of for k in ranked)
    levels, passed = {}, 0
    for kind in ranked:
        levels[kind] = (passed + kinds[kind].of / 2) / total
        if kinds[kind].see_through:
            levels[kind] = max(0.0, levels[kind] - 1 / strips)
        passed += kinds[kind].of
    return levels


def _strips_near(level: float | None, rows: Sequence[Row | None]) -> list[int]:
    """Return the one or two strips nearest to a level of height."""
    count = len(rows)
    if level is None or count == 1:
        return list(range(count))
    if rows[0] is rows[-1]:                         # island: both sides fall away from the middle
        half = count // 2
        return sorted({k for k in range(count) if abs(half - abs(k - half) - level * half) <= 0.5 + 1e-9}) or [half]
    spot = level * count - 0.5
    near = [k for k in range(count) if abs(k - spot) <= 0.75]
    return near or [min(count - 1, max(0, round(spot)))]


def _lonely(strip: int, drift: int, filled: list[list[int]], drifts: Sequence[Drift]) -> int:
    """Return how many drifts of other kinds a strip still needs so that like ones need not touch in it."""
    kinds = [drifts[j].kind for j in filled[strip]]
    most = max((kinds.count(k) for k in set(kinds) if k != drifts[drift].kind), default=0)
    return 2 * most - 1 - len(kinds)


def _put(drift: int, strips: Sequence[int], filled: list[list[int]], drifts: Sequence[Drift],
         wanted: Sequence[float]) -> None:
    """Put a drift where there is room: the emptiest of `strips`, there away from its like."""
    def load(strip: int) -> tuple[int, int, float, int]:
        crowd = sum(max(0.0, 0.4 - abs(wanted[j] - wanted[drift])) for j in filled[strip]
                    if drifts[j].kind == drifts[drift].kind)
        return (-max(0, _lonely(strip, drift, filled, drifts)), len(filled[strip]), crowd, strip)

    filled[min(strips, key=load)].append(drift)


def _swap(rows: list[list[int]], drifts: Sequence[Drift], wanted: Sequence[float], wishes: Wishes) -> None:
    """Swap neighbours in their strip while the whole cost falls."""
    cost = _cost(rows, drifts, wanted, wishes)
    for _ in range(SWEEPS):
        before = cost
        for row in rows:
            for k in range(len(row) - 1):
                row[k], row[k + 1] = row[k + 1], row[k]
                tried = _cost(rows, drifts, wanted, wishes)
                if tried < cost - GAIN:
                    cost = tried
                else:
                    row[k], row[k + 1] = row[k + 1], row[k]
        if not cost < before - GAIN:
            return


def _homes(drifts: Sequence[Drift], rows: Sequence[Row | None]) -> list[tuple[int, ...]]:
    """Return the strips in which each drift is at home: those of its row, or those near its height."""
    levels = _levels(drifts, [i for i, d in enumerate(drifts) if d.row is None], len(rows))
    return [tuple(_strips_for(d.row, rows) if d.row else _strips_near(levels.get(d.kind), rows)) for d in drifts]


def _exchange(rows: list[list[int]], drifts: Sequence[Drift], wanted: Sequence[float], wishes: Wishes,
              homes: Sequence[tuple[int, ...]]) -> None:
    """Let drifts that would touch their like change places with any other while the whole cost falls."""
    def full() -> float:
        away = sum(min(abs(r - h) for h in homes[i]) for r, row in enumerate(rows) for i in row)
        return _cost(rows, drifts, wanted, wishes) + AWAY_WEIGHT * away

    cost = full()
    for _ in range(EXCHANGES):
        better = False
        for r, k in _crowded(rows, drifts):
            for q, row in enumerate(rows):
                for m in range(len(row)):
                    if not _may(rows[r][k], q, drifts, homes) or not _may(row[m], r, drifts, homes):
                        continue
                    rows[r][k], row[m] = row[m], rows[r][k]
                    tried = full()
                    if tried < cost - GAIN:
                        cost, better = tried, True
                    else:
                        rows[r][k], row[m] = row[m], rows[r][k]
        if not better:
            return


def _may(drift: int, strip: int, drifts: Sequence[Drift], homes: Sequence[tuple[int, ...]]) -> bool:
    return strip in homes[drift] or (drifts[drift].row is None and min(abs(strip - h) for h in homes[drift]) <= 1)


def _crowded(rows: list[list[int]], drifts: Sequence[Drift]) -> list[tuple[int, int]]:
    """Return the places (strip, slot) of drifts that lie beside one of their kind."""
    spots = [(r, k, (k + 0.5) / len(row), len(row), drifts[i].kind) for r, row in enumerate(rows)
             for k, i in enumerate(row)]
    found = []
    for r, k, at, size, kind in spots:
        for q, m, other, count, like in spots:
            same = q == r and abs(m - k) == 1
            facing = abs(q - r) == 1 and abs(other - at) < 1.2 * (1 / size + 1 / count) / 2
            if kind == like and (same or facing):
                found.append((r, k))
                break
    return found


def _cost(rows: list[list[int]], drifts: Sequence[Drift], wanted: Sequence[float], wishes: Wishes) -> float:
    total = 0.0
    for r, row in enumerate(rows):
        size = len(row)
        for k, i in enumerate(row):
            total += PLACE_WEIGHT * ((k + 0.5) / size - wanted[i]) ** 2
            for m in range(k + 1, min(size, k + 4)):
                total += _pair(drifts[i], drifts[row[m]], m - k, wishes)
            if r + 1 < len(rows):
                total += _facing(drifts, i, (k + 0.5) / size, size, rows[r + 1], wishes)
    return total


def _facing(drifts: Sequence[Drift], i: int, at: float, size: int, other: list[int], wishes: Wishes) -> float:
    """Return the cost of one drift against those of the next strip."""
    scale = (size + len(other)) / 2
    return sum(_pair(drifts[i], drifts[j], abs((m + 0.5) / len(other) - at) * scale, wishes)
               for m, j in enumerate(other))


def _pair(a: Drift, b: Drift, slots: float, wishes: Wishes) -> float:
    if a.kind == b.kind:
        told = a.kind in wishes.apart
        weight, reach = (TOLD_WEIGHT, TOLD_SLOTS) if told else (LIKE_WEIGHT, LIKE_SLOTS)
        return weight * max(0.0, reach - slots)
    if slots < 1.05 and wishes.clashes and tuple(sorted((a.colour, b.colour))) in wishes.clashes:
        return COLOUR_WEIGHT
    return 0.0
