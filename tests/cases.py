"""Which cases of a test belong to the quick run: a few that show each kind of fault; the others are marked slow."""

from collections.abc import Iterable
from typing import Any

import pytest

from tests.specs import PRESETS

FEW = ("acoustic-12", "electric-6-left", "electric-6-slanted")
"""Kinds that differ as much as kinds do: pairs, strung left, a slanted scale."""


def cases(*quick: Any, slow: Iterable[Any]) -> list[Any]:
    """Values for parametrize, the last of them marked slow."""
    return [
        *quick,
        *(pytest.param(*(one if isinstance(one, tuple) else (one,)), marks=pytest.mark.slow) for one in slow),
    ]


EACH_KIND = cases(*FEW, slow=[path.stem for path in PRESETS if path.stem not in FEW])
EACH_PRESET = cases(
    *(path for path in PRESETS if path.stem in FEW), slow=[path for path in PRESETS if path.stem not in FEW]
)
