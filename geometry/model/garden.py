"""From a model file to a Garden: read, checked and resolved, or refused with every problem at once.

Lengths in metres, angles in radians.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING

from ..errors import Gathering, ModelError, Place, Problem, Weight, at, refuse
from ..features import MarkGiven
from ..kernel.path import Loop
from ..kernel.point import Point
from ..kinds.base import Placed
from ..kinds.base_build_up import BuildUpUse, Ordering
from ..pegs.tape import Grid, Options
from ..planting.plants import Plant
from ..reading.quantity import Units
from ..reading.source import parse
from ..reading.textfile import read_text
from .file import ModelFile, Sections, check_plants, read_sections
from .lookup import AsWritten, found_build_up
from .options import Sheets
from .over import over_boundary
from .resolve import Resolution
from .site import Project

if TYPE_CHECKING:
    from ..quantities.build_ups import BuildUp

ON_AXIS = 0.0015
"""Metres that the baseline's marks may stray from the frame: the rounding of their printed coordinates."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotLevel:
    """A level on the ground, metres above the datum; `mark` names the control mark it was given at, if any."""

    at: Point
    level: float
    mark: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """The plot, resolved. `north` is the bearing (radians, clockwise from north) of "up the sheet"."""

    north: float
    marks: tuple[MarkGiven, ...]
    control: Mapping[str, Point]
    baseline: tuple[str, str]
    boundary: Loop | None
    levels: tuple[SpotLevel, ...]
    sides: Mapping[str, str]
    grid: Grid | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Garden:
    """A garden as it is written, every shape worked out. `source` names its file, `digest` is the text's SHA-256."""

    source: str
    digest: str
    units: Units
    project: Project
    site: Site
    build_ups: Mapping[str, BuildUp]
    plants: Mapping[str, Plant]
    elements: tuple[Placed, ...]
    setting_out: Options
    sheets: Sheets
    ordering: Ordering
    advice: tuple[Problem, ...] = ()

    @property
    def boundary(self) -> Loop | None:
        """The plot's boundary."""
        return self.site.boundary

    def element(self, name: str) -> Placed:
        """Return the element called `name`; KeyError if there is none."""
        for placed in self.elements:
            if placed.name == name:
                return placed
        raise KeyError(name)

    def build_up(self, use: BuildUpUse | None) -> BuildUp | None:
        """Return the stack that an element names or holds; None for None."""
        return None if use is None else found_build_up(use, self.build_ups)


def load(path: str | os.PathLike[str]) -> Garden:
    """Return the garden of a model file; ModelError with all that is wrong with it."""
    return loads(read_text(path), os.fspath(path))


def loads(text: str, name: str = "model.yaml") -> Garden:
    """Return the garden of a model's text; `name` stands in messages. ModelError with all that is wrong."""
    node, problems = parse(text, name)
    gathering = Gathering()
    gathering.add(problems)
    sections = read_sections(node, gathering)
    check_plants(sections, gathering)
    if sections.file is None:
        raise ModelError(*_sorted(gathering.problems))
    garden = _resolved(sections, sections.file, gathering)
    if garden is None or any(p.weight is Weight.ERROR for p in gathering.problems):
        raise ModelError(*_sorted(gathering.problems))
    garden = replace(garden, source=name, digest=hashlib.sha256(text.encode("utf-8")).hexdigest())
    return replace(garden, advice=tuple(_sorted([*gathering.problems, *_advice(garden),
                                                *over_boundary(garden.elements, garden.boundary)])))


def _sorted(problems: list[Problem]) -> list[Problem]:
    """Return problems in the order of the file, each once."""
    places = [problem.place or Place() for problem in problems]
    order = sorted(range(len(problems)), key=lambda k: (places[k].line, places[k].column, k))
    return list(dict.fromkeys(problems[k] for k in order))


