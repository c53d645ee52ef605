"""What forms and elements ask while a garden is resolved: places, shapes and lines by form or by name. Metres."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..errors import Gathering, ModelError, PegbookError, Problem, refuse
from ..features import MarkGiven
from ..kernel.parts import NamedPoint, drawn, parts
from ..kernel.path import Path
from ..kernel.point import Point
from ..kinds.base import Element, Placed, Regions
from ..kinds.base_build_up import BuildUpUse
from ..reading.fields import Form, nearest
from .site import SiteGiven

if TYPE_CHECKING:
    from ..quantities.build_ups import BuildUp


@dataclass(frozen=True, slots=True, kw_only=True)
class AsWritten:
    """All that is to be resolved, as written."""

    site: SiteGiven
    elements: Mapping[str, Element]
    build_ups: Mapping[str, BuildUp]
    missing: Mapping[str, frozenset[str]]  # names of elements and build-ups that could not even be read
    step: float  # what the tape is read to, metres
    feet: bool
    accept: tuple[str, ...]


class UnresolvedError(PegbookError):
    """A thing refers to one that failed; it carries no problem, because the cause is told already."""


class Lookup:
    """The places and shapes found so far; answers what forms and elements ask while they are resolved."""

    def __init__(self, written: AsWritten, gathering: Gathering) -> None:
        self.written = written
        self.gathering = gathering
        self.marks: dict[str, Point] = {}
        self.given: dict[str, MarkGiven] = {}
        self.boundary: Regions = ()
        self.placed: dict[str, Placed] = {}
        self.cache: dict[Form, Point | Regions | Path] = {}

    def _found(self, form: Form) -> Point | Regions | Path:
        if form not in self.cache:
            try:
                self.cache[form] = form.resolve(self)  # type: ignore[attr-defined]
            except PegbookError as error:
                placed = tuple(p if p.place else replace(p, place=form.place) for p in error.problems)
                raise type(error)(*placed) from error
        return self.cache[form]

    def point(self, form: Form) -> Point:
        """Return the place that a form means."""
        found = self._found(form)
        assert isinstance(found, Point)
        return found

    def regions(self, form: Form) -> Regions:
        """Return the area that an outline form means."""
        found = self._found(form)
        assert isinstance(found, tuple)
        return found

    def path(self, form: Form) -> Path:
        """Return the path that a line form means."""
        found = self._found(form)
        assert isinstance(found, Path)
        return found

    def build_up(self, use: BuildUpUse | None) -> BuildUp | None:
        """Return the stack that an element names or holds; ModelError for a name that is not known."""
        if use is not None and use.name in self.written.missing["build_ups"]:
            raise UnresolvedError
        return None if use is None else found_build_up(use, self.written.build_ups)

    def mark(self, name: str) -> Point:
        """Return the place of a control mark."""
        if name in self.marks:
            return self.marks[name]
        if name in self.written.site.control:
            raise UnresolvedError
        raise refuse(
            ModelError, f"there is no control mark '{name}'", nearest(name, self.written.site.control), "unknown-mark"
        )

    def advise(self, problem: Problem) -> None:
        """Keep a piece of advice."""
        self.gathering.add([problem])

    def _split(self, text: str) -> tuple[str, str]:
        """Split `element.part` at the last dot that leaves a name that is known."""
        for at in range(len(text) - 1, 0, -1):
            if text[at] == "." and (
                text[:at] in self.written.elements
                or text[:at] == "boundary"
                or text[:at] in self.written.missing["elements"]
            ):
                return text[:at], text[at + 1 :]
        name, _, part = text.partition(".")
        return name, part

    def named_point(self, text: str) -> Point:
        """Return the place of a control mark or of a named point of an element."""
        if text in self.written.site.control:
            return self.mark(text)
        name, part = self._split(text)
        if not part:
            return self._point_alone(text)
        named = self._parts(name)
        if part not in named:
            known = list(named)
            raise refuse(ModelError, f"'{name}' has no point '{part}'", nearest(part, known), "unknown-part")
        return named[part].at

    def _point_alone(self, text: str) -> Point:
        """Return the place of an element that is a point; else say what is missing."""
        if text in self.placed and isinstance(self.placed[text].shape, Point):
            shape = self.placed[text].shape
            assert isinstance(shape, Point)
            return shape
        if text in self.placed or text == "boundary":
            raise refuse(
                ModelError, f"'{text}' is an element, not a point", f"name one of its points: {text}.centre", "no-part"
            )
        self._unknown(text, [*self.written.site.control, *self.written.elements])
        raise AssertionError(text)

    def _unknown(self, text: str, known: Iterable[str]) -> None:
        if text in self.written.elements or text in self.written.missing["elements"]:
            raise UnresolvedError
        raise refuse(ModelError, f"there is no '{text}'", nearest(text, known), "unknown-name")

    def _parts(self, name: str) -> dict[str, NamedPoint]:
        if name == "boundary" and self.boundary:
            return parts(self.boundary)
        return self._element(name).named_points()

    def _element(self, name: str) -> Placed:
        if name not in self.placed:
            self._unknown(name, [*self.written.elements, "boundary"])
        return self.placed[name]

    def named_regions(self, text: str) -> Regions:
        """Return the ground that an element covers, or the plot inside the boundary."""
        if text == "boundary":
            if not self.boundary:
                if self.written.site.boundary is not None:
                    raise UnresolvedError
                raise refuse(
                    ModelError, "the site has no boundary", "add `boundary: [P, Q, R, …]` to the site", "unknown-name"
                )
            return self.boundary
        regions = self._element(text).regions
        if not regions:
            raise refuse(
                ModelError, f"'{text}' covers no ground", "name an element with an outline or a width", "no-outline"
            )
        return regions

    def named_rings(self, text: str) -> tuple[Path, ...]:
        """Return the line of an element, or every ring of its outline, walked as drawn."""
        if text != "boundary":
            shape = self._element(text).shape
            if isinstance(shape, Path):
                return (shape,)
        return tuple(Path(drawn(ring)) for region in self.named_regions(text) for ring in (region.outer, *region.holes))

    def named_line(self, text: str) -> Path:
        """Return the line, or the one outline, of an element, walked as it was drawn."""
        rings = self.named_rings(text)
        if len(rings) != 1:
            raise refuse(
                ModelError,
                f"'{text}' has {len(rings)} edges",
                "take a stretch of one of them with `edge`",
                "several-pieces",
            )
        return rings[0]


def found_build_up(use: BuildUpUse, own: Mapping[str, BuildUp]) -> BuildUp:
    """Return the stack of a use: its own, the garden's, or a supplied one; ModelError for an unknown name."""
    if use.own is not None:
        return use.own.value("its own")
    if use.name in own:
        return own[use.name]
    from ..quantities.build_ups import supplied

    known = supplied()
    if use.name not in known:
        raise ModelError(
            Problem(
                f"there is no build-up '{use.name}'", nearest(use.name, [*own, *known]), "unknown-build-up", use.place
            )
        )
    return known[use.name]
