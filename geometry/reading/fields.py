"""Nodes to frozen dataclasses: required, unknown, nearest name, all problems at once.

A class that a person may write is a frozen dataclass below `Written`; its fields are the words of the
file (`from_` is the word `from`) and their type hints say how each is read. The same hints give the JSON
Schema (`schemas.py`), so the two cannot differ.

Why not pydantic: every scalar of a model is text that a type of ours must read (lengths, shares, points),
and every problem must carry its line, so the library would be left with the bookkeeping below, and a
translation of its errors as long as it. Measured on two cores with Python 3.11, pydantic 2.14 took 0.15 s
to import and 0.10 s to build 70 classes of 8 fields before the first line was read, and `check` runs at
every save of an editor.
"""

from __future__ import annotations

import difflib
import types
import typing
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, dataclass, field, fields, is_dataclass
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, ClassVar, Protocol, TypeVar

from ..errors import Gathering, ModelError, Place, Problem, at
from .quantity import Units
from .source import Node, Record, Scalar, Series, called, shortened

T = TypeVar("T")


class Vocabulary(Protocol):
    """One of the file's languages (points, outlines, lines): reads a node as one of its forms."""

    def read(self, node: Node, reading: Reading) -> Any:
        """Return the form that `node` is written in; ModelError with all that is wrong."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What the reading of one file needs to know: the meaning of bare numbers, and the vocabularies by name."""

    units: Units = Units.METRES
    vocabularies: Mapping[str, Vocabulary] = field(default_factory=dict)


class Reads(Protocol):
    """How a scalar or other node is read: stands in `Annotated` beside the type that comes out."""

    def read(self, node: Node, reading: Reading) -> Any:
        """Return the value; ModelError if it cannot be read."""

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the written form."""


class Unwritten:
    """Marks a field that is not a word of the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The base of all that a person may write as a mapping; `place` is where it stands in the file."""

    called: ClassVar[str] = ""  # 'a pond', for messages; made from the class name when empty
    bare: ClassVar[str] = ""  # the one field that a value which is no mapping stands for

    place: Annotated[Place, Unwritten()] = field(default=Place(), compare=False, repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Form(Written):
    """A written form of one vocabulary. Two equal forms mean the same, wherever they stand."""

    key: ClassVar[str] = ""  # the word that tells it from its neighbours


@dataclass(frozen=True, slots=True)
class Spoken:
    """Reads a field in a named vocabulary, which the caller supplies in `Reading`."""

    vocabulary: str

    def read(self, node: Node, reading: Reading) -> Any:
        """Return the form; KeyError if the caller gave no such vocabulary."""
        return reading.vocabularies[self.vocabulary].read(node, reading)

    def schema(self) -> dict[str, Any]:
        """Return a pointer to the vocabulary's own schema."""
        return {"$ref": f"#/$defs/{self.vocabulary}"}


@dataclass(frozen=True, slots=True)
class Word:
    """One field of a written class: its word, its name in Python, its hint, and whether it must be there."""

    word: str
    name: str
    hint: Any
    required: bool


def words_of(cls: type[Any]) -> tuple[Word, ...]:
    """Return the fields of `cls` that a person may write, in their order."""
    key: Any = cls      # the checker does not take a class for something that can be hashed
    return _words(key)


@cache
def _words(cls: type[Any]) -> tuple[Word, ...]:
    hints = typing.get_type_hints(cls, include_extras=True)
    found = []
    for one in fields(cls):
        hint = hints[one.name]
        if any(isinstance(mark, Unwritten) for mark in getattr(hint, "__metadata__", ())):
            continue
        required = one.default is MISSING and one.default_factory is MISSING
        found.append(Word(one.name.rstrip("_"), one.name, hint, required))
    return tuple(found)


def title_of(cls: type) -> str:
    """Return what messages call `cls`: 'a pond', 'an ellipse'."""
    title: str = getattr(cls, "called", "")
    if title:
        return title
    word = "".join(f" {letter.lower()}" if letter.isupper() else letter for letter in cls.__name__).strip()
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def nearest(word: str, known: Iterable[str], ask: str = "did you mean") -> str:
    """Return a hint: the nearest of `known`, or all of them (up to a dozen) if none is near."""
    names = list(known)
    found = near(word, names)
    if found:
        return f"{ask} '{found[0]}'?"
    if not names:
        return "leave it out"
    listed = ", ".join(names[:12]) + (" …" if len(names) > 12 else "")
    return f"it is one of: {listed}"


def near(word: str, known: Iterable[str]) -> list[str]:
    """Return the one of `known` that is nearest to `word`, or nothing if none is near."""
    folded = {name.casefold(): name for name in reversed(list(known))}
    return [folded[match] for match in difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=0.6)]


def problem(node: Node, what: str, mend: str, code: str) -> ModelError:
    """Return an error at `node`; raise the result."""
    return ModelError(Problem(what, mend, code, node.place))


def as_scalar(node: Node, wanted: str) -> str:
    """Return the text of a scalar; ModelError naming what was wanted (`a length`) for a list or mapping."""
    if not isinstance(node, Scalar):
        raise problem(node, f"{wanted} is wanted here, and this is {called(node)}", f"write {wanted}", "not-a-value")
    if node.empty:
        raise problem(node, f"{wanted} is wanted here, and nothing is written", f"write {wanted}", "nothing-written")
    return node.text


