"""Runs of different lengths, one after the other in one array."""

import numpy as np

from nutgen.theory import Ints


def runs(lengths: Ints) -> tuple[Ints, Ints]:
    """Which run each place belongs to, and its number in that, from zero: (n,) each, n the sum of the lengths."""
    owner = np.repeat(np.arange(len(lengths)), lengths)
    return owner, np.arange(len(owner)) - (np.cumsum(lengths) - lengths)[owner]
