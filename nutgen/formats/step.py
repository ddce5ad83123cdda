"""STEP (ISO 10303-21, AP214): the solid for CAD and CAM, in mm.

The kernel writes the solid; the header, the product's name and everything that would differ
from day to day are ours, so that the same nut gives the same bytes.
"""

import re

from nutgen.formats.stamp import Stamp
from nutgen.geometry import kernel
from nutgen.geometry.kernel import Solid, making

WRITTEN = "2000-01-01T00:00:00"
"""The time that every file claims: a true one would change the bytes from run to run."""

_SCHEMA = "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }"
_PRODUCT = re.compile(r"=\s*PRODUCT\(\s*('(?:[^']|'')*')\s*,\s*'(?:[^']|'')*'\s*,")


def step_bytes(solid: Solid, stamp: Stamp) -> bytes:
    """A solid as a STEP file whose product is named after the title.

    raises : KernelError where the solid cannot be written
    """
    with making("the STEP file"):
        text = kernel.step_text(solid)
    data = text[text.index("DATA;") :]
    name = part21_string(stamp.title)
    data, found = _PRODUCT.subn(lambda _: f"= PRODUCT({name},{name},", data, count=1)
    if found != 1:
        raise kernel.KernelError("the STEP file names no product")
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
    Source: ISO 10303-21, 6.4.3, from memory; the tests decode it with another library.
    """
    parts = []
    for run in re.findall("[ -~]+|[\x00-\x1f\x7f-\uffff]+|[\U00010000-\U0010ffff]+", text):
        if " " <= run[0] <= "~":
            parts.append(run.replace("\\", "\\\\").replace("'", "''"))
        else:
            page, code = ("X4", "utf-32-be") if run[0] > "\uffff" else ("X2", "utf-16-be")
            parts.append(f"\\{page}\\{run.encode(code, 'replace').hex().upper()}\\X0\\")
    return f"'{''.join(parts)}'"
