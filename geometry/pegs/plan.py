"""What an element wants pegged: corners, centres, joins, ends, foci, and the curves between them.

Takes: a Pegging (outlines, further points, tolerance). Gives: primary targets, secondary targets, and
curves whose pegs are chosen once it is known what can be seen. Lengths in metres, angles in radians.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from ..features import Pegging, Purpose, Wanted
from ..kernel.parts import Sort, parts
from ..kernel.path import Ellipse, Loop, Path
from ..kernel.point import Point, Vec, near
from ..kernel.segment import Arc, Line, Segment

CORNER = math.radians(0.5)
"""Headings that differ by more than this meet in a corner, by less in a join."""
SWING_RADIUS = 15.0
"""A swung tape sags or is blown beyond this radius (trade practice for arcs swung from a centre)."""
SWING_SWEEP = math.radians(25)
SWING_LENGTH = 0.2
"""Arcs that turn less or are shorter are pegged from their chord, not swung (judgement)."""
CHAIN_TURN = math.radians(75)
CHAIN_LENGTH = 9.0
"""A chain of small arcs is pegged from one chord until it has turned or run this far (judgement)."""
LONG_EDGE = 18.0
"""A straight edge longer than this gets a peg in between, so that its string does not sag or blow (judgement)."""
SAME = 1e-3
"""Points nearer than this are one peg."""

Reach = Callable[[Point], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """One peg that is wanted.

    `normal` is square to the curve for curve pegs; `centres` are indices, within the plan, of the centres of
    arcs that it ends; `row` is the number of the row of posts that it stands in.
    """

    part: str
    purpose: Purpose
    at: Point
    normal: Vec | None = None
    centres: tuple[int, ...] = ()
    spare: bool = False                  # may be left out when nobody can set it: a centre to swing from
    row: int | None = None
    remark: str = ""                     # what the sheet says of it


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A stretch of curve to be pegged between two targets (indices; equal for a whole circle)."""

    segments: tuple[Segment, ...]
    start: int
    end: int
    centre: int | None                   # of the plan's targets: swung from it; None: from its chord


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All that one element wants: primary targets, secondary ones, curves, ellipses.

    `sides` are the pairs of neighbouring targets along straight edges, in order; `rows` the ends of rows of posts.
    """

    pegging: Pegging
    primary: tuple[Target, ...]
    secondary: tuple[Target, ...] = ()
    curves: tuple[Curve, ...] = ()
    ellipses: tuple[tuple[Ellipse, int, int], ...] = ()
    sides: tuple[tuple[int, int], ...] = ()
    rows: tuple[tuple[int, ...], ...] = ()

    @property
    def extent(self) -> float:
        """Diagonal of the box round all primary targets and outlines, metres."""
        points = [t.at for t in self.primary]
        for outline in self.pegging.outlines:
            box = outline.box
            points += [Point(box.x0, box.y0), Point(box.x1, box.y1)]
        if not points:
            return 0.0
        return math.hypot(max(p.x for p in points) - min(p.x for p in points),
                          max(p.y for p in points) - min(p.y for p in points))


def drawn(outline: Loop | Path) -> tuple[Segment, ...]:
    """Return the segments in the order in which they were drawn."""
    if isinstance(outline, Loop) and outline.clockwise:
        return tuple(s.reversed() for s in reversed(outline.segments))
    return outline.segments


@dataclass(slots=True)
class _Draft:
    """The plan being drawn up; counts parts of each kind."""

    primary: list[Target] = field(default_factory=list)
    secondary: list[Target] = field(default_factory=list)
    curves: list[Curve] = field(default_factory=list)
    ellipses: list[tuple[Ellipse, int, int]] = field(default_factory=list)
    sides: list[tuple[int, int]] = field(default_factory=list)
    rows: list[list[int]] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=dict)
    used: set[str] = field(default_factory=set)
    named: list[tuple[str, Point, bool]] = field(default_factory=list)

    def take(self, outline: Loop | Path, prefix: str) -> None:
        """Let points of `outline` be called as the model calls them."""
        centres = (Sort.CENTRE, Sort.ARC_CENTRE)
        self.named = [(prefix + n.name, n.at, n.sort in centres) for n in parts(outline).values()]

    def name(self, word: str, at: Point | None = None) -> str:
        """Return the model's name of the point, else `word` with its next free number."""
        if at is not None:
            for name, place, centre in self.named:
                if near(place, at, SAME) and centre == (word == "centre") and name not in self.used:
                    self.used.add(name)
                    return name
        while True:
            self.counts[word] = self.counts.get(word, 0) + 1
            name = f"{word} {self.counts[word]}"
            if name not in self.used:
                self.used.add(name)
                return name

    def put(self, part: str, purpose: Purpose, at: Point, **more: object) -> int:
        """Add a primary target unless one stands there; return its index."""
        for i, t in enumerate(self.primary):
            if near(t.at, at, SAME) and (t.purpose is Purpose.CENTRE) == (purpose is Purpose.CENTRE):
                return i
        self.primary.append(Target(part=part, purpose=purpose, at=at, **more))  # type: ignore[arg-type]
        return len(self.primary) - 1


