"""Meshes for the scan tests: sound ones whose measures are known, and hostile ones written byte by byte."""

import io
import json
import struct
import zipfile
from pathlib import Path

import numpy as np
import trimesh

from nutgen.spec.piece import PieceSpec
from nutgen.spec.read import parse_piece

MODEL = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
RELS = "http://schemas.openxmlformats.org/package/2006/relationships"
TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"


def piece_spec(scan: str, *, more: str = "", ends: str = "") -> PieceSpec:
    """A piece file with these lines under [scan]."""
    text = f'title = "Trial"\n{more}\n[ends]\n{ends}\n[scan]\n{scan}\n'
    return parse_piece(text, source="piece.toml")


def cone(length: float = 80.0, first: float = 16.0, last: float = 13.0, sides: int = 96) -> trimesh.Trimesh:
    """A frustum of a cone about x, its thicker end in x = 0."""
    turn = np.linspace(0.0, 2.0 * np.pi, sides, endpoint=False)
    ring = np.column_stack([np.zeros(sides), np.cos(turn), np.sin(turn)])
    vertices = np.vstack(
        [ring * [0, first, first], ring * [0, last, last] + [length, 0, 0], [[0, 0, 0], [length, 0, 0]]]
    )
    i, j = np.arange(sides), (np.arange(sides) + 1) % sides
    a, b = np.full(sides, 2 * sides), np.full(sides, 2 * sides + 1)
    rows = [(i, j, j + sides), (i, j + sides, i + sides), (a, j, i), (b, i + sides, j + sides)]
    triangles = np.vstack([np.column_stack(row) for row in rows])
    mesh = trimesh.Trimesh(vertices, triangles, process=False)
    if mesh.volume < 0:
        mesh.invert()
    return mesh


def cone_volume(length: float = 80.0, first: float = 16.0, last: float = 13.0, sides: int = 96) -> float:
    """Of the same with flat sides: a regular polygon has sides / 2 sin(2 pi / sides) R^2, and a frustum
    L / 3 (A + B + sqrt(A B)) (any handbook of mensuration)."""
    share = sides / 2.0 * np.sin(2.0 * np.pi / sides)
    return float(share * length / 3.0 * (first**2 + last**2 + first * last))


def write_3mf(path: Path, mesh: trimesh.Trimesh, *, unit: str = "millimeter", before: str = "") -> None:
    """A 3MF package by hand, after the core specification."""
    vertices = "".join(f'<vertex x="{x:.6f}" y="{y:.6f}" z="{z:.6f}"/>' for x, y, z in mesh.vertices)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.faces)
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>{before}<model unit="{unit}" xmlns="{MODEL}"><resources>'
        f'<object id="1" type="model"><mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>'
        '</object></resources><build><item objectid="1"/></build></model>'
    )
    write_package(path, model.encode())


def write_package(path: Path, model: bytes, *, parts: int = 0) -> None:
    """A 3MF package around a model, with so many empty parts more."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr(
            "[Content_Types].xml",
            f'<?xml version="1.0"?><Types xmlns="{TYPES}"><Default Extension="rels" ContentType='
            '"application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="model" ContentType='
            '"application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>',
        )
        package.writestr(
            "_rels/.rels",
            f'<?xml version="1.0"?><Relationships xmlns="{RELS}"><Relationship Target="/3D/3dmodel.model" Id="rel0" '
            'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>',
        )
        package.writestr("3D/3dmodel.model", model)
        for number in range(parts):
            package.writestr(f"part{number}.txt", b"")


def stl_bytes(corners: np.ndarray, *, count: int | None = None) -> bytes:
    """A binary STL; count is what its head says."""
    rows = np.zeros(len(corners), np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")]))
    rows["corners"] = corners
    return b"\0" * 80 + struct.pack("<I", len(corners) if count is None else count) + rows.tobytes()


def ply_head(vertices: int, faces: int, *, form: str = "binary_little_endian") -> bytes:
    """The head of a PLY that says it has so many."""
    return (
        f"ply\nformat {form} 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {faces}\nproperty list uchar int vertex_indices\nend_header\n"
    ).encode()


def glb_bytes(tree: dict, data: bytes = b"", *, length: int | None = None, head: int | None = None) -> bytes:
    """A GLB; length and head are what its head says of the file's and the JSON's length."""
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    body = struct.pack("<I4s", len(text) if head is None else head, b"JSON") + text
    if data:
        body += struct.pack("<I4s", len(data), b"BIN\0") + data
    return b"glTF" + struct.pack("<II", 2, 12 + len(body) if length is None else length) + body


def glb_tree(accessors: list[dict], *, uri: str | None = None, byte_length: int = 0) -> dict:
    """The JSON of a GLB with one mesh."""
    buffer = {"byteLength": byte_length} | ({"uri": uri} if uri else {})
    return {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "buffers": [buffer],
        "bufferViews": [{"buffer": 0, "byteOffset": 0, "byteLength": byte_length}],
        "accessors": accessors,
    }


def zip_bomb(inner: int) -> bytes:
    """A package whose model is so many blanks [MB]."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package, package.open("3D/3dmodel.model", "w") as file:
        for _ in range(inner):
            file.write(b" " * 1_000_000)
    return out.getvalue()


def lying_bomb(inner: int) -> bytes:
    """The same, but it says that its model unpacks to 1000 bytes."""
    data = bytearray(zip_bomb(inner))
    at = data.rindex(b"PK\x01\x02")
    struct.pack_into("<I", data, at + 24, 1000)
    return bytes(data)
