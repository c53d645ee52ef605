"""The scalar types of a model's fields: hints that say how text is read and what its JSON Schema is.

Use them in written classes: `depth: Length`, `share: Share | None = None`. Values come out in metres,
radians and parts of one.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, TypeAlias

from ..errors import ModelError, refuse
from .fields import Reading, as_scalar
from .quantity import Units, read_angle, read_length, read_number, read_part, read_share
from .source import Node, shortened

LENGTH_PATTERN = (
    r"^\s*[+\-−]?\s*[0-9./ ]+\s*(m|mm|cm|ft|in|metres?|foot|feet|inch(es)?|['\"′″]+)?"
    r"(\s*[0-9./ ]+\s*(in|inch(es)?|['\"″]+)?)?\s*$"
)


@dataclass(frozen=True, slots=True)
class LengthWord:
    """Reads a length; `least` and `most` in metres, `least` itself allowed when `reached`."""

    least: float = float("-inf")
    most: float = float("inf")
    reached: bool = True

    def read(self, node: Node, reading: Reading) -> float:
        """Return metres."""
        text = as_scalar(node, "a length")
        value = read_length(text, reading.units)
        if not (value >= self.least if self.reached else value > self.least):
            what = "a length of more than nothing" if not self.reached else f"{self.least:g} m or more"
            raise refuse(ModelError, f"'{text}' is too small here", f"give {what}", "out-of-range")
        if not value <= self.most:
            raise refuse(
                ModelError,
                f"'{text}' is {value:g} m, more than the {self.most:g} m that can stand here",
                f"a bare number is in {reading.units.value}: see whether the unit is meant",
                "out-of-range",
            )
        return value

    def schema(self) -> dict[str, Any]:
        """Return a number or a text with a unit."""
        return {"$ref": "#/$defs/length"}


@dataclass(frozen=True, slots=True)
class TextWord:
    """Reads free text."""

    def read(self, node: Node, _reading: Reading) -> str:
        """Return the text as written."""
        return as_scalar(node, "text")

    def schema(self) -> dict[str, Any]:
        """Return text; a figure or a date may stand for itself."""
        return {"type": ["string", "number", "boolean"]}


@dataclass(frozen=True, slots=True)
class YesNoWord:
    """Reads yes or no (also true, false)."""

    def read(self, node: Node, _reading: Reading) -> bool:
        """Return whether it says yes."""
        text = as_scalar(node, "yes or no")
        if text.lower() not in ("yes", "no", "true", "false"):
            raise refuse(ModelError, f"'{shortened(text)}' is neither yes nor no", "write yes or no", "bad-yes-no")
        return text.lower() in ("yes", "true")

    def schema(self) -> dict[str, Any]:
        """Return yes or no, or a true boolean."""
        return {"anyOf": [{"type": "boolean"}, {"enum": ["yes", "no", "true", "false"]}]}


@dataclass(frozen=True, slots=True)
class WholeWord:
    """Reads a whole number between two limits."""

    least: int
    most: int

    def read(self, node: Node, _reading: Reading) -> int:
        """Return the number."""
        text = as_scalar(node, "a whole number")
        digits = text[1:] if text[:1] in "+-" else text
        if not (digits.isascii() and digits.isdigit() and len(digits) < 10) or not self.least <= int(text) <= self.most:
            raise refuse(
                ModelError,
                f"'{shortened(text)}' is not a whole number from {self.least} to {self.most}",
                f"write a whole number from {self.least} to {self.most}",
                "bad-whole",
            )
        return int(text)

    def schema(self) -> dict[str, Any]:
        """Return an integer between the limits."""
        return {"type": "integer", "minimum": self.least, "maximum": self.most}


@dataclass(frozen=True, slots=True)
class FigureWord:
    """Reads one scalar by a function of its text, and checks the result against two limits."""

    wanted: str
    function: Callable[[str], float]
    form: str  # the name of its schema
    least: float = float("-inf")
    most: float = float("inf")

    def read(self, node: Node, _reading: Reading) -> float:
        """Return the value that the function gives."""
        text = as_scalar(node, self.wanted)
        value = self.function(text)
        if not self.least <= value <= self.most:
            raise refuse(
                ModelError,
                f"'{text}' cannot stand here",
                f"give {self.wanted} from {self.least:g} to {self.most:g}",
                "out-of-range",
            )
        return value

    def schema(self) -> dict[str, Any]:
        """Return a pointer to the schema of the written form."""
        return {"$ref": f"#/$defs/{self.form}"}


Length: TypeAlias = Annotated[float, LengthWord()]
"""Any length, negative too; metres."""

Size: TypeAlias = Annotated[float, LengthWord(0.0, reached=False)]
"""A length of more than nothing; metres."""

Depth: TypeAlias = Annotated[float, LengthWord(0.0)]
"""A length of nothing or more; metres."""

Small: TypeAlias = Annotated[float, LengthWord(0.0, 1.0)]
"""Joints, cuts, readings, errors: nothing to one metre. A bare `5` here is a slip and is refused."""

Angle: TypeAlias = Annotated[float, FigureWord("an angle in degrees", read_angle, "angle")]
"""Degrees as written, radians as read."""

Share: TypeAlias = Annotated[float, FigureWord("a share", read_share, "share", 0.0, 1.0)]
"""30 %, 0.3 or 1/3: a part of one."""

Part: TypeAlias = Annotated[float, FigureWord("a part of the way", read_part, "share", -100.0, 100.0)]
"""1/3, 30 % or 0.3 of the way; under nothing or over one lies beyond the ends."""

Number: TypeAlias = Annotated[float, FigureWord("a number", read_number, "number")]
"""A plain figure."""

Positive: TypeAlias = Annotated[float, FigureWord("a number", read_number, "number", 1e-9, 1e12)]
"""A plain figure of more than nothing."""

Text: TypeAlias = Annotated[str, TextWord()]
"""Free text."""

YesNo: TypeAlias = Annotated[bool, YesNoWord()]
"""yes or no."""

Count: TypeAlias = Annotated[int, WholeWord(1, 10_000)]
"""A whole number of things."""

Month: TypeAlias = Annotated[int, WholeWord(1, 12)]
"""A month, 1 to 12."""

SCALAR_SCHEMAS: dict[str, dict[str, Any]] = {
    "length": {
        "description": "a bare number in the file's units, or text with its unit: 450 mm, 1.2 m, 12 ft 6 in",
        "anyOf": [{"type": "number"}, {"type": "string", "pattern": LENGTH_PATTERN}],
    },
    "angle": {
        "description": "degrees, anticlockwise from the baseline",
        "anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^[+-]?[0-9.]+\s*(°|deg|degrees?)?$"}],
    },
    "share": {
        "description": "30 %, 0.3 or 1/3",
        "anyOf": [{"type": "number"}, {"type": "string", "pattern": r"^([+-]?[0-9.]+\s*%?|\d+/\d+)$"}],
    },
    "number": {"type": "number"},
}
"""JSON Schemas of the written scalars, by the names that the readers point to."""

__all__ = [
    "SCALAR_SCHEMAS",
    "Angle",
    "Count",
    "Depth",
    "Length",
    "Month",
    "Number",
    "Part",
    "Positive",
    "Share",
    "Size",
    "Small",
    "Text",
    "Units",
    "YesNo",
]
