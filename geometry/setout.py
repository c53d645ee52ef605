"""From a garden to everything that is handed over: the one value that every output is made from.

Takes: a Garden. Gives: a SettingOut with features to draw, pegs, bill, planting, cautions and sections,
all worked out once, so that no two outputs can disagree. Knows nothing of paper or files.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from .errors import Gathering, PegbookError, Place, Problem, Weight, at
from .features import Caution, Dig, Feature, Item, Obstacle, Pegging, Role, SectionDetail, Status
from .free_edges import with_free_edges
from .kernel.path import Region

if TYPE_CHECKING:
    from .kinds.base import Placed
    from .model.garden import Garden
    from .pegs.levels import Plane
    from .pegs.peg import PegSet, Rise
    from .planting.lines import LinePlanting
    from .planting.mix import SinglesInput
    from .planting.planted import BedPlanting
    from .planting.sanding import Sanding
    from .planting.schedule import ScheduleRow
    from .quantities.bill import Bill

T = TypeVar("T")

DUG = 25.0
"""How far a dug bottom may be out in height at the least, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingOut:
    """A garden worked out: the value that sheets, booklet, tables and proof are written from.

    `lines` and `singles` are planted outside beds. `schedule` counts all plants, those of beds too; `sandings` says for
    each bed how its groups are set out on the ground.
    """

    garden: Garden
    features: tuple[Feature, ...]
    pegs: PegSet
    bill: Bill
    beds: tuple[BedPlanting, ...]
    lines: tuple[LinePlanting, ...]
    singles: tuple[SinglesInput, ...]
    schedule: tuple[ScheduleRow, ...]
    sandings: tuple[Sanding, ...]
    cautions: tuple[tuple[Caution, tuple[str, ...]], ...]   # each with the elements that call for it
    sections: tuple[SectionDetail, ...]
    obstacles: tuple[Obstacle, ...]
    advice: tuple[Problem, ...] = ()


def set_out(garden: Garden) -> SettingOut:
    """Work a garden out. Raises the family's errors with every impossible shape named, not the first alone."""
    from .model.beds import planted
    from .pegs.control import adjust
    from .pegs.levels import completed
    from .pegs.solve import set_out as peg_out
    from .pegs.telling import of_control
    from .planting.sanding import sanding_of
    from .planting.schedule import schedule
    from .quantities.bill import bill
    from .quantities.rates import rates_beside

    gathering = Gathering()
    obstacles = tuple(_each(garden, gathering, lambda p: p.element.obstacles(p, garden)))
    peggings = _own_edges(garden, tuple(_each(garden, gathering, lambda p: _optional(p.element.pegging(p, garden)))))
    beds = tuple(_each(garden, gathering, lambda p: _optional(planted(p, garden))))
    lines, singles = _planted_outside(garden, gathering)
    features = (*_ground(garden), *_each(garden, gathering, lambda p: p.element.features(p, garden)), *_levels(garden))
    items = tuple(_each(garden, gathering, lambda p: p.element.items(p, garden)))
    digs = tuple(_each(garden, gathering, lambda p: p.element.digs(p, garden)))
    sections = _alike(_each(garden, gathering, lambda p: p.element.sections(p, garden)))
    _raise(gathering)
    tape = garden.setting_out.tape
    with at(Place(file=garden.source)):
        control = adjust(garden.site.marks, garden.site.baseline, step=tape.step, accept=garden.setting_out.accept,
                         feet=tape.feet)
    pegs = completed(peg_out(peggings, control, obstacles, garden.boundary, garden.setting_out), _planes(garden),
                     {level.mark: level.level for level in garden.site.levels if level.mark},
                     dict(_rises(garden)))
    places = {placed.name: placed.place for placed in garden.elements}
    ordered = bill(items, digs, garden.ordering, beds, elements=list(places), strip=garden.ordering.topsoil,
                   places=places)
    if garden.ordering.rates:
        ordered = ordered.with_rates(rates_beside(garden.source, garden.ordering.rates))
    advice = (*garden.advice, *pegs.problems, *_at(of_control(pegs), Place(file=garden.source)), *ordered.advice,
              *(p for bed in beds for p in _at(bed.messages, places.get(bed.name))),
              *(p for line in lines for p in _at(line.messages, places.get(line.name))),
              *gathering.problems)
    return SettingOut(garden=garden, features=features, pegs=pegs, bill=ordered, beds=beds, lines=lines,
                      singles=singles, schedule=schedule(beds, lines, singles),
                      sandings=tuple(sanding_of(bed) for bed in beds),
                      cautions=_cautions(garden), sections=sections, obstacles=obstacles,
                      advice=tuple(replace(p, weight=Weight.ADVICE) for p in dict.fromkeys(advice)))


def _at(problems: Iterable[Problem], place: Place | None) -> Iterator[Problem]:
    """Yield problems with `place` where they have none."""
    return (p if p.place else replace(p, place=place) for p in problems)


