"""The hash of a file names its values and stays the same for good: files that were made carry it."""

import tomllib
from pathlib import Path

import pytest

from nutgen.spec.presets import find_piece, kind_names, kind_path, piece_names
from nutgen.spec.read import piece_hash, read_piece, read_spec, spec_hash
from nutgen.spec.toml_table import TomlTable, canonical

HERE = Path(__file__).parent / "files"
HASHES = tomllib.loads((HERE / "hashes.txt").read_text("utf-8"))


class Earlier(TomlTable):
    width: float = 1.0


class Later(Earlier):
    depth: float = 2.0


def test_every_kind_and_piece_has_its_hash() -> None:
    assert list(HASHES["kinds"]) == kind_names()
    assert list(HASHES["pieces"]) == piece_names()


@pytest.mark.parametrize(("name", "digits"), HASHES["kinds"].items())
def test_kinds(name: str, digits: str) -> None:
    assert spec_hash(read_spec(kind_path(name))) == digits


@pytest.mark.parametrize(("name", "digits"), HASHES["pieces"].items())
def test_pieces(name: str, digits: str) -> None:
    assert piece_hash(read_piece(find_piece(name))) == digits


@pytest.mark.parametrize(("name", "digits"), HASHES["instrument files"].items())
def test_instrument_files(name: str, digits: str) -> None:
    assert spec_hash(read_spec(HERE / f"{name}.toml")) == digits


@pytest.mark.parametrize(("name", "digits"), HASHES["piece files"].items())
def test_piece_files(name: str, digits: str) -> None:
    assert piece_hash(read_piece(HERE / f"{name}.toml")) == digits


def test_a_key_that_comes_later_changes_no_text() -> None:
    assert canonical(Later(width=3.0)) == canonical(Earlier(width=3.0))
    assert canonical(Later(width=3.0, depth=1.0)) != canonical(Earlier(width=3.0))


def anew() -> str:
    """The file of hashes as this code makes them; a new kind or piece is the one reason to write it."""
    found = {
        "kinds": {name: spec_hash(read_spec(kind_path(name))) for name in kind_names()},
        "pieces": {name: piece_hash(read_piece(find_piece(name))) for name in piece_names()},
        '"instrument files"': {
            name: spec_hash(read_spec(HERE / f"{name}.toml")) for name in HASHES["instrument files"]
        },
        '"piece files"': {name: piece_hash(read_piece(HERE / f"{name}.toml")) for name in HASHES["piece files"]},
    }
    tables = ["\n".join([f"[{head}]", *(f'{k} = "{v}"' for k, v in rows.items())]) for head, rows in found.items()]
    head, _, _ = (HERE / "hashes.txt").read_text("utf-8").partition("[")
    return head + "\n\n".join(tables) + "\n"


if __name__ == "__main__":
    (HERE / "hashes.txt").write_text(anew(), "utf-8")
