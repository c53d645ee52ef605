"""Labels of one view: the entry that drawings call. Places every label or refuses with label, place and reason.

Fixed things stand first; labels for columns are hung; the rest is searched together, and spread out where the
plan is crowded. Areas and lines that find no room go to a column, the sheet is searched again, and the whole is
proved by an independent check. The order of the requests does not matter. Paper millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise

from ..geometry.errors import DrawingError, Problem, Weight, refuse
from ..geometry.kernel.point import Box
from .candidates import Anchor, Options
from .crowding import crowding
from .labelled import as_obstacles, placed_by_search
from .placing import EFFORT, Search
from .proving import prove
from .requests import (
    REPLAN_FROM,
    Column,
    ColumnLabel,
    Crowding,
    LineLabel,
    Obstacles,
    Placed,
    Placement,
    PointLabel,
    Quiet,
    Report,
    Request,
)
from .thinning import Sheet, Thinning
from .wanted import Wanted

WIDENINGS = 2
WIDEN_NEAR = 12.0
"""Labels this near to one that found no place are offered more leaders too."""

LEAST_EFFORT = 100
"""Arrangements tried at the least for one of many labels that found no place."""

ROUNDS, CROWD_ROUNDS = 4, 5
"""Times that a sheet is searched: as labels that find no room go to the column, and more while it is crowded."""


def _sorted(requests: Sequence[Request]) -> tuple[Request, ...]:
    found = tuple(sorted(requests, key=lambda r: r.name))
    twice = next((a.name for a, b in pairwise(found) if a.name == b.name), None)
    if twice is not None:
        raise refuse(DrawingError, f"two labels are named '{twice}'", "give each thing its own name", "label-twice")
    return found


def _search(view: Wanted, wanted: Sequence[int]) -> Search:
    """Search places for the wanted labels (numbers of requests)."""
    anchors = view.anchors()
    lots = [view.clear(view.touching(anchors))]
    lots += view.spreads([k for k in wanted if k not in anchors])
    search = Search(len(view.requests), Options.joined(lots))
    search.run(wanted, lambda k: view.leaders(k, anchors))
    sought = set(wanted)
    for _ in range(WIDENINGS):
        missing = [k for k in search.unplaced() if k in sought]
        if not missing:
            break
        _widen(search, view, anchors, missing)
    return search


def _widen(search: Search, view: Wanted, anchors: dict[int, Anchor], missing: Sequence[int]) -> None:
    """Offer finer and longer leaders to labels without a place and to points near them, then try again."""
    near = [k for k, a in anchors.items() if k not in missing
            and any(j in anchors and math.hypot(a.x - anchors[j].x, a.y - anchors[j].y) <= WIDEN_NEAR for j in missing)]
    found = view.leaders([k for k in sorted((*near, *missing)) if k in anchors], anchors, True)
    if len(found):
        search.offer(found)
    for k in missing:
        if search.chosen[k] < 0:
            search.settle(k, 3, 120, max(LEAST_EFFORT, EFFORT // len(missing)))
    search.polish(2)


def _thinned(search: Search, view: Wanted, hung: Sequence[Placed], quiet: Quiet) -> tuple[Sequence[int], float]:
    """Spread the labels where squares are too full; return those left in one that still is, and the fullest's share."""
    sheet, anchors = Sheet.of(quiet.field), view.anchors()
    more = as_obstacles(hung)
    ink = sheet.standing((*view.obstacles.texts, *more.texts), view.plain, quiet.pen)
    thinning = Thinning(search, sheet, ink, sheet.shaded(quiet.shades), view.setting, quiet.most)
    return thinning.run(lambda lot: view.thinner(lot, anchors), bool(hung)), thinning.share


# ---- the entry

def refused(crowd: Crowding) -> DrawingError:
    """Return the refusal of a view that is too full, with the place and what would help."""
    at = crowd.fullest
    ways = "".join(f"; or an enlarged view, {i.times} times, round {', '.join(i.names[:6])}"
                   f"{' and others' if len(i.names) > 6 else ''}" for i in crowd.insets[:2])
    return DrawingError(Problem(
        "the plan is too full for its labels: in the square from "
        f"({at.x0:.0f}, {at.y0:.0f}) to ({at.x1:.0f}, {at.y1:.0f}) mm lettering takes "
        f"{100 * crowd.fill:.0f} per cent of the paper, {100 * REPLAN_FROM:.0f} is the most",
        f"take a larger scale or a larger sheet{ways}", "sheet-too-full"))


