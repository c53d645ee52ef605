"""Windows of a setting-out plan: where pegs stand too close for their numbers, the numbers go to an enlarged view.

Takes: the requests of a plan that is too full. Gives: the lettering that finds room, the windows that hold what does
not, and their outlines. Millimetres on paper.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..geometry.errors import DrawingError
from ..geometry.kernel.path import Loop, Path
from ..geometry.kernel.point import Box, Point
from ..geometry.kernel.station import project
from .crowding import crowding
from .draft import Nib, group, rectangle
from .obstacles import lettered as ink_of
from .obstacles import text_box
from .planned import FEW, Lettered
from .requests import Inked, PointLabel, Request
from .sheet import Mark, Stroke, Text, flat
from .symbols import peg_head
from .wrapping import FIGURES

ROUNDS = 12
AROUND = 9.0
"""A window reaches this far round a peg whose number finds no place, mm."""

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
RIM = 0.18
HEAD = 3.6
"""A peg head of 4.6 this far from a line does not touch it."""


@dataclass(frozen=True, slots=True)
class Window:
    """A part of the plan to be enlarged: its box on paper, and the pegs whose numbers stand in the enlarged view."""

    box: Box
    names: frozenset[str]


def numbered(
    requests: Sequence[Request], place: Callable[[Sequence[Request], Sequence[Window]], Lettered]
) -> tuple[Lettered, tuple[Window, ...], frozenset[str]]:
    """Place the lettering of a plan; numbers that find no room are left to windows.

    Returns the lettering, the windows, and the names of readings and words that were left out because they stand
    elsewhere too. DrawingError if all that is no help.
    """
    windows: list[Window] = []
    dropped: set[str] = set()
    spare = {r.name for r in requests if not isinstance(r, PointLabel)}
    for _ in range(ROUNDS):
        hidden = dropped.union(*(w.names for w in windows))
        left = [r for r in requests if r.name not in hidden]
        try:
            found = place(left, windows)
            more = _crowded(left, found.crowded)
            if not more:
                return found, tuple(windows), frozenset(dropped)
            windows = _joined([*windows, *more], requests)
        except DrawingError as error:
            failed = set(_named(error))
            if failed & spare - dropped:
                dropped |= failed & spare
                continue
            more = _windows(left, error)
            if not more:
                raise
            windows = _joined([*windows, *more], requests)
    hidden = dropped.union(*(w.names for w in windows))
    left = [r for r in requests if r.name not in hidden]
    return place(left, windows), tuple(windows), frozenset(dropped)


def _named(error: DrawingError) -> list[str]:
    """Return the names of the labels that an error is about."""
    return [problem.about for problem in error.problems if problem.about]


def _points(requests: Sequence[Request]) -> dict[str, Point]:
    return {r.name: r.at for r in requests if isinstance(r, PointLabel) and "control-name" not in r.classes}


def _windows(requests: Sequence[Request], error: DrawingError) -> list[Window]:
    """Return windows for what is too crowded: as the crowding proposes, else round the labels that found no place.

    Of the proposals only those are taken that hold such a label, if it is said which found none.
    """
    points, failed = _points(requests), _named(error)
    found = [Window(i.window, frozenset(i.names) & points.keys()) for i in crowding(tuple(requests)).insets]
    found = [w for w in found if w.names and (not failed or w.names.intersection(failed))]
    at = {r.name: r.at for r in requests if isinstance(r, PointLabel)}
    held = {name for window in found for name in window.names}
    return found + [Window(_about(at[n]), frozenset((n,))) for n in failed if n in at and n not in held]


def _crowded(requests: Sequence[Request], names: Sequence[str]) -> list[Window]:
    """Return the window of the pegs whose numbers crowd a plan."""
    points = _points(requests)
    own = [name for name in names if name in points]
    if len(own) < FEW:
        return []
    return [Window(Box.of(points[name] for name in own).grown(3.0), frozenset(own))]


def _about(at: Point, reach: float = AROUND) -> Box:
    return Box(at.x - reach, at.y - reach, at.x + reach, at.y + reach)


def _joined(windows: Sequence[Window], requests: Sequence[Request]) -> list[Window]:
    """Return windows that do not overlap, each with all the pegs inside it."""
    boxes = [w.box for w in windows]
    names = [set(w.names) for w in windows]
    merged = True
    while merged:
        merged = False
        for i in range(len(boxes)):
            for j in range(i + 1, len(boxes)):
                if boxes[i].meets(boxes[j]):
                    boxes[i] = Box.around((boxes[i], boxes[j]))
                    names[i] |= names[j]
                    del boxes[j], names[j]
                    merged = True
                    break
            if merged:
                break
    points = _points(requests)
    out = []
    for box, own in zip(boxes, names, strict=True):
        inside = {n for n, p in points.items() if box.x0 <= p.x <= box.x1 and box.y0 <= p.y <= box.y1}
        out.append(
            Window(
                Box.around([box, *(_about(points[n], 3.0) for n in sorted(own) if n in points)]),
                frozenset(own | inside),
            )
        )
    return out


def outlined(
    windows: Sequence[Window], within: Box, drawn: Sequence[Mark], signs: Sequence[Point], first: int = 0
) -> tuple[Mark, ...]:
    """Return the outlines of windows, each with its letter on its rim, clear of lettering, heavy lines and `signs`.

    `first` views of another plan have their letters already.
    """
    flatted = list(flat(tuple(drawn)))
    lines = [m.path for m in flatted if isinstance(m, Stroke)]
    heavy = [m.path for m in flatted if isinstance(m, Stroke) and (m.pen in {"edge", "cut"} or "leader" in m.classes)]
    taken = [text_box(ink_of(m)) for m in flatted if isinstance(m, Text)]
    taken += [Box(p.x, p.y, p.x, p.y).grown(2.5) for p in signs]
    nib = Nib("marks", "thin", "division")
    marks: list[Mark] = []
    for i, window in enumerate(windows):
        box = _inside(window.box, within)
        head = _clear_spot(box, lines, taken) or _clear_spot(box, heavy, taken) or _clearest(box, heavy, taken)
        taken.append(Box(head.x, head.y, head.x, head.y).grown(HEAD))
        letter = LETTERS[(first + i) % 24]
        parts = (nib.box(box), *peg_head(head, 4.6, letter, FIGURES, "marks"))
        marks.append(group("marks", "symbol enlarged", parts, f"Enlarged as view {letter}"))
    return tuple(marks)


def rim(window: Window, within: Box) -> Inked:
    """Return the outline of a window as it stands in the way of lettering."""
    return Inked(rectangle(_inside(window.box, within)), RIM)


def _clear_spot(box: Box, lines: Sequence[Path | Loop], taken: Sequence[Box]) -> Point | None:
    """Return the spot on a window's rim that is clear, the corners first."""
    return next((spot for spot, room in _rooms(box, lines, taken) if room > HEAD), None)


