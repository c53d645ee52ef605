"""A beginner with the booklet: reads its plain text, step by step, and drives every peg from what stands already.

Nothing of the program is used but the words on paper: names, hooks, readings, hands. A step that cannot be followed
raises `UnclearError` with its text.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

Spot = tuple[float, float]

LENGTH = r"\d+\.\d{3}|\d+' \d+(?: \d+/\d+)?\""
NAME = r"[A-Z]+\d*"
FEW = {"two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8}


class UnclearError(Exception):
    """A step that a beginner could not follow."""


@dataclass(frozen=True, slots=True)
class Told:
    """One step as it stands on paper."""

    number: int
    text: str
    pegs: tuple[str, ...]
    hooks: tuple[tuple[str, str, str], ...]         # what ('Hook on', 'Along, from', 'Out'), at, reading
    rows: tuple[tuple[str, tuple[str, ...], str], ...]


@dataclass
class Walk:
    """What stands after each step, and how it came to stand."""

    stands: dict[str, Spot]
    driven: list[str] = field(default_factory=list)


def metres(reading: str) -> float:
    """A reading in metres."""
    found = re.fullmatch(r"(\d+)' (\d+)(?: (\d+)/(\d+))?\"", reading)
    if not found:
        return float(reading)
    feet, inches, over, under = found.groups()
    return (int(feet) * 12 + int(inches) + (int(over) / int(under) if over else 0.0)) * 0.0254


def steps(text: str) -> Iterator[Told]:
    """The steps in the order of the booklet."""
    pages = [re.sub(r"^.* page \d+ of \d+$", "", page, flags=re.MULTILINE) for page in text.split("\f")]
    body = "\n".join(pages)
    body = body[:body.index("\nGATE 1")] if "\nGATE 1" in body else body
    parts = re.split(r"\n(\d+)\s*\nstep\n|\n(\d+) Drive\s*\nstep\n", body)
    for first, other, words in zip(parts[1::3], parts[2::3], parts[3::3], strict=True):
        number = int(first or other)
        yield _told(number, words if words.startswith("Drive") or not other else f"Drive {words}")


def _told(number: int, words: str) -> Told:
    words = re.split(r"\n(?:Measure |Draw the |All \d+ ticked|Good to about)", words)[0]
    title = words[:200].replace("\n", " ")
    found = re.match(rf"Drive (?:peg|extra mark) ({NAME})\b", title)
    count = re.match(rf"Drive (\w+) pegs ({NAME}) to ({NAME})", title)
    if not found and not count:
        raise UnclearError(f"step {number} drives nothing: {words[:80]!r}")
    table = re.split(r"\npeg ((?:tape|in line|along|out|reading)[^\n]*)\n", words, maxsplit=1)
    rows = tuple(r for r in _rows(table[2]) if r[1] or "in line" in table[1]) if len(table) > 1 else ()
    if count:                                   # names in the picture are not rows
        first, last = sorted((_figure(count.group(2)), _figure(count.group(3))))
        rows = tuple(r for r in rows if first <= _figure(r[0]) <= last)
    pegs = (found.group(1),) if found else tuple(r[0] for r in rows)
    ends = {pegs[0], pegs[-1]} if pegs else set()
    if count and (len(pegs) != FEW.get(count.group(1)) or ends != {count.group(2), count.group(3)}):
        raise UnclearError(f"step {number} says {title[:40]!r}, and its rows are {pegs}")
    return Told(number, words, pegs, tuple(_hooks(table[0])), rows)


def _figure(name: str) -> int:
    return int(re.sub(r"\D", "", name) or -1)


def _hooks(words: str) -> Iterator[tuple[str, str, str]]:
    words = re.split(r"\nCheck ", words)[0]
    parts = re.split(r"\n\d (Hook on|Along, from|Out, to the (?:LEFT|RIGHT))", words)
    for lead, rest in zip(parts[1::2], parts[2::2], strict=True):
        at = re.match(rf" ({NAME})\b", rest)
        reading = re.search(rf"({LENGTH})(?: m\b|\s|$)", rest)
        yield lead, at.group(1) if at else "", reading.group(1) if reading else ""


def _rows(words: str) -> Iterator[tuple[str, tuple[str, ...], str]]:
    for line in words.split("\n"):
        found = re.fullmatch(rf"({NAME})((?: (?:{LENGTH}))*)(?: ({NAME}(?:, away from it)?))?", line.strip())
        if found and (found.group(2) or found.group(3)):
            yield found.group(1), tuple(re.findall(LENGTH, found.group(2))), found.group(3) or ""


def walked(text: str, marks: dict[str, Spot]) -> Walk:
    """Follow the whole booklet from the control marks on."""
    walk = Walk(dict(marks))
    for told in steps(text):
        for name in told.pegs:
            if name in walk.stands:
                raise UnclearError(f"step {told.number} drives {name} a second time")
            walk.stands[name] = _drive(told, name, walk.stands)
            walk.driven.append(name)
    return walk


def _drive(told: Told, name: str, stands: dict[str, Spot]) -> Spot:
    row = next((r for r in told.rows if r[0] == name), (name, (), ""))
    given = list(row[1])
    hooks = [(lead, at, reading or (given.pop(0) if given else "")) for lead, at, reading in told.hooks]
    flat = " ".join(told.text.split())
    try:
        leads = [h[0].split(",")[0] for h in hooks]
        if leads[:2] == ["Along", "Out"]:
            return _along(flat, hooks, stands)
        if leads == ["Hook on"]:
            return _lined(flat, hooks[0], row[2], stands)
        if leads in (["Hook on"] * 2, ["Hook on"] * 3):
            return _crossed(flat, hooks, stands)
    except (KeyError, ValueError, AttributeError, IndexError) as error:
        raise UnclearError(f"step {told.number}, {name}: {error!r} in {flat!r}") from None
    raise UnclearError(f"step {told.number}, {name}: hooks {hooks} in {flat!r}")


def _unit(a: Spot, b: Spot) -> Spot:
    d = math.dist(a, b)
    return (b[0] - a[0]) / d, (b[1] - a[1]) / d


def _hand(flat: str) -> int:
    hands = set(re.findall(r"your (LEFT|RIGHT)", flat))
    if len(hands) != 1:
        raise ValueError(f"hands {hands}")
    return 1 if hands == {"LEFT"} else -1


def _facing(flat: str, stands: dict[str, Spot]) -> tuple[Spot, Spot]:
    """Where one stands, and which way one faces."""
    away = re.search(rf"Hook tape 1 on ({NAME})\. Face away from ({NAME})\.", flat)
    if away:
        return stands[away.group(1)], _unit(stands[away.group(2)], stands[away.group(1)])
    stand = re.search(rf"Stand at ({NAME})\. Face ({NAME})\.", flat)
    if stand is None:
        raise ValueError("nowhere to stand")
    return stands[stand.group(1)], _unit(stands[stand.group(1)], stands[stand.group(2)])


def _along(flat: str, hooks: list[tuple[str, str, str]], stands: dict[str, Spot]) -> Spot:
    at, u = _facing(flat, stands)
    if at != stands[hooks[0][1]]:
        raise ValueError("the tape is hooked elsewhere than one stands")
    hand = _hand(flat)
    if f"Out, to the {'LEFT' if hand > 0 else 'RIGHT'}" != hooks[1][0]:
        raise ValueError("two hands")
    along, out = metres(hooks[0][2]), hand * metres(hooks[1][2])
    return at[0] + u[0] * along - u[1] * out, at[1] + u[1] * along + u[0] * out


def _lined(flat: str, hook: tuple[str, str, str], toward: str, stands: dict[str, Spot]) -> Spot:
    at, reading = stands[hook[1]], metres(hook[2])
    line = re.search(rf"In line with ({NAME}(?:, away from it)?)\.", flat)
    toward = toward or (line.group(1) if line else "")
    string = re.search(rf"Stretch a string from ({NAME}) to ({NAME})(?:, and on past (both ends|{NAME}))?\.", flat)
    if string and not toward:
        away = re.search(rf"Measure away from ({NAME})\.", flat)
        if string.group(1) != hook[1] or (away and away.group(1) != string.group(2)):
            raise ValueError("string and tape begin at different pegs")
        u = _unit(at, stands[string.group(2)])
        sign = -1 if away else 1
        past, far = string.group(3), reading > math.dist(at, stands[string.group(2)])
        if (away or far) and past not in ("both ends", string.group(1 if away else 2)):
            raise ValueError("the string does not reach the peg")
    else:
        name = toward.split(",")[0]
        u = _unit(at, stands[name])
        sign = -1 if "away" in toward else 1
    return at[0] + sign * u[0] * reading, at[1] + sign * u[1] * reading


def _crossed(flat: str, hooks: list[tuple[str, str, str]], stands: dict[str, Spot]) -> Spot:
    at, u = _facing(flat, stands)
    spots = [(stands[h[1]], metres(h[2])) for h in hooks]
    if spots[0][0] != at:
        raise ValueError("tape 1 is hooked elsewhere than one stands")
    (a, r1), (b, r2) = spots[:2]
    d = math.dist(a, b)
    along = (d * d + r1 * r1 - r2 * r2) / (2 * d)
    out = _hand(flat) * math.sqrt(r1 * r1 - along * along)
    x, y = a[0] + u[0] * along - u[1] * out, a[1] + u[1] * along + u[0] * out
    return _middle((x, y), spots) if len(spots) == 3 else (x, y)


def _middle(at: Spot, spots: list[tuple[Spot, float]]) -> Spot:
    """The middle of the small triangle that three tapes make: each ring pulled alike, until nothing moves."""
    x, y = at
    for _ in range(2000):
        dx = dy = 0.0
        for (px, py), r in spots:
            d = math.hypot(x - px, y - py)
            dx, dy = dx + (x - px) / d * (r - d), dy + (y - py) / d * (r - d)
        x, y = x + dx / 2, y + dy / 2
    return x, y


def strings(text: str) -> Iterator[tuple[str, str, str, str, float]]:
    """Recovery pegs of the string table: name, hooked on, 'toward' or 'away from', what, reading."""
    head = "string hook on first peg, reading second peg, reading\n"
    for table in re.findall(rf"{head}(.*?)(?=\f|\n\n|\Z)", text, flags=re.DOTALL):
        for row in re.split(r"\n(?=S\d+ )", "\n" + table):
            flat = " ".join(row.split())
            head = re.match(rf"S\d+ ({NAME}) ", flat)
            if head is None:
                continue
            pegs = re.findall(rf"({NAME}) (toward|AWAY from) ({NAME}) ({LENGTH})", flat[head.end():])
            loose = re.findall(rf"(R\d+) (toward|AWAY from) ({NAME})", flat[head.end():])
            if len(pegs) != len(loose):
                raise UnclearError(f"string {flat!r}")
            for name, way, what, reading in pegs:
                yield name, head.group(1), way, what, metres(reading)


def recovered(walk: Walk, text: str) -> None:
    """Drive the recovery pegs of the string tables, in their order."""
    for name, hook, way, what, reading in strings(text):
        if hook not in walk.stands or what not in walk.stands:
            raise UnclearError(f"{name} wants {hook} and {what}, and not both stand")
        at = walk.stands[hook]
        u = _unit(at, walk.stands[what])
        sign = 1 if way == "toward" else -1
        walk.stands[name] = (at[0] + sign * u[0] * reading, at[1] + sign * u[1] * reading)
        walk.driven.append(name)
