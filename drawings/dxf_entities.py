"""The plainest entities of a DXF, made in two ways that give the same text: by the library, or as text at once.

Takes: a layout or block of the library's document, figures in the file's unit already rounded, attributes by the
library's names. The library spends twenty to thirty times as long on such an entity as its text takes, and most of
a set is such entities; a test holds the two ways equal, byte for byte. R12 and all that is not plain (patterns,
ellipses, dimensions, inserts) go by the library.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Protocol, TypeAlias

Vertex: TypeAlias = tuple[float, float, float]
Spot: TypeAlias = tuple[float, float]
Attributes: TypeAlias = Mapping[str, Any]
Ring: TypeAlias = tuple[Sequence[Vertex], int]
"""Vertices of a closed boundary of an area, and the flags that say whether it is the outer one or a hole."""


class Maker(Protocol):
    """What makes entities in one layout or block; each method returns an entity that takes `set_xdata`."""

    def line(self, start: Spot, end: Spot, look: Attributes) -> Any:
        """Make a LINE."""

    def circle(self, centre: Spot, radius: float, look: Attributes) -> Any:
        """Make a CIRCLE."""

    def arc(self, centre: Spot, radius: float, begin: float, end: float, look: Attributes) -> Any:
        """Make an ARC, anticlockwise, angles in degrees."""

    def point(self, at: Spot, look: Attributes) -> Any:
        """Make a POINT."""

    def polyline(self, vertices: Sequence[Vertex], closed: bool, look: Attributes, width: float = 0.0) -> Any:
        """Make a polyline of x, y, bulge; `width` is that of its line."""

    def text(self, words: str, at: Spot, height: float, turn: float, align: int, style: str, look: Attributes) -> Any:
        """Make a TEXT; `align` 0 begins, 1 centres, 2 ends it at its place; turn in degrees."""

    def solid(self, rings: Sequence[Ring], look: Attributes) -> Any:
        """Make a HATCH filled with one colour."""


class ByLibrary:
    """Entities by the library."""

    def __init__(self, space: Any, old: bool) -> None:
        self.space, self.old = space, old

    def line(self, start: Spot, end: Spot, look: Attributes) -> Any:
        """Make a LINE."""
        return self.space.add_line(start, end, dxfattribs=dict(look))

    def circle(self, centre: Spot, radius: float, look: Attributes) -> Any:
        """Make a CIRCLE."""
        return self.space.add_circle(centre, radius, dxfattribs=dict(look))

    def arc(self, centre: Spot, radius: float, begin: float, end: float, look: Attributes) -> Any:
        """Make an ARC."""
        return self.space.add_arc(centre, radius, begin, end, dxfattribs=dict(look))

    def point(self, at: Spot, look: Attributes) -> Any:
        """Make a POINT."""
        return self.space.add_point(at, dxfattribs=dict(look))

    def polyline(self, vertices: Sequence[Vertex], closed: bool, look: Attributes, width: float = 0.0) -> Any:
        """Make a polyline; R12 knows only the old kind."""
        add = self.space.add_polyline2d if self.old else self.space.add_lwpolyline
        if width:
            wide = [(x, y, width, width, b) for x, y, b in vertices]
            return add(wide, format="xyseb", close=closed, dxfattribs=dict(look))
        return add(vertices, format="xyb", close=closed, dxfattribs=dict(look))

    def text(self, words: str, at: Spot, height: float, turn: float, align: int, style: str, look: Attributes) -> Any:
        """Make a TEXT."""
        whole = {**look, "style": style, "height": height, "insert": at, "rotation": turn}
        if align:
            whole |= {"halign": align, "align_point": at}
        return self.space.add_text(words, dxfattribs=whole)

    def solid(self, rings: Sequence[Ring], look: Attributes) -> Any:
        """Make a HATCH filled with one colour."""
        made = self.space.add_hatch(dxfattribs=dict(look))
        for vertices, flags in rings:
            made.paths.add_polyline_path(vertices, is_closed=True, flags=flags)
        made.set_solid_fill(color=look.get("color", 256))
        return made


class _Written:
    """One entity as its text; the library's document keeps and exports it among its own."""

    __slots__ = ("data", "text")
    is_alive = True

    def __init__(self, text: str) -> None:
        self.text, self.data = text, ""

    def export_dxf(self, writer: Any) -> None:
        """Write the text."""
        writer.write_str(self.text + self.data)

    def set_xdata(self, application: str, tags: Sequence[tuple[int, str]]) -> None:
        """Let words ride along with the entity."""
        self.data = f"1001\n{application}\n" + "".join(f"{code:3}\n{words}\n" for code, words in tags)


