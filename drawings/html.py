"""The phone page: `pegging.html`, one file that works without a signal, and reads as a list without scripts.

Takes: a SettingOut. Gives: the page's text. Words and readings are those of the booklet and of pegs.csv; nothing
is loaded from anywhere.
"""

from __future__ import annotations

import json
import math
import re
from html import escape
from importlib.resources import files
from string import Template
from typing import Any

from ..geometry.kernel.point import Point
from ..geometry.pegs.peg import Peg
from ..geometry.setout import SettingOut
from .booklet_blocks import picture_size
from .chapters import Chapter
from .gates import BUILT_GATE, Gate, Told, told, warnings_of
from .heights import BUILT, HOW, KEEP, TITLE, Heights
from .lettering import plain as clean
from .pictures import Pictures
from .pictures_plan import plan_picture
from .sheet import Mark, Sheet
from .steps import CheckLine, Row, Step
from .svg import svg_text
from .words import Words

PICTURE = (96.0, 69.0)
"""Width and height of a step's picture that needs more room than in the booklet, in its own millimetres."""

PLAN = (120.0, 150.0)

NO_SCRIPT = ("This viewer shows the readings but cannot tick or check. Open the page in a browser for that.")


def page(work: SettingOut, said: Told | None = None) -> str:
    """Return the phone page; `said` is the pegging in words where it is known already.

    Raises DrawingError if a picture cannot be made.
    """
    said = said or told(work)
    words = Words(work)
    data = _data(work, said, words)
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    parts = _folder()
    project = work.garden.project
    return Template((parts / "pegging.html").read_text("utf-8")).substitute(
        title=escape(clean(f"Pegging out: {project.title}")),
        style=(parts / "pegging.css").read_text("utf-8"),
        script=(parts / "pegging.js").read_text("utf-8"),
        data=text.replace("<", "\\u003c").replace("\u2028", " ").replace("\u2029", " "),
        list=_list(work, said))


def _folder() -> Any:
    from .. import templates

    return files(templates) / "sheets"


def _metres(text: str, words: Words) -> float:
    return words.work.pegs.options.tape.read(text)


def _check(check: CheckLine, words: Words) -> dict[str, Any]:
    return {"start": check.start, "end": check.end, "word": clean(check.word), "low": check.low, "high": check.high,
            "proves": clean(check.proves), "lo": _metres(check.low, words), "hi": _metres(check.high, words),
            "mid": _metres(check.middle, words)}


def _unit(peg: Point, mark: Point) -> tuple[float, float]:
    way = peg - mark
    length = max(math.hypot(way.dx, way.dy), 1e-9)
    return round(way.dx / length, 6), round(way.dy / length, 6)


def _tapes(row: Row, step: Step, words: Words) -> list[dict[str, Any]] | None:
    """Return the taped distances to one peg, with directions, for the screen that asks which reading is wrong."""
    peg: Peg = words.pegs[row.peg]
    if row.check is None or step.form.value not in {"ties", "radius", "three tapes"}:
        return None
    found = []
    hooks = [(hook.tape, hook.at, hook.reading or row.readings[i]) for i, hook in enumerate(step.hooks)]
    tape = words.work.pegs.options.tape
    for number, at, text in [*hooks, (0, row.check.start, row.check.middle)]:
        ux, uy = _unit(peg.at, words.place(at))
        mid = _metres(text, words)
        slack = tape.limit(math.hypot(tape.sd(mid), peg.error / 1000)) / 1000
        found.append({"tape": number, "at": at, "text": text, "mid": mid, "ux": ux, "uy": uy, "slack": slack})
    return found


def _step(step: Step, words: Words) -> dict[str, Any]:
    rows = []
    for row in step.rows:
        peg = words.pegs[row.peg]
        rows.append({"peg": row.peg, "readings": list(row.readings), "toward": row.toward, "x": round(peg.at.x, 3),
                     "y": round(peg.at.y, 3), "tapes": _tapes(row, step, words),
                     "check": _check(row.check, words) if row.check else None, "remark": clean(row.remark)})
    return {"number": step.number, "title": step.title, "what": clean(step.what), "hand": step.hand,
            "hooks": [{"tape": h.tape, "lead": h.lead, "at": h.at, "word": clean(h.word), "reading": h.reading,
                       "paces": h.paces} for h in step.hooks],
            "once": [clean(line) for line in step.once], "each": [clean(line) for line in step.each], "rows": rows,
            "cautions": list(step.cautions), "picture": str(step.number), "sentence": _sentence(step)}