def _resolved(sections: Sections, file: ModelFile, gathering: Gathering) -> Garden | None:
    """Return the garden, or None where its control or options cannot stand."""
    from ..quantities.digs import soil

    options = None
    with gathering.step(file.setting_out.place):
        options = file.setting_out.value(file.units, file.site.grid)
    with gathering.step(file.ordering.place):
        soil(file.ordering.soil, file.ordering.factors)
    tape = options.tape if options else None
    written = AsWritten(
        site=file.site,
        elements=sections.elements,
        build_ups=sections.build_ups,
        missing=sections.missing,
        step=tape.step if tape else 0.005,
        feet=file.units is Units.FEET,
        accept=file.setting_out.accept,
    )
    resolution = Resolution(written, gathering)
    site, before = None, len(gathering.problems)
    with gathering.step(file.site.place):
        resolution.check_control()
    if len(gathering.problems) > before:
        return None  # without control every point would fail as well
    resolution.run()
    with gathering.step(file.site.place):
        site = _site(file, resolution, gathering, options.grid if options else None)
    if site is None or options is None:
        return None
    placed = tuple(resolution.placed[name] for name in sections.elements if name in resolution.placed)
    return Garden(
        source="",
        digest="",
        units=file.units,
        project=file.project,
        site=site,
        build_ups=MappingProxyType(dict(sections.build_ups)),
        plants=MappingProxyType(dict(sections.plants)),
        elements=placed,
        setting_out=options,
        sheets=file.sheets,
        ordering=file.ordering,
    )


def _site(file: ModelFile, resolution: Resolution, gathering: Gathering, grid: Grid | None) -> Site | None:
    written = file.site
    baseline = written.baseline or resolution.usual_baseline()
    if not all(name in resolution.marks for name in written.control):
        return None
    _check_baseline(baseline, resolution.marks)
    levels: list[SpotLevel] = []
    for level in written.levels:
        with gathering.step(level.place):
            named = getattr(level.at, "name", "")
            mark = named if named in written.control else ""
            before = next((found.level for found in levels if mark and found.mark == mark), level.level)
            if before != level.level:
                raise refuse(ModelError, f"the mark {mark} has two levels, {before:.3f} and {level.level:.3f}",
                             "keep one of them", "level-twice")
            levels.append(SpotLevel(at=resolution.point(level.at), level=level.level, mark=mark))
    sides = {word: getattr(written.sides, word) for word in ("near", "far", "left", "right")}
    return Site(
        north=written.north,
        marks=tuple(resolution.given[name] for name in written.control),
        control=MappingProxyType({name: resolution.marks[name] for name in written.control}),
        baseline=baseline,
        boundary=resolution.boundary[0].outer if resolution.boundary else None,
        levels=tuple(levels),
        sides=MappingProxyType({side: word for side, word in sides.items() if word}),
        grid=grid,
    )


def _check_baseline(baseline: tuple[str, str], marks: Mapping[str, Point]) -> None:
    """Refuse a baseline that does not lie where the frame says: from [0, 0] along x."""
    first, second = (marks[name] for name in baseline)
    if not max(abs(first.x), abs(first.y)) <= ON_AXIS:
        raise ModelError(
            Problem(
                f"the baseline begins at {baseline[0]}, which lies at [{first.x:.3f}, {first.y:.3f}]",
                f"the frame begins there: put {baseline[0]} at [0, 0]",
                "baseline",
            )
        )
    if not (abs(second.y) <= ON_AXIS and second.x > 0):
        raise ModelError(
            Problem(
                f"the baseline runs to {baseline[1]}, which lies at [{second.x:.3f}, {second.y:.3f}]",
                f"x runs along it: put {baseline[1]} at [distance from {baseline[0]}, 0]",
                "baseline",
            )
        )


def _advice(garden: Garden) -> Iterator[Problem]:
    """Yield what the elements would say about the design."""
    for placed in garden.elements:
        with at(placed.place):
            problems = tuple(placed.element.advice(placed, garden))
        for problem in problems:
            yield problem if problem.place else replace(problem, place=placed.place, weight=Weight.ADVICE)
