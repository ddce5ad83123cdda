"""STEP (ISO 10303-21, AP214): the solid for CAD and CAM, in mm.

The kernel writes the solid; the header, the product's name and everything that would differ
from day to day are ours, so that the same nut gives the same bytes. `step_reader` reads the text back and
measures it; the volume is found by the kernel's own reader, which is no independent one.
"""

import re
from collections.abc import Sequence

from nutgen.errors import KernelError
from nutgen.formats.stamp import Stamp
from nutgen.geometry import exchange, kernel
from nutgen.geometry.kernel import Solid, making

WRITTEN = "2000-01-01T00:00:00"
"""The time that every file claims: a true one would change the bytes from run to run."""

_SCHEMA = "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }"
_PRODUCT = re.compile(r"=\s*PRODUCT\(\s*('(?:[^']|'')*')\s*,\s*'(?:[^']|'')*'\s*,")


def step_bytes(solid: Solid, stamp: Stamp, *, at: Sequence[float] = (0.0, 0.0, 0.0)) -> bytes:
    """A solid as a STEP file whose product is named after the title; its edges are lines, circles and B-splines.

    Parameters
    ----------
    solid : Solid
        Of the kernel [mm].
    stamp : Stamp
        Title, hash and program for the header.
    at : sequence of 3 float
        Where the zero of the solid's frame stands [mm].

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
        text = exchange.step_text(exchange.portable(solid).translate(at))
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
        return sum(kernel.volume(solid) for solid in exchange.step_solids(data))
