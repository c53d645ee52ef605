"""Pegbook: one written model of a garden, and everything that is handed over from it.

    import pegbook
    garden = pegbook.load("quarry-end.yaml")
    work = pegbook.set_out(garden)
    files = pegbook.issue_files(work)

Names are loaded when asked for, so that `import pegbook` costs nothing.
"""

from __future__ import annotations

from typing import Any

__version__ = "0.1.0"

_OFFERED = {
    "load": ("pegbook.geometry.model.garden", "load"),
    "loads": ("pegbook.geometry.model.garden", "loads"),
    "schema": ("pegbook.geometry.model.schema", "schema"),
    "set_out": ("pegbook.geometry.setout", "set_out"),
    "issue_files": ("pegbook.drawings.issue", "issue_files"),
    "PegbookError": ("pegbook.geometry.errors", "PegbookError"),
}

__all__ = ["PegbookError", "__version__", "issue_files", "load", "loads", "schema", "set_out"]


def __getattr__(name: str) -> Any:
    if name not in _OFFERED:
        raise AttributeError(f"module 'pegbook' has no attribute {name!r}")
    from importlib import import_module

    module, attribute = _OFFERED[name]
    return getattr(import_module(module), attribute)


def __dir__() -> list[str]:
    return __all__
