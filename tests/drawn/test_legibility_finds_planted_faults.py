"""The reading of finished sheets finds faults that are planted, and finds none where there is none."""

from __future__ import annotations

import pytest

from pegbook.drawings.svg import svg_text
from support.legibility import clutter, faults
from support.small_sheet import small_sheet

SIZE = 3.634
"""Font size of capitals of 2.5 mm."""


def sheet(*inside: str) -> str:
    """Return an A4 sheet with a frame and these elements."""
    frame = '<g class="frame"><path d="M20 10L200 10L200 287L20 287Z" stroke="#000" stroke-width="0.7"/></g>'
    return ('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 210 297" width="210mm" height="297mm">'
            + frame + "".join(inside) + "</svg>")


def text(x: float, y: float, words: str, size: float = SIZE, turn: float = 0.0, classes: str = "label") -> str:
    return (f'<g><text class="{classes}" font-size="{size}" x="{x}" y="{y}" transform="rotate({-turn} {x} {y})">'
            f"{words}</text></g>")


def line(x0: float, y0: float, x1: float, y1: float, width: float = 0.18, classes: str = "") -> str:
    return f'<path class="{classes}" d="M{x0} {y0}L{x1} {y1}" stroke="#000" stroke-width="{width}"/>'


def ring(x: float, y: float, r: float = 0.8) -> str:
    return (f'<g class="peg edge"><path d="M{x + r} {y}A{r} {r} 0 0 0 {x - r} {y}A{r} {r} 0 0 0 {x + r} {y}Z" '
            'stroke="#000" stroke-width="0.25"/></g>')


def dim(figure_x: float, figure_y: float, words: str = "4.00", size: float = SIZE) -> str:
    return (f'<g class="dim"><path d="M60 100L120 100" stroke="#000" stroke-width="0.18"/>'
            f'<text font-size="{size}" text-anchor="middle" x="{figure_x}" y="{figure_y}">{words}</text></g>')


PLANTED = {
    "text_overlap": (text(50, 50, "P101"), text(54, 50.5, "P102")),
    "tight_texts": (text(50, 50, "P101"), text(58.5, 50, "P102")),
    "text_on_heavy": (line(40, 49, 90, 49, 0.35), text(50, 50, "P101")),
    "text_on_thin": (line(40, 49, 90, 49, 0.18), text(50, 50, "P101")),
    "text_on_hatch": ('<g class="hatch turf">' + line(40, 49, 90, 49, 0.13) + "</g>", text(50, 50, "P101")),
    "text_outside": (text(201, 50, "P1"),),
    "text_too_small": (text(50, 50, "P101", 2.5),),
    "wrong_way": (text(50, 50, "P101", turn=-90),),
    "leader_on_text": (line(40, 49, 90, 49, 0.18, "leader"), text(50, 50, "P101")),
    "leader_crossings": (line(40, 40, 60, 60, 0.18, "leader"), line(40, 60, 60, 40, 0.18, "leader")),
    "masked_heavy": (line(40, 49, 90, 49, 0.35),
                     '<path d="M45 45L70 45L70 55L45 55Z" fill="#fff"/>', text(50, 50, "P101")),
    "text_hidden": (text(50, 50, "P101"), '<path d="M45 45L70 45L70 55L45 55Z" fill="#fff"/>'),
    "ambiguous": (ring(50, 50), ring(50, 54.6), text(52, 53.5, "P101")),
    "duplicate_lines": (line(40, 40, 60, 40), line(50, 40.01, 90, 40.01)),
    "dim_off_centre": (dim(80, 99.1),),
    "dim_bad_gap": (dim(90, 97.0),),
}


@pytest.mark.parametrize("kind", sorted(PLANTED))
def test_a_planted_fault_is_found_alone(kind: str) -> None:
    counts, notes = faults(sheet(*PLANTED[kind]))
    counts["dim_text_heights"] = 0
    assert {k: v for k, v in counts.items() if v} == {kind: 1}, notes


@pytest.mark.parametrize(("kind", "inside"), [
    ("leader_crossings", (line(40, 40, 60, 60), text(61, 61, "P101"), line(40, 60, 60, 40), text(61, 41, "P102"))),
    # The ink of P stands in from its advance: the own point on its left is farther off than the advance says.
    ("ambiguous", (ring(50, 50), ring(55, 46.7), text(51.4, 51.25, "P101"))),
    ("duplicate_lines", (ring(50, 50, 2.4).replace("peg edge", "crown"), ring(50.01, 50, 2.4).replace("peg edge", ""))),
])
def test_what_only_a_close_reading_shows_is_found(kind: str, inside: tuple[str, ...]) -> None:
    counts, notes = faults(sheet(*inside))
    counts["dim_text_heights"] = 0
    assert {k: v for k, v in counts.items() if v} == {kind: 1}, notes


CLEAN = {
    "texts well apart": (text(50, 50, "P101"), text(60, 50, "P102")),
    "lines of one paragraph": ('<g><text class="note" font-size="3.634" x="50" y="50">First line</text>'
                               '<text class="note" font-size="3.634" x="50" y="54.2">second line</text></g>',),
    "read from the right": (text(50, 50, "P101", turn=90),),
    "a label by its own peg": (ring(50, 50), ring(50, 60), text(51.9, 51.25, "P101")),
    "a label on its leader": (ring(50, 50), ring(50, 54.6), line(51, 51.5, 55, 54, 0.18, "leader"),
                              text(55.8, 55.2, "P101")),
    "a figure on the middle of its line": (dim(90, 99.1),),
    "leaders from one foot": (line(40, 40, 60, 60, 0.18, "leader"), line(40, 40, 60, 50, 0.18, "leader")),
    "a field letter in the border": (text(205, 50, "A", classes="zone"),),
    "a line that ends short of the text": (line(40, 49, 49.5, 49, 0.35), text(50, 50, "P101")),
}


@pytest.mark.parametrize("case", sorted(CLEAN))
def test_what_is_right_is_let_pass(case: str) -> None:
    counts, notes = faults(sheet(*CLEAN[case]))
    counts["dim_text_heights"] = 0
    assert not +counts, notes


def test_figures_of_two_heights_are_counted() -> None:
    counts, _ = faults(sheet(dim(90, 99.1), dim(90, 99.1, size=5.087)))
    assert counts["dim_text_heights"] == 2


def test_clutter_is_the_share_of_ink_in_the_fullest_square() -> None:
    lines = [line(40, 40 + k, 60, 40 + k, 0.5) for k in range(20)]
    assert clutter(sheet(*lines), (20, 10, 200, 287)) == pytest.approx(0.5, abs=0.06)


HARD = ("text_overlap", "text_on_heavy", "text_hidden", "text_outside", "leader_crossings", "leader_on_text",
        "text_too_small", "wrong_way", "ambiguous", "tight_texts", "masked_heavy", "dim_off_centre", "dim_bad_gap",
        "duplicate_lines")


def test_a_sheet_with_every_kind_of_label_and_dimension_is_clean() -> None:
    svg = svg_text(small_sheet())
    counts, notes = faults(svg)
    assert not {k: counts[k] for k in HARD if counts[k]}, notes
    assert counts["dim_text_heights"] == 1
    assert clutter(svg, (20, 10, 410, 287)) <= 0.36
