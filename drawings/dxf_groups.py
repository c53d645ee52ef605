"""A DXF file as its groups of code and value: sections, records, and what a record says. Knows no library.

Takes: bytes as `dxf_bytes` writes them. Gives: records in the order of the file. Source: the published DXF
reference (group codes in pairs of lines; 0 begins a record; sections end with ENDSEC, the file with EOF).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..geometry.errors import DrawingError, refuse

MEND = "this is a fault of the program: report it with the model"


@dataclass(frozen=True, slots=True)
class Record:
    """One record: what it is, and its groups in their order."""

    kind: str
    codes: Sequence[str]
    values: Sequence[str]

    def first(self, code: str, default: str = "") -> str:
        """Return the first value of a code (as the file writes it, three wide), else `default`."""
        return self.values[self.codes.index(code)] if code in self.codes else default

    def number(self, code: str, default: float = 0.0) -> float:
        """Return the first figure of a code."""
        return float(self.first(code) or default)

    def every(self, code: str) -> list[str]:
        """Return every value of a code."""
        return [v for c, v in zip(self.codes, self.values, strict=True) if c == code]

    def after(self, marker: str) -> Record:
        """Return what follows a subclass marker (all of it where there is none)."""
        if marker not in self.values:
            return self
        at = self.values.index(marker) + 1
        return Record(self.kind, self.codes[at:], self.values[at:])


@dataclass(frozen=True, slots=True)
class Groups:
    """All groups of a file, and where its records and sections begin."""

    text: str
    codes: list[str]
    values: list[str]
    starts: list[int]                       # of each record, and the end
    sections: dict[str, tuple[int, int]]    # first record and one past the last

    def records(self, *sections: str) -> Iterator[Record]:
        """Yield the records of sections in their order."""
        for name in sections:
            low, high = self.sections.get(name, (0, 0))
            for k in range(low, high):
                a, b = self.starts[k], self.starts[k + 1]
                yield Record(self.values[a], self.codes[a + 1:b], self.values[a + 1:b])

    def span(self, section: str) -> tuple[int, int]:
        """Return the first group of a section and one past its last."""
        low, high = self.sections.get(section, (0, 0))
        return self.starts[low], self.starts[high]

    def header(self, name: str, code: str, default: str = "") -> str:
        """Return a value of the header."""
        head = next(self.records("HEADER"), Record("", (), ()))
        if name not in head.values:
            return default
        at = head.values.index(name)
        return Record("", head.codes[at + 1:], head.values[at + 1:]).first(code, default)


YOUNG = ("AC1024", "AC1032")
"""Versions whose text is UTF-8: R2010 and R2018."""


def grouped(data: bytes) -> Groups:
    """Return the groups of a file; DrawingError for one that is not whole."""
    young = any(version.encode() in data[:200] for version in YOUNG)
    text = data.decode("utf-8" if young else "cp1252")
    lines = text.split("\n")
    codes, values = lines[0:-1:2], lines[1::2]
    if len(codes) != len(values) or lines[-1] or not codes or (codes[-1], values[-1]) != ("  0", "EOF"):
        raise refuse(DrawingError, "the DXF read again: it does not end where it should", MEND, "reread")
    starts = [k for k, code in enumerate(codes) if code == "  0"]
    return Groups(text, codes, values, starts, _sections(codes, values, starts))


def _sections(codes: list[str], values: list[str], starts: list[int]) -> dict[str, tuple[int, int]]:
    found: dict[str, tuple[int, int]] = {}
    name, begun = "", 0
    for k, at in enumerate(starts):
        kind = values[at]
        if kind == "SECTION" and not name and codes[at + 1] == "  2":
            name, begun = values[at + 1], k
        elif kind == "ENDSEC" and name:
            found[name] = (begun, k)
            name = ""
        elif kind in {"SECTION", "ENDSEC", "EOF"} and (name or kind != "EOF" or k != len(starts) - 1):
            raise refuse(DrawingError, "the DXF read again: a section is not closed", MEND, "reread")
    return found


__all__ = ["MEND", "Groups", "Record", "grouped"]
