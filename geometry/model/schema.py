"""The JSON Schema of the model (draft 2020-12), for editors: made from the same hints that reading uses.

It describes what may be written where; what only makes sense together (names that exist, shapes that are
possible) is said by `check`.
"""

from __future__ import annotations

from typing import Any

from ..kinds import kinds
from ..reading.forms import KeyedForms, SignedForms, form_schemas
from ..reading.schemas import SchemaBook
from ..reading.values import SCALAR_SCHEMAS
from .file import FORMAT, VOCABULARIES, ModelFile


def schema() -> dict[str, Any]:
    """Return the JSON Schema of a garden model; the same every time."""
    book = SchemaBook()
    root = book.record(ModelFile)
    named: dict[str, dict[str, Any]] = dict(SCALAR_SCHEMAS)
    for name, vocabulary in VOCABULARIES.items():
        if not isinstance(vocabulary, (KeyedForms, SignedForms)):
            raise TypeError(f"no schema for the vocabulary {name}")
        named[name] = form_schemas(vocabulary, book.of)
    named["element"] = {
        "description": "an element of the garden; its `kind` says which fields it has",
        "type": "object",
        "required": ["kind"],
        "properties": {"kind": {"enum": list(kinds())}},
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": word}}, "required": ["kind"]},
                "then": book.record(cls, kind={"const": word}),
            }
            for word, cls in kinds().items()
        ],
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Garden model, format {FORMAT}",
        **root,
        "$defs": {**named, **dict(sorted(book.definitions.items()))},
    }
