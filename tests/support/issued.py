"""Whole issue sets for tests: each garden is worked out once a process."""

from __future__ import annotations

import csv
import io
from functools import cache
from pathlib import Path

from pegbook.drawings.issue import issue_files
from pegbook.geometry.model.garden import loads
from pegbook.geometry.setout import SettingOut, set_out
from support.gardens import garden_text

ROOT = Path(__file__).resolve().parents[2]
DEMO = tuple(sorted(path.stem for path in (ROOT / "demo").glob("*.yaml")))
STARTERS = tuple(sorted(path.stem for path in (ROOT / "templates" / "starters").glob("*.yaml")))


def text_of(name: str) -> str:
    """Return the model text of a demo garden, a starter, or a generated one (`seed 7`, `seed 7 size 1.5`)."""
    if name.startswith("seed "):
        seed, _, size = name.removeprefix("seed ").partition(" size ")
        return garden_text(int(seed), float(size) if size else None)
    for folder in (ROOT / "demo", ROOT / "templates" / "starters"):
        path = folder / f"{name}.yaml"
        if path.is_file():
            return path.read_text("utf-8")
    raise KeyError(name)


@cache
def worked(name: str) -> SettingOut:
    """Return a garden worked out."""
    return set_out(loads(text_of(name), f"{name}.yaml"))


@cache
def issued(name: str) -> dict[str, bytes]:
    """Return every file of a garden's issue set."""
    return issue_files(worked(name))


def rows(name: str, table: str) -> list[dict[str, str]]:
    """Return the rows of one CSV of a set."""
    return list(csv.DictReader(io.StringIO(issued(name)[table].decode("utf-8"))))
