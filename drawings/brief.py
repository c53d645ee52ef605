"""What the sheets are told of a garden: one flat value, read once from a SettingOut.

The sheets read nothing else, so that none of them knows how a model is written. Metres and radians.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ..geometry.features import Caution, Feature, Item, Obstacle, Role, SectionDetail
from ..geometry.kernel.path import Loop, Path, Region
from ..geometry.kernel.point import Box, Point
from ..geometry.pegs.tape import Tape

if TYPE_CHECKING:
    from ..geometry.pegs.peg import Check, Peg, Recovery
    from ..geometry.planting.lines import LinePlanting
    from ..geometry.planting.mix import SinglesInput
    from ..geometry.planting.planted import BedPlanting
    from ..geometry.planting.sanding import Sanding
    from ..geometry.planting.schedule import ScheduleRow
    from ..geometry.setout import SettingOut
    from .details_cuts import SectionMark


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """One line of the revision table."""

    mark: str
    date: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Project:
    """The words of the title block (fields of ISO 7200)."""

    title: str
    number: str = ""
    site: str = ""
    client: str = ""
    owner: str = ""
    drawn_by: str = ""
    approved_by: str = ""
    document: str = ""
    status: str = ""
    date: str = ""
    revisions: tuple[Revision, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the model asks of its sheets: scale 0 is 'choose', composition '' too."""

    size: str = ""  # '': A3, or the next larger that holds the plan and its lettering
    scale: int = 0
    orientation: str = ""
    composition: str = ""
    step: int = 0
    sheets: tuple[str, ...] = ("layout", "setting out", "hardscape", "planting", "details")


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """All that the sheets draw from.

    `north` is the bearing of up the sheet, degrees clockwise from north. `labels` and `kinds` go by element.
    `ways` says how a peg that the dig takes is found again. `unit` is 'm', 'mm' or 'ft', of lengths on the sheets.
    """

    project: Project
    wishes: Wishes = field(default_factory=Wishes)
    north: float = 0.0
    features: tuple[Feature, ...] = ()
    labels: Mapping[str, str] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    build_ups: Mapping[str, str] = field(default_factory=dict)
    pegs: tuple[Peg, ...] = ()
    outlines: Mapping[str, tuple[Loop | Path, ...]] = field(default_factory=dict)  # what was pegged of each element
    checks: tuple[Check, ...] = ()
    ways: tuple[Recovery, ...] = ()
    marks: Mapping[str, str] = field(default_factory=dict)
    baseline: tuple[str, str] = ("A", "B")
    items: tuple[Item, ...] = ()
    beds: tuple[BedPlanting, ...] = ()
    lines: tuple[LinePlanting, ...] = ()
    singles: tuple[SinglesInput, ...] = ()
    schedule: tuple[ScheduleRow, ...] = ()
    sandings: tuple[Sanding, ...] = ()
    tape: Tape = field(default_factory=Tape)
    cautions: tuple[tuple[Caution, tuple[str, ...]], ...] = ()
    sections: tuple[SectionDetail, ...] = ()
    obstacles: tuple[Obstacle, ...] = ()
    unit: str = "m"
    window: Box | None = None  # the part of the ground that a sheet of a split plan shows
    section_marks: tuple[SectionMark, ...] = ()  # where the views of the details sheet are cut
    close: bool = False  # an enlarged view: nothing hangs over its edge

    @property
    def extent(self) -> Box:
        """The ground that plans show: boundary, elements and marks; crowns and services may hang over it."""
        boxes = [shape_box(f) for f in self.features if f.role not in _OVERHANGING]
        boxes += [Box(p.at.x, p.at.y, p.at.x, p.at.y) for p in self.pegs]
        boxes = boxes or [shape_box(f) for f in self.features] or [Box(0, 0, 10, 10)]
        box = Box.around(boxes)
        for feature in self.of(Role.BUILDING):
            box = Box.around((box, _cut(shape_box(feature), box.grown(SHOWN))))
        least = 0.5
        if min(box.width, box.height) < least:
            box = Box(box.x0, box.y0, max(box.x1, box.x0 + least), max(box.y1, box.y0 + least))
        return box

    @property
    def pegged(self) -> frozenset[str]:
        """Names of the elements that have pegs."""
        return frozenset(name for p in self.pegs for name in (p.element, *p.serves) if name)

    def label(self, element: str) -> str:
        """Return what an element is called on the sheets: its label, or its name with a capital letter."""
        words = self.labels.get(element) or element
        return words[:1].upper() + words[1:]

    def of(self, *roles: Role) -> tuple[Feature, ...]:
        """Return the features in some roles, in the order of drawing."""
        return tuple(f for f in self.features if f.role in roles)


