"""What the head of a mesh file claims, held against its size before anything is read in earnest."""

import json
import re
import struct
import zipfile
from pathlib import Path

LARGEST_FILE = 400_000_000
"""Bytes of a mesh file."""

LARGEST_TEXT = 150_000_000
"""Bytes of a mesh that is written as text, unpacked: it takes several times that in memory."""

MOST_TRIANGLES = 3_000_000
MOST_VERTICES = 3 * MOST_TRIANGLES
MOST_PARTS = 1_000
MOST_JOINED = 16
LONGEST_HEAD = 65_536
LONGEST_GLB_HEAD = 16_000_000

PLY_BYTES = {
    **dict.fromkeys(("char", "uchar", "int8", "uint8"), 1),
    **dict.fromkeys(("short", "ushort", "int16", "uint16", "float16"), 2),
    **dict.fromkeys(("int", "uint", "float", "int32", "uint32", "float32"), 4),
    **dict.fromkeys(("double", "int64", "uint64", "float64"), 8),
}


class Refused(Exception):
    """A mesh that cannot be used, in words: what was found, what is allowed, the cure."""


def check_header(path: Path, kind: str) -> None:
    """Hold the head of a file against its size; kind is its suffix without the dot. Raises Refused."""
    size = path.stat().st_size
    {"stl": _stl, "obj": _obj, "ply": _ply, "3mf": _threemf, "glb": _glb}[kind](path, size)


def check_counts(*, vertices: int, triangles: int) -> None:
    """Refuse more than can be handled."""
    if triangles > MOST_TRIANGLES or vertices > MOST_VERTICES:
        found = f"{triangles:,} triangles" if triangles > MOST_TRIANGLES else f"{vertices:,} vertices"
        raise Refused(f"has {found}; at most {MOST_TRIANGLES:,} triangles are read: thin it out to about 200,000")


def _check_text(size: int) -> None:
    if size > LARGEST_TEXT:
        raise Refused(
            f"is text of {size / 1e6:.0f} MB; at most {LARGEST_TEXT // 10**6} MB: save it as binary STL or PLY"
        )


def _stl(path: Path, size: int) -> None:
    with path.open("rb") as file:
        head = file.read(1000)
    count = struct.unpack_from("<I", head, 80)[0] if len(head) >= 84 else 0
    if size == 84 + 50 * count and count:
        check_counts(vertices=0, triangles=count)
    elif head.lstrip()[:5].lower() == b"solid" and b"\0" not in head:
        _check_text(size)
        if b"facet" not in head.lower():
            raise Refused("begins like a text STL but holds no facet: export the mesh again")
    elif len(head) < 84 or b"\0" not in head:
        raise Refused("is neither a binary nor a text STL: export the mesh again as binary STL")
    else:
        holds = max(0, size - 84) / 50
        raise Refused(
            f"says it has {count:,} triangles, but its size is that of {holds:,.1f}: cut short? save it again"
        )


def _obj(path: Path, size: int) -> None:
    _check_text(size)
    with path.open("rb") as file:
        if b"\0" in file.read(LONGEST_HEAD):
            raise Refused("is not text, so not an OBJ: export the mesh again")


def _ply(path: Path, size: int) -> None:
    with path.open("rb") as file:
        raw = file.read(LONGEST_HEAD)
    found = re.search(rb"end_header[ \t]*\r?\n?", raw)
    if not raw.startswith(b"ply") or found is None:
        raise Refused("is not a PLY: it does not begin with the word ply and a head that ends in end_header")
    lines = [line.split() for line in raw[: found.start()].decode("latin-1").splitlines()[1:]]
    lines = [words for words in lines if words and words[0] not in ("comment", "obj_info")]
    try:
        elements = _ply_elements(lines)
        text = next(words[1] for words in lines if words[0] == "format") == "ascii"
    except (ValueError, KeyError, IndexError, StopIteration):
        raise Refused("has a PLY head that cannot be read: save it again as binary PLY") from None
    counts = {name: count for name, count, _ in elements}
    if not counts.get("vertex") or not counts.get("face"):
        raise Refused("has no faces: a cloud of points is no surface; make a mesh of it first")
    if text:
        _check_text(size)
    check_counts(vertices=counts["vertex"], triangles=counts["face"])
    least = sum(count * (2 if text else bytes_each) for _, count, bytes_each in elements)
    if min(counts.values()) < 0 or least > size - found.end():
        claimed = f"{counts['vertex']:,} vertices and {counts['face']:,} faces"
        raise Refused(f"says it has {claimed}, but is too short for them with {size:,} bytes: cut short? save it again")


