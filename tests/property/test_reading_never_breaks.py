"""Whatever a person types, reading answers with a garden or with problems that have a place: never anything else."""

from __future__ import annotations

import random
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pegbook.geometry.errors import ModelError, PegbookError, Weight
from pegbook.geometry.model.garden import loads
from pegbook.geometry.model.schema import schema
from pegbook.geometry.reading.source import parse
from support.models import HEAD, data_of, model_text

DEMOS = {f.name: f.read_text("utf-8") for folder in ("demo", "templates/starters")
         for f in sorted(files("pegbook").joinpath(folder).iterdir(), key=lambda one: one.name)
         if f.name.endswith(".yaml")}


def answered(text: str) -> None:
    try:
        loads(text, "typed.yaml")
        return
    except PegbookError as error:
        problems = error.problems
    assert any(problem.weight is Weight.ERROR for problem in problems)
    for problem in problems:
        assert problem.place is not None, problem.what
        assert problem.place.line > 0, problem.what
        assert problem.what


@pytest.mark.parametrize("name", DEMOS)
def test_supplied_gardens_read_and_meet_the_schema(name: str) -> None:
    import jsonschema
    garden = loads(DEMOS[name], name)
    assert garden.elements
    jsonschema.Draft202012Validator(schema()).validate(data_of(DEMOS[name]))


def test_the_schema_is_a_schema_and_always_the_same() -> None:
    import jsonschema
    jsonschema.Draft202012Validator.check_schema(schema())
    assert list(schema()["$defs"]) == list(schema()["$defs"])
    assert schema() == schema()


WORDS = ["", "0", "-1", "1e9", "nan", "[]", "{}", "[1, 2]", "A", "boundary", "thing.corner 9", "yes", "~", "'", "*x",
         "&x 1", "450 mm", "9' 3\"", "{circle: {centre: A, radius: 1}}", "!!python/name:os.system", "2026-13-45", "\t",
         "- -", "? : ?"]


def mangled(text: str, seed: int) -> str:
    """Return a model with a few values replaced, lines dropped, doubled or swapped, by a fixed seed."""
    r = random.Random(seed)
    lines = text.splitlines()
    for _ in range(r.randint(1, 4)):
        k = r.randrange(len(lines))
        kind = r.randrange(5)
        if kind == 0:
            del lines[k]
        elif kind == 1:
            lines.insert(k, lines[k])
        elif kind == 2 and ":" in lines[k]:
            lines[k] = lines[k].rsplit(":", 1)[0] + ": " + r.choice(WORDS)
        elif kind == 3:
            at = r.randrange(len(lines[k]) + 1)
            lines[k] = lines[k][:at] + r.choice("[]{},:'\"#&*!|>%@ 0x") + lines[k][at + 1:]
        else:
            other = r.randrange(len(lines))
            lines[k], lines[other] = lines[other], lines[k]
        if not lines:
            return ""
    return "\n".join(lines)


@pytest.mark.parametrize("seed", range(120))
def test_a_mangled_garden_is_answered(seed: int) -> None:
    names = sorted(DEMOS)
    answered(mangled(DEMOS[names[seed % len(names)]] if seed % 3 == 0 else model_text(), seed))


@pytest.mark.deep
@pytest.mark.parametrize("seed", range(1000, 5000))
def test_a_mangled_garden_is_answered_at_length(seed: int) -> None:
    names = sorted(DEMOS)
    answered(mangled(DEMOS[names[seed % len(names)]] if seed % 2 else model_text(), seed))


@given(st.text(max_size=200))
@settings(max_examples=150)
def test_any_text_is_answered(text: str) -> None:
    answered(text)
    answered(HEAD + "elements:\n  thing: " + text.replace("\n", " ") + "\n")


def test_a_tag_runs_nothing(tmp_path: object) -> None:
    mark = f"{tmp_path}/ran"
    with pytest.raises(ModelError, match="tag"):
        loads(model_text(f"thing: {{kind: feature, at: A, note: !!python/object/apply:os.mkdir ['{mark}']}}"))
    import os
    assert not os.path.exists(mark)


def test_scalars_hold_no_surprises() -> None:
    text = model_text("thing: {kind: feature, at: A, note: no, label: 12:30}")
    garden = loads(text.replace("date: 2026-10-01", "date: 1e3"))
    placed = garden.element("thing")
    assert (placed.note, placed.label, garden.project.date) == ("no", "12:30", "1e3")


def test_every_problem_of_a_file_is_told_at_once_in_its_order() -> None:
    text = model_text("""
        a: {kind: lawn, outline: {circle: {centre: A, radius: many}}}
        b: {kind: pond, outline: {polygon: {corners: [A, B]}}, depth: 1}
        c: {kind: lwan}
        d: {kind: feature, at: nowhere.centre}
        e: {kind: feature, at: a.centre}
        f: {kind: feature, at: b.centre}
    """)
    with pytest.raises(ModelError) as error:
        loads(text, "many.yaml")
    codes = [problem.code for problem in error.value.problems]
    assert codes == ["bad-length", "few-corners", "unknown-kind", "unknown-name"]      # e and f only follow a and b
    lines = [problem.place.line for problem in error.value.problems if problem.place]
    assert lines == sorted(lines)


def test_a_long_chain_of_references_is_as_good_as_a_short_one() -> None:
    count = 1500
    chain = [f"p{k}: {{kind: feature, at: {{from: p{k + 1}.centre, along: 1 mm}}}}" for k in range(count)]
    garden = loads(model_text("\n".join([*chain, f"p{count}: {{kind: feature, at: A}}"])))
    point = garden.element("p0").shape
    assert point.x == pytest.approx(count / 1000)       # type: ignore[union-attr]
    with pytest.raises(ModelError, match="a circle of references: p0 → p1"):
        loads(model_text("\n".join([*chain, f"p{count}: {{kind: feature, at: p0.centre}}"])))


def test_aliases_are_copies_with_their_own_path() -> None:
    text = model_text("""
        a: {kind: lawn, outline: &ring {circle: {centre: [2, 8], radius: 1}}}
        b: {kind: pond, outline: *ring, depth: deep}
    """)
    with pytest.raises(ModelError) as error:
        loads(text)
    assert [str(p.place).rsplit(": ", 1)[-1] for p in error.value.problems] == ["elements.b.depth"]
    node, _ = parse("a: &x [1, 2]\nb: *x", "copy.yaml")
    assert node.entries["b"].items[1].place.path == "b[2]"      # type: ignore[union-attr]
