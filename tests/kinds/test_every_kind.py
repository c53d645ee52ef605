"""Everything that must hold of an element kind, over the registry: a new kind needs no new test.

Each kind's docstring holds a complete example; here it is read, resolved, asked for all that it may say, set
out, pegged and proved from its printed tables.
"""

from __future__ import annotations

import math
from functools import cache
from importlib.resources import files

import jsonschema
import pytest
import yaml

from pegbook.geometry.features import Caution, Pegging, Shape, Status
from pegbook.geometry.kernel.path import Loop, Path, Region
from pegbook.geometry.kernel.point import Point
from pegbook.geometry.kinds import kinds
from pegbook.geometry.kinds.base import Element, Placed
from pegbook.geometry.model.garden import Garden, loads
from pegbook.geometry.model.schema import schema
from pegbook.geometry.pegs.csvs import pegs_csv, recovery_csv
from pegbook.geometry.pegs.proof import prove_set
from pegbook.geometry.setout import set_out
from support.models import HEAD, PLANTS, data_of, example_name, kind_example, model_text

WORDS = tuple(kinds())

UNITS = {"m2", "m3", "m", "number", "t", "kg", "litres"}
"""What a bill counts in."""


def text_of(word: str, status: str = "") -> str:
    """Return a model that holds a kind's example alone, its status set if asked."""
    lines = ["  " + line for line in kind_example(word).splitlines()]
    if status:
        lines.insert(2, f"    status: {status}")
    return HEAD + PLANTS + "elements:\n" + "\n".join(lines) + "\n"


@cache
def garden_of(word: str, status: str = "") -> Garden:
    return loads(text_of(word, status), f"{word}.yaml")


def placed_of(word: str, status: str = "") -> Placed:
    (placed,) = garden_of(word, status).elements
    return placed


def size_of(shape: Shape) -> float:
    if isinstance(shape, Point):
        return 1.0
    return shape.length


@pytest.mark.parametrize("word", WORDS)
class TestKind:
    def test_its_example_is_complete(self, word: str) -> None:
        placed = placed_of(word)
        assert placed.kind == word
        assert placed.name == example_name(word)
        assert placed.place.line > 0
        assert placed.named_points()

    def test_it_is_drawn(self, word: str) -> None:
        placed, garden = placed_of(word), garden_of(word)
        features = list(placed.element.features(placed, garden))
        assert features
        for feature in features:
            assert feature.element == placed.name
            assert feature.status is placed.status
            assert size_of(feature.shape) > 0

    def test_it_is_pegged_or_says_that_it_is_not(self, word: str) -> None:
        placed, garden = placed_of(word), garden_of(word)
        pegging = placed.element.pegging(placed, garden)
        if not (placed.built and placed.element.pegged):
            assert pegging is None
            return
        assert isinstance(pegging, Pegging)
        assert pegging.outlines or pegging.wanted
        assert 0 < pegging.tolerance.position <= 0.15
        assert all(isinstance(line, (Loop, Path)) for line in pegging.outlines)
        assert all(isinstance(region, Region) for region in pegging.dug)
        names = [wanted.part for wanted in pegging.wanted]
        assert len(set(names)) == len(names)

    def test_its_quantities_have_units(self, word: str) -> None:
        placed, garden = placed_of(word), garden_of(word)
        for item in placed.element.items(placed, garden):
            assert item.element == placed.name
            assert item.section
            assert item.item
            assert item.basis, item.item
            assert item.unit in UNITS, item.unit
            assert math.isfinite(item.net)
            assert item.net >= 0
            assert item.order is None or (item.order >= 0 and item.order_unit), item.item
        areas = [item for item in placed.element.items(placed, garden) if item.item == "plan area"]
        if isinstance(placed.shape, tuple) and placed.built and word != "pergola":
            assert sum(item.net for item in areas) == pytest.approx(placed.area)

    def test_what_it_digs_lies_round_it(self, word: str) -> None:
        placed, garden = placed_of(word), garden_of(word)
        for dig in placed.element.digs(placed, garden):
            assert dig.element == placed.name
            assert dig.depth > 0
            assert sum(region.area for region in dig.outline) > 0

    def test_it_stands_in_the_way_as_it_should(self, word: str) -> None:
        placed, garden = placed_of(word), garden_of(word)
        for obstacle in placed.element.obstacles(placed, garden):
            assert obstacle.element == placed.name
            assert obstacle.body.area > 0
            assert obstacle.stage == (placed.stage if placed.built else 0)

    def test_its_cautions_and_sections_are_told(self, word: str) -> None:
        placed, garden = placed_of(word), garden_of(word)
        assert all(isinstance(caution, Caution) for caution in placed.element.cautions(placed, garden))
        for section in placed.element.sections(placed, garden):
            assert section.form
            assert section.title
            assert placed.name in section.elements
            assert all(math.isfinite(size) and size >= 0 for size in section.sizes.values())

    def test_what_stands_or_goes_is_not_made(self, word: str) -> None:
        for status in (Status.EXISTING, Status.REMOVE):
            placed, garden = placed_of(word, status.value), garden_of(word, status.value)
            assert placed.status is status
            assert placed.element.pegging(placed, garden) is None
            assert list(placed.element.digs(placed, garden)) == []
            assert not placed.dug
            assert all(feature.status is status for feature in placed.element.features(placed, garden))
            ordered = [i.item for i in placed.element.items(placed, garden) if i.order]
            assert ordered == []
            if status is Status.REMOVE:
                assert placed.element.obstacles(placed, garden) == ()

    def test_its_example_meets_the_schema(self, word: str) -> None:
        jsonschema.Draft202012Validator(whole_schema()).validate(data_of(text_of(word)))

    def test_a_slip_in_a_field_is_caught_by_reader_and_schema(self, word: str) -> None:
        text = text_of(word) + "    colur: green\n"
        assert not jsonschema.Draft202012Validator(whole_schema()).is_valid(data_of(text))
        with pytest.raises(Exception, match="has no field 'colur'"):
            loads(text, "slip.yaml")

    def test_it_is_set_out_and_proved(self, word: str) -> None:
        work = set_out(garden_of(word))
        proof = prove_set(work.pegs, pegs_csv(work.pegs), recovery_csv(work.pegs))
        assert proof.good, proof.fault
        assert {feature.role for feature in work.features}


@cache
def whole_schema() -> dict[str, object]:
    return schema()


def test_there_is_a_module_for_every_word() -> None:
    assert list(WORDS) == sorted(WORDS)
    assert len(WORDS) == 16
    assert all(issubclass(cls, Element) for cls in kinds().values())


def test_every_role_that_kinds_draw_has_its_layer() -> None:
    table = yaml.safe_load(files("pegbook.templates").joinpath("layers.yaml").read_text("utf-8"))
    for word in WORDS:
        for feature in placed_of(word).element.features(placed_of(word), garden_of(word)):
            assert feature.role.value in table["roles"], f"{word} draws a role without a layer"


def test_all_kinds_stand_in_one_garden() -> None:
    """Kinds may be asked for in any company: the base garden with every other example beside it reads as well."""
    taken = {"house", "terrace", "round lawn", "long walk"}
    texts = [kind_example(word) for word in WORDS if example_name(word) not in taken]
    garden = loads(model_text("\n".join(texts)), "all.yaml")
    assert {placed.kind for placed in garden.elements} == set(WORDS)
