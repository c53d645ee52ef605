"""The one family of errors, and the problem that each of them carries.

Takes: what is wrong and how to mend it, from any depth. Gives: lines of the form
`file:line:column: path: what` with a `mend:` line below. Knows nothing of gardens, YAML or paper.

Two steps: inner code says *what* and *mend*; a caller who knows the source adds *where* with `at`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from enum import StrEnum


class Weight(StrEnum):
    """How much a problem weighs: an error stops the work, advice never does."""

    ERROR = "error"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class Place:
    """Where something is written: file, line and column (from 1), and the path in the model."""

    file: str = ""
    line: int = 0
    column: int = 0
    path: str = ""

    def __str__(self) -> str:
        spot = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        return ": ".join(part for part in (spot, self.path) if part)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: what, how to mend it, where, how heavy, a short stable code, the name it is about."""

    what: str
    mend: str = ""
    code: str = "problem"
    place: Place | None = None
    weight: Weight = Weight.ERROR
    about: str = ""

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place else ""
        note = "advice: " if self.weight is Weight.ADVICE else ""
        mend = f"\n    mend: {self.mend}" if self.mend else ""
        return f"{where}{note}{self.what}{mend}"


class PegbookError(Exception):
    """The base of all errors that a person can cause; carries one or more problems."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(*problems)
        self.problems: tuple[Problem, ...] = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class ModelError(PegbookError):
    """What is written in the model cannot be read or means nothing."""


class GeometryError(PegbookError):
    """A shape that cannot exist, or a result that cannot be trusted."""


class DrawingError(PegbookError):
    """What cannot be fitted on a sheet or written to a file."""


class ReadingsError(PegbookError):
    """Taped figures that contradict each other or the model."""


def refuse(kind: type[PegbookError], what: str, mend: str = "", code: str = "problem",
           about: str = "") -> PegbookError:
    """Return an error of `kind` with one problem and no place; raise the result."""
    return kind(Problem(what, mend, code, about=about))


@contextmanager
def at(place: Place) -> Iterator[None]:
    """Add `place` to every problem that leaves the block without one."""
    try:
        yield
    except PegbookError as error:
        placed = tuple(p if p.place else replace(p, place=place) for p in error.problems)
        raise type(error)(*placed) from error


class Gathering:
    """Collects the problems of several steps so that one impossible bed does not hide the next."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def add(self, problems: Iterable[Problem]) -> None:
        """Keep more problems."""
        self.problems.extend(problems)

    @contextmanager
    def step(self, place: Place | None = None) -> Iterator[None]:
        """Run one step; keep its problems (with `place` where they have none) and go on."""
        try:
            if place is None:
                yield
            else:
                with at(place):
                    yield
        except PegbookError as error:
            self.add(error.problems)

    def raise_errors(self, kind: type[PegbookError]) -> None:
        """Raise `kind` with all problems, each once, if any of them is an error."""
        if any(problem.weight is Weight.ERROR for problem in self.problems):
            raise kind(*dict.fromkeys(self.problems))
