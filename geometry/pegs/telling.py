"""What is said of pegs that cannot be set: what they see, and where a mark would help most. Lengths in metres."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from ..errors import Problem, Weight
from .linear import cut_angle
from .peg import Peg, PegSet, ellipse_of
from .plan import Plan, Target
from .sight import Sight
from .standing import Site

Floats = NDArray[np.float64]

MOST_NAMED = 4
"""Marks that a message names: the nearest."""

WEAK = 30.0
"""A mark whose standard error one way is more than this, mm, is said to be weak: the coarsest peg would suffer."""

FAR = 8
"""Pegs farther from the marks than this times the marks' own spread are refused: the base is too short."""


def short_base(places: Floats, plans: Sequence[Plan]) -> Problem | None:
    """Return what is wrong with marks at `places` (n x 2) that lie too close together for the pegs of `plans`."""
    base = float(np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)).max())
    reach = [(float(np.hypot(*(places - (t.at.x, t.at.y)).T).min()), plan) for plan in plans for t in plan.primary]
    far, plan = max(reach, key=lambda r: r[0], default=(0.0, None))
    if plan is None or not far > FAR * base:
        return None
    return Problem(
        f"the marks lie within {base:.3f} m of each other, but pegs are wanted {far:.3f} m from them: "
        f"the base is too short",
        f"measure in a mark at the far end, or marks {far / 4:.0f} m apart at least",
        "baseline-short",
        plan.pegging.place,
    )


def covered(plan: Plan, target: Target) -> Problem:
    """Return the problem of a peg that would stand within something, or out of the garden."""
    return Problem(
        f"{_called(plan, target)} stands within something that is there already, or beyond the boundary",
        "move the element, or the thing that stands there", "peg-unreached", plan.pegging.place,
    )


def unreached(plan: Plan, target: Target, places: Floats, names: Sequence[str], sight: Sight, site: Site,
              longest: float) -> Problem:
    """Return the problem of a peg that no pair of marks sets: which of them it sees, within a tape of `longest`."""
    spot = np.array([target.at.x, target.at.y])
    reach = np.hypot(*(places - spot).T)
    free = sight.free(places, np.broadcast_to(spot, places.shape))
    seen = [int(k) for k in np.flatnonzero(free & (reach <= longest))]
    near = sorted(seen, key=lambda k: (round(float(reach[k]), 4), k))
    words = ", ".join(f"{names[k]} at {reach[k]:.3f} m" for k in near[:MOST_NAMED]) or \
        _too_far(names, reach, free, longest)
    words += f" and {len(near) - MOST_NAMED} more" if len(near) > MOST_NAMED else ""
    pairs = [(cut_angle(spot, places[a], places[b]), names[a], names[b]) for a in seen for b in seen if a < b]
    best = max(pairs, key=lambda p: math.sin(math.radians(p[0])), default=None)
    angle = f"; its best pair {best[1]}, {best[2]} crosses at {best[0]:.0f} degrees" if best else ""
    return Problem(f"{_called(plan, target)} cannot be set: it sees {words}{angle}",
                   _helpful(site, sight, spot, places[seen]), "peg-unreached", plan.pegging.place)


def _too_far(names: Sequence[str], reach: Floats, free: NDArray[np.bool_], longest: float) -> str:
    """Return the words for no mark; with the nearest that only the tape does not reach."""
    far = [int(k) for k in np.flatnonzero(free)]
    if not far:
        return "no mark"
    k = min(far, key=lambda k: (round(float(reach[k]), 4), k))
    return f"no mark within a tape of {longest:g} m (the nearest, {names[k]}, is {reach[k]:.3f} m away)"


def lost(plan: Plan, target: Target, sight: Sight, site: Site) -> Problem:
    """Return the problem of a point between other pegs that nothing reaches."""
    spot = np.array([target.at.x, target.at.y])
    return Problem(f"{_called(plan, target)} cannot be set from any mark or peg",
                   _helpful(site, sight, spot, np.zeros((0, 2))), "peg-unreached", plan.pegging.place)


