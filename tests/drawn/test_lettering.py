"""Lettering: widths are those of the shipped faces; words are cleaned once, the same for every format."""

from __future__ import annotations

import unicodedata
from importlib.resources import files

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given, settings
from hypothesis import strategies as st

import pegbook.templates
from pegbook.drawings.lettering import (
    FACES,
    LONGEST,
    broken,
    checked,
    face,
    font_size,
    ink_box,
    lacking,
    plain,
    safe_name,
    sanitised,
    width,
)
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.kernel.point import Point

FONTS = files(pegbook.templates) / "fonts"
SPECIAL = "×–Ø²³°≤≥±½¼¾…←↑→↓m²€"


@pytest.mark.parametrize("style", FACES)
def test_the_table_of_widths_is_that_of_the_face(style: str) -> None:
    with (FONTS / f"{FACES[style]}.ttf").open("rb") as stream:
        font = TTFont(stream)
        em = font["head"].unitsPerEm
        names = dict(font.getBestCmap().items())
        for code, glyph in names.items():
            assert face(style).advances[chr(code)] == pytest.approx(font["hmtx"][glyph][0] / em)
        capital = font["glyf"][names[ord("H")]].yMax / em
    assert face(style).capitals == pytest.approx(capital, abs=1e-3)
    assert not [c for c in SPECIAL if c not in face(style).advances]


def test_the_changed_face_does_not_bear_the_reserved_name() -> None:
    # SIL Open Font Licence 1.1, condition 3
    for style in ("regular", "bold", "italic"):
        with (FONTS / f"{FACES[style]}.ttf").open("rb") as stream:
            names = TTFont(stream)["name"]
        for key in (1, 3, 4, 6, 16):
            assert not any(word in str(names.getDebugName(key)) for word in ("Liberation", "Arimo", "Tinos", "Cousine"))
    assert (FONTS / "LICENSE-liberation.txt").read_text().count("SIL OPEN FONT LICENSE") == 1
    assert "Bitstream Vera" in (FONTS / "LICENSE-dejavu.txt").read_text()


def test_figures_have_one_width_so_that_columns_line_up() -> None:
    assert len({round(width(d), 9) for d in "0123456789"}) == 1
    # 0.556 em, capitals 0.688 em: the widths of the face itself (read from it)
    assert width("0") == pytest.approx(2.5 / 0.688 * 0.556, rel=2e-3)


def test_size_of_the_em_gives_capitals_of_the_height_asked_for() -> None:
    assert font_size(2.5) == pytest.approx(3.634, abs=5e-4)
    assert font_size(7, "bold") == pytest.approx(10.174, abs=5e-4)


@given(st.text(max_size=400))
@settings(max_examples=300, deadline=None)
def test_clean_words_stay_clean(words: str) -> None:
    once = sanitised(words)
    assert sanitised(once) == once
    assert len(once.encode()) <= LONGEST * 2
    assert not set("\\^{}\n\r\t\0") & set(once)
    assert "%%" not in once
    assert "  " not in once
    assert once == once.strip()
    assert not [c for c in once if unicodedata.category(c) in {"Cc", "Cs", "Co"}]


@given(st.text(max_size=300), st.lists(st.text(max_size=40), max_size=5))
@settings(max_examples=200, deadline=None)
def test_names_are_safe_and_their_own(words: str, taken: list[str]) -> None:
    names: list[str] = []
    for t in [*taken, words, words]:
        name = safe_name(t, names)
        assert name.upper() == name
        assert 1 <= len(name) <= 31
        assert name.isascii()
        assert name not in names
        names.append(name)


@pytest.mark.parametrize(("given_", "written"), [
    ("C:\\garden", "C:/garden"), ("a^b", "a'b"), ("{x}", "(x)"), ("50 %%d", "50 % %d"), ("⌀ 3", "Ø 3"),
    ("a\n b\t c", "a b c"), ("e\u0301tang", "étang"), ("x\u202e y", "x y"), ("Ṽ", "V"),
])
def test_codes_of_one_format_become_look_alikes_in_all(given_: str, written: str) -> None:
    assert sanitised(given_) == written


def test_a_letter_that_no_face_has_is_refused_not_boxed() -> None:
    assert lacking("庭") == "庭"
    with pytest.raises(DrawingError, match="no character"):
        checked("the 庭")
    assert checked("Сад 12 — κήπος") == "Сад 12 — κήπος"


def test_unseen_words_are_cut_by_bytes() -> None:
    assert len(plain("é" * 400, 240).encode()) <= 240


@given(st.text(alphabet="abcdefg hijk lmnop", max_size=200), st.floats(8, 80))
@settings(max_examples=200, deadline=None)
def test_lines_fit_and_nothing_is_lost(words: str, longest: float) -> None:
    lines = broken(words, longest)
    assert all(width(line) <= longest for line in lines)
    assert all(lines)
    assert "".join(lines).replace(" ", "") == words.replace(" ", "")


def test_a_column_without_room_for_a_letter_is_refused() -> None:
    with pytest.raises(DrawingError, match="cannot hold"):
        broken("word", 0.5)


def test_the_box_of_turned_words_lies_left_of_their_line() -> None:
    a, b, _, d = ink_box("Axle", Point(10, 10), turn=1.5707963267948966)
    assert b.y - a.y == pytest.approx(width("Axle"))
    assert d.x == pytest.approx(10 - 2.5)
    assert ink_box("gap", Point(0, 0))[0].y < 0
