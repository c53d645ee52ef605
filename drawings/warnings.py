"""The cautions of a sheet, in our own words: only what the garden touches, buried services first.

They warn; they do not teach: each of them sends the reader to the local code or to a licensed person. What they say
is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence

from ..geometry.features import Caution

WORDS: dict[Caution, tuple[str, str]] = {
    Caution.SERVICES: (
        "Buried services",
        "Get the owners' records of cables, pipes and drains, and have them traced, before any peg or spade goes in.",
    ),
    Caution.EXCAVATION: (
        "Digging",
        "Support or slope the sides as the local rules ask. Keep soil and machines off the edge.",
    ),
    Caution.WALLS: (
        "Walls",
        "Have a licensed engineer check a wall that holds back ground or is taller than the local code lets pass.",
    ),
    Caution.WATER: (
        "Water",
        "Small children drown in shallow water: fence or mesh it from the first day, by the local code.",
    ),
    Caution.TREES: (
        "Trees that stay",
        "No digging, driving or storing under a crown until a qualified person has seen the roots.",
    ),
    Caution.HEIGHTS: ("Overhead work", "Prop posts and beams until braced. Sizes and fixings follow the local code."),
    Caution.DUST: ("Dust", "Cut stone and brick wet, with a mask; the local rules come first."),
    Caution.CLEARANCE: (
        "Taking down",
        "Have what is to go looked at first for asbestos, live cables and what it holds up; local rules come first.",
    ),
    Caution.FELLING: (
        "Trees and hedges to go",
        "Ask first whether they are protected or nested in; a qualified person fells trees and takes out stumps.",
    ),
    Caution.DRAINING: (
        "Pond to go",
        "Find a home for what lives in it, empty it where the local rules let it run, and fill it the same day.",
    ),
    Caution.LOWERING: (
        "Beams to go",
        "Prop first, take down from the top, nobody below; a licensed builder where it leans on a building.",
    ),
    Caution.BREAKING: (
        "Breaking out",
        "Trace services first; guard eyes, ears, lungs and feet; keep the dust wet. Local rules come first.",
    ),
    Caution.TAPES: (
        "Tapes",
        "Hold them level and tight. Measure between the control marks first; if they do not agree, stop and ask.",
    ),
}

ON_SHEET = {
    "setting out": (Caution.SERVICES, Caution.EXCAVATION, Caution.TREES, Caution.TAPES),
    "recovery": (Caution.SERVICES, Caution.EXCAVATION, Caution.TREES, Caution.TAPES),
    "hardscape": (Caution.SERVICES, Caution.EXCAVATION, Caution.WALLS, Caution.WATER, Caution.HEIGHTS, Caution.DUST,
                  Caution.CLEARANCE, Caution.DRAINING, Caution.LOWERING, Caution.BREAKING),
    "planting": (Caution.SERVICES, Caution.WATER, Caution.TREES),
    "levels": (Caution.SERVICES, Caution.EXCAVATION, Caution.WALLS, Caution.TREES),
    "details": (Caution.SERVICES, Caution.EXCAVATION, Caution.WALLS, Caution.WATER, Caution.HEIGHTS, Caution.DUST),
}
"""What each sheet has to do with; a sheet that is not named warns of everything the garden touches."""


def cautions_for(sheet: str, touched: Sequence[tuple[Caution, tuple[str, ...]]]) -> tuple[tuple[str, str], ...]:
    """Return lead word and words of each caution of a sheet. Services stand on every sheet, known or not."""
    wanted = ON_SHEET.get(sheet, tuple(WORDS))
    there = {caution for caution, _ in touched} | {Caution.SERVICES}
    if sheet in {"setting out", "recovery", "tables"}:
        there.add(Caution.TAPES)
    return tuple(WORDS[c] for c in WORDS if c in there and c in wanted)
