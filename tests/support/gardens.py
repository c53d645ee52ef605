"""Whole gardens, made by a seed: the model text of a plausible plot, from 30 pegs to 500.

One generator for every test that wants gardens nobody drew by hand. The same seed gives the same text.
"""

from __future__ import annotations

import math
import random

HEAD = """pegbook: 1
units: m
project: {{title: Plot {seed}, number: P-{seed}, site: {seed} Trial Lane, date: 2026-10-01}}
site:
  north: {north}
  control:
    A: {{at: [0, 0], mark: house corner on the left, short: left corner}}
    B: {{at: [{base}, 0], mark: house corner on the right, short: right corner}}
    C: {{at: [{width}, {depth}], mark: far right post, short: right post}}
    D: {{at: [{left}, {depth}], mark: far left post, short: left post}}
  baseline: [A, B]
  boundary: [[{left}, -6], [{width}, -6], [{width}, {depth}], [{left}, {depth}]]
plants:
  sage: {{botanical: Salvia nemorosa, spacing: 0.4, height: 0.6, interest: {{flower: [6, 7, 8]}}, colour: violet}}
  grass: {{botanical: Molinia caerulea, spacing: 0.5, height: 1.2, interest: {{flower: [8, 9]}}, colour: buff}}
  dome: {{botanical: Taxus baccata, spacing: 0.9, height: 1.0, interest: {{foliage: [1, 2, 3, 12]}}, evergreen: true}}
elements:
  house: {{kind: building, outline: {{rectangle: {{corner: [0, -6], length: {base}, width: 6}}}}}}
"""


def _terrace(r: random.Random, base: float) -> tuple[str, float]:
    width = round(r.uniform(0.6, 0.95) * base, 2)
    depth = round(r.uniform(2.5, 4.5), 2)
    at = round((base - width) / 2, 2)
    joint = r.choice(["stretcher", "stack"])
    form = r.choice(["rectangle", "rounded", "oval"])
    if form == "oval":
        outline = f"{{oval: {{centre: [{at + width / 2:.3f}, {depth / 2:.3f}], length: {width}, width: {depth}}}}}"
    else:
        corner = ", corner_radius: 0.6" if form == "rounded" else ""
        outline = f"{{rectangle: {{corner: [{at}, 0], length: {width}, width: {depth}{corner}}}}}"
    return (f"  terrace: {{kind: paving, outline: {outline}, "
            f"unit: {{length: 450 mm, width: 450 mm, joint: 8 mm, material: stone slab}}, bond: {joint}}}\n"), depth


def _lawns(r: random.Random, left: float, width: float, low: float, high: float) -> tuple[str, list[str], float]:
    """One to four circles up the plot, each overlapping the last by a bold share."""
    mid, room = (left + width) / 2, (width - left) / 2
    circles: list[str] = []
    y, x = low, mid
    for _ in range(r.randint(1, 4)):
        radius = round(min(r.uniform(0.45, 0.7) * room, (high - y) / 2), 2)
        if radius < 1.2:
            break
        x = round(mid + r.uniform(-0.3, 0.3) * (room - radius), 3)
        centre = round(y + radius, 3)
        circles.append(f"{{circle: {{centre: [{x}, {centre}], radius: {radius}}}}}")
        y = centre + radius * r.uniform(0.35, 0.7)
    if not circles:
        return "", [], low
    form = circles[0] if len(circles) == 1 else f"{{joined: [{', '.join(circles)}]}}"
    top = y
    return (f"  round lawn: {{kind: lawn, outline: {form}, surface: turf, mowing_edge: {{width: 200 mm}}}}\n",
            circles, top)


def _pond(r: random.Random, left: float, depth: float) -> str:
    x, y = round(left + 1.5, 2), round(depth - 2.6, 2)
    if r.random() < 0.5:
        return f"  pond: {{kind: pond, outline: {{circle: {{centre: [{x}, {y}], radius: 0.9}}}}, depth: 0.5}}\n"
    turn = r.randint(0, 90)
    return (f"  pond: {{kind: pond, depth: 0.5, outline: {{ellipse: {{centre: [{x}, {y}], length: 2.2, width: 1.4, "
            f"turn: {turn}}}}}}}\n")