def outside(pegs: Sequence[Peg], plans: Sequence[Plan], accept: Sequence[str]) -> Iterator[Problem]:
    """Yield advice for elements whose pegs are expected to miss their tolerance, after truing up where they are trued.

    `accept` names pegs, as 'part of element', that may.
    """
    where = {plan.pegging.element: plan.pegging.place for plan in plans}
    weak: dict[str, list[Peg]] = {}
    for peg in pegs:
        if not peg.inside and f"{peg.part} of {peg.element}" not in accept:
            weak.setdefault(peg.element, []).append(peg)
    for element, own in weak.items():
        names = ", ".join(p.name for p in own[:6]) + (" …" if len(own) > 6 else "")
        worst = max(own, key=lambda p: (_share(p), p.name))
        square, shape = (worst.square, worst.shape) if worst.trued_square is None else \
            (worst.trued_square, worst.trued_shape)
        limit = worst.position_limit
        if limit is not None and 2 * square > limit:
            what = f"out by up to {2 * square:.0f} mm where {limit:.0f} mm is allowed"
        else:
            what = (f"out of shape by up to {2 * (shape or 0.0):.0f} mm where {worst.shape_limit or 0.0:.0f} mm is "
                    "allowed")
        trued = "" if worst.trued_square is None else \
            f", trued up; {2 * worst.square:.0f} mm, {2 * (worst.shape or 0.0):.0f} mm in shape, before"
        yield Problem(f"{element}: pegs {names} are expected to be {what}{trued}",
                      "measure in a third mark near it, use a longer baseline, or name a wider tolerance",
                      "peg-tolerance", where.get(element), Weight.ADVICE)


def of_control(pegs: PegSet) -> Iterator[Problem]:
    """Yield advice for marks that are hardly fixed, and for names under `accept` that nothing has."""
    for mark in pegs.control.marks:
        long_axis, _, _ = ellipse_of(mark.covariance)
        if not long_axis <= WEAK:
            yield Problem(f"the mark {mark.name} may be out by {2 * long_axis:.0f} mm one way: its tapes cross too "
                          "flat, or are too long", "tape it to one more mark that sees it from the side", "weak-mark",
                          weight=Weight.ADVICE)
    yield from _unmet(pegs)


def _unmet(pegs: PegSet) -> Iterator[Problem]:
    marks = [mark.name for mark in pegs.control.marks]
    known = {*marks, *(f"{r.start}-{r.end}" for r in pegs.control.readings),
             *(f"{r.end}-{r.start}" for r in pegs.control.readings), *(f"{p.part} of {p.element}" for p in pegs.pegs)}
    for name in pegs.options.accept:
        if name not in known:
            yield Problem(f"setting_out.accept: '{name}' is no reading, mark or peg of this garden",
                          "name a reading as A-C, a mark as B, a peg as 'corner 1 of terrace'", "accept-unmet",
                          weight=Weight.ADVICE)


def _share(peg: Peg) -> float:
    """Return the larger of a peg's shares of its tolerances, 1 being just inside."""
    square, shape = (peg.square, peg.shape) if peg.trued_square is None else (peg.trued_square, peg.trued_shape)
    return max(2 * square / (peg.position_limit or math.inf), 2 * (shape or 0.0) / (peg.shape_limit or math.inf))


def _helpful(site: Site, sight: Sight, spot: Floats, seen: Floats) -> str:
    """Say where a mark would help most: seen from the peg, and square to what it sees already."""
    spots = site.candidates()
    away = spots - spot
    reach = np.hypot(*away.T)
    free = sight.free(spots, np.broadcast_to(spot, spots.shape)) & (reach > 1) & (reach < 15)
    if not free.any():
        return "clear a line to it, or move it"
    sharp = np.ones(len(spots))
    if len(seen):
        u, v = away / reach[:, None], (seen - spot) / np.hypot(*(seen - spot).T)[:, None]
        sharp = np.abs(u[:, None, 0] * v[None, :, 1] - u[:, None, 1] * v[None, :, 0]).max(axis=1)
    score = np.where(free, sharp - reach / 100, -1.0)
    best = spots[int(np.argmax(np.round(score, 6)))]
    return f"measure in a mark near ({best[0]:.1f}, {best[1]:.1f}), where it would help most"


def _called(plan: Plan, target: Target) -> str:
    return f"{target.part} of {plan.pegging.element} at ({target.at.x:.3f}, {target.at.y:.3f})"