def _picture(step: Step, pictures: Pictures) -> str:
    """Return a step's picture: the booklet's, whose names are large on a phone, or a wider one that shows more.

    The wider one parts signs that touch in the other, or has names that find no place there.
    """
    size, other = sorted((picture_size(step), PICTURE), key=lambda one: pictures.touching(step, *one))
    drawn = pictures.of(step, *size)
    if drawn.missing:
        second = pictures.of(step, *other)
        if len(second.missing) < len(drawn.missing):
            size, drawn = other, second
    return _inline(drawn.marks, *size)


def _inline(marks: tuple[Mark, ...], width: float, height: float) -> str:
    """Return a picture as an SVG element without ids, to stand inside the page; its size is the page's to say."""
    sheet = Sheet(number=0, name="picture", title="", document="", size="A4", width=width, height=height, scale="",
                  views=(), marks=marks)
    text = svg_text(sheet)
    text = re.sub(r"<\?xml[^>]*>|<(title|desc)[^>]*>.*?</\1>", "", text, flags=re.DOTALL)
    text = re.sub(r' (id|aria-labelledby|role|version|style)="[^"]*"', "", text)
    text = re.sub(r'<svg([^>]*?) (?:width|height)="[^"]*mm"', r"<svg\1", text)
    return re.sub(r'<svg([^>]*?) (?:width|height)="[^"]*mm"', r"<svg\1", text).strip()


def _sentence(step: Step) -> str:
    hooks = " and ".join(h.at for h in step.hooks if h.at)
    return f"Seen from above, house at the bottom: {', '.join(step.pegs)}{f', taped from {hooks}' if hooks else ''}."


def _edges(chapter: Chapter) -> list[str]:
    """Return how the edges of a shape are drawn, one sentence an edge."""
    swings = (f"Hook on {s.centre}. Swing the tape {s.where} at {s.reading}. Trickle sand."
              for s in chapter.edges.swings)
    return [*swings, *chapter.edges.others]


def _gate(gate: Gate, words: Words) -> dict[str, Any]:
    return {"number": gate.number, "title": gate.title, "head": gate.head, "under": gate.under, "stop": gate.stop,
            "warnings": list(gate.warnings), "ticks": [clean(t) for t in gate.ticks],
            "checks": [_check(c, words) for c in gate.checks]}


def _heights(said: Heights) -> dict[str, Any]:
    how = [_loud(line) for line in (HOW if said.tops else HOW[1:])]
    return {"title": TITLE, "how": how, "head": BUILT, "keep": KEEP,
            "tops": [{"peg": t.peg, "way": t.way, "start": t.start, "reading": t.reading} for t in said.tops],
            "built": [{"element": clean(b.element), "what": clean(b.what), "way": b.way, "peg": b.peg,
                       "reading": b.reading, "good": b.good} for b in said.built]}


def _loud(words: str) -> str:
    """Return words without the marks of bold print."""
    return words.replace("**", "")


def _data(work: SettingOut, said: Told, words: Words) -> dict[str, Any]:
    found, doors = said.chapters, said.gates
    project, site = work.garden.project, work.garden.site
    pictures = {str(step.number): _picture(step, said.pictures) for chapter in found for step in chapter.steps}
    pictures["plan"] = _inline(plan_picture(work, found, *PLAN), *PLAN)
    return {
        "key": f"{clean(project.number)}|{clean(project.revision)}|{work.garden.digest[:8]}",
        "title": clean(project.title), "number": clean(project.number), "revision": clean(project.revision),
        "date": clean(project.date), "feet": work.pegs.options.tape.feet,
        "cautions": list(warnings_of(work)), "steps": sum(len(c.steps) for c in found),
        "marks": [{"name": m.name, "word": clean(words.of(m.name)), "x": site.control[m.name].x,
                   "y": site.control[m.name].y} for m in site.marks],
        "chapters": [{"number": c.number, "name": clean(c.name), "within": c.within, "about": c.about,
                      "steps": [_step(s, words) for s in c.steps], "edges": _edges(c),
                      "checks": [{**_check(k, words), "head": t.head, "sentence": t.sentence, "after": t.after}
                                 for t in c.tables for k in t.checks]}
                     for c in found],
        "gates": [_gate(g, words) for g in doors], "heights": _heights(said.heights), "pictures": pictures}


