"""nutgen: a new nut for a fretted instrument, from caliper readings to files on the bench.

The face for Python; all else is private and may change::

    spec = nutgen.read("mine.toml")
    nut = nutgen.solve(spec)
    shape = nutgen.solid(nut)
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from cadquery import Solid

    from nutgen.finding import Finding
    from nutgen.nut import Nut
    from nutgen.spec.tables import Spec

__version__ = "0.1.0"
__all__ = ["findings", "read", "solid", "solve"]


def read(file: str | Path) -> Spec:
    """Read an instrument file.

    Parameters
    ----------
    file : str or Path
        A TOML file, or the name of an instrument kind.

    Returns
    -------
    Spec
        Frozen and hashable, every length in mm.

    Raises
    ------
    nutgen.errors.SpecFaults
        With every fault of the file.
    """
    from nutgen.spec.presets import find_file
    from nutgen.spec.read import read_spec

    return read_spec(find_file(str(file)))


def solve(spec: Spec) -> Nut:
    """Work out the nut that a file asks for.

    Parameters
    ----------
    spec : Spec
        From `read`.

    Returns
    -------
    Nut
        Every number that a maker or a drawing needs, in mm and in the nut's own frame: x across, 0 on the
        centre line; y from the front face toward the headstock; z up from the board.

    Raises
    ------
    nutgen.errors.CannotBeMade
        With every reason.
    """
    from nutgen.errors import CannotBeMade
    from nutgen.nut import solve as solved

    try:
        return solved(spec)
    except CannotBeMade as error:
        error.units = spec.units
        raise


def solid(nut: Nut) -> Solid:
    """Make the nut as one closed, valid solid.

    Parameters
    ----------
    nut : Nut
        From `solve`: the finished part; `nut.rough()` has the allowances of the file on.

    Returns
    -------
    cadquery.Solid
        In the nut's own frame [mm].

    Raises
    ------
    nutgen.errors.CannotBeMade
        Where the kernel cannot make it.
    """
    from nutgen.model.solid import nut_solid

    return nut_solid(nut)


def findings(nut: Nut) -> tuple[Finding, ...]:
    """What a luthier would say of a nut: warnings, notes and what was taken for granted.

    Parameters
    ----------
    nut : Nut
        From `solve`.

    Returns
    -------
    tuple of Finding
        Each with a stable code, a severity, whom it is about, and values in mm.
    """
    return nut.findings
