"""Strings whose readings contradict one another: gauge, note, pull, mass, build, and their order."""

import math
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from statistics import mean, median

from nutgen.finding import Finding, note, of_key, warning
from nutgen.nut.part import Part
from nutgen.nut.strung import strung_with
from nutgen.spec.strings import String
from nutgen.theory.unit_mass import HEX_GIRTH

THICKEST_PLAIN = {"steel": 0.66, "stainless steel": 0.66, "nylon": 1.15, "fluorocarbon": 1.15, "gut": 1.65}
THINNEST_WOUND = {"steel": 0.40, "stainless steel": 0.40, "nylon": 0.50, "fluorocarbon": 0.50, "gut": 0.50}
"""Plain strings up to .026 in of steel and .045 of nylon, wound ones from .016 and .020; gut from memory [mm]."""

BASS_MEAN = 1.2  # mm; a set as thick on the whole is a bass's
PULLS_N = {"bass": (80.0, 330.0), "steel": (35.0, 200.0), "nylon": (14.0, 130.0)}
"""Least and most pull of a set's middle string."""

CROSSED = 1.12  # the higher string's gauge over the lower one's
LEAST_SPEED = {"bass": 120.0, "steel": 280.0, "nylon": 260.0}
"""Twice scale length times pitch of a set's highest string, at least: what it pulls for its weight [m/s]."""

UNLIKE = 1.9  # times the middle pull of the set
MASS_OFF = {"plain": 0.15, "wound": 0.25}
BUILD_OFF = 0.10  # of the gauge


def doubted_strings(strings: Sequence[String], nut: Part) -> Iterator[Finding]:
    """What in the strings of a file is doubtful: warnings, about the string or its keys."""
    yield from _pulls(strings, nut)
    yield from _order(strings, nut)
    for index, string in enumerate(strings):
        who, bound = nut.slots[index].who, (THINNEST_WOUND if string.wound else THICKEST_PLAIN)[string.material]
        if string.wound and string.gauge < bound:
            yield warning("string.wound-so-thin", who, gauge=string.gauge, least=bound)
        elif not string.wound and string.gauge > bound:
            yield warning("string.plain-so-thick", who, gauge=string.gauge, most=bound)
        yield from _mass(string, index, nut)
        yield from _build(string, index, nut)


def _pulls(strings: Sequence[String], nut: Part) -> Iterator[Finding]:
    """The set's pull against what such sets pull, and each string's against the set's."""
    pulls = nut.strings.tension_n.tolist()
    middle = median(pulls)
    kind = "bass" if mean(nut.strings.gauge) > BASS_MEAN else nut.kind
    low, high = PULLS_N[kind]
    path, scale = of_key("instrument.scale_length"), nut.scale_length[0]
    speed = max(
        length * pitch / 500.0 for length, pitch in zip(nut.strings.scale_length, nut.strings.pitch_hz, strict=True)
    )
    if not low <= middle <= high:
        name, right = ("not-doubled", 2.0) if middle < low else ("doubled", 0.5)
        slips = [note(f"slip.{name}", path, likely=scale * right)] if low <= middle * right**2 <= high else []
        yield warning("set.pull-unlikely", path, pull_n=middle, low_n=low, high_n=high, slips=tuple(slips))
        return
    if speed < LEAST_SPEED[kind]:
        slips = [note("slip.not-doubled", path, likely=2.0 * scale)]
        yield warning("set.slack", path, written=scale, slips=tuple(slips))
    for index, pull in enumerate(pulls):
        if not middle / UNLIKE <= pull <= middle * UNLIKE:
            gauge, path = strings[index].gauge, of_key(f"strings[{index + 1}].gauge")
            name, right = ("halved", 2.0) if pull < middle else ("doubled", 0.5)
            near = middle / UNLIKE <= pull * right**2 <= middle * UNLIKE
            slips = [note(f"slip.{name}-gauge", path, likely=gauge * right)] if near else []
            who = nut.slots[index].who
            yield warning("string.pull-unlikely", who, gauge=gauge, pull_n=pull, middle_n=middle, slips=tuple(slips))


def _order(strings: Sequence[String], nut: Part) -> Iterator[Finding]:
    """Of strings built alike the lower one is the thicker one."""
    set_ = sorted(
        zip(strings, nut.slots, nut.strings.pitch_hz, strict=True),
        key=lambda one: (one[0].wound, one[0].material, one[2], -one[0].gauge),
    )
    for _, alike in groupby(set_, key=lambda one: (one[0].wound, one[0].material)):
        for (low, lower, _), (high, higher, _) in pairwise(alike):
            if high.gauge > CROSSED * low.gauge:
                yield warning("strings.gauges-crossed", higher.who, lower.who, gauge=high.gauge, lower_gauge=low.gauge)


def _mass(string: String, index: int, nut: Part) -> Iterator[Finding]:
    """The maker's mass against that of the gauge."""
    if string.unit_mass is None:
        return
    bare, scale = string.model_copy(update={"unit_mass": None}), nut.slots[index].scale_length
    known = strung_with([bare], scale_length=[scale], a4_hz=440.0, kind=nut.kind)
    ratio = string.unit_mass / known.unit_mass_kg_per_m[0]
    if abs(ratio - 1.0) > MASS_OFF[known.basis[0]]:
        likely = string.gauge * math.sqrt(ratio)
        yield warning(
            "string.mass-disagrees", nut.slots[index].who, off_share=abs(ratio - 1.0), gauge=string.gauge, likely=likely
        )


def _build(string: String, index: int, nut: Part) -> Iterator[Finding]:
    """Core and wraps against the gauge that they make up."""
    if string.core is None or string.wraps is None:
        return
    core = string.core * (1.0 if string.core_shape == "round" else HEX_GIRTH)
    due = core + 2.0 * sum(string.wraps)
    if abs(due - string.gauge) > BUILD_OFF * string.gauge:
        yield warning("string.build-disagrees", nut.slots[index].who, gauge=string.gauge, due=due)
