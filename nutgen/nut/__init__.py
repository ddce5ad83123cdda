"""The solved nut: `solve(spec)` turns a file's values into every number a maker or a drawing needs."""

from nutgen.nut.part import Allowances, Blank, Nut, Slot, Underside
from nutgen.nut.places import End
from nutgen.nut.solve import solve

__all__ = ["Allowances", "Blank", "End", "Nut", "Slot", "Underside", "solve"]
