"""A sheet before it is finished: its field is drawn, its panel still waits for the list of sheets.

Millimetres on paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..geometry.kernel.point import Box
from .composition import Plate
from .filling import PanelRow
from .ruled import Flowing
from .sheet import Mark, View


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """One sheet of the set to be.

    `rows` and `tables` fill the panel; what finds no room goes on to further sheets. `register` asks for the
    revisions and the list of sheets. `scale` 0 means that nothing, or not all, is to one scale.
    """

    name: str
    title: str
    plate: Plate
    scale: float
    views: tuple[View, ...]
    marks: tuple[Mark, ...]
    rows: tuple[PanelRow, ...] = ()
    tables: tuple[Flowing, ...] = ()
    style: str = "line"
    register: bool = False
    supplement: str = ""
    number: int = -1
    extra: bool = False  # numbered on after the sheets that the model asks for
    low: bool = False  # rows stand at the foot of the panel
    taken: tuple[Box, ...] | None = None
    """Of a sheet whose field may carry tables of others: the parts of it that are taken."""

    carries: tuple[int, ...] = ()
    """Numbers of the sheets whose tables go on here."""

    spare: tuple[PanelRow, ...] = ()
    """Rows to use instead when not all of `rows` fit: without the key, with a word where it is."""
