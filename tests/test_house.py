"""The house as DEVELOPERS.md draws it, against the source: which room imports which, and how large things are.

Every import counts, those inside functions and for type checkers too.
"""

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "nutgen"
HEAVY = {"OCP", "cadquery", "ezdxf", "lib3mf", "manifold3d", "matplotlib", "reportlab", "trimesh"}
"""Libraries that take long to load; no command but those that need them may wait for them."""

UNDER_ALL = ("finding.py", "errors.py", "theory")
GROUND = (*UNDER_ALL, "process.py")
"""Rooms that the others stand on."""

MODULE_LINES, FUNCTION_LINES, FOLDER_MODULES = 350, 40, 16


@cache
def modules() -> dict[str, Path]:
    """Dotted name -> file."""
    found = {}
    for path in SOURCE.rglob("*.py"):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"))


def imported(path: Path, nodes: Iterator[ast.AST]) -> Iterator[str]:
    """Dotted names of what some nodes of a file import; a module where there is one of the name."""
    package = path.relative_to(ROOT).parent.parts
    for node in nodes:
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else ()
            base = ".".join([*above, *filter(None, [node.module])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                yield inner if inner in modules() else base


def ours(name: str) -> set[str]:
    """Modules of the package that a module imports; the package itself, which is always loaded, left out."""
    path = modules()[name]
    return {other for other in imported(path, ast.walk(tree(path))) if other in modules()} - {"nutgen", name}


@cache
def rows() -> dict[str, dict[str, set[str]]]:
    """Room -> words of its row -> rooms they mean, as DEVELOPERS.md has it; `stock/*` are the rooms inside stock."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    head = text.index("| room | subject | may import |")
    lines = re.findall(r"^\| `nutgen/([^`]*)` \|.*\|([^|]*)\|$", text[head:].partition("\n\n")[0], flags=re.MULTILINE)
    known = [room.rstrip("/") for room, _ in lines]

    def meant(word: str) -> set[str]:
        inside = word[:-1] if word.endswith("/*") else None
        return {one for one in known if one.removesuffix(".py") == word or (inside and one.startswith(inside))}

    return {room.rstrip("/"): {word: meant(word) for word in may.replace(",", " ").split()} for room, may in lines}


@cache
def table() -> dict[str, set[str]]:
    """Room -> rooms it may import; what lies under all rooms is not told in each row."""
    return {room: set().union(*row.values(), () if room in GROUND else UNDER_ALL) for room, row in rows().items()}


def room_of(path: Path) -> str:
    """The folder of a file, or the file where it lies on the landing."""
    inside = path.relative_to(SOURCE)
    return str(inside) if inside.parent == Path() else str(inside.parent)


def folders() -> set[Path]:
    return {path.parent for path in modules().values()} - {SOURCE}


def test_the_table_knows_every_room_and_no_other() -> None:
    assert set(table()) == {room_of(path) for path in modules().values()}
    landing = {path.name for path in modules().values() if path.parent == SOURCE}
    assert landing == {"__init__.py", "cli.py", "errors.py", "finding.py", "process.py"}


def test_every_import_is_allowed_by_the_table() -> None:
    broken: dict[str, list[str]] = {}
    for name, path in modules().items():
        room = room_of(path)
        for other in ours(name):
            to = room_of(modules()[other])
            if to != room and to not in table()[room]:
                broken.setdefault(f"{room} -> {to}", []).append(f"{name} imports {other}")
    assert broken == {}


def test_the_table_allows_nothing_that_is_not_used() -> None:
    used: dict[str, set[str]] = {}
    for name, path in modules().items():
        used.setdefault(room_of(path), set()).update(room_of(modules()[other]) for other in ours(name))
    idle = {room: [word for word, meant in row.items() if not meant & used[room]] for room, row in rows().items()}
    assert {room: words for room, words in idle.items() if words} == {}


def test_no_arrow_of_the_table_turns_back() -> None:
    try:
        TopologicalSorter(table()).prepare()
    except CycleError as error:
        pytest.fail(f"rooms that may import each other: {' -> '.join(error.args[1])}")


def test_no_modules_import_each_other() -> None:
    try:
        TopologicalSorter({name: ours(name) for name in modules()}).prepare()
    except CycleError as error:
        pytest.fail(" -> ".join(error.args[1]))


def test_words_need_findings_only() -> None:
    for path in (SOURCE / "documents" / "words").glob("*.py"):
        for name in imported(path, ast.walk(tree(path))):
            first = name.partition(".")[0]
            own = name.startswith(("nutgen.finding", "nutgen.documents.words"))
            assert own or first in sys.stdlib_module_names, f"{path.name} imports {name}"


def loaded(nodes: list[ast.stmt]) -> Iterator[ast.AST]:
    """What runs when a module is loaded: all but function bodies and what only type checkers read."""
    for node in nodes:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            continue
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
            yield from loaded(node.orelse)
            continue
        yield node
        for field in ("body", "orelse", "finalbody"):
            yield from loaded(getattr(node, field, []))
        for handler in getattr(node, "handlers", []):
            yield from loaded(handler.body)


def at_loading(name: str) -> set[str]:
    """What a module imports when it is loaded; of a name from a package, the package too."""
    path = modules()[name]
    return set(imported(path, loaded(tree(path).body)))


def test_what_begins_every_command_loads_nothing_heavy() -> None:
    """A module that loads a heavy library is itself imported in function bodies only, and so are its importers."""
    commands = [name for name in modules() if name.startswith("nutgen.commands")]
    came_from = dict.fromkeys(["nutgen.cli", "nutgen", *commands], "")
    waiting = list(came_from)
    while waiting:
        name = waiting.pop()
        for other in at_loading(name):
            assert other.partition(".")[0] not in HEAVY, f"{other} by way of {name}, {came_from[name]}"
            if other in modules() and other not in came_from:
                came_from[other] = f"{name}, {came_from[name]}"
                waiting.append(other)


def test_no_module_is_long() -> None:
    sizes = {str(path.relative_to(SOURCE)): len(path.read_text("utf-8").splitlines()) for path in modules().values()}
    assert {name: size for name, size in sizes.items() if size > MODULE_LINES} == {}


def code_lines(path: Path, node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """Lines of a function without blank ones, comments and docstrings, its own and those of functions in it."""
    docs = set()
    for inner in ast.walk(node):
        if isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef) and ast.get_docstring(inner) is not None:
            docs.update(range(inner.body[0].lineno, (inner.body[0].end_lineno or 0) + 1))
    lines = path.read_text("utf-8").splitlines()
    numbers = range(node.lineno, (node.end_lineno or node.lineno) + 1)
    return sum(n not in docs and lines[n - 1].strip()[:1] not in ("", "#") for n in numbers)


def test_no_function_is_long() -> None:
    sizes = {
        f"{path.relative_to(SOURCE)}: {node.name}": code_lines(path, node)
        for path in modules().values()
        for node in ast.walk(tree(path))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    }
    assert {name: size for name, size in sizes.items() if size > FUNCTION_LINES} == {}


def test_no_folder_is_crowded() -> None:
    sizes = {str(folder.relative_to(SOURCE)): len(list(folder.glob("[!_]*.py"))) for folder in folders()}
    assert {name: size for name, size in sizes.items() if size > FOLDER_MODULES} == {}
