"""STEP (ISO 10303-21, AP214): the solid for CAD and CAM, in mm.

The kernel writes the solid; the header, the product's name and everything that would differ
from day to day are ours, so that the same nut gives the same bytes.
"""

import re
from dataclasses import dataclass

from nutgen.export.stamp import Stamp
from nutgen.model import kernel
from nutgen.model.kernel import Solid, making

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
    """Text as a string of the exchange structure: quotes and backslashes doubled, others as \\\\X2\\\\.

    Source: ISO 10303-21, 6.4.3 (from memory): 16-bit code units in hexadecimal between \\\\X2\\\\ and \\\\X0\\\\.
    """
    parts = []
    for run in re.findall(r"[ -~]+|[^ -~]+", text):
        if " " <= run[0] <= "~":
            parts.append(run.replace("\\", "\\\\").replace("'", "''"))
        else:
            parts.append(f"\\X4\\{run.encode('utf-32-be').hex().upper()}\\X0\\")
    return f"'{''.join(parts)}'"


@dataclass(frozen=True, slots=True)
class StepReading:
    """What a fresh reader finds in a STEP file; volume in mm3, unit and product as the text has them."""

    product: str
    unit: str
    solids: int
    volume: float


def read_back_step(data: bytes) -> StepReading:
    """Read a STEP file again: the shape by the kernel's reader, the names straight from the text."""
    text = data.decode("ascii")
    flat = re.sub(r"\s+", "", text)
    product = _PRODUCT.search(text)
    with making("the reading of the STEP file"):
        volume = sum(solid.Volume() for solid in kernel.step_solids(data))
    return StepReading(
        product=product[1] if product else "",
        unit="mm" if "SI_UNIT(.MILLI.,.METRE.)" in flat else "",
        solids=len(re.findall(r"=\s*MANIFOLD_SOLID_BREP\(", text)),
        volume=volume,
    )
