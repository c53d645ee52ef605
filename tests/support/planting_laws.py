"""The laws that every planted bed keeps, measured from the result alone."""

from __future__ import annotations

from collections import Counter

import numpy as np

from pegbook.geometry.kernel.flatten import polygon
from pegbook.geometry.planting.planted import BedPlanting

MILLIMETRE = 1e-3
FINE = 1e-4


def share_error(planted: BedPlanting) -> float:
    """The worst share error of a kind, as a part of its share."""
    ground = sum(g.area for g in planted.groups if not g.by_hand)
    asked: Counter[str] = Counter()
    got: Counter[str] = Counter()
    for entry in planted.bed.mix:
        if entry.share is not None and not entry.through:
            asked[planted.bed.plants[entry.plant].name] += entry.share  # type: ignore[assignment]
    for group in planted.groups:
        if not group.by_hand:
            got[group.plant.name] += group.area  # type: ignore[assignment]
    total = sum(asked.values())
    return max(abs(got[name] / ground / (share / total) - 1) for name, share in asked.items())


def broken_laws(planted: BedPlanting) -> list[str]:
    """Every law that the bed breaks, in words; none if all is well."""
    return [*_ground(planted), *_spacings(planted), *_edges(planted), *_sizes(planted), *_sums(planted)]


def _ground(planted: BedPlanting) -> list[str]:
    """Groups fill the bed (less single plants' holes) without overlap, each in one sound piece."""
    out = []
    shapes = [polygon(g.region, FINE) for g in planted.groups]
    out += [f"group {g.number} is no sound outline" for g, s in zip(planted.groups, shapes, strict=True)
            if not s.is_valid]
    if out:
        return out
    total = sum(g.area for g in planted.groups)
    if not planted.singles and not planted.bed.stems and abs(total - planted.area) > 1e-6:
        out.append(f"groups hold {total:.6f} of {planted.area:.6f} m2")
    for k, a in enumerate(shapes):
        out += [f"groups {k + 1} and {m + 1} overlap" for m, b in enumerate(shapes[:k])
                if a.intersects(b) and a.intersection(b).area > FINE * (a.length + b.length)]
        beds = [polygon(r, FINE).buffer(3 * FINE) for r in planted.bed.regions]
        if not any(b.covers(a) for b in beds):
            out.append(f"group {k + 1} leaves the bed")
    return out


def _spacings(planted: BedPlanting) -> list[str]:
    """Like plants a spacing apart, unlike ones half of both, to a millimetre."""
    spots, need = [], []
    for group in planted.groups:
        spots += [(p.x, p.y) for p in group.points]
        need += [group.spacing / 2] * len(group.points)
    for single in planted.singles:
        spots.append((single.at.x, single.at.y))
        need.append(single.spacing / 2)
    if len(spots) < 2:
        return []
    at, half = np.array(spots), np.array(need)
    away = np.hypot(at[:, None, 0] - at[None, :, 0], at[:, None, 1] - at[None, :, 1])
    lack = half[:, None] + half[None, :] - away
    np.fill_diagonal(lack, -1.0)
    worst = float(lack.max())
    return [f"two plants stand {worst * 1000:.1f} mm too near"] if worst > MILLIMETRE else []


def _edges(planted: BedPlanting) -> list[str]:
    """Every plant half a spacing inside its group."""
    from shapely import Point as Spot

    out = []
    for group in planted.groups:
        body = polygon(group.region, FINE)
        for p in group.points:
            spot = Spot(p.x, p.y)
            inside = body.distance(spot) == 0
            lack = group.spacing / 2 - body.boundary.distance(spot)
            if not inside or lack > MILLIMETRE:
                out.append(f"a plant of group {group.number} stands {lack * 1000:.1f} mm too near its edge")
    return out


def _sizes(planted: BedPlanting) -> list[str]:
    """Groups above the least size or a word about them."""
    words = " ".join(str(m) for m in planted.messages)
    return [f"group {g.number} is small and nobody says so" for g in planted.groups
            if (len(g.points) < 3 or g.radius < 0.93 * g.spacing)
            and f"group {g.number} of {g.plant.name} " not in words]


def _sums(planted: BedPlanting) -> list[str]:
    """Labels add up to the points placed, for each kind."""
    labels: Counter[str] = Counter()
    for label in planted.labels:
        labels[label.name] += label.count
    counts = Counter({n: c for n, c in planted.counts().items() if c})
    return [] if +labels == counts else [f"labels {dict(labels)} are not the plants {dict(counts)}"]
