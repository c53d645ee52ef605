"""YAML text to nodes that know their line, column and path; the only importer of the YAML library.

Nodes are built from the parser's events with a stack of our own: a scalar stays the text that was
written (so `no`, `1e3`, `12:30` and dates hold no surprises), a key that stands twice is refused, nesting
is bounded, and an alias is copied only while the whole document stays under a budget of nodes, so a
file of a few lines cannot grow into millions. Tags are refused, so nothing is ever built or run.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

from ..errors import ModelError, Place, Problem
from .textfile import MAX_BYTES, refused

MAX_NODES = 100_000
"""Values in one file, aliases counted as often as they are used."""

MAX_ALIASES = 100
"""Aliases (`*name`) in one file."""

MAX_DEPTH = 60
"""Lists and mappings inside each other."""


@dataclass(frozen=True, slots=True)
class Scalar:
    """One written value, as text. `plain` is False when it stood in quotes."""

    text: str
    place: Place
    plain: bool = True

    @property
    def empty(self) -> bool:
        """Whether nothing is written after the key."""
        return self.plain and not self.text


@dataclass(frozen=True, slots=True)
class Series:
    """A list of nodes."""

    items: tuple[Node, ...]
    place: Place


@dataclass(frozen=True, slots=True)
class Record:
    """A mapping: for each key its value, and the place of the key itself."""

    entries: Mapping[str, Node]
    keys: Mapping[str, Place]
    place: Place

    def get(self, key: str) -> Node | None:
        """Return the value of `key`; None if it is left out or nothing is written after it."""
        node = self.entries.get(key)
        return None if isinstance(node, Scalar) and node.empty else node

    def without(self, *names: str) -> Record:
        """Return the record less some keys."""
        kept = {key: node for key, node in self.entries.items() if key not in names}
        return Record(kept, {key: self.keys[key] for key in kept}, self.place)


Node: TypeAlias = Scalar | Series | Record


def called(node: Node) -> str:
    """Say what a node is, for messages."""
    if isinstance(node, Series):
        return "a list"
    if isinstance(node, Record):
        return "a mapping (`key: value`)"
    return f"'{shortened(node.text)}'" if node.text else "nothing"


def shortened(text: str, most: int = 60) -> str:
    """Return `text` on one line and not longer than `most` letters, for messages."""
    line = " ".join(text.split())
    return line if len(line) <= most else line[: most - 1] + "…"


@dataclass(slots=True)
class _Open:
    """A list or mapping that is being filled."""

    place: Place
    is_record: bool
    anchor: str | None
    items: list[Node] = field(default_factory=list)
    entries: dict[str, Node] = field(default_factory=dict)
    keys: dict[str, Place] = field(default_factory=dict)
    key: str | None = None
    key_place: Place | None = None
    repeated: bool = False

    def path(self) -> str:
        """Return the path of the value that comes next (of a key that cannot be read: of the mapping)."""
        if not self.is_record:
            return f"{self.place.path}[{len(self.items) + 1}]"
        return joined_path(self.place.path, self.key) if self.key else self.place.path


def joined_path(path: str, key: str) -> str:
    """Return the path of `key` below `path`."""
    return f"{path}.{key}" if path else key


class _Builder:
    """Turns parser events into one node; gathers repeated keys and other problems that do not stop the parse."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.stack: list[_Open] = []
        self.anchors: dict[str, Node] = {}
        self.problems: list[Problem] = []
        self.root: Node | None = None
        self.nodes = 0
        self.aliases = 0
        self.documents = 0

    def place(self, event: Any) -> Place:
        path = self.stack[-1].path() if self.stack else ""
        return Place(self.name, event.start_mark.line + 1, event.start_mark.column + 1, path)

    def stop(self, event: Any, what: str, mend: str, code: str) -> ModelError:
        return ModelError(*self.problems, Problem(what, mend, code, self.place(event)))

    def count(self, event: Any, more: int = 1) -> None:
        self.nodes += more
        if self.nodes > MAX_NODES:
            raise self.stop(
                event,
                f"more than {MAX_NODES:,} values in one file",
                "write less, or use fewer aliases",
                "too-many-values",
            )

    def take(self, event: Any) -> None:
        """Use one event."""
        handler = getattr(self, "on_" + type(event).__name__, None)
        if handler is not None:
            handler(event)

    def on_DocumentStartEvent(self, event: Any) -> None:  # noqa: N802 -- named for the library's event
        self.documents += 1
        if self.documents > 1:
            raise self.stop(
                event,
                "a second document begins here",
                "keep one garden to a file, without `---` between",
                "second-document",
            )

    def on_ScalarEvent(self, event: Any) -> None:  # noqa: N802
        if self._takes_key(event):
            self._begin_key(event)
            return
        self._refuse_tag(event)
        self.count(event)
        plain = event.style in (None, "")
        self._give(Scalar(event.value.strip() if plain else event.value, self.place(event), plain), event.anchor)

    def on_SequenceStartEvent(self, event: Any) -> None:  # noqa: N802
        self._open(event, is_record=False)

    def on_MappingStartEvent(self, event: Any) -> None:  # noqa: N802
        self._open(event, is_record=True)

    def on_SequenceEndEvent(self, _event: Any) -> None:  # noqa: N802
        done = self.stack.pop()
        self._give(Series(tuple(done.items), done.place), done.anchor)

    def on_MappingEndEvent(self, _event: Any) -> None:  # noqa: N802
        done = self.stack.pop()
        self._give(Record(done.entries, done.keys, done.place), done.anchor)

    def on_AliasEvent(self, event: Any) -> None:  # noqa: N802
        if self._takes_key(event):
            raise self.stop(event, "an alias in place of a key", "write the key out", "bad-key")
        node = self.anchors.get(event.anchor)
        if node is None:
            raise self.stop(
                event,
                f"the alias *{event.anchor} stands before its anchor, or inside it",
                f"write `&{event.anchor}` at an earlier, finished value",
                "unknown-alias",
            )
        self.aliases += 1
        if self.aliases > MAX_ALIASES:
            raise self.stop(
                event, f"more than {MAX_ALIASES} aliases in one file", "write the values out", "too-many-aliases"
            )
        self.count(event, _size(node))
        self._give(_moved(node, self.stack[-1].path() if self.stack else ""), None)

    def _takes_key(self, _event: Any) -> bool:
        return bool(self.stack) and self.stack[-1].is_record and self.stack[-1].key is None

    def _begin_key(self, event: Any) -> None:
        top = self.stack[-1]
        self._refuse_tag(event)
        self.count(event)
        top.key = event.value.strip()
        top.key_place = replace(self.place(event), path=joined_path(top.place.path, top.key))
        top.repeated = top.key in top.entries
        if top.repeated:
            first = top.keys[top.key]
            self.problems.append(
                Problem(
                    f"'{shortened(top.key)}' stands twice, first in line {first.line}",
                    "keep one of the two, or give them different names",
                    "repeated-key",
                    top.key_place,
                )
            )

    def _refuse_tag(self, event: Any) -> None:
        if event.tag is not None and event.tag != "!":
            self.problems.append(
                Problem(
                    f"the tag '{shortened(event.tag.replace('tag:yaml.org,2002:', '!!'))}' is not used in a model",
                    "leave the tag out",
                    "tag",
                    self.place(event),
                )
            )

    def _open(self, event: Any, *, is_record: bool) -> None:
        if self._takes_key(event):
            raise self.stop(
                event,
                "a list or mapping in place of a key",
                "write a name, then a colon and a space; put text with braces or brackets in quotes",
                "bad-key",
            )
        self._refuse_tag(event)
        self.count(event)
        if len(self.stack) >= MAX_DEPTH:
            raise self.stop(
                event, f"more than {MAX_DEPTH} lists or mappings inside each other", "write it flatter", "too-deep"
            )
        self.stack.append(_Open(self.place(event), is_record, event.anchor))

    def _give(self, node: Node, anchor: str | None) -> None:
        if anchor is not None:
            self.anchors[anchor] = node
        if not self.stack:
            self.root = node
            return
        top = self.stack[-1]
        if not top.is_record:
            top.items.append(node)
            return
        if not top.repeated and top.key is not None and top.key_place is not None:
            top.entries[top.key] = node
            top.keys[top.key] = top.key_place
        top.key = None