def plan_of(pegging: Pegging, reach: Reach, tape_length: float) -> Plan:
    """Draw up what `pegging` wants; `reach` says whether a peg can stand at a point."""
    draft = _Draft()
    for number, outline in enumerate(pegging.outlines, 1):
        draft.take(outline, f"piece {number} " if len(pegging.outlines) > 1 else "")
        ellipse = outline.ellipse if isinstance(outline, Loop) else None
        if ellipse is not None and _foci(ellipse) is not None:
            _plan_ellipse(draft, ellipse)
        else:
            _plan_outline(draft, outline, reach, tape_length)
    _plan_wanted(draft, pegging.wanted, reach)
    return Plan(pegging=pegging, primary=_with_centres(draft), secondary=tuple(draft.secondary),
                curves=tuple(draft.curves), ellipses=tuple(draft.ellipses), sides=tuple(draft.sides),
                rows=tuple(tuple(r) for r in draft.rows))


def _foci(ellipse: Ellipse) -> tuple[Point, Point] | None:
    """Return the foci; None for what is as good as a circle."""
    f = math.sqrt(max(ellipse.half_length**2 - ellipse.half_width**2, 0.0))
    if not f > 0.05:
        return None
    along = Vec.polar(ellipse.turn, f)
    return ellipse.centre + -along, ellipse.centre + along


def _plan_ellipse(draft: _Draft, ellipse: Ellipse) -> None:
    foci = _foci(ellipse)
    assert foci is not None
    first = draft.put(draft.name("focus", foci[0]), Purpose.FOCUS, foci[0])
    second = draft.put(draft.name("focus", foci[1]), Purpose.FOCUS, foci[1])
    draft.ellipses.append((ellipse, first, second))


def swings(segment: Segment, reach: Reach, tape_length: float) -> bool:
    """Say whether an arc is swung from its own centre."""
    return (isinstance(segment, Arc) and abs(segment.sweep) >= SWING_SWEEP and segment.length >= SWING_LENGTH
            and segment.radius <= min(SWING_RADIUS, tape_length) and reach(segment.centre))


def _turn(first: Segment, second: Segment) -> float:
    """Return how much the heading jumps from one segment to the next, radians in [-pi, pi]."""
    jump = second.heading(0.0) - first.heading(1.0)
    return math.remainder(jump, 2 * math.pi)


def _same_circle(a: Segment, b: Segment) -> bool:
    return (isinstance(a, Arc) and isinstance(b, Arc) and near(a.centre, b.centre, SAME)
            and abs(a.radius - b.radius) < SAME and a.sweep * b.sweep > 0)


def _merged(segments: Sequence[Segment], closed: bool) -> list[Segment]:
    """Join neighbouring arcs of one circle and lines in one direction; a ring may begin elsewhere then."""
    out: list[Segment] = []
    for s in segments:
        if out and _joins(out[-1], s):
            out[-1] = _joined(out[-1], s)
        else:
            out.append(s)
    if closed and len(out) > 1 and _joins(out[-1], out[0]):
        out[0] = _joined(out.pop(), out[0])
    return out


def _joins(a: Segment, b: Segment) -> bool:
    if isinstance(a, Line) and isinstance(b, Line):
        return abs(_turn(a, b)) < 1e-6
    return _same_circle(a, b)


def _joined(a: Segment, b: Segment) -> Segment:
    if isinstance(a, Arc) and isinstance(b, Arc):
        sweep = math.copysign(min(abs(a.sweep + b.sweep), 2 * math.pi), a.sweep)
        return Arc.swung(a.centre, a.radius, a.begin, sweep)
    return Line(a.start, b.end)


def _plan_outline(draft: _Draft, outline: Loop | Path, reach: Reach, tape_length: float) -> None:
    closed = isinstance(outline, Loop)
    segs = _merged(drawn(outline), closed)
    swung = [swings(s, reach, tape_length) for s in segs]
    centres = [_put_centre(draft, s) if w else None for s, w in zip(segs, swung, strict=True)]
    if len(segs) == 1 and isinstance(segs[0], Arc) and segs[0].is_circle:
        _plan_circle(draft, segs[0], centres[0])
        return
    kept = _kept_joints(segs, swung, closed)
    marks = [_put_joint(draft, segs, k, closed) if keep else None for k, keep in enumerate(kept)]
    _plan_stretches(draft, segs, centres, marks, closed)


def _put_centre(draft: _Draft, segment: Segment) -> int:
    assert isinstance(segment, Arc)
    for i, t in enumerate(draft.primary):
        if t.purpose is Purpose.CENTRE and near(t.at, segment.centre, SAME):
            return i
    return draft.put(draft.name("centre", segment.centre), Purpose.CENTRE, segment.centre, spare=True)


