"""What goes into JSON: strict JSON whatever the room holds, and findings with all that a program needs of them."""

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from nutgen.documents.words import sentence
from nutgen.finding import of_string, warning
from nutgen.jobs.record import plain
from nutgen.nut.part import Blank

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**6), 10**6) | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3),
    max_leaves=12,
)


@given(VALUES)
def test_whatever_it_is_it_is_strict_json(value: object) -> None:
    assert json.loads(json.dumps(plain(value), allow_nan=False)) == plain(value)


def test_numbers() -> None:
    found = plain(
        {"a": np.array([[1.0, math.nan], [math.inf, -1e-9]]), "b": np.float64(0.1234567891), "c": np.int64(3)}
    )
    assert found == {"a": [[1.0, None], [None, 0.0]], "b": 0.123457, "c": 3}
    assert plain(Blank(44.0, 5.4, 7.0)) == {"length": 44.0, "thickness": 5.4, "height": 7.0}


def test_a_finding_says_what_whom_how_much_and_in_words() -> None:
    found = warning("slot.floor-may-crack", of_string(4, "C1"), wall=0.81234567, least=1.0)
    told = plain((found,))
    assert told == [
        {
            "code": "slot.floor-may-crack",
            "severity": "warning",
            "about": [{"kind": "string", "name": "C1", "number": 4}],
            "values": {"wall": pytest.approx(0.812346), "least": 1.0},
            "sentence": sentence(found),
        }
    ]
    assert "0.81 mm" in told[0]["sentence"]
