"""The file as a whole: its sections, read each on its own so that one broken section hides no other."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, ClassVar

from ..errors import Gathering, ModelError, refuse
from ..kinds.base import Element
from ..kinds.base_build_up import BuildUpGiven, Ordering
from ..planting.plants import Plant
from ..reading.fields import (
    Reading,
    Vocabulary,
    Written,
    as_record,
    as_scalar,
    nearest,
    problem,
    read_fields,
    read_value,
)
from ..reading.quantity import Units
from ..reading.source import Node, Record, called
from .elements import ElementWord, check_name
from .lines import LINES
from .options import SettingOutGiven, Sheets
from .outlines import OUTLINES
from .plants import PlantGiven
from .points import POINTS
from .site import Project, SiteGiven, check_mark_name

if TYPE_CHECKING:
    from ..quantities.build_ups import BuildUp

FORMAT = "1"
"""The format number that this version reads."""

VOCABULARIES: Mapping[str, Vocabulary] = {"point": POINTS, "outline": OUTLINES, "line": LINES}


@dataclass(frozen=True, slots=True)
class FormatWord:
    """Reads the format number."""

    def read(self, node: Node, _reading: Reading) -> str:
        """Return the format; ModelError for one that this version does not know."""
        text = as_scalar(node, "the format number")
        if text != FORMAT:
            raise problem(
                node,
                f"format {text} is not known to this version, which reads format {FORMAT}",
                f"write `pegbook: {FORMAT}`, or use the version that the file was written for",
                "unknown-format",
            )
        return text

    def schema(self) -> dict[str, Any]:
        """Return the one number."""
        return {"enum": [int(FORMAT), FORMAT]}


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelFile(Written):
    """A garden model, format 1."""

    called: ClassVar[str] = "a model"

    pegbook: Annotated[str, FormatWord()]
    units: Units = Units.METRES
    project: Project
    site: SiteGiven
    build_ups: Mapping[str, BuildUpGiven] = field(default_factory=dict)
    plants: Mapping[str, PlantGiven] = field(default_factory=dict)
    elements: Mapping[str, Annotated[Element, ElementWord()]] = field(default_factory=dict)
    setting_out: SettingOutGiven = field(default_factory=SettingOutGiven)
    sheets: Sheets = field(default_factory=Sheets)
    ordering: Ordering = field(default_factory=Ordering)


SECTIONS = ("build_ups", "plants", "elements")
"""Mappings of free names, whose entries are read one by one."""


@dataclass(slots=True)
class Sections:
    """What could be read: the fixed sections as one file (None if one of them is broken), and the named things.

    `missing` holds, for each mapping, the names of entries that could not be read.
    """

    units: Units
    file: ModelFile | None
    build_ups: dict[str, BuildUp]
    plants: dict[str, Plant]
    elements: dict[str, Element]
    missing: dict[str, frozenset[str]]


def read_sections(node: Node, gathering: Gathering) -> Sections:
    """Return everything of the file that can be read; the problems go to `gathering`.

    ModelError at once for what is no model at all, or of another format.
    """
    record = _model(node)
    reading = Reading(_units(record), VOCABULARIES)
    values = read_fields(ModelFile, record.without(*SECTIONS), reading, gathering)
    whole = {"project", "site", "pegbook"} <= set(values)
    sections = Sections(reading.units, ModelFile(**values) if whole else None, {}, {}, {}, {})
    marks = sections.file.site.control if sections.file else {}
    for name in marks:
        with gathering.step(marks[name].place):
            check_mark_name(name)
    _each(
        record,
        "build_ups",
        gathering,
        sections,
        lambda name, child: sections.build_ups.__setitem__(name, read_value(BuildUpGiven, child, reading).value(name)),
    )
    _each(
        record,
        "plants",
        gathering,
        sections,
        lambda name, child: sections.plants.__setitem__(name, read_value(PlantGiven, child, reading).value(name)),
    )
    _each(record, "elements", gathering, sections, lambda name, child: _element(name, child, reading, sections, marks))
    return sections


def _model(node: Node) -> Record:
    """Return the mapping of a model; ModelError if it is none, or of an unknown format."""
    if not isinstance(node, Record):
        raise problem(
            node, f"a model is a mapping, and this is {called(node)}", "begin with `pegbook: 1`", "not-a-model"
        )
    known = {"project", "site", "elements"}
    if "pegbook" not in node.entries and not known & set(node.entries):
        raise problem(node, "this is not a garden model: it has no 'pegbook'", "begin with `pegbook: 1`", "not-a-model")
    version = node.get("pegbook")
    if version is not None:
        FormatWord().read(version, Reading())
    return node


def _units(record: Record) -> Units:
    """Return the units, metres where they are not said or not known (that is told with the other fields)."""
    node = record.get("units")
    try:
        return Units(as_scalar(node, "a unit")) if node is not None else Units.METRES
    except (ModelError, ValueError):
        return Units.METRES


def _each(
    record: Record, section: str, gathering: Gathering, sections: Sections, take: Callable[[str, Node], object]
) -> None:
    node, missing = record.get(section), set()
    if node is not None:
        with gathering.step():
            for name, child in as_record(node, f"`{section}`").entries.items():
                missing.add(name)
                with gathering.step(child.place):
                    take(name, child)
                    missing.discard(name)
    sections.missing[section] = frozenset(missing)


def _element(name: str, node: Node, reading: Reading, sections: Sections, marks: Mapping[str, object]) -> None:
    check_name(name, marks)
    sections.elements[name] = ElementWord().read(node, reading)


def check_plants(sections: Sections, gathering: Gathering) -> None:
    """Report plants that elements name and the file does not hold."""
    for element in sections.elements.values():
        for name, place in element.plants_named():
            if name not in sections.plants and name not in sections.missing["plants"]:
                with gathering.step(place):
                    raise refuse(
                        ModelError,
                        f"there is no plant '{name}'",
                        nearest(name, sections.plants) if sections.plants else "list it under `plants`",
                        "unknown-plant",
                    )
