"""A length that is printed for the tape and read again is the same length within half a step; rubbish is refused.

One international foot is 0.3048 m and an inch 25.4 mm (international yard and pound agreement of 1959, from memory).
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pegbook.geometry.errors import ModelError
from pegbook.geometry.reading.quantity import (
    Units,
    inch_parts,
    print_length,
    read_angle,
    read_length,
    read_number,
    read_part,
    read_share,
)

lengths = st.floats(-999, 999, allow_nan=False)


@given(lengths)
def test_metres_come_back(value: float) -> None:
    assert abs(read_length(print_length(value)) - value) <= 0.0005 + 1e-9


@given(lengths, st.sampled_from([0.001, 0.002, 0.005, 0.01]))
def test_metres_to_a_step_come_back(value: float, step: float) -> None:
    back = read_length(print_length(value, step=step))
    assert abs(back - value) <= step / 2 + 1e-9
    assert abs(back / step - round(back / step)) < 1e-6


@given(lengths, st.sampled_from([None, 0.0254, 0.0127, 0.00635, 0.003175, 0.0015875]))
def test_feet_come_back(value: float, step: float | None) -> None:
    part = 0.0254 / inch_parts(step)
    assert step is None or part == pytest.approx(step)
    back = read_length(print_length(value, Units.FEET, step))
    assert abs(back - value) <= part / 2 + 1e-9


@given(lengths)
def test_millimetres_come_back(value: float) -> None:
    assert abs(read_length(print_length(value, Units.MILLIMETRES), Units.MILLIMETRES) - value) <= 0.0005 + 1e-9


@pytest.mark.parametrize(("text", "metres"), [
    ("450 mm", 0.45), ("45cm", 0.45), ("1.2 m", 1.2), (".5", 0.5), ("-0.6", -0.6), ("−0.6", -0.6), ("+3", 3.0),
    ("12 ft 6 in", 12.5 * 0.3048), ("12' 6\"", 3.81), ("12'6\"", 3.81), ("12' 6 1/4\"", 3.81 + 0.00635),
    ("12' 6", 3.81),
    ("6 1/4 in", 0.15875), ("1/2\"", 0.0127), ("1 foot", 0.3048), ("2 feet 3 inches", 0.6858), ("12′ 6″", 3.81),
])
def test_written_lengths(text: str, metres: float) -> None:
    assert read_length(text) == pytest.approx(metres, abs=1e-12)


def test_a_figure_is_read_exactly_once_rounded() -> None:
    """The number nearest to what is written, nothing beside it: sums of such lengths do not creep."""
    for millimetres in range(1, 3000, 7):
        assert read_length(f"{millimetres} mm") == float(f"{millimetres / 1000:.3f}")


@pytest.mark.parametrize("text", ["", "abc", "5 6", "3 m 4 mm", "1/0 in", "6\" 3'", "1,5", "1e3", "nan", "inf", "1..2",
                                  "--2", "4 m m", "12 ft 6 in 3", "1_000", "٣", "3 ft 4 ft", "20000"])
def test_rubbish_is_refused(text: str) -> None:
    with pytest.raises(ModelError) as error:
        read_length(text)
    assert error.value.problems[0].mend


@given(st.text(max_size=20))
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in (read_length, read_angle, read_number, read_share, read_part):
        try:
            value = read(text)
        except ModelError:
            continue
        assert math.isfinite(value)


def test_shares_and_angles() -> None:
    assert read_share("30 %") == 0.3
    assert read_share("1/3") == pytest.approx(1 / 3)
    assert read_part("-50%") == -0.5
    assert read_angle("90") == math.pi / 2
    assert read_angle("-45 deg") == read_angle("-45°") == pytest.approx(-math.pi / 4)
