"""Small model texts for tests, and the examples that stand in the docstrings of kinds and forms."""

from __future__ import annotations

import inspect
import json
import re
import textwrap
from typing import Any

import yaml

from pegbook.geometry.kinds import kinds
from pegbook.geometry.model.file import VOCABULARIES
from pegbook.geometry.model.garden import Garden, loads
from pegbook.geometry.reading.forms import KeyedForms, SignedForms

HEAD = """pegbook: 1
units: m
project: {title: Trial plot, number: T-1, site: 1 Trial Lane, date: 2026-10-01}
site:
  north: 15
  control:
    A: {at: [0, 0], mark: house corner on the left, short: left corner}
    B: {at: [9, 0], mark: house corner on the right, short: right corner}
    C: {at: [11, 18], mark: far right post, short: right post}
    D: {at: [-2, 18], mark: far left post, short: left post}
  baseline: [A, B]
  boundary: [[-2, -6], [11, -6], [11, 18], [-2, 18]]
"""

PLANTS = """plants:
  blue sage: {botanical: Salvia nemorosa, spacing: 0.4, height: 0.6, interest: {flower: [6, 7, 8]}, colour: violet}
  tall grass: {botanical: Molinia caerulea, spacing: 0.5, height: 1.2, interest: {flower: [8, 9]}, colour: buff}
"""

AROUND = """elements:
  house: {kind: building, outline: {rectangle: {corner: [0, -6], length: 9, width: 6}}}
  terrace: {kind: paving, outline: {rectangle: {corner: [1.5, 0], length: 6, width: 3}},
            unit: {length: 600 mm, width: 600 mm, joint: 10 mm, material: stone slab}, bond: stretcher}
  round lawn: {kind: lawn, outline: {circle: {centre: [4.5, 7.4], radius: 3.4}}}
  long walk: {kind: path, line: {straight: [[9.5, 1], [9.5, 14]]}, width: 0.9}
"""


def model_text(elements: str = "", *, head: str = HEAD) -> str:
    """Return a valid model: a house, a terrace, a lawn, a walk, and `elements` (YAML, at any indent) after them."""
    body = textwrap.indent(textwrap.dedent(elements).strip("\n"), "  ")
    return head + PLANTS + AROUND + (body + "\n" if body.strip() else "")


def small_garden(elements: str = "") -> Garden:
    """Return the garden of `model_text`."""
    return loads(model_text(elements), "trial.yaml")


def kind_example(word: str) -> str:
    """Return the YAML of the example in a kind's docstring."""
    doc = inspect.getdoc(kinds()[word]) or ""
    return doc.split("\n\n", 1)[1] if "\n\n" in doc else ""


def forms() -> dict[str, tuple[type[Any], ...]]:
    """Return every written form of each vocabulary."""
    found: dict[str, tuple[type[Any], ...]] = {}
    for name, vocabulary in VOCABULARIES.items():
        if isinstance(vocabulary, KeyedForms):
            found[name] = (*([vocabulary.text] if vocabulary.text else []), *vocabulary.forms.values())
        elif isinstance(vocabulary, SignedForms):
            found[name] = (vocabulary.text, vocabulary.series, *vocabulary.forms)
    return found


class _Core(yaml.SafeLoader):
    """YAML as editors read it (1.2, core schema): `on`, `yes` and `no` are words, not booleans."""


_Core.yaml_implicit_resolvers = {
    first: [(tag, rule) for tag, rule in rules if not tag.endswith((":bool", ":timestamp"))]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
_Core.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(?:true|True|TRUE|false|False|FALSE)$"), [*"tTfF"])


def data_of(text: str) -> Any:
    """Return a model's text as the plain values that a JSON Schema is checked against."""
    return json.loads(json.dumps(yaml.load(text, Loader=_Core)))


def form_examples(cls: type[Any], vocabulary: str) -> list[str]:
    """Return the written forms in a form's docstring: what stands after `point: `, `outline: ` or `line: `."""
    lines = (inspect.getdoc(cls) or "").splitlines()
    mark = f"{vocabulary}: "
    return [line.removeprefix(mark) for line in lines if line.startswith(mark)]


def example_name(word: str) -> str:
    """Return the name of the element in a kind's example."""
    return kind_example(word).split(":", 1)[0].strip()
