"""What the head of a mesh file claims, held against its size before anything is read in earnest."""

import json
import re
import struct
import zipfile
from pathlib import Path

from nutgen.finding import Value, refusal

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


class MeshRefused(Exception):
    """A mesh that cannot be used; `finding` says what was found, and what is allowed."""

    def __init__(self, code: str, **values: Value) -> None:
        self.finding = refusal(code, **values)
        super().__init__(code)


def check_header(path: Path, kind: str) -> None:
    """Hold the head of a file against its size; kind is its suffix without the dot. Raises MeshRefused."""
    size = path.stat().st_size
    {"stl": _stl, "obj": _obj, "ply": _ply, "3mf": _threemf, "glb": _glb}[kind](path, size)


def check_counts(*, vertices: int, triangles: int) -> None:
    """Refuse more than can be handled."""
    if triangles > MOST_TRIANGLES or vertices > MOST_VERTICES:
        many = triangles > MOST_TRIANGLES
        raise MeshRefused(
            "scan.too-many-triangles",
            found=triangles if many else vertices,
            what="triangles" if many else "vertices",
            most=MOST_TRIANGLES,
        )


def _check_text(size: int) -> None:
    if size > LARGEST_TEXT:
        raise MeshRefused("scan.text-too-large", bytes=size, most=LARGEST_TEXT)


def _stl(path: Path, size: int) -> None:
    with path.open("rb") as file:
        head = file.read(1000)
    count = struct.unpack_from("<I", head, 80)[0] if len(head) >= 84 else 0
    if size == 84 + 50 * count and count:
        check_counts(vertices=0, triangles=count)
    elif head.lstrip()[:5].lower() == b"solid" and b"\0" not in head:
        _check_text(size)
        if b"facet" not in head.lower():
            raise MeshRefused("scan.stl-without-facets")
    elif len(head) < 84 or b"\0" not in head:
        raise MeshRefused("scan.no-stl")
    else:
        raise MeshRefused("scan.stl-cut-short", triangles=count, needed=84 + 50 * count, bytes=size)


def _obj(path: Path, size: int) -> None:
    _check_text(size)
    with path.open("rb") as file:
        if b"\0" in file.read(LONGEST_HEAD):
            raise MeshRefused("scan.no-obj")


def _ply(path: Path, size: int) -> None:
    with path.open("rb") as file:
        raw = file.read(LONGEST_HEAD)
    found = re.search(rb"end_header[ \t]*\r?\n?", raw)
    if not raw.startswith(b"ply") or found is None:
        raise MeshRefused("scan.no-ply")
    lines = [line.split() for line in raw[: found.start()].decode("latin-1").splitlines()[1:]]
    lines = [words for words in lines if words and words[0] not in ("comment", "obj_info")]
    try:
        elements = _ply_elements(lines)
        text = next(words[1] for words in lines if words[0] == "format") == "ascii"
    except (ValueError, KeyError, IndexError, StopIteration):
        raise MeshRefused("scan.ply-head") from None
    counts = {name: count for name, count, _ in elements}
    if not counts.get("vertex") or not counts.get("face"):
        raise MeshRefused("scan.no-faces")
    if text:
        _check_text(size)
    check_counts(vertices=counts["vertex"], triangles=counts["face"])
    least = sum(count * (2 if text else bytes_each) for _, count, bytes_each in elements)
    if min(counts.values()) < 0 or least > size - found.end():
        raise MeshRefused("scan.ply-cut-short", vertices=counts["vertex"], triangles=counts["face"], bytes=size)


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
                raise MeshRefused("scan.too-many-files", found=len(entries), most=MOST_PARTS)
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
        raise MeshRefused("scan.no-3mf", reason=str(error)) from None


def _check_unpacked(unpacked: int, size: int) -> None:
    if unpacked > LARGEST_TEXT:
        raise MeshRefused("scan.unpacks-too-large", bytes=size, most=LARGEST_TEXT)


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
                    raise MeshRefused("scan.3mf-entities")
                # objects within objects multiply, so that a few lines can stand for millions of triangles
                parts += sum(found.end() > len(tail) for found in re.finditer(rb"<[\w:]{0,20}(component|item)\s", text))
                if parts > MOST_JOINED:
                    raise MeshRefused("scan.too-many-joined", most=MOST_JOINED)
                tail = text[-40:]
    return unpacked


def _glb(path: Path, size: int) -> None:
    with path.open("rb") as file:
        head = file.read(20)
        if len(head) < 20 or head[:4] != b"glTF":
            raise MeshRefused("scan.no-glb")
        version, length, head_length, head_kind = struct.unpack("<IIII", head[4:])
        if version != 2:
            raise MeshRefused("scan.glb-version", version=version)
        if length != size or head_length > min(size - 20, LONGEST_GLB_HEAD) or head_kind != 0x4E4F534A:
            raise MeshRefused("scan.glb-cut-short", says=length, head=head_length, bytes=size)
        try:
            tree = json.loads(file.read(head_length))
        except (ValueError, RecursionError):
            raise MeshRefused("scan.glb-no-json") from None
        left, at = size - 20 - head_length, 20 + head_length
        while left >= 8:
            file.seek(at)
            (chunk,) = struct.unpack("<I", file.read(4))
            if chunk > left - 8:
                raise MeshRefused("scan.glb-part", part=chunk, left=left - 8)
            left, at = left - 8 - chunk, at + 8 + chunk
    try:
        _glb_tree(tree)
    except (TypeError, AttributeError, KeyError, ValueError):
        raise MeshRefused("scan.glb-head") from None


def _glb_tree(tree: dict[str, list[dict[str, object]]]) -> None:
    if any(not str(buffer.get("uri", "data:")).startswith("data:") for buffer in tree.get("buffers", [])):
        raise MeshRefused("scan.glb-external")
    packed = [str(name) for name in tree.get("extensionsRequired", []) if "compression" in str(name)]
    if packed:
        raise MeshRefused("scan.glb-packed", by=", ".join(packed)[:80])
    if len(tree.get("nodes", [])) > MOST_PARTS or len(tree.get("meshes", [])) > MOST_PARTS:
        raise MeshRefused("scan.too-many-parts", most=MOST_PARTS)
    for accessor in tree.get("accessors", []):
        count = accessor["count"]
        if not isinstance(count, int) or not 0 <= count <= MOST_VERTICES:
            raise MeshRefused("scan.glb-list", count=str(count)[:20], most=MOST_VERTICES)