def _planted_outside(garden: Garden, gathering: Gathering) -> tuple[tuple[LinePlanting, ...], tuple[SinglesInput, ...]]:
    """Return hedges and other lines with their plants, and plants that stand alone."""
    from .planting.lines import plant_line
    from .planting.mix import LineInput

    asked = tuple(_each(garden, gathering, lambda p: p.element.plantings(p, garden)))
    return (tuple(plant_line(a) for a in asked if isinstance(a, LineInput)),
            tuple(a for a in asked if not isinstance(a, LineInput)))


def _own_edges(garden: Garden, peggings: tuple[Pegging, ...]) -> tuple[Pegging, ...]:
    """Return the peggings without edges that something standing, or a harder shape, marks out already."""
    standing = [Region(garden.boundary)] if garden.boundary else []
    standing += [r for p in garden.elements if not p.built and p.status is not Status.REMOVE for r in p.regions]
    held = {p.name: p for p in garden.elements}
    found = []
    for k, own in enumerate(peggings):
        harder = [region for n, other in enumerate(peggings) if other.element != own.element
                  and other.stage <= own.stage and (other.tolerance.position, n) < (own.tolerance.position, k)
                  for region in held[other.element].regions]
        found.append(replace(with_free_edges(own, standing, harder), place=held[own.element].place))
    return tuple(found)


def _planes(garden: Garden) -> dict[str, Plane]:
    """Return the surfaces that are pegged and fall evenly, each with the spot levels that lie on it."""
    from .kernel.combine import contains
    from .pegs.levels import Plane

    found: dict[str, Plane] = {}
    for placed in garden.elements:
        down = placed.element.falling(placed) if placed.built else None
        if down is not None:
            by_itself = bool(placed.element.heights(placed))
            spots = tuple((spot.at, spot.level) for spot in garden.site.levels
                          if not by_itself and contains(placed.regions, spot.at))
            found[placed.name] = Plane(down=down, spots=spots)
    return found


def _rises(garden: Garden) -> Iterator[tuple[str, Rise]]:
    """Yield the design's heights of each element that falls evenly or is built above or below the ground."""
    from .kernel.point import Point, Vec
    from .pegs.peg import Rise

    for placed in garden.elements:
        down = placed.element.falling(placed) if placed.built else None
        own = placed.element.heights(placed) if placed.built else ()
        if down is None and not own:
            continue
        corners = [v for region in placed.regions for v in region.outer.vertices()]
        fall, built = down or Vec(0.0, 0.0), placed.element.tolerances(placed).built * 1000
        low = max(corners, key=lambda v: round(v.x * fall.dx + v.y * fall.dy, 6), default=Point(0.0, 0.0))
        yield placed.name, Rise(low=low, down=fall, built=tuple(
            (what, metres, math.ceil((max(built, DUG) if metres < 0 else built) - 1e-9)) for what, metres in own))


def _raise(gathering: Gathering) -> None:
    if gathering.problems:
        gathering.raise_errors(PegbookError)


def _optional(value: T | None) -> tuple[T, ...]:
    return () if value is None else (value,)


def _each(garden: Garden, gathering: Gathering, ask: Callable[[Placed], Iterable[T]]) -> Iterator[T]:
    """Ask every element; keep the problems of each with its place and go on."""
    for placed in garden.elements:
        with gathering.step(placed.place), at(placed.place):
            yield from tuple(ask(placed))


def _ground(garden: Garden) -> Iterator[Feature]:
    if garden.boundary is not None:
        yield Feature(role=Role.BOUNDARY, shape=garden.boundary.as_path())


def _levels(garden: Garden) -> Iterator[Feature]:
    for level in garden.site.levels:
        yield Feature(role=Role.LEVEL, shape=level.at, height=level.level, note=f"{level.level:.2f}")


def _cautions(garden: Garden) -> tuple[tuple[Caution, tuple[str, ...]], ...]:
    """Return every danger that the garden touches, services first, each with the elements that call for it."""
    found: dict[Caution, list[str]] = {}
    for placed in garden.elements:
        for caution in placed.element.cautions(placed, garden):
            names = found.setdefault(caution, [])
            if placed.name not in names:
                names.append(placed.name)
    return tuple((caution, tuple(found[caution])) for caution in Caution if caution in found)


def _alike(sections: Iterable[SectionDetail]) -> tuple[SectionDetail, ...]:
    """Return one section for each distinct way of building, with all elements built so."""
    kept: dict[object, SectionDetail] = {}
    for section in sections:
        key = (section.form, section.layers, tuple(sorted(section.sizes.items())), tuple(sorted(section.words.items())))
        held = kept.get(key)
        kept[key] = section if held is None else replace(held, elements=(*held.elements, *section.elements))
    return tuple(kept.values())


__all__ = ["Dig", "Item", "Pegging", "SettingOut", "set_out"]