def as_record(node: Node, wanted: str) -> Record:
    """Return a mapping; ModelError for anything else."""
    if not isinstance(node, Record):
        raise problem(
            node,
            f"{wanted} is written as a mapping, and this is {called(node)}",
            "write `{key: value, …}`, or the keys below, indented",
            "not-a-mapping",
        )
    return node


def as_series(node: Node, wanted: str) -> Series:
    """Return a list; ModelError for anything else."""
    if not isinstance(node, Series):
        raise problem(
            node,
            f"{wanted} is written as a list, and this is {called(node)}",
            "write `[…, …]`, or lines that begin with `- `",
            "not-a-list",
        )
    return node


def read_record(cls: type[T], node: Node, reading: Reading, **given: Any) -> T:
    """Return `node` as the written class `cls`, `given` values added.

    ModelError with every problem of the record: unknown, missing and unreadable fields together, else
    what the class itself refuses.
    """
    bare: str = getattr(cls, "bare", "")
    gathering = Gathering()
    if bare and not isinstance(node, Record):
        word = next(w for w in words_of(cls) if w.name == bare)
        values = {**given, bare: read_value(word.hint, node, reading)}
    else:
        values = {**given, **read_fields(cls, as_record(node, title_of(cls)), reading, gathering, given)}
    gathering.raise_errors(ModelError)
    if issubclass(cls, Written):
        values["place"] = node.place
    with at(node.place):
        return cls(**values)


def read_fields(
    cls: type[Any], record: Record, reading: Reading, gathering: Gathering, given: Iterable[str] = ()
) -> dict[str, Any]:
    """Return the fields of `cls` that could be read; every problem of the others goes to `gathering`.

    Fields in `given` need not be written.
    """
    values: dict[str, Any] = {}
    title = title_of(cls)
    meant = _refuse_unknown(cls, record, gathering, title)
    for word in words_of(cls):
        with gathering.step():
            child = record.get(word.word)
            if child is not None:
                values[word.name] = read_value(word.hint, child, reading)
            elif word.required and word.name not in given and word.word not in meant:
                raise problem(record, f"{title} needs '{word.word}'", f"add `{word.word}: …`", "missing-field")
    return values


def _refuse_unknown(cls: type, record: Record, gathering: Gathering, title: str) -> set[str]:
    """Report fields that the class does not have; return the fields that were likely meant by them."""
    known = [word.word for word in words_of(cls)]
    meant: set[str] = set()
    for key, place in record.keys.items():
        if key not in known:
            gathering.add(
                [Problem(f"{title} has no field '{shortened(key)}'", nearest(key, known), "unknown-field", place)]
            )
            meant.update(near(key, known))
    return meant


def read_value(hint: Any, node: Node, reading: Reading) -> Any:
    """Return `node` read as the type hint says; ModelError with all that is wrong, TypeError for an unknown hint."""
    reader = next((mark for mark in getattr(hint, "__metadata__", ()) if hasattr(mark, "read")), None)
    if reader is not None:
        with at(node.place):
            return reader.read(node, reading)
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if origin in (typing.Union, types.UnionType):
        inner = [one for one in arguments if one is not types.NoneType]
        return read_value(inner[0], node, reading)
    if origin is tuple:
        return _read_tuple(arguments, node, reading)
    if origin is not None and issubclass(origin, Mapping):
        return read_mapping(arguments[1], node, reading)
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return read_choice(hint, node)
    if isinstance(hint, type) and is_dataclass(hint):
        return read_record(hint, node, reading)
    raise TypeError(f"no way to read {hint!r}")


def _read_tuple(arguments: tuple[Any, ...], node: Node, reading: Reading) -> tuple[Any, ...]:
    items = as_series(node, "this").items
    if arguments[-1] is Ellipsis:
        hints: list[Any] = [arguments[0]] * len(items)
    else:
        hints = list(arguments)
        if len(items) != len(hints):
            raise problem(
                node,
                f"{len(hints)} values are wanted here, and these are {len(items)}",
                f"write {len(hints)} values, with a point for decimals: 1.5",
                "wrong-count",
            )
    gathering = Gathering()
    values = []
    for hint, item in zip(hints, items, strict=True):
        with gathering.step():
            values.append(read_value(hint, item, reading))
    gathering.raise_errors(ModelError)
    return tuple(values)


def read_mapping(hint: Any, node: Node, reading: Reading) -> dict[str, Any]:
    """Return a mapping of free names to values of one type; ModelError with all that is wrong."""
    gathering = Gathering()
    values = {}
    for name, child in as_record(node, "this").entries.items():
        with gathering.step():
            values[name] = read_value(hint, child, reading)
    gathering.raise_errors(ModelError)
    return values


def read_choice(choice: type[StrEnum], node: Node) -> StrEnum:
    """Return one of the words of `choice`; ModelError with the nearest."""
    text = as_scalar(node, "a word")
    known = [str(member.value) for member in choice]
    if text not in known:
        raise problem(
            node,
            f"'{shortened(text)}' is not one of the words that may stand here",
            nearest(text, known),
            "unknown-word",
        )
    return choice(text)