def _inner(node: Node) -> Iterator[Node]:
    if isinstance(node, Series):
        yield from node.items
    elif isinstance(node, Record):
        yield from node.entries.values()


def _size(node: Node) -> int:
    """Count the values of a node (its depth is bounded, so this may recurse)."""
    return 1 + sum(_size(part) for part in _inner(node))


def _moved(node: Node, path: str) -> Node:
    """Return a copy of `node` that stands at `path`, with the lines of the original."""
    place = replace(node.place, path=path)
    if isinstance(node, Series):
        return Series(tuple(_moved(item, f"{path}[{k}]") for k, item in enumerate(node.items, 1)), place)
    if isinstance(node, Record):
        keys = {key: replace(spot, path=joined_path(path, key)) for key, spot in node.keys.items()}
        return Record({key: _moved(value, joined_path(path, key)) for key, value in node.entries.items()}, keys, place)
    return replace(node, place=place)


def parse(text: str, name: str) -> tuple[Node, tuple[Problem, ...]]:
    """Return the node of one YAML document, and the problems that left it readable (repeated keys, tags).

    ModelError, with those problems too, if the text cannot be read at all.
    """
    if len(text) > MAX_BYTES:
        raise refused(
            name,
            f"the text is {len(text) / 1e6:.1f} MB large; a model has at most {MAX_BYTES / 1e6:.0f} MB",
            "give the YAML model itself",
            "too-large",
        )
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    builder = _Builder(name)
    try:
        for event in yaml.parse(text.removeprefix("\ufeff"), Loader=loader):
            builder.take(event)
    except yaml.YAMLError as error:
        raise ModelError(*builder.problems, _broken(error, text, name)) from None
    if builder.root is None or (isinstance(builder.root, Scalar) and builder.root.empty):
        raise refused(
            name,
            "the file is empty",
            "begin with `pegbook: 1`; `pegbook new` writes a garden to start from",
            "empty-file",
            1,
            1,
        )
    return builder.root, tuple(builder.problems)


