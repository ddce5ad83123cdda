"""How hard the strings pull on the neck, and what changes against another set or tuning."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from nutgen.finding import Finding, assumption, note, of_string, warning
from nutgen.nut.places import kind_of, places_of
from nutgen.nut.strung import Strung, strung_with
from nutgen.spec.strings import AnyString
from nutgen.spec.tables import Spec
from nutgen.theory import Array
from nutgen.theory.frets import fret_position
from nutgen.theory.strings import HIGH_LOAD, SLACK_PULL_N, pull_state
from nutgen.theory.unit_mass import COMPARED

NEWTON_PER = {"N": 1.0, "kgf": 9.80665, "lbf": 4.4482216}
"""Units of pull. kgf: exact, by the standard acceleration of 1901; lbf: 0.45359237 kgf."""

SEEN_N = 0.05
"""A change of pull that is less reads as nothing."""

UNEVEN = 1.35
"""Pull over a neighbour's from which a string feels stiffer or looser than it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Pull:
    """Pull of a set at pitch. Arrays run bass to treble.

    strings    : the set
    tension_n  : pull of each string [N]
    error_n    : half width of the band in which each lies [N]
    load_share : of the breaking load; nan where that is not known
    state      : "plays", "slack", "near breaking" or "breaks"
    """

    strings: Strung
    tension_n: Array
    error_n: Array
    load_share: Array
    state: tuple[str, ...]

    @property
    def total_n(self) -> float:
        """Pull of all strings on the neck [N]."""
        return float(self.tension_n.sum())

    @property
    def total_error_n(self) -> float:
        """Half width of the total's band: the sum, because strings of one model err together [N]."""
        return float(self.error_n.sum())

    @property
    def assumed(self) -> tuple[Finding, ...]:
        """What the pull rests on that the file does not say."""
        strengths = dict.fromkeys(filter(None, self.strings.strength_source))
        return (*_models(self.strings), *(assumption("pull.strength", strength=source) for source in strengths))


@dataclass(frozen=True, slots=True)
class Change:
    """Against what was strung before.

    before    : pull of the old set
    by_string : change of each string; None where the number of strings differs [N]
    total_n   : change in all [N]
    error_n   : half width of the total change's band [N]
    relief    : change of relief to expect; None without a measured neck stiffness [mm]
    """

    before: Pull
    by_string: Array | None
    total_n: float
    error_n: float
    relief: float | None

    @property
    def stays(self) -> bool:
        """Whether every string pulls as before, to what is shown."""
        return self.by_string is not None and bool(np.all(np.abs(self.by_string) < SEEN_N))

    @property
    def direction(self) -> str:
        """ "more", "less", or "unclear" where the change is within what is known of the strings."""
        return "unclear" if abs(self.total_n) <= self.error_n else "more" if self.total_n > 0.0 else "less"

    @property
    def meaning(self) -> Finding:
        """What it means for the neck."""
        measured = {} if self.relief is None else {"relief": self.relief}
        return note(f"pull.{self.direction}", change_share=abs(self.total_n) / self.before.total_n, **measured)


def _models(strings: Strung) -> Iterator[Finding]:
    """What each kind of string's mass was modelled by, and compared with; masses that the file gives are none."""
    listed = zip(strings.build, strings.basis, strings.relative_error, strings.wrap_is_usual, strict=True)
    within: dict[tuple[str, bool], float] = {}
    for build, basis, error, usual in listed:
        if basis != "given":
            within[build, usual] = max(error, within.get((build, usual), 0.0))
    for (build, usual), error in within.items():
        compared = COMPARED.get(build)
        if usual:
            yield assumption("pull.wrap-assumed", strings=build, within_share=error)
        elif compared is None:
            yield assumption("pull.model-alone", strings=build, within_share=error)
        else:
            figures = {"compared": compared.strings, "worst_share": compared.worst_share}
            yield assumption("pull.model", strings=build, within_share=error, **figures)
    if within:
        yield note("pull.weigh")


def pull_of(strings: Strung) -> Pull:
    """Pull of a set of strings."""
    tension = strings.tension_n
    strength = np.array(strings.breaking_n)
    known = np.isfinite(strength)
    state = pull_state(tension_n=tension, breaking_load_n=np.where(known, strength, 1e9))
    share = np.where(known, tension / strength, np.nan)
    return Pull(strings, tension, tension * strings.relative_error, share, tuple(map(str, state)))


