"""What a bed's planting has to say: groups too small, shares missed, plants too near. Advice, never an error.

Takes values, gives problems with what to change.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from ..errors import Problem, Weight
from .mix import BedInput
from .names import name_faults
from .planted import Group, Scatter, Single
from .plants import Habit

LEAST_PLANTS = 3
LEAST_RADIUS = 0.93
"""In spacings: a circle of this radius takes two staggered rows with half a spacing clear on both sides. Derived."""

LEAST_GROUND = 4.6
"""In spacings squared: ground on which three plants stand in two rows half a spacing clear of the edge. Derived from
three plants at 0.57 of area / (0.866 s2), the part that the best grid holds in small groups."""

OFF = 0.05
"""Shares that are off by more than this part of themselves are reported."""

NEAR = 1e-3
"""Plants may stand this much (m) nearer than their spacings say."""


def advice(what: str, mend: str, code: str) -> Problem:
    """Return one piece of advice."""
    return Problem(what, mend, code, weight=Weight.ADVICE)


def share_sum(bed: BedInput) -> list[Problem]:
    """Return a word where the shares leave a part of the bed over."""
    total = sum(e.share for e in bed.mix if e.share is not None and not e.through)
    if not total or total >= 1 - 5e-3:
        return []
    return [advice(f"{bed.name}: the shares add up to {total * 100:.0f} %; the rest is spread over all groups",
                   "raise the shares to 100 % together, or draw the open part as a hole", "shares-under")]


def share_faults(bed: BedInput, groups: Iterable[Group], area: float) -> list[Problem]:
    """Return a word for each kind whose drifts miss their share of the ground by more than 5 % of it."""
    got: dict[str, float] = {}
    for group in groups:
        if not group.by_hand:
            got[group.plant.name] = got.get(group.plant.name, 0.0) + group.area
    asked: dict[str, float] = {}
    for entry in bed.mix:
        if entry.share is not None and not entry.through:
            name = bed.plants[entry.plant].name
            asked[name] = asked.get(name, 0.0) + entry.share
    total = sum(asked.values())
    found = []
    for name, share in asked.items():
        want = share / total * area
        if not abs(got.get(name, 0.0) - want) <= OFF * want:
            found.append(advice(f"{bed.name}: {name} has {got.get(name, 0.0) / area * 100:.1f} % of the ground, "
                                f"not {share / total * 100:.1f} %",
                                "ask for fewer groups, or another seed", "share-missed"))
    return found


def size_faults(bed: BedInput, groups: Iterable[Group]) -> list[Problem]:
    """Return a word for each group that is under the least size, with the number of groups that would fit."""
    found = []
    everything = list(groups)
    for group in everything:
        few = len(group.points) < LEAST_PLANTS and group.plant.habit is not Habit.TREE
        thin = group.radius < LEAST_RADIUS * group.spacing
        if not (few or thin):
            continue
        what = (f"holds {len(group.points)} plant{'s' * (len(group.points) != 1)}" if few
                else f"is {2 * group.radius:.2f} m wide where it is widest: no room for two rows")
        own = [g for g in everything if g.plant.name == group.plant.name and not g.by_hand]
        found.append(advice(f"{bed.name}: group {group.number} of {group.plant.name} {what}",
                            _mend(group, own), "few-plants" if few else "thin-group"))
    return found


def _mend(group: Group, own: list[Group]) -> str:
    if group.by_hand:
        return "draw it larger, or choose a plant that stands closer"
    fit = math.floor(sum(g.area for g in own) / (LEAST_GROUND * group.spacing**2))
    fit = min(fit, len(own) - 1)
    if fit >= 1:
        return f"ask for {fit} group{'s' * (fit != 1)} of it at most, or give it more share"
    return "give it more share, or choose a plant that stands closer"


def single_faults(bed: BedInput, singles: Iterable[Single], outside: Iterable[Single]) -> list[Problem]:
    """Return a word for single plants outside the bed or too near each other."""
    found = [advice(f"{bed.name}: the {s.plant.name} at ({s.at.x:.2f}, {s.at.y:.2f}) stands outside the bed",
                    "move it in, or place it as an element of its own", "single-outside") for s in outside]
    everything = list(singles)
    for k, one in enumerate(everything):
        for other in everything[k + 1:]:
            need = (one.spacing + other.spacing) / 2
            if one.at.distance(other.at) < need - NEAR:
                apart = one.at.distance(other.at)
                found.append(advice(f"{bed.name}: {one.plant.name} and {other.plant.name} at ({other.at.x:.2f}, "
                                    f"{other.at.y:.2f}) stand {apart:.2f} m apart, not {need:.2f} m",
                                    "move one, or give a smaller spacing", "singles-near"))
    return found


def scatter_faults(bed: BedInput, scatters: Iterable[Scatter]) -> list[Problem]:
    """Return a word where fewer plants found room between the groups than their share asks."""
    return [advice(f"{bed.name}: {len(s.points)} {s.plant.name} found room, not {s.asked}",
                   "lower its share, or its spacing", "scatter-short") for s in scatters if len(s.points) < s.asked]


def lost_faults(bed: BedInput, lost: Mapping[str, int]) -> list[Problem]:
    """Return a word for groups that found no room at all."""
    return [advice(f"{bed.name}: {number} group{'s' * (number != 1)} of {name} found no room",
                   "ask for fewer groups, or give it more share", "group-lost") for name, number in lost.items()]


def joined_faults(bed: BedInput, groups: Iterable[Group]) -> list[Problem]:
    """Return a word for like groups that came to touch and were joined."""
    return [advice(f"{bed.name}: {g.joined} groups of {g.plant.name} touch and are joined as group {g.number}",
                   "ask for fewer groups of it, or another seed", "groups-joined") for g in groups if g.joined > 1]


def name_advice(bed: BedInput) -> list[Problem]:
    """Return a word for each botanical name of the bed whose form is not that of the code for cultivated plants."""
    names = dict.fromkeys(bed.plants[e.plant].botanical for e in bed.mix)
    return [advice(f"{name}: {fault}", "see the International Code of Nomenclature for Cultivated Plants",
                   "botanical-name") for name in names if name for fault in name_faults(name)]
