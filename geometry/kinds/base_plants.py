"""What hedges and trees share: the plant behind the word that the model gives."""

from __future__ import annotations

from dataclasses import replace

from ..kernel.path import Loop, Path
from ..planting.plants import Habit, Plant
from .base import GardenView

CLOSED = 1e-6
"""A line whose ends are this near is a ring, metres."""


def plant_called(word: str, otherwise: str, spacing: float, habit: Habit, garden: GardenView) -> Plant:
    """Return the garden's plant of that name; one of no other figures than `spacing` (m) where none is listed.

    `otherwise` is the name where the model gives none. What an element of the kind tree is made of is a tree, whatever
    its habit in the list.
    """
    listed = garden.plants.get(word)
    if listed is None:
        return Plant(name=word or otherwise, spacing=min(max(spacing, 0.02), 30.0), habit=habit)
    return replace(listed, habit=habit) if habit is Habit.TREE else listed


def ring_or_path(line: Path) -> Path | Loop:
    """Return a line that ends where it begins as a ring."""
    return Loop.of(line.segments) if line.start.distance(line.end) < CLOSED else line
