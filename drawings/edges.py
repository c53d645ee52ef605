"""How the edges of a shape are drawn with sand when its pegs stand: round a centre, by a loop, along a string.

Takes: a SettingOut and the pegs of a shape. Gives: what to do, in words and readings. Metres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..geometry.features import Purpose
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Point
from ..geometry.kernel.segment import Arc, Line
from ..geometry.pegs.halving import halvings
from ..geometry.pegs.peg import Method, Peg
from ..geometry.setout import SettingOut

NEAR = 0.005
"""A peg within this of a place stands there, metres: half the finest shape tolerance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """An edge drawn round a centre peg: the reading, and the pegs that the sand runs between ('' for all round)."""

    centre: str
    reading: str
    start: str = ""
    end: str = ""

    @property
    def where(self) -> str:
        """Where the sand runs."""
        return f"from {self.start} to {self.end}" if self.start != self.end else "all round"


@dataclass(frozen=True, slots=True, kw_only=True)
class Edges:
    """All edges of a shape: those round centre pegs, and sentences for the others."""

    swings: tuple[Swing, ...] = ()
    others: tuple[str, ...] = ()


def edges_of(work: SettingOut, element: str, pegs: Sequence[Peg]) -> Edges:
    """Return how the edges of one shape are drawn; nothing for posts and single pegs."""
    if len(pegs) < 2 or all(p.purpose is Purpose.POST for p in pegs):
        return Edges()
    loop = _loop(pegs)
    if loop:
        return Edges(others=loop)
    lines = work.pegs.outlines.get(element, ())
    swings = [s for line in lines for s in _swings(work, line, pegs)]
    segments = [s for line in lines for s in line.segments]
    others = []
    if any(isinstance(s, Line) for s in segments):
        others.append("Straight edges: stretch a string from nail to nail. Trickle sand along it.")
    centres = [p.at for p in work.pegs.pegs if p.purpose is Purpose.CENTRE]
    if any(isinstance(s, Arc) and not any(c.distance(s.centre) <= NEAR for c in centres) for s in segments):
        others.append("Other bends: lay a hose past their nails. Look along it. Trickle sand.")
        others += _halved(work, element)
    if swings and any(p.purpose is Purpose.ASIDE for p in pegs):
        others.append("Where something stops the tape: lay a hose past the nails there. Look along it. Trickle sand.")
    return Edges(swings=tuple(dict.fromkeys(swings)), others=tuple(others))


def _halved(work: SettingOut, element: str) -> list[str]:
    """Return how more points are found between the pegs of bends, and how wrong the rule is."""
    found = halvings(work.pegs, element)
    if not found:
        return []
    unit = "" if work.pegs.options.tape.feet else " m"
    each = "; ".join(f"{h.start} to {h.end} {h.rise.text}{unit}, then {h.quarter.text}{unit}" for h in found)
    worst = max(h.error for h in found) * 1000
    return ["More points by halving: half way along a string between two nails go square out. Half way again from "
            f"there, a quarter as far out. These points are wrong by {_least_tenth(worst)} mm at most. {each}."]


def _least_tenth(mm: float) -> str:
    return f"{max(math.ceil(mm * 10 - 1e-9), 1) / 10:.1f}"


def _loop(pegs: Sequence[Peg]) -> tuple[str, ...]:
    """Return how an oval is drawn by a loop of string round its two string pegs and an end peg."""
    foci = [p.name for p in pegs if p.purpose is Purpose.FOCUS]
    ends = [p.name for p in pegs if p.method is Method.LINE and p.from_1 in foci and p.from_2 in foci]
    if len(foci) != 2 or not ends:
        return ()
    return (f"Put the string round {foci[0]}, {foci[1]} and {ends[0]}. Pull it tight. Tie it.",
            "Put a stick inside the loop. Keep the loop tight. Walk round. Trickle sand at the stick.",
            "String that stretches makes the oval too big. Use wire or thin cord.")


def _swings(work: SettingOut, line: Loop | Path, pegs: Sequence[Peg]) -> list[Swing]:
    found = []
    tape = work.pegs.options.tape
    centres = [p for p in work.pegs.pegs if p.purpose is Purpose.CENTRE]
    for run in _runs(line):
        centre = next((p for p in centres if p.at.distance(run[0].centre) <= NEAR), None)
        if centre is None:
            continue
        start, end = (_named(at, pegs) for at in (run[0].start, run[-1].end))
        if not (start and end):
            held = [p.name for p in pegs if abs(p.at.distance(centre.at) - run[0].radius) <= NEAR]
            start, end = (start or held[0], end or held[-1]) if held else ("", "")
        whole = isinstance(line, Loop) and len(run) == len(line.segments)
        found.append(Swing(centre=centre.name, reading=tape.reading(run[0].radius).text, start="" if whole else start,
                           end="" if whole else end))
    return found


def _runs(line: Loop | Path) -> list[list[Arc]]:
    """Return arcs of one centre and radius that follow each other, as runs."""
    runs: list[list[Arc]] = []
    last: Arc | None = None
    for segment in line.segments:
        if isinstance(segment, Arc):
            same = last is not None and last.centre.distance(segment.centre) + abs(last.radius - segment.radius) < NEAR
            if same:
                runs[-1].append(segment)
            else:
                runs.append([segment])
        last = segment if isinstance(segment, Arc) else None
    return runs


def _named(at: Point, pegs: Sequence[Peg]) -> str:
    return next((p.name for p in pegs if p.at.distance(at) <= NEAR), "")
