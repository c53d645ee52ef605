"""Lines that give way to lettering: what is overhead, buried or to go, and strings, break round the words on them.

Takes: the marks of a plan and its lettering. Gives: the same marks, thin dashed lines cut clear. The shape on the
ground that a mark carries stays whole. Paper millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..geometry.features import Role, Status
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box
from .draft import rectangle
from .obstacles import lettered, text_region
from .sheet import Group, Mark, Stroke, Text, flat

CLEAR = 0.7
"""A line stops this far from lettering, mm."""

SHORT = 1.2
"""Scraps of a line shorter than this beside lettering are left out, mm."""

LEVEL = 1e-9
"""Lettering is level or upright if its box is that of its ink within this, mm²."""

YIELD = frozenset({Role.BEAM.value, Role.RAFTER.value, Role.SERVICE.value})
"""Roles whose lines are dashed on every plan; the name of a service stands in a gap of its line (common practice)."""


STRING = "recovery-line"
"""Class of the strings that a peg is found again by."""


def yielding(marks: Sequence[Mark], words: Sequence[Mark]) -> tuple[Mark, ...]:
    """Return the marks of a plan with lines overhead or buried and outlines of things to go broken round lettering."""
    rooms = [room_of(text_region(lettered(m))) for m in flat((*marks, *words)) if isinstance(m, Text)]
    boxes = [(room.box, room) for room in rooms]
    found: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Group):
            found.append(_broken(mark, boxes) if _gives_way(mark) or _thin_boundary(mark) else mark)
        elif isinstance(mark, Stroke) and STRING in mark.classes:
            near = _near(mark, boxes)
            found += clear_of(mark, near) if near else [mark]
        else:
            found.append(mark)
    return tuple(found)


def _gives_way(mark: Group) -> bool:
    ground = mark.ground
    return ground is not None and (ground.role in YIELD or ground.status == Status.REMOVE.value)


def room_of(ink: Region) -> Region:
    """Return the room round the ink of a text that lines keep out of."""
    from ..geometry.kernel.offset import Corners, grown

    if abs(ink.area - ink.box.width * ink.box.height) < LEVEL:
        return Region(rectangle(ink.box.grown(CLEAR)))
    return grown((ink,), CLEAR, Corners.SQUARE)[0]


def _near(stroke: Stroke, boxes: Sequence[tuple[Box, Region]]) -> list[Region]:
    """Return the rooms, given with their boxes, that a stroke may run through."""
    own = stroke.path.box
    return [room for box, room in boxes if box.meets(own)]


def _broken(mark: Group, boxes: Sequence[tuple[Box, Region]]) -> Group:
    found: list[Mark] = []
    for part in mark.marks:
        near = _near(part, boxes) if isinstance(part, Stroke) else []
        found += clear_of(part, near) if near and isinstance(part, Stroke) else [part]
    return replace(mark, marks=tuple(found))


def clear_of(stroke: Stroke, boxes: Sequence[Region]) -> Iterator[Stroke]:
    """Yield the pieces of a stroke outside boxes; a short one (a cross, a slat) is dropped whole if it is touched."""
    from ..geometry.kernel.combine import clip

    whole = stroke.path.as_path() if isinstance(stroke.path, Loop) else stroke.path
    pieces: list[Path] = list(clip(whole, boxes).outside)
    if len(pieces) == 1 and abs(pieces[0].length - whole.length) < 1e-6:
        yield stroke
    elif whole.length > 2 * SHORT:
        yield from (replace(stroke, path=piece) for piece in pieces if piece.length >= SHORT)


def _thin_boundary(mark: Group) -> bool:
    """Say whether a mark is the boundary on a sheet that is not about it: dashed and thin, it is whole with a gap."""
    own = mark.ground is not None and mark.ground.role == Role.BOUNDARY.value
    return own and all(isinstance(part, Stroke) and part.pen == "thin" for part in mark.marks)
