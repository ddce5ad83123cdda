"""The maker's machines: the printer and the router, and how far each may be trusted.

Every default is common practice, no source: it lets files be made before the machine is known.
"""

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import Field, StrictBool, StrictInt
from pydantic_core import core_schema

from nutgen.errors import Unreadable
from nutgen.spec.fields import FieldType, in_parts, length, one_of, several
from nutgen.spec.toml_table import TomlTable
from nutgen.spec.values import shown_value

End = Literal["flat", "ball"]
ENDS: tuple[End, ...] = ("flat", "ball")
MOST_CUTTERS = 12

COUPON_MOST = 6
"""Slots of the fit coupon to either side of the nominal one."""

COUPON_MOST_LAYERS = 2
"""Steps of the coupon's stair to either side of the seat's thickness."""

COUPON_STEP = 0.035
"""From one slot of the coupon to the next: half of it is the most a width can be off afterwards [mm]."""


@dataclass(frozen=True, slots=True)
class Cutter:
    """A cutter by its diameter [mm] and the shape of its end."""

    diameter: float
    end: End

    @property
    def radius(self) -> float:
        """Half the diameter [mm]."""
        return self.diameter / 2.0

    @property
    def words(self) -> str:
        """As a maker would say it."""
        return f"{self.diameter:.4g} {self.end}"


def one_cutter() -> FieldType:
    """One cutter: { diameter = , end = } or text such as "1 ball", "1/8 in flat"."""
    parts = in_parts(Cutter, Cutter, {"diameter": length(0.1, 100.0), "end": one_of(*ENDS)})

    def split(value: Any) -> Any:
        if isinstance(value, str) and len(value.split()) > 1:
            return dict(zip(("diameter", "end"), value.rsplit(maxsplit=1), strict=True))
        if not isinstance(value, dict | Cutter):
            raise Unreadable("mill.not-a-cutter", written=shown_value(value))
        return value

    core = core_schema.no_info_before_validator_function(split, parts.core)
    return FieldType(core, {"anyOf": [parts.schema, {"type": "string", "pattern": " (flat|ball)$"}]})


CUTTERS = several(one_cutter(), most=MOST_CUTTERS, like=["3 flat", "1 ball"])
USUAL_CUTTERS = (Cutter(3.0, "flat"), Cutter(2.0, "ball"), Cutter(1.0, "ball"), Cutter(0.5, "ball"))


def side_from_coupon(slot: int, step: float) -> float:
    """What is to be added to every side where a string enters this slot of the coupon and no narrower one [mm].

    The string enters slot k but not slot k - 1, which was drawn one step narrower: a slot
    comes out narrower than drawn by something between k - 1 and k steps. The middle is taken.
    """
    return -(slot - 0.5) * step / 2.0


class Print(TomlTable):
    """The printer."""

    nozzle: Annotated[float, length(0.1, 5.0)] = 0.4
    """diameter of the nozzle"""
    layer_height: Annotated[float, length(0.02, 0.6)] = 0.2
    """thickness of one layer"""
    line_width: Annotated[float, length(0.1, 6.0)] | None = None
    """width of one printed line; the nozzle's where not given"""
    material: Literal["PLA", "PETG", "ABS", "nylon", "resin"] = "PLA"
    """what is printed; a printed nut is a trial nut"""
    down: Literal["best", "back", "front"] = "best"
    """the face on the bed; the better one is worked out where not said"""
    per_side: Annotated[float, length(-0.3, 0.3)] = 0.0
    """added to every side in the plane of the layers; negative where prints come out fat"""
    coupon_slot: StrictInt | None = Field(None, ge=-COUPON_MOST, le=COUPON_MOST)
    """fit coupon: step of the narrowest slot that the string enters; sets per_side"""
    coupon_seat: StrictInt | None = Field(None, ge=-COUPON_MOST_LAYERS, le=COUPON_MOST_LAYERS)
    """fit coupon: step of the thickest stair that slides into the seat"""
    coupon_step: Annotated[float, length(0.01, 0.2)] = COUPON_STEP
    """fit coupon: from one slot to the next"""
    pilot_walls: Annotated[float, length(0.02, 1.0)] = 0.10
    """left for the file on each wall of a slot that is printed narrower"""
    pilot_floors: Annotated[float, length(0.0, 2.0)] = 0.15
    """left for the file above the final floor of such a slot"""

    bed: Annotated[tuple[float, ...], several(length(60.0, 1000.0), least=2, most=2)] = (180.0, 180.0)
    """width and depth of the bed"""

    @property
    def line(self) -> float:
        """Width of one printed line [mm]."""
        return float(self.nozzle if self.line_width is None else self.line_width)

    @property
    def added_per_side(self) -> float:
        """What is added to every side, given or read from the coupon [mm]."""
        if self.coupon_slot is None:
            return float(self.per_side)
        return side_from_coupon(self.coupon_slot, self.coupon_step)


class Mill(TomlTable):
    """The router: its cutters, and the stock as it is clamped, on its underside."""

    cutters: Annotated[tuple[Cutter, ...], CUTTERS] = USUAL_CUTTERS
    """each { diameter = , end = "flat" or "ball" }"""
    stock_length: Annotated[float, length(10.0, 1000.0)] | None = None
    """of the stock, along the nut; the nut's, and at either end a clamp's, where not given"""
    stock_thickness: Annotated[float, length(1.0, 500.0)] | None = None
    """of the stock, front to back; the squared blank's where not given"""
    stock_height: Annotated[float, length(1.0, 500.0)] | None = None
    """of the stock, from its underside up; the squared blank's where not given"""
    dogbones: StrictBool = False
    """cut inside corners of outlines out to clear the corner point"""
