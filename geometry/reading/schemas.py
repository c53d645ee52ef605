"""Written classes to JSON Schema (draft 2020-12), from the same hints that reading uses."""

from __future__ import annotations

import inspect
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass, field, is_dataclass
from enum import StrEnum
from typing import Any

from .fields import title_of, words_of


@dataclass(slots=True)
class SchemaBook:
    """Collects one definition a written class, so that each stands once and forms may hold each other."""

    definitions: dict[str, dict[str, Any]] = field(default_factory=dict)

    def of(self, hint: Any) -> dict[str, Any]:
        """Return the schema of a type hint; TypeError for a hint that cannot be read either."""
        reader = next((mark for mark in getattr(hint, "__metadata__", ()) if hasattr(mark, "read")), None)
        if reader is not None:
            for inner in getattr(reader, "inner", tuple)():
                self.record(inner)
            schema: dict[str, Any] = reader.schema()
            return schema
        origin, arguments = typing.get_origin(hint), typing.get_args(hint)
        if origin in (typing.Union, types.UnionType):
            return self.of(next(one for one in arguments if one is not types.NoneType))
        if origin is tuple:
            return self._of_tuple(arguments)
        if origin is not None and issubclass(origin, Mapping):
            return {"type": "object", "additionalProperties": self.of(arguments[1])}
        return self._of_class(hint)

    def _of_tuple(self, arguments: tuple[Any, ...]) -> dict[str, Any]:
        if arguments[-1] is Ellipsis:
            return {"type": "array", "items": self.of(arguments[0])}
        return {
            "type": "array",
            "prefixItems": [self.of(one) for one in arguments],
            "minItems": len(arguments),
            "maxItems": len(arguments),
        }

    def _of_class(self, hint: Any) -> dict[str, Any]:
        if isinstance(hint, type) and issubclass(hint, StrEnum):
            return {"enum": [str(member.value) for member in hint]}
        if isinstance(hint, type) and is_dataclass(hint):
            return self.record(hint)
        raise TypeError(f"no schema for {hint!r}")

    def record(self, cls: type, **more: dict[str, Any]) -> dict[str, Any]:
        """Return a pointer to the definition of `cls`, made when first asked for; `more` adds properties."""
        name = f"{cls.__module__.rsplit('.', 1)[-1]}.{cls.__name__}"
        if name not in self.definitions:
            self.definitions[name] = {}  # stands before its fields are read: forms hold each other
            self.definitions[name].update(self._record(cls, more))
        return {"$ref": f"#/$defs/{name}"}

    def _record(self, cls: type, more: dict[str, dict[str, Any]]) -> dict[str, Any]:
        properties = {**more, **{word.word: self.of(word.hint) for word in words_of(cls)}}
        required = [*more, *(word.word for word in words_of(cls) if word.required)]
        doc = (inspect.getdoc(cls) or title_of(cls)).split("\n\n")[0]
        schema: dict[str, Any] = {
            "type": "object",
            "description": " ".join(doc.split()),
            "properties": properties,
            "additionalProperties": False,
        }
        if required:
            schema["required"] = required
        bare = getattr(cls, "bare", "")
        if not bare:
            return schema
        inner = next(word.hint for word in words_of(cls) if word.name == bare)
        return {"anyOf": [self.of(inner), schema]}