SHOWN = 1.0
"""Metres of a building that are shown beyond all else; the rest is broken off."""


def _cut(box: Box, to: Box) -> Box:
    """Return the part of a box that lies in another (they are known to meet or nearly meet)."""
    x0, y0 = min(max(box.x0, to.x0), to.x1), min(max(box.y0, to.y0), to.y1)
    return Box(x0, y0, max(x0, min(box.x1, to.x1)), max(y0, min(box.y1, to.y1)))


_OVERHANGING = frozenset(
    {Role.BUILDING, Role.CROWN, Role.SERVICE, Role.RAFTER, Role.BEAM, Role.FALL, Role.LEVEL, Role.LAY_FROM}
)


def shape_box(feature: Feature) -> Box:
    """Return the upright box of a feature's shape, metres."""
    shape = feature.shape
    if isinstance(shape, Point):
        half = feature.size / 2
        return Box(shape.x - half, shape.y - half, shape.x + half, shape.y + half)
    assert isinstance(shape, Path | Region)
    return shape.box


def read(work: SettingOut) -> Brief:
    """Return what the sheets need of a garden that is set out."""
    garden = work.garden
    given = garden.project
    project = Project(
        title=given.title,
        number=given.number,
        site=given.site,
        client=given.client,
        owner=given.owner or given.designer,
        drawn_by=given.drawn_by or given.designer,
        approved_by=given.approved_by,
        document=given.document or "Construction drawing",
        status=given.status,
        date=given.date,
        revisions=tuple(Revision(mark=r.mark, date=r.date, note=r.note) for r in given.revisions),
    )
    sheets = garden.sheets
    composition = sheets.composition.value
    wishes = Wishes(
        size=sheets.size.value if sheets.size else "",
        scale=sheets.scale or 0,
        composition=composition,
        step=sheets.step,
        orientation=sheets.orientation.value if sheets.orientation else "",
        sheets=tuple(name.value for name in sheets.set),
    )
    return Brief(
        project=project,
        wishes=wishes,
        north=math.degrees(garden.site.north),
        features=work.features,
        labels={e.name: e.label for e in garden.elements},
        kinds={e.name: e.kind for e in garden.elements},
        notes={e.name: e.note for e in garden.elements if e.note},
        build_ups=_build_ups(work),
        pegs=work.pegs.pegs,
        outlines=work.pegs.outlines,
        checks=work.pegs.checks,
        ways=work.pegs.recovery,
        marks={m.name: m.what for m in garden.site.marks},
        baseline=work.pegs.control.baseline,
        items=work.bill.items,
        beds=work.beds,
        lines=work.lines,
        singles=work.singles,
        schedule=work.schedule,
        sandings=work.sandings,
        tape=work.pegs.options.tape,
        cautions=work.cautions,
        sections=work.sections,
        obstacles=work.obstacles,
        unit=garden.units.value,
    )


def _build_ups(work: SettingOut) -> dict[str, str]:
    """Return the name of the build-up of every element that has one by name."""
    uses = {e.name: getattr(e.element, "build_up", None) for e in work.garden.elements}
    return {name: use.name for name, use in uses.items() if use is not None and use.name}
