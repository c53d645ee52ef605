"""Names and forms to shapes, each thing once, after the things that it refers to.

Takes: control marks, boundary and elements as written. Gives: places and shapes by name; every thing that
is impossible is reported, and what refers to it is passed over in silence. Lengths in metres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import fields, replace
from typing import TypeAlias

from ..errors import Gathering, GeometryError, ModelError, PegbookError, Place, Problem, refuse
from ..features import Status
from ..kernel.path import Loop, Path, Region
from ..kernel.point import Point
from ..kinds.base import Element, Placed, Regions
from ..reading.fields import Form, nearest
from .lines import Edge, LineOf
from .lookup import Lookup, UnresolvedError
from .mentions import all_forms, forms_in, sequenced
from .outlines import OutlineOf
from .points import Named, OnLine, Tied
from .simple import check_simple
from .site import ControlMark

Key: TypeAlias = tuple[str, str]
"""A thing that is resolved: its sort (mark, network, boundary, element) and its name."""

BOUNDARY: Key = ("boundary", "boundary")
NETWORK: Key = ("network", "the marks by ties")


class Resolution(Lookup):
    """Finds the places and shapes of a whole garden, each thing after those that it refers to."""

    def check_control(self) -> None:
        """Refuse a site without two marks, or a baseline between marks that there are not."""
        site = self.written.site
        if len(site.control) < 2:
            raise refuse(
                ModelError,
                f"{len(site.control) or 'no'} control mark{'' if len(site.control) == 1 else 's'}",
                "name two fixed marks or more, such as two house corners",
                "few-marks",
            )
        for name in site.baseline or ():
            if name not in site.control:
                raise refuse(
                    ModelError,
                    f"the baseline names '{name}', which is no control mark",
                    nearest(name, site.control),
                    "unknown-mark",
                )
        if site.baseline and site.baseline[0] == site.baseline[1]:
            raise refuse(ModelError, "the baseline begins and ends at one mark", "name two marks", "baseline")

    def usual_baseline(self) -> tuple[str, str]:
        """Return the first two marks: the baseline where none is named."""
        first, second = list(self.written.site.control)[:2]
        return first, second

    # -- the order -------------------------------------------------------------------------------------------

    def run(self) -> None:
        """Resolve everything; problems go to the gathering."""
        needs = self._needs()
        sequence = sequenced(needs)
        for circle in sequence.circles:
            names = [name for _, name in circle]
            self.gathering.add(
                [
                    Problem(
                        f"a circle of references: {' → '.join(names)}",
                        "let one of them stand by itself",
                        "circle",
                        self._place_of(circle[0]),
                    )
                ]
            )
        for key in sequence.order:
            with self.gathering.step(self._place_of(key)):
                self._resolve(key)
        for name in list(self.placed):
            with self.gathering.step(self.placed[name].place):
                self.placed[name] = self._finished(self.placed[name])

    def _needs(self) -> dict[Key, list[Key]]:
        site, needs = self.written.site, dict[Key, list[Key]]()
        typed = [name for name, mark in site.control.items() if mark.at is not None]
        for name in typed:
            needs["mark", name] = self._needed(site.control[name].at)
        if len(typed) < len(site.control) or any(mark.ties for mark in site.control.values()):
            needs[NETWORK] = [("mark", name) for name in typed]
        if site.boundary is not None:
            needs[BOUNDARY] = self._needed(site.boundary)
        for name, element in self.written.elements.items():
            shape = [getattr(element, word, None) for word in element.shape_fields]
            needs["element", name] = self._needed(tuple(shape))
        return needs

    def _needed(self, value: object) -> list[Key]:
        return [key for form in all_forms(value) for text in _names(form) for key in self._keys(form, text)]

    def _keys(self, form: Form, text: str) -> Iterator[Key]:
        """Yield the thing that a name means, if there is one."""
        control = self.written.site.control
        if isinstance(form, (Named, Tied)) and text in control:
            yield (
                ("mark", text)
                if control[text].at is not None and not any(m.ties for m in control.values())
                else NETWORK
            )
            if control[text].at is not None:
                yield ("mark", text)
            return
        name = self._split(text)[0] if isinstance(form, Named) else text
        if name in self.written.elements:
            yield ("element", name)
        elif name == "boundary":
            yield BOUNDARY

    def _place_of(self, key: Key) -> Place | None:
        sort, name = key
        if sort == "element":
            return self.written.elements[name].place
        if sort == "mark":
            return self.written.site.control[name].place
        site = self.written.site.place
        return replace(site, path=f"{site.path}.{'control' if sort == 'network' else 'boundary'}")

    # -- things ----------------------------------------------------------------------------------------------

    def _resolve(self, key: Key) -> None:
        sort, name = key
        if sort == "mark":
            self._resolve_mark(name)
        elif sort == "network":
            self._resolve_network()
        elif sort == "boundary":
            self.boundary = self._resolve_boundary()
        else:
            self.placed[name] = self._resolve_element(name, self.written.elements[name])

    def _resolve_mark(self, name: str) -> None:
        mark = self.written.site.control[name]
        assert mark.at is not None
        self.marks[name] = to_print(self.point(mark.at))
        self.given[name] = mark.given(name, self.marks[name])

    def _resolve_network(self) -> None:
        """Adjust all marks together; typed coordinates are then compared, not held."""
        from ..pegs.control import adjust

        control = self.written.site.control
        failed = [name for name, mark in control.items() if mark.at is not None and name not in self.marks]
        if failed:
            raise UnresolvedError
        for name, mark in control.items():
            self._check_ties(mark)
            self.given.setdefault(name, mark.given(name, None))
        try:
            found = adjust(
                [self.given[name] for name in control],
                self.written.site.baseline or self.usual_baseline(),
                step=self.written.step,
                accept=self.written.accept,
                feet=self.written.feet,
            )
        except PegbookError as error:
            raise type(error)(
                *(replace(p, place=p.place or self._place_of_reading(p)) for p in error.problems)
            ) from error
        self.gathering.add(replace(p, place=p.place or self._place_of_reading(p)) for p in found.problems)
        self.marks.update({solved.name: solved.at for solved in found.marks})

    def _check_ties(self, mark: ControlMark) -> None:
        for tie in mark.ties:
            if tie.mark not in self.written.site.control:
                raise ModelError(
                    Problem(
                        f"there is no control mark '{tie.mark}'",
                        nearest(tie.mark, self.written.site.control),
                        "unknown-mark",
                        tie.place,
                    )
                )

    def _place_of_reading(self, problem: Problem) -> Place | None:
        """Return where the reading or mark that a problem of the adjustment names is written."""
        control = self.written.site.control
        for name, mark in control.items():
            for tie in mark.ties:
                if f"{name}-{tie.mark}" in problem.what or f"{tie.mark}-{name}" in problem.what:
                    return tie.place
        said = f"{problem.what} "
        ways = ("mark {} ", "ties of {} ", "marks {} ", "and {} coincide")
        named = next((mark for name, mark in control.items() if any(way.format(name) in said for way in ways)), None)
        return named.place if named else self._place_of(NETWORK)

    def _resolve_boundary(self) -> Regions:
        boundary = self.written.site.boundary
        if isinstance(boundary, tuple):
            regions: Regions = (Region(Loop.polygon(self.point(corner) for corner in boundary)),)
        else:
            assert boundary is not None
            regions = self.regions(boundary)
        if len(regions) != 1 or regions[0].holes:
            raise refuse(
                GeometryError, "a boundary in several pieces or with a hole", "give one ring", "several-pieces"
            )
        check_simple(regions)
        return regions

    def _resolve_element(self, name: str, element: Element) -> Placed:
        shape = element.shape(self)
        if isinstance(shape, tuple):
            check_simple(shape)
        return Placed(name=name, element=element, shape=shape, body=element.body(shape, self))

    def _finished(self, placed: Placed) -> Placed:
        """Add what needs other elements: the places of further points, lines, the dug outline."""
        element = placed.element
        points: dict[Form, Point] = {}
        shapes: dict[Form, Regions | Path] = {}
        step = Gathering()
        for form in _further(element):
            with step.step(form.place):
                self._file(form, points, shapes)
        if step.problems:
            raise ModelError(*step.problems)
        dug = element.dug_outline(placed.body, self) if placed.status is Status.PROPOSED else ()
        return replace(placed, points=points, shapes=shapes, dug=dug)

    def _file(self, form: Form, points: dict[Form, Point], shapes: dict[Form, Regions | Path]) -> None:
        found = self._found(form)
        if isinstance(found, Point):
            points[form] = found
        else:
            shapes[form] = found


def _names(form: Form) -> Sequence[str]:
    """Return the names that a form itself mentions."""
    match form:
        case Named(name=name) | OutlineOf(name=name) | LineOf(name=name):
            return (name,)
        case OnLine(on=name) | Edge(of=name):
            return (name,)
        case Tied(ties=ties):
            return tuple(tie.mark for tie in ties)
        case _:
            return ()


def _further(element: Element) -> Iterator[Form]:
    """Yield the forms of an element that are not its shape."""
    for one in fields(element):
        if one.name not in element.shape_fields:
            yield from forms_in(getattr(element, one.name))


def to_print(point: Point) -> Point:
    """Return a mark's place to the millimetre, as tables print it and every reading starts from."""
    return Point(round(point.x, 3) + 0.0, round(point.y, 3) + 0.0)
