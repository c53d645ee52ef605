"""Style: what every drawing looks like, read once from templates/layers.yaml into values that cannot change.

Takes: the table, and what a garden overrides of it. Gives: pens, dashes, tints, layers, patterns.
Knows nothing of sheets or formats. Lengths are millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, TypeVar

from .. import templates
from ..geometry.errors import DrawingError, refuse
from ..geometry.reading.data import shipped

T = TypeVar("T")

PENS = ("texture", "thin", "mark", "edge", "cut")
"""Pens from light to heavy."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One DXF layer: name in the form of ISO 13567, plain description, index colour, pen, dash, whether it prints."""

    name: str
    what: str
    colour: int = 7
    pen: str = "thin"
    dash: str = ""
    plots: bool = True


@dataclass(frozen=True, slots=True)
class RoleStyle:
    """How a role is drawn at 1:1: element code (filled to six characters), description, and the layer's own looks."""

    element: str
    what: str
    presentation: str = "E-"
    pen: str = "edge"
    dash: str = ""
    colour: int = 7


@dataclass(frozen=True, slots=True)
class StatusStyle:
    """What a status changes: its code of ISO 13567, its words, and the pen and dash that it forces, if any."""

    code: str
    what: str
    pen: str = ""
    dash: str = ""


@dataclass(frozen=True, slots=True)
class GroupStyle:
    """One group of a sheet: its title, and the DXF layer of what belongs to the paper."""

    title: str
    layer: Layer


@dataclass(frozen=True, slots=True)
class PatternLine:
    """One family of a hatch pattern: degrees; base, shift along, offset across and dashes in mm (0 a dot)."""

    angle: float
    base: tuple[float, float]
    shift: float
    offset: float
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Style:
    """The whole visual language in figures."""

    pen_rows: tuple[Mapping[str, float], ...]
    row_of_size: Mapping[str, int]
    dashes: Mapping[str, tuple[float, ...]]
    dash_words: Mapping[str, str]
    tints: Mapping[str, str]
    tint_of_surface: Mapping[str, str]
    groups: Mapping[str, GroupStyle]
    viewports: Layer
    status: Mapping[str, StatusStyle]
    roles: Mapping[str, RoleStyle]
    patterns: Mapping[str, tuple[PatternLine, ...]]

    def pens(self, size: str, step: int = 0) -> Mapping[str, float]:
        """Return the widths (mm) of all pens on a size ('A3') at a step (1 for copies at half size, else 0)."""
        row = self.row_of_size.get(size, 0) + step
        return self.pen_rows[min(max(row, 0), len(self.pen_rows) - 1)]

    def width(self, pens: Mapping[str, float], name: str) -> float:
        """Return the width (mm) of a pen of a row; DrawingError for a pen that does not exist."""
        return _found(pens, name, "pen")

    def dash(self, name: str) -> tuple[float, ...]:
        """Return the dash lengths (mm) of a name, none for ''; DrawingError for one that is not in the table."""
        return _found(self.dashes, name, "dash") if name else ()

    def colour(self, tone: str) -> str:
        """Return '#RRGGBB' of a tone: 'black', 'white', a tint or a surface with one; DrawingError for another."""
        if tone == "black":
            return "#000000"
        if tone == "white":
            return "#FFFFFF"
        return _found(self.tints, self.tint_of_surface.get(tone, tone), "tint")

    def layer(self, role: str, status: str = "proposed", presentation: str = "",
              sheets: Sequence[str] = ()) -> Layer:
        """Return the DXF layer of a role and status.

        `presentation` replaces the role's own code ('H-' its hatch, 'T-' its lettering); `sheets` ('01', '01P'
        for its presentation copy) make a layer of those sheets alone, by the user field of ISO 13567.
        """
        r, s = _found(self.roles, role, "role"), _found(self.status, status, "status")
        code = presentation or r.presentation
        name = f"L-{r.element:-<6}{code}{s.code}" + (f"{'':-<9}{''.join(sheets)}" if sheets else "")
        words = f"{r.what}, {s.what}" if s.code != "N" else r.what
        words += {"H-": ", hatch", "H1": ", tint", "T-": ", lettering"}.get(code, "")
        words += f", sheet{'s' * (len(sheets) > 1)} {', '.join(sheets)}" if sheets else ""
        hatch = code.startswith("H")
        return Layer(name, words, r.colour, "texture" if hatch else s.pen or r.pen, "" if hatch else s.dash or r.dash)


def _found(table: Mapping[str, T], name: str, what: str) -> T:
    if name not in table:
        raise refuse(DrawingError, f"there is no {what} '{name}' in the table of layers",
                     f"use one of {', '.join(table)}", f"no-{what}")
    return table[name]


def _merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    out = dict(base)
    for key, value in over.items():
        both = isinstance(value, Mapping) and isinstance(out.get(key), Mapping)
        out[key] = _merged(out[key], value) if both else value
    return out


def _read(table: Mapping[str, Any]) -> Style:
    def layer(entry: Mapping[str, Any], plots: bool = True) -> Layer:
        return Layer(entry["layer"], entry["what"], plots=plots)

    frozen = MappingProxyType
    return Style(
        pen_rows=tuple(frozen(dict(row)) for row in table["pens"]["rows"]),
        row_of_size=frozen(dict(table["pens"]["row_of_size"])),
        dashes=frozen({n: tuple(float(v) for v in d["lengths"]) for n, d in table["dashes"].items()}),
        dash_words=frozen({n: d["what"] for n, d in table["dashes"].items()}),
        tints=frozen(dict(table["tints"])),
        tint_of_surface=frozen(dict(table["tint_of_surface"])),
        groups=frozen({n: GroupStyle(g["title"], layer(g)) for n, g in table["groups"].items()}),
        viewports=layer(table["viewports"], plots=False),
        status=frozen({n: StatusStyle(**s) for n, s in table["status"].items()}),
        roles=frozen({n: RoleStyle(**r) for n, r in table["roles"].items()}),
        patterns=frozen({n: tuple(PatternLine(a, (x, y), s, o, tuple(map(float, d))) for a, x, y, s, o, *d in lines)
                         for n, lines in table["patterns"].items()}))


@cache
def _table() -> Mapping[str, Any]:
    return shipped((files(templates) / "layers.yaml").read_text(encoding="utf-8"))


@cache
def house_style() -> Style:
    """Return the style as it ships."""
    return _read(_table())


def style_with(overrides: Mapping[str, Any]) -> Style:
    """Return the style with single entries replaced, in the form of templates/layers.yaml; DrawingError if unfit."""
    try:
        return _read(_merged(_table(), overrides))
    except (TypeError, KeyError, ValueError, AttributeError) as error:
        raise refuse(DrawingError, f"the garden's own entries for the table of layers cannot be read: {error}",
                     "write them as in the table that ships", "bad-style") from None


__all__ = ["PENS", "GroupStyle", "Layer", "PatternLine", "RoleStyle", "StatusStyle", "Style", "house_style",
           "style_with"]
