"""What the options of `heights` mean: read like the file, with the same ranges and the same faults."""

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, cast

import typer

if TYPE_CHECKING:
    from nutgen.play.heights import Check
    from nutgen.spec.tables import Spec

SECTIONS = ("clearances", "checks", "buzz", "pitch", "friction", "spread")


def sections(only: str | None) -> tuple[str, ...]:
    """The sections to show, in their own order."""
    words = [word.strip().lower() for word in (only or ",".join(SECTIONS)).split(",")]
    wrong = [word for word in words if word not in SECTIONS]
    if wrong:
        raise typer.BadParameter(f'--only "{wrong[0]}": allowed are {", ".join(SECTIONS)}')
    return tuple(word for word in SECTIONS if word in words)


def chosen_frets(text: str, last: int) -> tuple[int, ...]:
    """Frets of a range such as "1-12", or a list such as "1,3,5"."""
    if not re.fullmatch(r"[0-9]{1,9}(-[0-9]{1,9})?(,[0-9]{1,9}(-[0-9]{1,9})?)*", text.replace(" ", "")):
        raise typer.BadParameter(f'--frets "{text}": write a range such as 1-12, or 1,3,5')
    spans = [(int(low), int(high or low)) for low, _, high in (part.partition("-") for part in text.split(","))]
    frets = tuple(fret for fret in range(1, last + 1) if any(low <= fret <= high for low, high in spans))
    if len(frets) < 2 or any(low < 1 or high > last for low, high in spans):
        raise typer.BadParameter(f'--frets "{text}": two frets or more, from 1 to {last}')
    return frets


def plucked(spec: "Spec", options: Mapping[str, object]) -> "Spec":
    """The file with another pluck; raises SpecFaults as for its own [pluck]."""
    from nutgen.spec.read import bare_units_of, overruled

    given = {key: value for key, value in options.items() if value is not None}
    if not given:
        return spec
    instead = {"force_n": None, "height": None} if {"force_n", "height"} & set(given) else {}
    return overruled(spec, {"pluck": instead | given}, bare=bare_units_of(spec), source="options")


def converted(options: Mapping[str, str | None], units: str) -> "tuple[Check, float] | None":
    """A reading of one shop check [mm]; None where none was given."""
    from nutgen.documents.words import sentence
    from nutgen.errors import Unreadable
    from nutgen.spec.values import read_length

    given = {name: text for name, text in options.items() if text is not None}
    if not given:
        return None
    if len(given) > 1:
        raise typer.BadParameter(f"{', '.join(f'--{name}' for name in given)}: convert one reading at a time")
    ((name, text),) = given.items()
    try:
        reading = read_length(text, units).mm
    except Unreadable as error:
        raise typer.BadParameter(f"--{name}: {sentence(error.finding)}") from None
    if not -1.0 <= reading <= 3.0:
        raise typer.BadParameter(f"--{name} {text}: allowed is -1 to 3 mm")
    return cast("Check", name), reading
