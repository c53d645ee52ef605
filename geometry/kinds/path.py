"""Path: a way of a width along a line, or inside an outline, laid in units or loose."""

from __future__ import annotations

from dataclasses import dataclass

from ..errors import ModelError, refuse
from ..kernel.path import Path as Way
from ..kernel.point import Point
from ..reading.values import Size
from .base import Line, Outline, Regions, Resolver
from .base_laid import Laid


@dataclass(frozen=True, slots=True, kw_only=True)
class Path(Laid):
    """A path: a line with a width, or an outline.

    long walk:
      kind: path
      line: {arc: {from: [1, 1], to: [5, 6], radius: 6, bend: left}}
      width: 1.2
      build_up: foot gravel
    """

    outline: Outline | None = None
    line: Line | None = None
    width: Size | None = None

    def __post_init__(self) -> None:
        if (self.outline is None) == (self.line is None):
            raise refuse(ModelError, "a path needs either an outline, or a line with a width",
                         "give `line` and `width`, or `outline`", "missing-field")
        if self.line is not None and self.width is None:
            raise refuse(ModelError, "a path along a line needs 'width'", "add `width: 1.2`", "missing-field")

    def body(self, shape: Regions | Way | Point, resolver: Resolver) -> Regions:
        """Return the outline, or the band along the line."""
        if isinstance(shape, Way) and self.width is not None:
            from ..kernel.offset import Corners, band

            return band(shape, self.width, corners=Corners.SQUARE)
        return shape if isinstance(shape, tuple) else ()