def _broken(error: Any, text: str, name: str) -> Problem:
    """Return the problem of text that is not YAML, with the commonest causes named."""
    mark = getattr(error, "problem_mark", None)
    if mark is None:
        return _unprintable(error, text, name)
    lines = text.splitlines()
    context_mark = getattr(error, "context_mark", None)
    if mark.line >= len(lines) and context_mark is not None:
        mark = context_mark  # what was never closed, rather than the end of the file
    line = lines[mark.line] if mark.line < len(lines) else ""
    place = Place(name, mark.line + 1, mark.column + 1)
    if "\t" in line[: len(line) - len(line.lstrip())] or "\t" in line[mark.column : mark.column + 1]:
        return Problem("a tab stands where YAML wants spaces", "replace the tab by spaces", "tab", place)
    what = str(getattr(error, "problem", "") or "it cannot be read")
    context = getattr(error, "context", None)
    what = f"this is not YAML: {what}" + (f" ({context})" if context else "")
    return Problem(what, _broken_hint(line), "broken-yaml", place)


def _broken_hint(line: str) -> str:
    opens, shuts = sum(map(line.count, "[{")), sum(map(line.count, "]}"))
    if opens != shuts:
        return "see that every [ and { of this line, and those above, is closed"
    if line.count(": ") > 1:
        return "put text that holds a colon in quotes"
    return "see that this line stands under the line it belongs to, and that `key: value` has a space after the colon"


def _unprintable(error: Any, text: str, name: str) -> Problem:
    """Return the problem of a character that YAML does not allow, such as a nought byte."""
    spot = next((k for k, letter in enumerate(text) if not (letter.isprintable() or letter in "\r\n\t")), 0)
    position = getattr(error, "position", spot)
    start = text[: position if isinstance(position, int) else spot]
    place = Place(name, start.count("\n") + 1, len(start) - (start.rfind("\n") + 1) + 1)
    return Problem(
        "a character that cannot be printed", "retype this line; the file may not be a text file", "unprintable", place
    )