def pull_now(spec: Spec) -> Pull:
    """Pull of a file's strings; raises CannotBeMade where a slanted nut has no places for them."""
    return pull_of(on_the_neck(spec))


def pull_before(spec: Spec) -> Pull | None:
    """Pull of what the file's `[before]` says was strung; None where there is none."""
    before = spec.before
    return None if before is None else pull_with(spec, before.strings or spec.strings, before.a4_hz, before.tuning)


def pull_with(
    spec: Spec, strings: Sequence[AnyString], a4_hz: float | None = None, tuning: Sequence[str] | None = None
) -> Pull:
    """Pull of other strings on the same neck; pitch of A4 and notes are those of the file and of the strings."""
    scale = places_of(spec).scale_length
    if len(strings) != len(scale):
        scale = np.linspace(scale[0], scale[-1], len(strings)).tolist()
    return pull_of(_beside(spec, strings, scale, a4_hz or spec.instrument.a4_hz, tuning))


def on_the_neck(spec: Spec) -> Strung:
    """All that pulls on the neck: the strings over the nut and, before them, those beside it; raises as `strung`."""
    return _beside(spec, spec.strings, places_of(spec).scale_length, spec.instrument.a4_hz)


def _beside(
    spec: Spec, strings: Sequence[AnyString], scale: Sequence[float], a4_hz: float, tuning: Sequence[str] | None = None
) -> Strung:
    """A set with the drones of the file before it, each from its own fret on."""
    drones, whole = spec.drones, float(scale[0])
    short = [whole - float(fret_position(drone.fret, scale_length=whole)) for drone in drones]
    notes = (drone.note for drone in drones), tuning or (string.note for string in strings)
    return strung_with(
        (*drones, *strings), scale_length=(*short, *scale), a4_hz=a4_hz, kind=kind_of(spec), notes=tuple(chain(*notes))
    )


def change(now: Pull, before: Pull, *, relief_per_100_n: float | None = None) -> Change:
    """What changes from one set to the next.

    relief_per_100_n : relief that 100 N more add on this neck [mm]
    """
    same = len(now.tension_n) == len(before.tension_n)
    total = now.total_n - before.total_n
    return Change(
        before=before,
        by_string=now.tension_n - before.tension_n if same else None,
        total_n=total,
        error_n=_change_error_n(now, before),
        relief=None if relief_per_100_n is None else relief_per_100_n * total / 100.0,
    )


def _change_error_n(now: Pull, before: Pull) -> float:
    """Strings that are the same in both sets err by the same share, so that only their change counts."""
    a, b = now.strings, before.strings
    if len(a.notes) != len(b.notes):
        return now.total_error_n + before.total_error_n
    same = np.isclose(a.unit_mass_kg_per_m, b.unit_mass_kg_per_m, rtol=1e-9) & (np.array(a.basis) == np.array(b.basis))
    together = np.abs(now.error_n - before.error_n)
    return float(np.where(same, together, now.error_n + before.error_n).sum())


def back_bow_findings(spec: Spec, changed: Change | None) -> Iterator[Finding]:
    """A neck that only more pull brings relief to, where the strings do not pull more than before."""
    if spec.instrument.rod_slack and spec.setup.back_bow and (changed is None or changed.direction != "more"):
        yield warning("pull.back-bow-stays")


def pull_findings(pull: Pull) -> Iterator[Finding]:
    """Strings that are slack, near breaking, or far from their neighbours."""
    count = len(pull.tension_n)
    for i, name in enumerate(pull.strings.notes):
        who, tension, load = of_string(count - i, name), float(pull.tension_n[i]), float(pull.load_share[i])
        match pull.state[i]:
            case "slack":
                yield warning("pull.slack", who, pull_n=tension, least_n=SLACK_PULL_N)
            case "breaks":
                yield warning("pull.breaks", who, pull_n=tension, load_share=load)
            case "near breaking":
                yield warning("pull.near-breaking", who, pull_n=tension, load_share=load, most_share=HIGH_LOAD)
        beside = [float(pull.tension_n[k]) for k in (i - 1, i + 1) if 0 <= k < count]
        if beside and tension > UNEVEN * max(beside):
            yield warning("pull.stiff", who, more_share=tension / max(beside) - 1.0)
        elif beside and tension < min(beside) / UNEVEN and pull.state[i] != "slack":
            yield warning("pull.loose", who, less_share=1.0 - tension / min(beside))
