"""Lengths at the door: both unit systems, fractions, and what is not a length."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.errors import Unreadable
from nutgen.spec.values import read_length


@pytest.mark.parametrize(
    ("value", "unit", "mm"),
    [
        # 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
        (1, "in", 25.4),
        ("1 5/8 in", "mm", 41.275),
        ("1-5/8 in", "mm", 41.275),
        ('1 13/16"', "mm", 46.0375),
        ("4/64 in", "mm", 1.5875),
        ("5/32", "in", 3.96875),
        ("0.3 mm", "in", 0.3),
        ("0.3", "mm", 0.3),
        (".046 in", "mm", 1.1684),
        ("0.010 inch", "mm", 0.254),
        ("4.1 cm", "mm", 41.0),
        ("-2 mm", "mm", -2.0),
        (" 3.5MM ", "in", 3.5),
    ],
)
def test_reads_as_written(value: object, unit: str, mm: float) -> None:
    assert read_length(value, unit).mm == pytest.approx(mm, rel=1e-12)


@pytest.mark.parametrize(
    "value",
    [True, None, [1], {"a": 1}, "", "mm", "3,5 mm", "1 2 mm", "1/0 in", "one", "3 ft", "1e400", float("nan"), 10**400],
)
def test_refuses_what_is_no_length(value: object) -> None:
    with pytest.raises(Unreadable, match=r"reading\.(not-a-length|not-finite|unknown-unit)"):
        read_length(value, "mm")


@given(st.integers(0, 60), st.integers(0, 127), st.sampled_from([2, 4, 8, 16, 32, 64, 128]))
def test_fractions_of_an_inch_are_exact(whole: int, top: int, bottom: int) -> None:
    exact = (whole + Fraction(top, bottom)) * Fraction(254, 10)
    assert read_length(f"{whole} {top}/{bottom} in", "mm").mm == pytest.approx(float(exact), rel=1e-15, abs=1e-15)