def _posts(r: random.Random, width: float, depth: float, many: int) -> str:
    """A pergola up the right side and a fence on the left give as many pegs as asked for."""
    length = round(min(depth * 0.5, 2.0 * max(many, 2)), 2)
    y = round(depth * 0.35, 2)
    bay = round(max(length / max(many, 1), 0.8), 2)
    x = f"{width - 1.7:.2f}"
    return (f"  pergola: {{kind: pergola, line: {{straight: [[{x}, {y}], [{x}, {y + length:.2f}]]}}, "
            f"width: 1.6, bay: {bay}, height: 2.3, post: 100 mm, beam: 150 mm, "
            "rafter: {size: 75 mm, spacing: 0.6, overhang: 0.3}, footing: {width: 0.4, depth: 0.6}}\n")


def _path(r: random.Random, left: float, depth: float, terrace: float) -> str:
    x = round(left + 0.9, 2)
    bend = r.choice(["left", "right"])
    radius = round((depth - terrace) * r.uniform(0.9, 1.6), 2)
    return (f"  side path: {{kind: path, width: 0.9, line: {{arc: {{from: [{x}, {terrace + 0.4:.2f}], "
            f"to: [{x + 0.3:.2f}, {depth - 4.5:.2f}], radius: {radius}, bend: {bend}}}}}}}\n")


PAD, PADS_APART = 1.4, 3.2


def _pads(r: random.Random, left: float, width: float, low: float, rows: int) -> tuple[str, list[str]]:
    """Rows of paved pads across the far end: round ones, square ones and ones with round corners."""
    text, names = "", []
    across = int((width - left - 2.0) // PADS_APART)
    for row in range(rows):
        for k in range(across):
            x, y = left + 1.6 + k * PADS_APART, low + 0.6 + row * PADS_APART
            form = r.choice(["circle", "square", "rounded"])
            if form == "circle":
                outline = f"{{circle: {{centre: [{x + PAD / 2:.2f}, {y + PAD / 2:.2f}], radius: {PAD / 2}}}}}"
            else:
                corner = ", corner_radius: 0.3" if form == "rounded" else ""
                outline = f"{{rectangle: {{corner: [{x:.2f}, {y:.2f}], length: {PAD}, width: {PAD}{corner}}}}}"
            names.append(f"pad {len(names) + 1}")
            text += f"  {names[-1]}: {{kind: paving, label: pad, outline: {outline}}}\n"
    return text, names


def garden_text(seed: int, size: float | None = None) -> str:
    """Return the model text of garden `seed`; `size` (0 to 3) scales plot and number of elements.

    Up to 1 the plot grows, at 0 it has neither pond, path nor pergola; beyond 1 rows of pads are added at the far end,
    and what is left is a meadow.
    """
    r = random.Random(seed)
    size = r.random() if size is None else size
    rows, size = math.ceil(3 * max(0.0, size - 1)), min(size, 1.0)
    base = round(7 + 7 * size + r.uniform(0, 1.5), 2)
    left, width = -round(r.uniform(1.5, 3), 2), round(base + r.uniform(1.5, 3), 2)
    near = round(14 + 22 * size + r.uniform(0, 3), 2)
    depth = round(near + rows * PADS_APART, 2)
    text = HEAD.format(seed=seed, north=r.randint(0, 359), base=base, width=width, depth=depth, left=left)
    terrace, deep = _terrace(r, base)
    lawns, _, _ = _lawns(r, left + 2.2, width - 2.2, deep + 0.3, near - 3.5)
    pond, path = _pond(r, left, near), _path(r, left, near, deep)
    posts = _posts(r, width, near, round(3 + 12 * size))
    text += terrace + lawns + (pond + path + posts if size > 0 else "")
    names = ["house", "terrace", *(["pond", "side path"] if size > 0 else []), *(["round lawn"] if lawns else [])]
    pads, padded = _pads(r, left, width, near - 1.6, rows)
    text, names = text + pads, names + padded
    for n in range(r.randint(1, 3)):
        x = round(r.uniform(left + 1.5, width - 1.5), 2)
        state = r.choice(["existing", "proposed"])
        text += (f"  tree {n + 1}: {{kind: tree, at: [{x}, {depth - 1.2:.2f}], stem: 0.1, "
                 f"spread: {r.uniform(2, 4):.1f}, status: {state}}}\n")
    hold = round(depth - 0.4, 2)
    rest = (f"outline: {{remainder: {{of: boundary, less: [{', '.join(names)}], "
            f"holding: [{math.floor((left + width) / 2)}, {hold}]}}}}")
    if rows:
        return text + f"  meadow: {{kind: lawn, {rest}}}\n"
    return text + (f"  border: {{kind: bed, {rest}, topsoil: 0.3, planting: ["
                   "{plant: sage, groups: 3, share: 30 %}, {plant: grass, groups: 3, share: 30 %, row: back}, "
                   "{plant: dome, groups: 2, share: 15 %}]}\n")
