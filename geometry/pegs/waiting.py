"""Which elements must stand before which: one waits for another whose pegs it hangs on or shares."""

from __future__ import annotations


class Waiting:
    """For each element (by number) the elements it waits for."""

    def __init__(self, count: int) -> None:
        self._needs: list[set[int]] = [set() for _ in range(count)]
        self._needed: set[int] = set()

    def add(self, e: int, other: int) -> None:
        """Let element e wait for another."""
        self._needs[e].add(other)
        self._needed.add(other)

    def late(self, other: int, e: int) -> bool:
        """Say whether an element waits for element e, directly or not."""
        return e in self._needed and e in self._all(other)

    def _all(self, e: int) -> set[int]:
        found: set[int] = set()
        todo = list(self._needs[e])
        while todo:
            k = todo.pop()
            if k not in found:
                found.add(k)
                todo += self._needs[k]
        return found