class ByText:
    """Entities as text at once, in the order of the groups that the library itself keeps (R2000 and later)."""

    def __init__(self, space: Any) -> None:
        self._keep = space.entity_space.entities.append
        self._handle = space.doc.entitydb.next_handle
        paper = " 67\n1\n" if getattr(space, "is_any_paperspace", False) else ""
        self._owner = f"330\n{space.layout_key}\n100\nAcDbEntity\n{paper}"
        self._looks: dict[tuple[tuple[str, Any], ...], str] = {}

    def line(self, start: Spot, end: Spot, look: Attributes) -> Any:
        """Make a LINE."""
        return self._put("LINE", look, f"100\nAcDbLine\n 10\n{start[0]}\n 20\n{start[1]}\n 30\n0.0\n"
                                       f" 11\n{end[0]}\n 21\n{end[1]}\n 31\n0.0\n")

    def circle(self, centre: Spot, radius: float, look: Attributes) -> Any:
        """Make a CIRCLE."""
        return self._put("CIRCLE", look, _circle(centre, radius))

    def arc(self, centre: Spot, radius: float, begin: float, end: float, look: Attributes) -> Any:
        """Make an ARC."""
        return self._put("ARC", look, f"{_circle(centre, radius)}100\nAcDbArc\n 50\n{begin}\n 51\n{end}\n")

    def point(self, at: Spot, look: Attributes) -> Any:
        """Make a POINT."""
        return self._put("POINT", look, f"100\nAcDbPoint\n 10\n{at[0]}\n 20\n{at[1]}\n 30\n0.0\n")

    def polyline(self, vertices: Sequence[Vertex], closed: bool, look: Attributes, width: float = 0.0) -> Any:
        """Make an LWPOLYLINE."""
        wide = f" 40\n{width}\n 41\n{width}\n" if width else ""
        body = "".join([f" 10\n{x}\n 20\n{y}\n{wide} 42\n{b}\n" if b else f" 10\n{x}\n 20\n{y}\n{wide}"
                        for x, y, b in vertices])
        return self._put("LWPOLYLINE", look,
                         f"100\nAcDbPolyline\n 90\n{len(vertices)}\n 70\n{int(closed)}\n{body}")

    def text(self, words: str, at: Spot, height: float, turn: float, align: int, style: str, look: Attributes) -> Any:
        """Make a TEXT."""
        turned = f" 50\n{turn}\n" if turn else ""
        aligned = f" 72\n{align}\n 11\n{at[0]}\n 21\n{at[1]}\n 31\n0.0\n" if align else ""
        place = f"100\nAcDbText\n 10\n{at[0]}\n 20\n{at[1]}\n 30\n0.0\n 40\n{height}\n"
        return self._put("TEXT", look, f"{place}  1\n{words}\n{turned}  7\n{style}\n{aligned}100\nAcDbText\n")

    def solid(self, rings: Sequence[Ring], look: Attributes) -> Any:
        """Make a HATCH filled with one colour."""
        body = "".join(_ring(vertices, flags) for vertices, flags in rings)
        plane = "100\nAcDbHatch\n 10\n0.0\n 20\n0.0\n 30\n0.0\n210\n0.0\n220\n0.0\n230\n1.0\n"
        fill = f"  2\nSOLID\n 70\n1\n 71\n0\n 91\n{len(rings)}\n{body} 75\n1\n 76\n1\n 98\n0\n"
        return self._put("HATCH", look, plane + fill)

    def _put(self, kind: str, look: Attributes, body: str) -> _Written:
        key = tuple(look.items())
        shown = self._looks.get(key)
        if shown is None:
            shown = self._looks[key] = _look(look)
        made = _Written(f"  0\n{kind}\n  5\n{self._handle()}\n{self._owner}{shown}{body}")
        self._keep(made)
        return made


_GROUPS = (("layer", 8, None), ("linetype", 6, "BYLAYER"), ("color", 62, 256), ("lineweight", 370, -1),
           ("true_color", 420, None), ("transparency", 440, None))
"""What an entity may say of its look, in the order of the file: name, group, and the value that is left out."""


def _look(look: Attributes) -> str:
    unknown = set(look) - {name for name, _, _ in _GROUPS}
    assert not unknown, f"no group for {sorted(unknown)}"
    said = [(group, look[name]) for name, group, usual in _GROUPS if look.get(name, usual) != usual]
    return "".join(f"{group:3}\n{value}\n" for group, value in said)


def _circle(centre: Spot, radius: float) -> str:
    return f"100\nAcDbCircle\n 10\n{centre[0]}\n 20\n{centre[1]}\n 30\n0.0\n 40\n{radius}\n"


def _ring(vertices: Sequence[Vertex], flags: int) -> str:
    bulged = any(b for _, _, b in vertices)
    if bulged:
        body = "".join([f" 10\n{x}\n 20\n{y}\n 42\n{b}\n" for x, y, b in vertices])
    else:
        body = "".join([f" 10\n{x}\n 20\n{y}\n" for x, y, _ in vertices])
    return f" 92\n{flags | 2}\n 72\n{int(bulged)}\n 73\n1\n 93\n{len(vertices)}\n{body} 97\n0\n"


__all__ = ["Attributes", "ByLibrary", "ByText", "Maker", "Ring", "Vertex"]
