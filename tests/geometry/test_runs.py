"""Runs of different lengths: where one ends, the next begins."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from nutgen.geometry.runs import runs


@given(st.lists(st.integers(0, 6), max_size=12))
def test_each_place_has_its_run_and_its_number_in_that(lengths: list[int]) -> None:
    owner, number = runs(np.array(lengths, np.int64))
    places = [(run, number) for run, length in enumerate(lengths) for number in range(length)]
    assert list(zip(owner.tolist(), number.tolist(), strict=True)) == places
