"""The answer in plain words, the same on the screen, on the page and in the record."""

import math
from collections.abc import Mapping
from types import MappingProxyType

from nutgen.stock.block import Face
from nutgen.stock.laid import Answer, Laid

FACES: Mapping[Face, str] = MappingProxyType(
    {"end": "each end", "front": "front face", "back": "back face", "underside": "underside", "top": "top"}
)
"""What a maker calls each face of a block."""

LIES = ("block", "from", "to", "to the left", "up", "top turned", "off the grain", "skin", "core")
"""Heads of `lies_rows`."""


def headline(answer: Answer) -> str:
    """Yes with the spare room, or no with what is short, rounded to the careful side."""
    if not answer.fits:
        return f"No: short by {shortage(answer.margin)} mm" if math.isfinite(answer.margin) else "No"
    count = len(answer.laid)
    return f"Yes: {'one nut' if count == 1 else f'{count} nuts'}, {spare(answer.margin)} mm to spare"


def spare(margin: float) -> str:
    """Spare room as a caliper shows it, never more than there is [mm]."""
    return f"{math.floor(margin * 100.0 + 1e-6) / 100.0:.2f}"


def shortage(margin: float) -> str:
    """What is missing as a caliper shows it, never less than is missing [mm]."""
    return f"{math.ceil(-margin * 100.0 - 1e-6) / 100.0:.2f}"


def signed(margin: float) -> str:
    """Spare room, or what is missing with a minus [mm]."""
    return spare(margin) if margin >= 0.0 else f"-{shortage(margin)}"


def reasons(answer: Answer) -> list[str]:
    """Sentences under the headline: where it is tightest; or what is short."""
    if not answer.fits:
        return [sentence(words) for words in answer.short]
    tightest = min(answer.laid, key=lambda laid: laid.margin)
    return [sentence(f"tightest at {tightest.tightest}")]


def sentence(words: str) -> str:
    """Words with a capital and a full stop."""
    words = words.strip()
    return f"{words[:1].upper()}{words[1:]}" + ("" if words.endswith((".", "!", "?")) else ".")


def size_words(size: tuple[float, float, float]) -> str:
    """Length, thickness, height [mm]."""
    return " x ".join(f"{value:.1f}" for value in size)


def sand_rows(answer: Answer) -> list[tuple[str, str, str, str]]:
    """Face, what squaring takes off, what comes off later, and both together [mm]."""
    square, sand = answer.block.to_square, answer.block.to_sand
    return [
        (name, f"{square[face]:.2f}", f"{sand[face] - square[face]:.2f}", f"{sand[face]:.2f}")
        for face, name in FACES.items()
    ]


def lies_rows(answer: Answer) -> list[tuple[str, ...]]:
    """Each block: number, its ends along the straightedge, its slants, spare room to skin and core [mm, deg]."""
    return [(str(number), *_lies(laid, answer.block.length)) for number, laid in enumerate(answer.laid, start=1)]


def _lies(laid: Laid, length: float) -> tuple[str, ...]:
    centre, axes = laid.pose.centre, laid.pose.axes
    reach = abs(float(axes[0, 0])) * length / 2.0
    turn = math.degrees(math.atan2(float(axes[2, 1]), float(axes[2, 2])))
    return (
        f"{centre[0] - reach:.1f}",
        f"{centre[0] + reach:.1f}",
        f"{centre[1]:+.1f}",
        f"{centre[2]:+.1f}",
        f"{turn:+.0f}\N{DEGREE SIGN}",
        f"{laid.grain_deg:.1f}\N{DEGREE SIGN}",
        signed(laid.skin_margin),
        "none" if laid.core_margin is None else signed(laid.core_margin),
    )
