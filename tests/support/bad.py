"""Reading bad model files as the command does: every problem that reading and setting out report."""

from __future__ import annotations

from pathlib import Path

from pegbook.geometry.errors import PegbookError, Problem, Weight
from pegbook.geometry.model.garden import load

BAD = Path(__file__).resolve().parents[1] / "errors" / "bad"


def problems_of(path: Path) -> tuple[Problem, ...]:
    """Return what is said of a file: its errors, or the advice of one that can be set out."""
    from pegbook.geometry.setout import set_out

    try:
        return set_out(load(path)).advice
    except PegbookError as error:
        return error.problems


def said(path: Path) -> str:
    """Return the problems as they are printed, the file named without its folder.

    Advice without a place comes from working the garden out, not from reading it, and is left out.
    """
    told = [p for p in problems_of(path) if p.place or p.weight is Weight.ERROR]
    return "\n".join(str(problem) for problem in told).replace(str(path), path.name) + "\n"
