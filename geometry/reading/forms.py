"""Vocabularies: one value that may be written in several forms, told apart by their keys.

`KeyedForms` are mappings with one key, the form's own (`{circle: {…}}`); `SignedForms` are told apart by
the keys that only they have (`{from: P, toward: Q, by: 2}`). Either may have a form for plain text
(a name) and one for a list.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .fields import Form, Reading, nearest, problem, read_record
from .source import Node, Record, Scalar, Series, called, shortened


@dataclass(frozen=True, slots=True)
class KeyedForms:
    """One-key forms. `wanted` is what messages call the value: 'an outline'."""

    wanted: str
    forms: Mapping[str, type[Form]]
    text: type[Form] | None = None
    listed: str = ""            # the form that a bare list most likely means, for messages

    def read(self, node: Node, reading: Reading) -> Form:
        """Return the form; ModelError if the key is not known or its value cannot be read."""
        if isinstance(node, Scalar) and not node.empty and self.text is not None:
            return read_record(self.text, node, reading)
        if not isinstance(node, Record):
            raise problem(
                node,
                f"{self.wanted} is written as one of its forms, and this is {called(node)}",
                f"write {self.listed}"
                if self.listed and isinstance(node, Series)
                else f"write one key and its value: {', '.join(self.forms)}",
                "no-form",
            )
        known = [key for key in node.entries if key in self.forms]
        if len(node.entries) == 1 and known:
            return read_record(self.forms[known[0]], node.entries[known[0]], reading)
        return self._refuse(node, known)

    def _refuse(self, node: Record, known: list[str]) -> Form:
        if known:
            other = next(key for key in node.entries if key != known[0])
            raise problem(
                node,
                f"{self.wanted} has one form, and here '{known[0]}' and '{shortened(other)}' stand together",
                "keep one of them; fields of the form stand below its word",
                "two-forms",
            )
        first = next(iter(node.entries), "")
        hint = nearest(first, self.forms) if first else f"write one of: {', '.join(self.forms)}"
        raise problem(
            node,
            f"there is no form '{shortened(first)}' of {self.wanted[self.wanted.find(' ') + 1 :]}",
            hint,
            "unknown-form",
        )


@dataclass(frozen=True, slots=True)
class SignedForms:
    """Forms told apart by a key of their own, tried in order. A class names its key, the class `key` says how."""

    wanted: str
    forms: tuple[type[Form], ...]
    text: type[Form]
    series: type[Form]
    patterns: str  # what a person may write, for messages

    def read(self, node: Node, reading: Reading) -> Form:
        """Return the form; ModelError if none fits or its fields cannot be read."""
        if isinstance(node, Series):
            return read_record(self.series, node, reading)
        if isinstance(node, Scalar):
            if node.empty:
                raise problem(
                    node,
                    f"{self.wanted} is wanted here, and nothing is written",
                    f"write {self.patterns}",
                    "nothing-written",
                )
            return read_record(self.text, node, reading)
        for form in self.forms:
            if any(key in node.entries for key in form.key.split()):
                return read_record(form, node, reading)
        raise problem(
            node,
            f"this is no form of {self.wanted[self.wanted.find(' ') + 1 :]}",
            f"write {self.patterns}",
            "unknown-form",
        )


def form_schemas(vocabulary: KeyedForms | SignedForms, schema_of: Any) -> dict[str, Any]:
    """Return the JSON Schema of a vocabulary; `schema_of` gives that of a class."""
    if isinstance(vocabulary, KeyedForms):
        choices: list[dict[str, Any]] = [
            {"type": "object", "properties": {key: schema_of(form)}, "required": [key], "additionalProperties": False}
            for key, form in vocabulary.forms.items()
        ]
        if vocabulary.text is not None:
            choices.insert(0, {"type": "string"})
    else:
        choices = [{"type": "string"}, schema_of(vocabulary.series), *(schema_of(form) for form in vocabulary.forms)]
    return {"description": vocabulary.wanted, "anyOf": choices}