def _plan_circle(draft: _Draft, arc: Arc, centre: int | None) -> None:
    """Plan a whole circle: swung from its centre, else four rim points from control and chords between them."""
    if centre is not None:
        draft.curves.append(Curve(segments=(arc,), start=centre, end=centre, centre=centre))
        return
    quarters = [arc.part(k / 4, (k + 1) / 4) for k in range(4)]
    ends = [draft.put(draft.name("edge"), Purpose.CURVE, q.start, normal=(q.start - arc.centre).unit())
            for q in quarters]
    for k, q in enumerate(quarters):
        draft.curves.append(Curve(segments=(q,), start=ends[k], end=ends[(k + 1) % 4], centre=None))


def _kept_joints(segs: Sequence[Segment], swung: Sequence[bool], closed: bool) -> list[bool]:
    """Say for each joint (start of segment k; for an open path one more, its end) whether it is pegged as primary."""
    n = len(segs)
    kept = []
    turned = run = 0.0
    for k in range(n if closed else n + 1):
        if not closed and k in (0, n):
            kept.append(True)
            turned = run = 0.0
        else:
            before, after = segs[k - 1], segs[k % n]
            soft = isinstance(before, Arc) and isinstance(after, Arc) and not swung[k - 1] and not swung[k % n]
            far = turned >= CHAIN_TURN or run >= CHAIN_LENGTH
            kept.append(not soft or abs(_turn(before, after)) > CORNER or far or (closed and k == 0))
            if kept[-1]:
                turned = run = 0.0
        if k < n:
            run += segs[k].length
            turned += abs(s.sweep) if isinstance(s := segs[k], Arc) else 0.0
    return kept


def _put_joint(draft: _Draft, segs: Sequence[Segment], k: int, closed: bool) -> int:
    n = len(segs)
    if not closed and k in (0, n):
        at = segs[0].start if k == 0 else segs[-1].end
        return draft.put(draft.name("start" if k == 0 else "end", at), Purpose.CORNER, at)
    before, after = segs[k - 1], segs[k % n]
    at = after.start
    if abs(_turn(before, after)) > CORNER:
        return draft.put(draft.name("corner", at), Purpose.CORNER, at)
    return draft.put(draft.name("tangent", at), Purpose.TANGENT, at)


def _plan_stretches(draft: _Draft, segs: Sequence[Segment], centres: Sequence[int | None],
                    marks: Sequence[int | None], closed: bool) -> None:
    """Between pegged joints lie straight edges (sides) and curves."""
    n = len(segs)
    first = next((k for k in range(n) if marks[k] is not None), 0)
    chain: list[Segment] = []
    begun = marks[first]
    for step in range(n):
        k = (first + step) % n
        chain.append(segs[k])
        end = marks[(k + 1) % n] if closed else marks[k + 1]
        if end is None or begun is None:
            continue
        if isinstance(segs[k], Line) and len(chain) == 1:
            draft.sides.append((begun, end))
            _plan_long_edge(draft, chain[0])
        else:
            draft.curves.append(Curve(segments=tuple(chain), start=begun, end=end,
                                      centre=centres[k] if len(chain) == 1 else None))
        chain, begun = [], end


def _plan_long_edge(draft: _Draft, edge: Segment) -> None:
    parts = math.ceil(edge.length / LONG_EDGE)
    for k in range(1, parts):
        draft.secondary.append(Target(part=draft.name("side"), purpose=Purpose.LINE, at=edge.point(k / parts)))


def _plan_wanted(draft: _Draft, wanted: Sequence[Wanted], reach: Reach) -> None:
    """Add points named by the element; posts of one row: ends primary, the others between them secondary."""
    rows: dict[int, list[Wanted]] = {}
    lines: list[Path] = []
    for w in wanted:
        if w.along is None:
            draft.put(w.part, w.purpose, w.at)
            continue
        if w.along not in lines:
            lines.append(w.along)
        rows.setdefault(lines.index(w.along), []).append(w)
    for number, posts in rows.items():
        _plan_row(draft, number, lines[number], posts, reach)


def _plan_row(draft: _Draft, number: int, line: Path, posts: Sequence[Wanted], reach: Reach) -> None:
    centres = [draft.put(draft.name("centre"), Purpose.CENTRE, s.centre, spare=True)
               for s in line.segments if isinstance(s, Arc) and s.radius <= SWING_RADIUS and reach(s.centre)]
    ends = (posts[0], posts[-1]) if len(posts) > 1 else (posts[0],)
    firm = [w for w in posts if w in ends]
    row = [draft.put(w.part, w.purpose, w.at, row=number) for w in firm]
    draft.rows.append(row)
    draft.secondary += [Target(part=w.part, purpose=w.purpose, at=w.at, centres=tuple(centres), row=number)
                        for w in posts if w not in firm]


def _with_centres(draft: _Draft) -> tuple[Target, ...]:
    """Tell each primary target which centres its arcs are swung from."""
    own: dict[int, list[int]] = {}
    for curve in draft.curves:
        if curve.centre is not None and curve.start != curve.centre:
            for end in (curve.start, curve.end):
                own.setdefault(end, []).append(curve.centre)
    return tuple(t if i not in own else Target(part=t.part, purpose=t.purpose, at=t.at, normal=t.normal, spare=t.spare,
                                               row=t.row, centres=tuple(sorted(set(own[i]))))
                 for i, t in enumerate(draft.primary))
