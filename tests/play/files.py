"""Files for the tests of playing: a kind with some of its lines changed, and the nut solved from it."""

import re
from functools import cache

from nutgen.nut import Nut, solve
from nutgen.spec.presets import kind_path
from nutgen.spec.read import parse_spec
from nutgen.spec.tables import Spec
from tests.kinds import without

KINDS = without("lap")
"""Those whose strings are pressed on frets."""


def changed(kind: str, more: str = "", **keys: str) -> Spec:
    """The file of a kind with other values for some keys (all of that name), and more text behind it."""
    text = kind_path(kind).read_text("utf-8")
    for key, value in keys.items():
        text, count = re.subn(rf"(?m)^{key} = (\[[^\]]*\]|\{{[^}}]*\}}|\"[^\"]*\"|[^ #\n]+)", f"{key} = {value}", text)
        assert count, key
    return parse_spec(text + "\n" + more, source="test")


@cache
def solved(kind: str) -> tuple[Spec, Nut]:
    """A kind as it comes, and its nut."""
    spec = changed(kind)
    return spec, solve(spec)


def one_string(
    *, scale: float = 648.0, relief: float = 0.0, floor: float = 0.3, action: float = 1.6, string: str, more: str = ""
) -> Spec:
    """A one-string instrument with a flat board, everything about its heights stated."""
    return parse_spec(
        f"""
title = "Monochord"
[instrument]
scale_length = {scale}
frets = 20
[fretboard]
width = 42.0
radius = "flat"
fret_height = 1.0
[seat]
kind = "channel"
thickness = 5.0
depth = 3.0
[headstock]
break_angle_deg = 10.0
[setup]
relief = {relief}
action = {action}
floor_height = {floor}
[spacing]
margin = 19.0
{more}
[[strings]]
{string}
""",
        source="test",
    )
