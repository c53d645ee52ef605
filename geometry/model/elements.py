"""Reading one element: its kind chooses the class, the class says the fields."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..errors import ModelError, refuse
from ..kinds import kinds
from ..kinds.base import Element
from ..reading.fields import Reading, as_record, as_scalar, nearest, problem, read_record
from ..reading.source import Node

NAME_MOST = 60
"""Letters of an element's name: longer ones fit no label."""


@dataclass(frozen=True, slots=True)
class ElementWord:
    """Reads a mapping with a `kind` as that kind's class."""

    def read(self, node: Node, reading: Reading) -> Element:
        """Return the element."""
        record = as_record(node, "an element")
        word = record.get("kind")
        if word is None:
            raise problem(
                node, "an element needs 'kind'", f"add `kind: …`: one of {', '.join(kinds())}", "missing-field"
            )
        kind = as_scalar(word, "a kind")
        if kind not in kinds():
            raise problem(word, f"there is no kind '{kind}'", nearest(kind, kinds()), "unknown-kind")
        element: Element = read_record(kinds()[kind], record.without("kind"), reading)
        return element

    def schema(self) -> dict[str, Any]:
        """Return a pointer to the choice of kinds."""
        return {"$ref": "#/$defs/element"}


def check_name(name: str, marks: object) -> None:
    """Refuse an element's name that could not be told from another, or could not be printed."""
    if name == "boundary":
        raise refuse(ModelError, "'boundary' is the plot's own name", "call the element something else", "bad-name")
    if isinstance(marks, dict) and name in marks:
        raise refuse(ModelError, f"'{name}' is a control mark already", "call the element something else", "bad-name")
    if not name or len(name) > NAME_MOST or not name.isprintable():
        raise refuse(
            ModelError,
            f"a name of {len(name)} letters" if name.isprintable() else "a name that cannot be printed",
            f"use 1 to {NAME_MOST} letters on one line",
            "bad-name",
        )