def _clearest(box: Box, lines: Sequence[Path | Loop], taken: Sequence[Box]) -> Point:
    return max(_rooms(box, lines, taken), key=lambda found: round(found[1], 3))[0]


def _rooms(box: Box, heavy: Sequence[Path | Loop], taken: Sequence[Box]) -> list[tuple[Point, float]]:
    """Return spots on a window's rim, the corners first, and how far each is from lines and lettering."""
    corners = [Point(box.x0, box.y1), Point(box.x1, box.y1), Point(box.x1, box.y0), Point(box.x0, box.y0)]
    ring = [*corners, corners[0]]
    spots = [*corners, *(a.toward(b, k / 8) for a, b in pairwise(ring) for k in range(1, 8))]
    near = [p for p in heavy if p.box.grown(HEAD).meets(box)]

    def away(spot: Point) -> float:
        lines = min((project(p, spot).distance for p in near), default=99.0)
        texts = min((max(t.x0 - spot.x, spot.x - t.x1, t.y0 - spot.y, spot.y - t.y1) for t in taken), default=99.0)
        return min(lines, texts)

    return [(spot, away(spot)) for spot in spots]


def _inside(box: Box, within: Box) -> Box:
    return Box(max(box.x0, within.x0), max(box.y0, within.y0), min(box.x1, within.x1), min(box.y1, within.y1))
