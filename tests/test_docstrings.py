"""Docstrings of what other rooms call, by numpydoc's validator: every parameter and result has its words and unit.

Where name and types say all, one sentence is enough.
"""

import ast
import inspect
import re
from pathlib import Path

import pytest
from numpydoc.validate import validate

ROOT = Path(__file__).parents[1]
ROOMS = ("theory", "nut", "geometry", "formats")
CODES = {"GL06", "GL07", "GL08", "PR01", "PR02", "PR03", "PR04", "PR07", "PR10", "RT01", "RT03", "YD01"}
"""Unknown or misplaced sections, nothing said at all, and what is missing, unknown or misplaced in a section."""


def public_functions() -> list[str]:
    """Dotted names, each of the module that defines it; read from the source, so that nothing is loaded for it."""
    return [
        ".".join([*path.relative_to(ROOT).with_suffix("").parts, node.name])
        for room in ROOMS
        for path in sorted((ROOT / "nutgen" / room).rglob("*.py"))
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")
    ]


def one_sentence(docstring: str) -> bool:
    """Nothing but a paragraph, and no list of parameters in it."""
    return "\n\n" not in docstring and not re.search(r"^ *\w+ : ", docstring, flags=re.MULTILINE)


def faults(name: str) -> list[str]:
    """What the validator finds wrong with a function's docstring."""
    found = validate(name)
    if one_sentence(inspect.cleandoc(found["docstring"] or "")) and found["docstring"]:
        return []
    return [f"{code}: {words}" for code, words in found["errors"] if code in CODES]


@pytest.mark.parametrize("name", public_functions())
def test_docstring_says_what_goes_in_and_what_comes_out(name: str) -> None:
    assert faults(name) == []
