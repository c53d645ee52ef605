"""A model file's bytes to text: its size bounded, its letters in UTF-8, each fault with its line and column."""

from __future__ import annotations

import codecs
import os
from pathlib import Path as FilePath

from ..errors import ModelError, Place, Problem

MAX_BYTES = 2_000_000
"""A model larger than this is refused before it is read; a garden of a thousand elements has a tenth of it."""


def refused(name: str, what: str, mend: str, code: str, line: int = 0, column: int = 0) -> ModelError:
    """Return an error of a whole file, or of one place in it."""
    return ModelError(Problem(what, mend, code, Place(name, line, column)))


def read_text(path: str | os.PathLike[str]) -> str:
    """Return the text of a model file; ModelError for a missing, unreadable, oversized or non-UTF-8 file."""
    name = os.fspath(path)
    try:
        size = os.stat(path).st_size
        if os.path.isdir(path):
            raise refused(name, "this is a folder, not a model file", "give the YAML file itself", "not-a-file")
        if size > MAX_BYTES:
            raise refused(
                name,
                f"the file is {size / 1e6:.1f} MB large; a model has at most {MAX_BYTES / 1e6:.0f} MB",
                "give the YAML model itself, not a survey, a picture or an export",
                "too-large",
            )
        raw = FilePath(path).read_bytes()
    except FileNotFoundError:
        raise refused(name, "there is no such file", "check the name and the folder", "no-file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise refused(name, f"the file cannot be read: {reason}", "check that it may be opened", "no-file") from None
    return decoded(raw, name)


def decoded(raw: bytes, name: str) -> str:
    """Return bytes as text, a byte-order mark taken off; ModelError if they are not UTF-8."""
    if raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise refused(name, "the file is written in UTF-16", "save it as UTF-8", "not-utf8", 1, 1)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        raise refused(
            name,
            f"the byte 0x{raw[error.start]:02X} is not UTF-8 text",
            "save the file as UTF-8",
            "not-utf8",
            line,
            column,
        ) from None
