"""The laws that every arrangement must obey, in one function, so that the suite and the deep campaign run the same."""

import random

from pegbook.geometry.kernel.combine import Regions, clip, common, difference, partition, union
from pegbook.geometry.kernel.offset import grown, inset
from pegbook.geometry.kernel.tolerance import NODE
from support.shapes import NASTY, REPLAYS, Shapes, area, arrangement_of, circles_of, count, girth, random_path

EXACT = 1e-9
MOVED = {"jittered", "nearly_the_same", "flat_arcs", "micro_fillets"}
"""Kinds in which nodes are moved by up to NODE: areas agree to NODE by the girth."""


def slack(kind: str, shapes: Shapes) -> float:
    return 4 * NODE * girth(shapes) + EXACT if kind in MOVED else EXACT + 1e-12 * girth(shapes)


def halves(shapes: Shapes, seed: int) -> tuple[Shapes, Shapes]:
    mixed = list(shapes)
    random.Random(seed).shuffle(mixed)
    cut = max(1, len(mixed) // 2)
    return mixed[:cut], mixed[cut:]


def broken(kind: str, seed: int, replay: str = "as it is") -> list[str]:
    """Return the laws that an arrangement breaks, played in one of the ways of REPLAYS: none, we hope."""
    shapes = [REPLAYS[replay](shape) for shape in arrangement_of(kind, seed)]
    one, two = halves(shapes, seed)
    a, b = union(one), union(two)
    both, shared, left, right = union([*a, *b]), common(a, b), difference(a, b), difference(b, a)
    limit, found = slack(kind, shapes), []

    def equal(law: str, x: float, y: float) -> None:
        if not abs(x - y) <= limit:
            found.append(f"{law}: {x - y:.2e}")

    equal("A + B = (A or B) + (A and B)", area(a) + area(b), area(both) + area(shared))
    equal("A = (A less B) + (A and B)", area(a), area(left) + area(shared))
    equal("A or B is made of three parts", area(both), area(left) + area(right) + area(shared))
    faces = partition({f"{k}": [shape] for k, shape in enumerate(shapes)})
    equal("faces by how many cover them sum to all", sum(f.region.area * len(f.labels) for f in faces),
          sum(s.area for s in shapes))
    equal("faces sum to the union", sum(f.region.area for f in faces), area(both))
    given = circles_of(shapes)
    results = {"or": both, "and": shared, "less": left, "parts": tuple(f.region for f in faces)}
    found += [f"{name}: an arc that nobody gave" for name, made in results.items() if not circles_of(made) <= given]
    return found


def broken_for_good(kind: str, seed: int) -> list[str]:
    """Return the stricter laws, for kinds in which no node is moved: order does not matter, what is put back fits."""
    shapes = arrangement_of(kind, seed)
    one, two = halves(shapes, seed)
    a, b = union(one), union(two)
    both = union([*a, *b])
    found: list[str] = []

    def same(law: str, x: Regions, y: Regions) -> None:
        if not abs(area(x) - area(y)) <= EXACT:
            found.append(f"{law}: area {area(x) - area(y):.2e}")
        if count(x) != count(y):
            found.append(f"{law}: {count(x)} and {count(y)} segments")

    same("A or B = B or A", both, union([*b, *a]))
    same("A or (A and B) = A", union([*a, *common(a, b)]), a)
    same("(A less B) or (A and B) = A", union([*difference(a, b), *common(a, b)]), a)
    same("all at once = one after the other", union(shapes), both)
    same("a union of itself does not drift", union(union(both)), both)
    return found


def broken_offsets(kind: str, seed: int) -> list[str]:
    """Return the laws of offsets that an arrangement breaks."""
    shapes = union(arrangement_of(kind, seed))
    rng = random.Random(seed)
    p, q = rng.uniform(0.02, 0.6), rng.uniform(0.02, 0.6)
    limit = 20 * NODE * girth(shapes) + EXACT
    found: list[str] = []
    once, again = grown(shapes, p + q), grown(grown(shapes, p), q)
    if not abs(area(once) - area(again)) <= limit:
        found.append(f"growing twice: {area(once) - area(again):.2e}")
    less, lesser = inset(shapes, p + q), inset(inset(shapes, p), q)
    if not abs(area(less) - area(lesser)) <= limit:
        found.append(f"shrinking twice: {area(less) - area(lesser):.2e}")
    if area(difference(shapes, inset(grown(shapes, p), p))) > limit:
        found.append("closing loses some of it")
    if area(difference(grown(inset(shapes, p), p), shapes)) > limit:
        found.append("opening adds to it")
    return found


def broken_clip(kind: str, seed: int) -> list[str]:
    """Return what is wrong with an open line clipped by an arrangement."""
    shapes = union(arrangement_of(kind, seed))
    line = random_path(random.Random(seed))
    parts = clip(line, shapes)
    total = sum(p.length for p in (*parts.inside, *parts.outside, *parts.along))
    found = [] if abs(total - line.length) < 1e-6 else [f"parts of a line sum to {total - line.length:.2e} too much"]
    for part in parts.inside:
        back = clip(part, shapes)
        if sum(p.length for p in back.outside) > 1e-6:
            found.append("a stretch inside lies outside")
    return found


KINDS = tuple(NASTY)
STILL = tuple(kind for kind in NASTY if kind not in MOVED)


