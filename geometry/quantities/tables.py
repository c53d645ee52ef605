"""The supplied tables (patterns, materials, build-ups) as plain values.

Takes: a file of `pegbook.templates`. Gives: dicts, lists, numbers and words. The text is read by the one
reader of YAML; a scalar that is a plain decimal becomes a number.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

from ..errors import GeometryError, ModelError, refuse
from ..reading.quantity import read_number
from ..reading.source import Node, Record, Scalar, Series, parse


def _plain(node: Node) -> Any:
    match node:
        case Record():
            return {key: _plain(value) for key, value in node.entries.items()}
        case Series():
            return [_plain(item) for item in node.items]
        case Scalar():
            try:
                return read_number(node.text)
            except ModelError:
                return node.text


@cache
def table(name: str) -> dict[str, Any]:
    """Return the supplied table `name` ('patterns', 'materials', 'build_ups/paving'); do not change it."""
    text = files("pegbook.templates").joinpath(f"{name}.yaml").read_text("utf-8")
    value = _plain(parse(text, f"{name}.yaml")[0])
    if not isinstance(value, dict):
        raise refuse(GeometryError, f"the supplied table {name} is no mapping", "", "bad-table")
    return value


@cache
def build_up_files() -> tuple[str, ...]:
    """Return the names of the supplied files of build-ups, in order."""
    folder = files("pegbook.templates").joinpath("build_ups")
    return tuple(
        sorted(f"build_ups/{f.name.removesuffix('.yaml')}" for f in folder.iterdir() if f.name.endswith(".yaml"))
    )
