"""Numbers kept by where they stand: those near a point are found without looking at all.

Takes: points in metres. Gives: numbers whose cell touches that of a point.
"""

from __future__ import annotations

from ..kernel.point import Point

CELL = 0.01
"""Side of a cell, metres: more than what still counts as one place."""


class Cells:
    """A grid of small cells, each with the numbers that stand in it."""

    def __init__(self) -> None:
        self._held: dict[tuple[int, int], list[int]] = {}

    def add(self, number: int, at: tuple[float, float]) -> None:
        """Keep a number at its place."""
        self._held.setdefault((round(at[0] / CELL), round(at[1] / CELL)), []).append(number)

    def near(self, at: Point) -> list[int]:
        """Return the numbers in a point's cell and the eight around it."""
        x, y = round(at.x / CELL), round(at.y / CELL)
        return [n for dx in (-1, 0, 1) for dy in (-1, 0, 1) for n in self._held.get((x + dx, y + dy), ())]
