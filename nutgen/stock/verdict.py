"""The answer in plain words, the same on the screen, on the page and in the record."""

import math

from nutgen.stock.laid import Answer


def headline(answer: Answer) -> str:
    """Yes with the spare room, or no with what is short."""
    if not answer.fits:
        return f"No: short by {shortage(answer.margin)} mm" if math.isfinite(answer.margin) else "No"
    count = len(answer.laid)
    return f"Yes: {'one nut' if count == 1 else f'{count} nuts'}, {spare(answer.margin)} mm to spare"


def spare(margin: float) -> str:
    """Spare room as a caliper shows it, never more than there is [mm]."""
    return f"{math.floor(margin * 100.0 + 1e-6) / 100.0:.2f}"


def shortage(margin: float) -> str:
    """What is missing as a caliper shows it, never less than it is [mm]."""
    return f"{max(0.01, math.ceil(-margin * 100.0 - 1e-6) / 100.0):.2f}"


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