def _no_place(view: Wanted, numbers: Sequence[int], crowd: Crowding) -> DrawingError:
    problems = []
    for k in numbers:
        request = view.requests[k]
        if isinstance(request, PointLabel | ColumnLabel):
            at = request.at
        else:
            at = (request.path if isinstance(request, LineLabel) else request.regions[0]).box.centre
        helps = next((i for i in crowd.insets if request.name in i.names), None)
        inset = f", or an enlarged view, {helps.times} times, of its neighbourhood" if helps else ""
        words = " ".join(line.words for line in request.lines)
        problems.append(Problem(
            f"the label '{request.name}' ({words}) finds no place near ({at.x:.0f}, {at.y:.0f}) mm: every place is "
            "taken, on a heavy line or nearer to another point",
            f"take a larger scale or sheet{inset}", "label-no-place", about=request.name))
    return DrawingError(*problems)


def _advice(crowd: Crowding) -> tuple[Problem, ...]:
    if not crowd.numbers_only:
        return ()
    return (Problem(f"labels fill {100 * crowd.fill:.0f} per cent of the fullest square of the plan",
                    "write numbers on the plan and their values in a table", "sheet-crowded", weight=Weight.ADVICE),)


def _report(placed: Sequence[Placed], crowd: Crowding, crowded: tuple[str, ...], fullest: float) -> Report:
    lengths = [p.leader.length for p in placed if p.leader is not None and p.way == "leader"]
    return Report(labels=len(placed), leaders=len(lengths), longest_leader=max(lengths, default=0.0),
                  mean_leader=math.fsum(lengths) / len(lengths) if lengths else 0.0,
                  cost=round(math.fsum(p.cost for p in placed), 3), crowding=crowd, advice=_advice(crowd),
                  crowded=crowded, fullest=round(fullest, 4))


def place(requests: Sequence[Request], obstacles: Obstacles, within: Box, columns: Sequence[Column] = (),
          quiet: Quiet | None = None) -> Placement:
    """Place every label of a view inside the box `within`, and those for columns in `columns`.

    With `quiet`, crowded squares of the plan are thinned out.

    Raises DrawingError, naming label, place, reason and what would help: the sheet is too full
    ('sheet-too-full'), a label finds no place ('label-no-place', 'label-column', 'label-wide', 'label-room'),
    two requests have one name ('label-twice'). Never drops a label and never lets two overlap.
    """
    return placer(requests, obstacles, within, columns)(quiet)


def placer(requests: Sequence[Request], obstacles: Obstacles, within: Box, columns: Sequence[Column] = (),
           ) -> Callable[[Quiet | None], Placement]:
    """Return what places the labels of a view (see `place`) by one limit of crowding or another.

    What does not hang on the limit is worked out once. Raises DrawingError for what no limit helps.
    """
    ordered = _sorted(requests)
    crowd = crowding(ordered)
    if crowd.too_full:
        raise refused(crowd)
    view = Wanted.of(ordered, obstacles, within, columns)
    hopeless = view.hopeless(view.anchors())
    if hopeless:
        raise _no_place(view, hopeless, crowd)
    return lambda quiet: _placed(view.again(), crowd, quiet)


def _placed(view: Wanted, crowd: Crowding, quiet: Quiet | None) -> Placement:
    """Place the labels of a view: search until all stand, with more of them in the columns each time."""
    ordered, columns = view.requests, view.columns
    for left in reversed(range(CROWD_ROUNDS if quiet else ROUNDS)):
        hung, wanted = view.hung(), view.searched()
        search = _search(view, wanted)
        missing = [k for k in wanted if search.chosen[k] < 0]
        if not missing:
            crowded, share = _thinned(search, view, hung, quiet) if quiet else ((), 0.0)
            if not (left and columns and view.one_hangs(crowded)):
                break
            continue
        movable = {k for k in missing if getattr(ordered[k], "column", False)}
        if len(movable) < len(missing) or not columns:
            raise _no_place(view, [k for k in missing if not columns or k not in movable], crowd)
        view.in_column |= movable
    else:
        raise _no_place(view, missing, crowd)
    found = [placed_by_search(ordered[k], partial(view.setting, k), search, k) for k in wanted]
    placed = tuple(sorted([*hung, *found], key=lambda p: p.name))
    prove(placed, ordered, view.obstacles, view.within)
    report = _report(placed, crowd, tuple(ordered[k].name for k in crowded), share)
    return Placement(labels=placed, report=report, obstacles=as_obstacles(placed))


