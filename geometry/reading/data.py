"""Reading of the tables that ship with the program: YAML that nobody but us writes, so plain values suffice.

Takes: the text of a shipped table. Gives: mappings, lists and scalars. What people write goes through
`source`, which knows the line of every word.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def shipped(text: str) -> Mapping[str, Any]:
    """Return the mapping that a shipped table holds (read by the safe loader, the quick one where it is built)."""
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    table: Mapping[str, Any] = yaml.load(text, Loader=loader)
    return table


__all__ = ["shipped"]
