"""STEP (ISO 10303-21, AP214): the solid for CAD and CAM, in mm.

The kernel writes the solid; the header, the product's name and everything that would differ
from day to day are ours, so that the same nut gives the same bytes. Names, unit and corners are read
back straight from the text, the volume by the kernel's own reader, which is no independent one.
"""

import re
from dataclasses import dataclass

from nutgen.errors import KernelError
from nutgen.formats.stamp import Stamp
from nutgen.geometry import kernel
from nutgen.geometry.kernel import Solid, making

WRITTEN = "2000-01-01T00:00:00"
"""The time that every file claims: a true one would change the bytes from run to run."""

_SCHEMA = "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }"
_PRODUCT = re.compile(r"=\s*PRODUCT\(\s*('(?:[^']|'')*')\s*,\s*'(?:[^']|'')*'\s*,")
_POINT = re.compile(r"#(\d+) ?= ?CARTESIAN_POINT\('[^']*',\(([^)]*)\)\)")
_VERTEX = re.compile(r"VERTEX_POINT\('[^']*',#(\d+)\)")


def step_bytes(solid: Solid, stamp: Stamp) -> bytes:
    """A solid as a STEP file whose product is named after the title.

    Parameters
    ----------
    solid : Solid
        Of the kernel [mm].
    stamp : Stamp
        Title, hash and program for the header.

    Returns
    -------
    bytes
        The file; the same solid and stamp give the same bytes.

    Raises
    ------
    KernelError
        Where the solid cannot be written.
    """
    with making("the STEP file"):
        text = kernel.step_text(solid)
    data = text[text.index("DATA;") :]
    name = part21_string(stamp.title)
    data, found = _PRODUCT.subn(lambda _: f"= PRODUCT({name},{name},", data, count=1)
    if found != 1:
        raise KernelError("the STEP file", "it names no product")
    program = part21_string(stamp.program)
    header = [
        "ISO-10303-21;",
        "HEADER;",
        f"FILE_DESCRIPTION(({part21_string(stamp.line)}),'2;1');",
        f"FILE_NAME({name},'{WRITTEN}',(''),(''),{program},{program},'');",
        f"FILE_SCHEMA(('{_SCHEMA}'));",
        "ENDSEC;",
    ]
    return "\n".join([*header, data]).encode("ascii")


def part21_string(text: str) -> str:
    """Text as a string of the exchange structure.

    Quotes and backslashes are doubled; other letters stand as hexadecimal UTF-16 between X2 and
    X0, each within backslashes, and those beyond the basic plane as UTF-32 between X4 and X0.

    Parameters
    ----------
    text : str
        Any letters.

    Returns
    -------
    str
        ASCII, quotes around it.

    References
    ----------
    ISO 10303-21, 6.4.3, from memory; the tests decode it with another library.
    """
    parts = []
    for run in re.findall("[ -~]+|[\x00-\x1f\x7f-\uffff]+|[\U00010000-\U0010ffff]+", text):
        if " " <= run[0] <= "~":
            parts.append(run.replace("\\", "\\\\").replace("'", "''"))
        else:
            page, code = ("X4", "utf-32-be") if run[0] > "\uffff" else ("X2", "utf-16-be")
            parts.append(f"\\{page}\\{run.encode(code, 'replace').hex().upper()}\\X0\\")
    return f"'{''.join(parts)}'"


@dataclass(frozen=True, slots=True)
class StepContent:
    """What the text of a STEP file says.

    unit            : "mm" where it says so
    solids          : closed bodies in it
    lowest, highest : corners of a box around all vertices [mm]
    """

    unit: str
    solids: int
    lowest: tuple[float, ...]
    highest: tuple[float, ...]


def read_step(data: bytes) -> StepContent:
    """Read the text of a STEP file of ours.

    Parameters
    ----------
    data : bytes
        The file.

    Returns
    -------
    StepContent
        Unit, number of solids, box [mm].

    Raises
    ------
    ValueError
        Where it is not whole.
    """
    text = re.sub(r"\n\s*", "", data.decode("ascii"))
    if not text.startswith("ISO-10303-21;") or not text.rstrip().endswith("END-ISO-10303-21;"):
        raise ValueError("is not a whole STEP file")
    places = {at: [float(word) for word in place.split(",")] for at, place in _POINT.findall(text)}
    axes = list(zip(*(places[at] for at in _VERTEX.findall(text)), strict=True))
    return StepContent(
        unit="mm" if "SI_UNIT(.MILLI.,.METRE.)" in text.replace(" ", "") else "unknown",
        solids=text.count("MANIFOLD_SOLID_BREP("),
        lowest=tuple(map(min, axes)),
        highest=tuple(map(max, axes)),
    )


def step_volume(data: bytes) -> float:
    """Volume of the solids in a STEP file, by the kernel's own reader.

    Parameters
    ----------
    data : bytes
        The file.

    Returns
    -------
    float
        Of all solids together [mm3].

    Raises
    ------
    KernelError
        Where the kernel refuses the file.
    """
    with making("the reading of the STEP file"):
        return sum(kernel.volume(solid) for solid in kernel.step_solids(data))
