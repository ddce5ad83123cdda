"""What is done at each stage, how it is measured and what can hurt, in words for the sheet."""

import math

from nutgen.bench.materials import Material
from nutgen.bench.sizes import has_bevel
from nutgen.nut.part import Nut
from nutgen.spec.workshop import Tools


def how_to(stage: str, nut: Nut, material: Material) -> str:
    """What to do at a stage."""
    block, top, slots = _block(nut, material), _top(nut), _slots(nut, material)
    return (block | top | slots)[stage]


def _block(nut: Nut, material: Material) -> dict[str, str]:
    sawn = (
        f"Saw a block out of the soundest part, {material.left_on.sawn_face:.1f} mm over on every face; draw the"
        " front face and the top on it, so that no porous or soft spot lies under a string."
    )
    printed = "Nothing to saw: cut off brim and supports, and let the part cool flat."
    arch = f"an arch of radius {1.0 / nut.underside.curvature:.0f} mm" if nut.underside.curvature else "flat"
    beds = {
        "channel": "until it goes into its channel with an easy press of the thumb, never a wedge",
        "ledge": "until it stands on its ledge without rocking, hard against the end of the board",
        "surface": "until it stands on the board without rocking",
    }
    return {
        "saw": printed if material.printed else sawn,
        "square": (
            "Flatten one face on paper stuck to glass: that is the front face. Square the underside to it, then the"
            " back, the top and the ends, checking with a small square against the light."
        ),
        "thickness": (
            "Sand the back face only, the paper on glass, turning the blank end for end every ten strokes so that it"
            f" does not taper; end on {material.last_coarse}."
        ),
        "fit to seat": (
            f"Clean old glue out of the seat. Bed the underside ({arch}) with a few strokes at a time, then the back"
            f" face, {beds[nut.seat_kind]}. Hold it to the light: no gap under it or in front."
        ),
        "ends": "Mark both ends against the board, centred, and sand them square down to the marks.",
    }


def _top(nut: Nut) -> dict[str, str]:
    crown = f"an arc of radius {nut.top_radius:.0f} mm" if math.isfinite(nut.top_radius) else "a straight line"
    bevel = (
        f"File the bevel at {nut.bevel_deg:g} degrees down to the back face, parallel to the crown, up to a pencil"
        f" line {nut.land:.2f} mm behind the front edge; the strings start on that land."
        if has_bevel(nut)
        else "Nothing to do: this top runs level to the back face."
    )
    eased = (
        f"Ease the ends and the back top edge to a radius of {nut.edge_radius:g} mm; "
        if nut.edge_radius
        else "Leave the edges crisp; "
    )
    return {
        "crown": (
            f"File the top to {crown} along the template's line, square to the front face, from the middle outward;"
            " check the height at the middle and both ends in turn."
        ),
        "bevel": bevel,
        "dress the top": (
            "With the slots at their floors, sand the top down, land and bevel alike, until each string lies as deep"
            " in its slot as its size says. The floors are not touched."
        ),
        "polish": (
            "Go through the papers in order, each until the scratches of the one before are gone and no longer."
            f" {eased}keep the front top edge sharp. Draw a used string with polish through each slot, twice."
        ),
    }


def _slots(nut: Nut, material: Material) -> dict[str, str]:
    return {
        "rough slots": (
            "Mark the slots from the template, scribe them, and start each with the narrowest tool along its own line"
            " toward its tuner. Lay the leaves of the rough stop on the board and file down, dipping toward the"
            " headstock by the slot's tilt."
        ),
        "final slots": (
            "Fit the nut dry, strings off or slack. Push the stop stack up to the front face, centred under the"
            " string and lying along it, and file on until the file just touches steel; then stop. Widen by rocking"
            " until the string drops in under its own weight and does not move sideways."
        ),
        "fix": (
            "String up to pitch, press each string down just in front of the nut, and read the clearance at fret 1."
            " When all are right, hold the nut with one small dab of glue that lets go again: the strings do the rest."
        ),
    }


def how_to_measure(stage: str, nut: Nut, tools: Tools) -> str:
    """How the sizes of a stage are measured with the tools at hand."""
    caliper = f"caliper, to {tools.caliper:g} mm"
    coarse = (
        " This caliper is too coarse for the last tenths: compare against a stack of feeler leaves instead."
        if tools.caliper > 0.05
        else ""
    )
    words = {
        "saw": f"{caliper}: the smallest of three places on each size.{coarse}",
        "square": f"{caliper}, at both ends and the middle; a square against the light.{coarse}",
        "thickness": f"{caliper}, at the four corners and the middle: the smallest counts.{coarse}",
        "fit to seat": (
            f"The seat itself, and a leaf in the gap where it stands off. Height from the underside: {caliper}.{coarse}"
        ),
        "ends": f"{caliper}, end to end, and a fingertip along the edge of the board.{coarse}",
        "crown": f"{caliper}, jaws over underside and top at the front face: greatest height, then each end.{coarse}",
        "bevel": f"{caliper}, jaws over underside and top at the back face; the land with its tips.{coarse}",
        "rough slots": "Leaves on the board: the tool touches them, no deeper. Width: the tool's own.",
        "final slots": (
            "Leaves on the board in front of the nut. Width: the string itself, or a drill shank or leaf of that size."
        ),
        "dress the top": (
            "Lay a piece of each string in its slot and a straightedge across the top beside it: what stands proud is"
            " the gauge less the depth: "
            + ", ".join(f"string {slot.number} {slot.gauge - slot.depth:+.2f} mm" for slot in nut.slots)
            + f" once polished. Heights by {caliper}."
        ),
        "polish": f"{caliper}, after each paper.{coarse}",
        "fix": "Feeler leaves between the open string and fret 1, at pitch: the leaf that just drags, not lifts.",
    }
    return words[stage]


_DUST = "Dust: wet work or extraction, a fitted mask, no dry sweeping; see the cautions of the material."
_TURNING = "Rotary tools and belts: goggles, hair and sleeves tied back, no gloves, piece clamped or in a jig."
_EDGES = "Saws and files slip: clamp the piece, not your fingers; goggles."
_STRINGS = "A string under tension can whip: slacken it before you lift it, goggles on, face away."
_GLUE = "Thin glue bonds skin and eyes and heats on cotton or dust: goggles, air the room, keep a debonder by."

_CAUTIONS: dict[str, tuple[str, ...]] = {
    "saw": (_EDGES, _TURNING, _DUST),
    "square": (_DUST, _TURNING),
    "thickness": (_DUST,),
    "fit to seat": (_DUST, "Prise nothing out of a seat by force: score the finish first, tap the old nut sideways."),
    "ends": (_DUST,),
    "crown": (_EDGES, _DUST),
    "bevel": (_EDGES, _DUST),
    "rough slots": (_EDGES, _DUST),
    "final slots": (_STRINGS, _DUST, _GLUE),
    "dress the top": (_STRINGS, _DUST),
    "polish": (_DUST, _TURNING),
    "fix": (_STRINGS, _GLUE),
}


def cautions(stage: str) -> tuple[str, ...]:
    """What can hurt at a stage."""
    return _CAUTIONS[stage]
