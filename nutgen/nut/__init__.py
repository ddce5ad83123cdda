"""The solved nut: `solve(spec)` turns a file's values into every number a maker or a drawing needs."""

from nutgen.nut.part import Allowances, Blank, Nut
from nutgen.nut.places import End
from nutgen.nut.seat import Underside
from nutgen.nut.slot import Slot
from nutgen.nut.solve import solve

__all__ = ["Allowances", "Blank", "End", "Nut", "Slot", "Underside", "solve"]
