"""The maker's machines: the printer and the router, and how far each may be trusted.

Every default is common practice, no source: it lets files be made before the machine is known.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Literal

from nutgen.errors import nearest, shown_value
from nutgen.spec.fields import Door, Reading, fault, length, read_entries
from nutgen.spec.table import Field, Table

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


def one_cutter() -> Door:
    """One cutter: { diameter = , end = } or text such as "1 ball", "1/8 in flat"."""
    size = length(0.1, 100.0)

    def read(value: object, reading: Reading) -> Cutter:
        if isinstance(value, Mapping):
            if set(value) != {"diameter", "end"}:
                raise fault(f"has {', '.join(map(str, value)) or 'nothing'}", "write { diameter = , end = }")
            diameter, end = value["diameter"], value["end"]
        elif isinstance(value, str) and len(value.split()) > 1:
            diameter, end = value.rsplit(maxsplit=1)
        else:
            raise fault(
                f"{shown_value(value)} is not a cutter", 'write { diameter = , end = } or text such as "1 ball"'
            )
        return Cutter(float(size.read(diameter, reading)), _end(end))

    both = {
        "type": "object",
        "properties": {"diameter": size.schema, "end": {"enum": list(ENDS)}},
        "required": ["diameter", "end"],
        "additionalProperties": False,
    }
    return Door(read, {"anyOf": [both, {"type": "string", "pattern": " (flat|ball)$"}]})


def _end(word: object) -> End:
    if word not in ENDS:
        near = nearest(str(word), ENDS)
        cure = f'did you mean "{near}"?' if near else ""
        raise fault(f'{shown_value(word)} is not an end that is known; allowed are "flat" and "ball"', cure)
    return "flat" if word == "flat" else "ball"


def cutter_list() -> Door:
    """A list of cutters."""
    one = one_cutter()

    def read(value: object, reading: Reading) -> tuple[Cutter, ...]:
        if not isinstance(value, list) or not 1 <= len(value) <= MOST_CUTTERS:
            raise fault(
                f"{shown_value(value)} is not a list of 1 to {MOST_CUTTERS} cutters",
                'write [{ diameter = 3.0, end = "flat" }, ...]',
            )
        return read_entries(value, one.read, reading)

    return Door(read, {"type": "array", "items": one.schema, "minItems": 1, "maxItems": MOST_CUTTERS})


class Print(Table):
    """The printer."""

    nozzle: Annotated[float, length(0.1, 5.0)] = Field(default=0.4, description="diameter of the nozzle")
    layer_height: Annotated[float, length(0.02, 0.6)] = Field(default=0.2, description="thickness of one layer")
    line_width: Annotated[float, length(0.1, 6.0)] | None = Field(
        default=None, description="width of one printed line; the nozzle's where not given"
    )
    material: Literal["PLA", "PETG", "ABS", "nylon", "resin"] = Field(
        default="PLA", description="what is printed; a printed nut is a trial nut"
    )
    down: Literal["best", "back", "front"] = Field(
        default="best", description="the face on the bed; the better one is worked out where not said"
    )
    xy_per_side: Annotated[float, length(-0.3, 0.3)] = Field(
        default=0.0,
        description="added to every side in the plane of the layers; negative where prints come out fat",
    )
    coupon_slot: Annotated[int, Field(ge=-COUPON_MOST, le=COUPON_MOST)] | None = Field(
        default=None, description="fit coupon: step of the narrowest slot that the string enters; sets xy_per_side"
    )
    coupon_seat: Annotated[int, Field(ge=-COUPON_MOST_LAYERS, le=COUPON_MOST_LAYERS)] | None = Field(
        default=None, description="fit coupon: step of the thickest stair that slides into the seat"
    )
    coupon_step: Annotated[float, length(0.01, 0.2)] = Field(
        default=COUPON_STEP, description="fit coupon: from one slot to the next"
    )
    pilot_walls: Annotated[float, length(0.02, 1.0)] = Field(
        default=0.10, description="left for the file on each wall of a slot that is printed narrower"
    )
    pilot_floors: Annotated[float, length(0.0, 2.0)] = Field(
        default=0.15, description="left for the file above the final floor of such a slot"
    )

    @property
    def line(self) -> float:
        """Width of one printed line [mm]."""
        return float(self.nozzle if self.line_width is None else self.line_width)

    @property
    def per_side(self) -> float:
        """What is added to every side, given or read from the coupon [mm].

        The string enters slot k but not slot k - 1, which was drawn one step narrower: a slot
        comes out narrower than drawn by something between k - 1 and k steps. The middle is taken.
        """
        if self.coupon_slot is None:
            return float(self.xy_per_side)
        return -(self.coupon_slot - 0.5) * self.coupon_step / 2.0


class Mill(Table):
    """The router: its cutters, and the stock as it is clamped, on its underside."""

    cutters: Annotated[tuple[Cutter, ...], cutter_list()] = Field(
        default=(Cutter(3.0, "flat"), Cutter(2.0, "ball"), Cutter(1.0, "ball"), Cutter(0.5, "ball")),
        description='each { diameter = , end = "flat" or "ball" }',
    )
    stock_length: Annotated[float, length(10.0, 1000.0)] | None = Field(
        default=None, description="of the stock, along the nut; the squared blank's where not given"
    )
    stock_thickness: Annotated[float, length(1.0, 500.0)] | None = Field(
        default=None, description="of the stock, front to back; the squared blank's where not given"
    )
    stock_height: Annotated[float, length(1.0, 500.0)] | None = Field(
        default=None, description="of the stock, from its underside up; the squared blank's where not given"
    )
    dogbones: bool = Field(default=False, description="cut inside corners of outlines out to clear the corner point")
