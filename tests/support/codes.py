"""The codes of every problem that the library can report, read from its source."""

from __future__ import annotations

import ast
from pathlib import Path

GEOMETRY = Path(__file__).resolve().parents[2] / "geometry"

CODE_AT = {"Problem": 2, "refuse": 3, "problem": 3, "_refused": 3, "stop": 3}
"""Which argument of each function that makes a problem is its code."""


def codes_in(folder: str = "") -> dict[str, list[str]]:
    """Return for each code the places (`model/site.py:88`) that report it, below one folder of geometry/."""
    found: dict[str, list[str]] = {}
    for path in sorted((GEOMETRY / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call):
                for code in _codes(node):
                    found.setdefault(code, []).append(f"{path.relative_to(GEOMETRY)}:{node.lineno}")
    return found


def _codes(call: ast.Call) -> list[str]:
    name = call.func.id if isinstance(call.func, ast.Name) else getattr(call.func, "attr", "")
    if name not in CODE_AT:
        return []
    given = [keyword.value for keyword in call.keywords if keyword.arg == "code"]
    at = CODE_AT[name]
    value = given[0] if given else call.args[at] if len(call.args) > at else None
    return [value.value] if isinstance(value, ast.Constant) and isinstance(value.value, str) else []
