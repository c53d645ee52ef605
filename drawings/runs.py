"""Runs: marks put in drawing order and neighbours of one pen joined, for the formats that draw on paper.

Takes: a sheet's marks. Gives: layers in order, each with its trees of marks; strokes of one look as one run,
so that a texture is one path and not a thousand. Knows nothing of formats.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

from ..geometry.errors import DrawingError, refuse
from ..geometry.kernel.path import Loop, Path
from .sheet import LAYERS, Dimension, Fill, Group, Hatch, Mark, PegSign, Sheet, Stroke, Text


@dataclass(frozen=True, slots=True)
class Run:
    """Strokes of one look that follow each other: all paths, pen, dash, ends, classes."""

    paths: tuple[Path | Loop, ...]
    pen: str
    dash: str
    round_ends: bool
    classes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bundle:
    """Marks that are one thing, with the classes that say what it is and a title if it has one."""

    classes: tuple[str, ...]
    title: str
    parts: tuple[Part, ...]


Part: TypeAlias = Run | Fill | Hatch | Text | Bundle


def in_layers(sheet: Sheet) -> Iterator[tuple[str, tuple[Part, ...]]]:
    """Yield each layer that holds anything, in drawing order, with its parts; DrawingError for an unknown layer."""
    held: dict[str, list[Mark]] = {name: [] for name in LAYERS}
    for mark in sheet.marks:
        if mark.layer not in held:
            raise refuse(DrawingError, f"a mark on the layer '{mark.layer}'", f"use one of {', '.join(LAYERS)}",
                         "no-layer")
        held[mark.layer].append(mark)
    for name, marks in held.items():
        if marks:
            yield name, parts(marks)


def parts(marks: Iterable[Mark]) -> tuple[Part, ...]:
    """Return marks as parts: strokes of one look that follow each other become one run."""
    out: list[Part] = []
    strokes: list[Stroke] = []

    def flush() -> None:
        if strokes:
            s = strokes[0]
            out.append(Run(tuple(t.path for t in strokes), s.pen, s.dash, s.round_ends, s.classes))
            strokes.clear()

    for mark in marks:
        if isinstance(mark, Stroke):
            if strokes and _look(mark) != _look(strokes[0]):
                flush()
            strokes.append(mark)
            continue
        flush()
        part = mark if isinstance(mark, Fill | Hatch | Text) else _bundle(mark)
        if not isinstance(part, Bundle) or part.parts:
            out.append(part)
    flush()
    return tuple(out)


def _look(s: Stroke) -> tuple[object, ...]:
    return s.pen, s.dash, s.round_ends, s.classes


def _bundle(mark: Group | Dimension | PegSign) -> Bundle:
    match mark:
        case Group(classes=classes, title=title):
            pass
        case Dimension(form=form):
            extra = {"running": ("running",), "radius": ("radius",), "diameter": ("radius",), "angular": ("angle",)}
            classes, title = ("dim", *extra.get(form, ())), ""
        case PegSign(purpose=purpose, number=number):
            classes, title = ("peg", purpose), f"peg {number}"
    return Bundle(classes, title, parts(mark.marks))


__all__ = ["Bundle", "Part", "Run", "in_layers", "parts"]