def _ply_elements(lines: list[list[str]]) -> list[tuple[str, int, int]]:
    """Name, count, and least bytes of one: an empty list still states its own length."""
    elements = list[tuple[str, int, int]]()
    for words in lines:
        if words[0] == "element":
            elements.append((words[1], int(words[2]), 0))
        elif words[0] == "property":
            name, count, bytes_each = elements[-1]
            elements[-1] = (name, count, bytes_each + PLY_BYTES[words[2] if words[1] == "list" else words[1]])
    return elements


def _threemf(path: Path, size: int) -> None:
    try:
        with zipfile.ZipFile(path) as package:
            entries = package.infolist()
            if len(entries) > MOST_PARTS:
                raise Refused(f"holds {len(entries):,} files; at most {MOST_PARTS:,}")
            _check_unpacked(sum(entry.file_size for entry in entries), size)
            unpacked = 0
            for entry in entries:
                unpacked = _read_through(package, entry, unpacked, size)
    except (
        zipfile.BadZipFile,
        EOFError,
        OSError,
        RuntimeError,
        NotImplementedError,
        ValueError,
        struct.error,
    ) as error:
        raise Refused(f"is not a sound 3MF (a zip package): {error}".rstrip(": ")) from None


def _check_unpacked(unpacked: int, size: int) -> None:
    if unpacked > LARGEST_TEXT:
        raise Refused(
            f"unpacks from {size / 1e6:.1f} to more than {LARGEST_TEXT // 10**6} MB; that is refused unread:"
            " save the mesh as binary STL or PLY"
        )


def _read_through(package: zipfile.ZipFile, entry: zipfile.ZipInfo, before: int, size: int) -> int:
    """Unpack one file of a package piece by piece, keeping none; how much is unpacked with it, in bytes."""
    unpacked, tail, parts = before, b"", 0
    with package.open(entry) as file:
        while part := file.read(1 << 20):
            unpacked += len(part)
            _check_unpacked(unpacked, size)
            if entry.filename.lower().endswith(".model"):
                text = tail + part
                if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
                    raise Refused("defines its own XML entities, which 3MF forbids: save the mesh again")
                # objects within objects multiply, so that a few lines can stand for millions of triangles
                parts += sum(found.end() > len(tail) for found in re.finditer(rb"<[\w:]{0,20}(component|item)\s", text))
                if parts > MOST_JOINED:
                    raise Refused(f"is put together of more than {MOST_JOINED} parts; save the one mesh alone")
                tail = text[-40:]
    return unpacked


def _glb(path: Path, size: int) -> None:
    with path.open("rb") as file:
        head = file.read(20)
        if len(head) < 20 or head[:4] != b"glTF":
            raise Refused("is not a GLB: it does not begin with glTF")
        version, length, head_length, head_kind = struct.unpack("<IIII", head[4:])
        if version != 2:
            raise Refused(f"is a GLB of version {version}; read is version 2")
        if length != size or head_length > min(size - 20, LONGEST_GLB_HEAD) or head_kind != 0x4E4F534A:
            raise Refused(f"says it has {length:,} bytes and a head of {head_length:,}, but has {size:,}: cut short?")
        try:
            tree = json.loads(file.read(head_length))
        except (ValueError, RecursionError):
            raise Refused("has a head that is not JSON: save the mesh again") from None
        left, at = size - 20 - head_length, 20 + head_length
        while left >= 8:
            file.seek(at)
            (chunk,) = struct.unpack("<I", file.read(4))
            if chunk > left - 8:
                raise Refused(f"has a part of {chunk:,} bytes where {left - 8:,} are left: cut short? save it again")
            left, at = left - 8 - chunk, at + 8 + chunk
    try:
        _glb_tree(tree)
    except (TypeError, AttributeError, KeyError, ValueError):
        raise Refused("has a head that no GLB has: save the mesh again") from None


def _glb_tree(tree: dict[str, list[dict[str, object]]]) -> None:
    if any(not str(buffer.get("uri", "data:")).startswith("data:") for buffer in tree.get("buffers", [])):
        raise Refused("refers to another file; only what it holds itself is read: save it as one GLB")
    packed = [str(name) for name in tree.get("extensionsRequired", []) if "compression" in str(name)]
    if packed:
        raise Refused(f"is packed by {', '.join(packed)[:80]}, which is not read: save it without compression")
    if len(tree.get("nodes", [])) > MOST_PARTS or len(tree.get("meshes", [])) > MOST_PARTS:
        raise Refused(f"holds more than {MOST_PARTS:,} parts; save the one mesh alone")
    for accessor in tree.get("accessors", []):
        count = accessor["count"]
        if not isinstance(count, int) or not 0 <= count <= MOST_VERTICES:
            raise Refused(f"says that one of its lists is {str(count)[:20]} long; at most {MOST_VERTICES:,}")