def _list(work: SettingOut, said: Told) -> str:
    """Return the whole pegging as a plain list: what a viewer without scripts shows, and what prints."""
    found, doors = said.chapters, said.gates
    project = work.garden.project
    lines = [f"<h1>Pegging out: {_text(project.title)}</h1>",
             f"<p>{_text(project.number)}, revision {_text(project.revision or '–')}, {_text(project.date)}. "
             f"{NO_SCRIPT}</p>"]
    lines += [f"<p><strong>{_text(words)}</strong></p>" for words in warnings_of(work)]
    lines += _gate_list(doors[0])
    for chapter in found:
        lines.append(f"<h2>{chapter.number or 'E'} {_text(chapter.name)}</h2><p>{_text(chapter.within)}</p>")
        for count, step in enumerate(chapter.steps, 1):
            lines += [*_step_list(step), *_table_list(chapter, count)]
        lines += [f"<p>{_text(words)}</p>" for words in _edges(chapter)]
        lines += _table_list(chapter, None)
    for gate in doors[1:]:
        lines += [*(_height_list(said.heights) if gate.number == BUILT_GATE else ()), *_gate_list(gate)]
    if all(gate.number != BUILT_GATE for gate in doors):
        lines += _height_list(said.heights)
    return "\n".join(lines)


def _height_list(said: Heights) -> list[str]:
    if not (said.tops or said.built):
        return []
    lines = [f"<h2>{TITLE}</h2>", *(f"<p>{_text(_loud(line))}</p>" for line in (HOW if said.tops else HOW[1:])), "<ul>"]
    lines += [f"<li>{t.peg} {t.way} {t.start}: {_text(t.reading)}</li>" for t in said.tops]
    lines += [f"<li>{_text(line.words)}</li>" for line in said.built]
    return [*lines, "</ul>", *([f"<p>{KEEP}</p>"] if said.built else [])]


def _table_list(chapter: Chapter, after: int | None) -> list[str]:
    lines: list[str] = []
    for table in chapter.tables:
        if table.after == after:
            lines += [f"<p><strong>{_text(table.head)}.</strong> {_text(table.sentence)}</p>",
                      *(_check_line(check) for check in table.checks)]
    return lines


def _text(words: str) -> str:
    return escape(clean(words))


def _check_line(check: CheckLine) -> str:
    return (f"<p>Check {_text(check.start)} to {_text(check.end)}: good from {_text(check.low)} to {_text(check.high)}."
            f"{f' {_text(check.proves)}.' if check.proves else ''}</p>")


def _gate_list(gate: Gate) -> list[str]:
    lines = [f"<h2>{_text(gate.title)}</h2><p>{_text(gate.head)} {_text(gate.under)}</p><ul>"]
    lines += [f"<li>{_text(tick)}</li>" for tick in gate.ticks]
    return [*lines, "</ul>", *(_check_line(check) for check in gate.checks), f"<p>{_text(gate.stop)}</p>"]


def _step_list(step: Step) -> list[str]:
    lines = [f"<h3>Step {step.number}. {_text(step.title)}</h3><p>{_text(step.what)}</p>"]
    lines += [f"<p><strong>{_text(words)}</strong></p>" for words in step.cautions]
    for hook in step.hooks:
        words = _text(f"{hook.lead} {hook.at} {hook.word}".strip())
        lines.append(f'<p>{hook.tape}: {words} <span class="readings">{_text(hook.reading)}</span></p>')
    lines.append(f"<p>{_text(' '.join((*step.once, *step.each)))}</p><table>")
    for row in step.rows:
        shown = [r for r, hook in zip(row.readings, step.hooks, strict=False) if not hook.reading]
        check = (f"check {row.check.start}: {row.check.low} to {row.check.high}" if row.check else "")
        cells = [row.peg, row.toward and f"in line with {row.toward}", "  ".join(shown or row.readings), check]
        lines.append("<tr>" + "".join(f"<td>{_text(cell or '')}</td>" for cell in cells) + "</tr>")
    return [*lines, "</table>"]
