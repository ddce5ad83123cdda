"""What `heights` shows, section by section."""

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from nutgen.commands.columns import show_points, show_split
from nutgen.commands.tables import show_findings
from nutgen.documents.screen import Column, Screen
from nutgen.documents.words import as_sentence
from nutgen.nut import Nut
from nutgen.nut.heights import line_of
from nutgen.play.buzz import Touch
from nutgen.play.heights import CHECKS, Check, shop_checks
from nutgen.play.pitch import JUST_NOTICEABLE_CENTS, LOWERED_BY, NOTICED
from nutgen.play.played import Played

Array = NDArray[np.float64]

SHOWN_FRETS = (1, 2, 3, 5, 7, 9)


def show_played(screen: Screen, nut: Nut, seen: Played, sections: Sequence[str]) -> None:
    """The sections asked for, then what the figures rest on, then the warnings."""
    screen.say(f"Strings at pitch, relief {nut.relief:.2f}. All in mm unless marked.", style="dim")
    for section in sections:
        screen.say()
        _SHOW[section](screen, nut, seen)
    screen.say()
    show_findings(screen, seen.findings)


def show_lowest(screen: Screen, nut: Nut, seen: Played) -> None:
    """The lowest floors that stay clear, beside those of the nut."""
    touches = seen.buzz
    low = touches.lowest_floor
    rows = [
        [
            _name(nut, i),
            f"{slot.floor_height:+.2f}",
            _number(low[i], "+.2f"),
            f"{slot.first_fret_clearance:.2f}",
            _number(touches.lowest_clearance[i], ".2f"),
            _number(slot.floor_height - low[i], "+.2f"),
        ]
        for i, slot in enumerate(nut.slots)
    ]
    _table(screen, ["string", "floor", "lowest", "fret 1", "lowest", "spare"], rows)
    screen.say()
    screen.say(
        f"lowest: the open string leaves {touches.swing.margin:.2f} over every fret at the pluck, the action kept;"
        ' never below the fret plane. As a target: first_fret_clearance = "lowest".',
        style="dim",
    )
    if np.any(np.isnan(low)):
        screen.say("No floor clears every string at this pluck: raise the action or soften the pluck.")
    show_points(screen, "Assumption", seen.buzz.swing.assumed)


def show_converted(screen: Screen, nut: Nut, check: Check, reading: float, floors: Array) -> None:
    """What the other checks read where one reads so."""
    screen.say(f"Where the {check} reads {reading:.3f} mm ({CHECKS[check]}), the action kept:")
    screen.say()
    checks = shop_checks(line_of(nut, floor_height=floors))
    rows = [
        [_name(nut, i), f"{floors[i]:+.3f}", *(f"{getattr(checks, word)[i]:.3f}" for word in CHECKS)]
        for i in range(len(nut.slots))
    ]
    _table(screen, ["string", "floor", *CHECKS], rows)
    screen.say()
    _explain_checks(screen)


def _clearances(screen: Screen, nut: Nut, seen: Played) -> None:
    screen.say("Clearance over each fret, open", style="bold")
    dip = [f"{abs(value):.2f}" for value in seen.dip[0]]
    _by_fret(screen, nut, seen.frets, seen.open, more=("dip", dip))
    screen.say("dip: of the crowns below the line from fret 1 to the last, the relief arc.", style="dim")
    screen.say()
    screen.say("Pressed at each fret: least clearance over the frets beyond", style="bold")
    _by_fret(screen, nut, seen.frets[:-1], seen.fretted[:, :-1])


def _checks(screen: Screen, nut: Nut, seen: Played) -> None:
    screen.say("The three shop checks: three readings of one nut", style="bold")
    rows = [
        [
            _name(nut, i),
            f"{slot.floor_height:+.2f}",
            *(f"{getattr(seen.checks, word)[i]:.2f}" for word in CHECKS),
        ]
        for i, slot in enumerate(nut.slots)
    ]
    _table(screen, ["string", "floor", *CHECKS], rows)
    _explain_checks(screen)


def _explain_checks(screen: Screen) -> None:
    words = "; ".join(f"{name}: {meaning}" for name, meaning in CHECKS.items())
    screen.say(
        f"floor: over the fret plane. {words}. Press the string down just in front of the nut first.", style="dim"
    )


def _buzz(screen: Screen, nut: Nut, seen: Played) -> None:
    touches = seen.buzz
    screen.say("Buzz: first fret that the pluck reaches, and the room left there", style="bold")
    rows = [
        [
            _name(nut, i),
            f"{touches.swing.force_n[i]:.1f}",
            f"{touches.swing.height[i]:.2f}",
            _place(touches.open_toward, i),
            _place(touches.open_away, i),
            _place(touches.fretted, i),
            _number(touches.lowest_floor[i], "+.2f"),
        ]
        for i in range(len(nut.slots))
    ]
    _table(screen, ["string", "N", "height", "toward", "away", "pressed", "lowest"], rows)
    at = ", ".join(sorted({f"{value:.0f}" for value in touches.swing.from_bridge}))
    screen.say(
        f"Plucked {at} from the bridge. toward, away: displaced to or from the board, so that one side or the other"
        " of the swing comes down. pressed: worst fretted note, fret held > fret touched. lowest: floor that leaves"
        f" the open string {touches.swing.margin:.2f} everywhere.",
        style="dim",
    )
    show_points(screen, "Assumption", touches.swing.assumed)


def _pitch(screen: Screen, nut: Nut, seen: Played) -> None:
    p = seen.pitches
    screen.say("Cents sharp at each fret, the saddle set for fret 12", style="bold")
    frets = [fret for fret in (*SHOWN_FRETS, nut.frets) if fret <= nut.frets]
    rows = [
        [_name(nut, i), *(_number(p.cents[i, fret - 1], "+.1f") for fret in frets), _number(p.gain[i, 0], ".1f")]
        for i in range(len(nut.slots))
    ]
    _table(screen, ["string", *map(str, frets), "gain"], rows)
    screen.say(
        f"gain: cents that fret 1 comes down for {LOWERED_BY} mm less at the nut. About {JUST_NOTICEABLE_CENTS:g} cents"
        " are just noticeable (common practice, no source).",
        style="dim",
    )
    screen.say()
    screen.say(f"Setbacks with the least error over frets {_range(p.chosen)}", style="bold")
    rows = [
        [
            _name(nut, i),
            _number(p.saddle[i], ".2f"),
            _number(-p.both.nut[i], ".2f"),
            _number(p.both.saddle[i], ".2f"),
            _number(p.both.rms[i], ".1f"),
            _number(-p.nut_alone.nut[i], ".2f"),
            _number(p.nut_alone.rms[i], ".1f"),
        ]
        for i in range(len(nut.slots))
    ]
    _table(screen, ["string", "saddle 12", "nut", "saddle", "cents", "nut alone", "cents"], rows)
    common = p.common
    if np.any(p.tunable):
        setbacks = f"nut {-common.nut:.2f}, saddle {common.saddle:.2f}"
        screen.say(f"One for all strings: {setbacks}, leaving {common.rms:.1f} cents rms.")
    screen.say(
        "nut: toward the bridge, as in [slots] setback. saddle: away from the nut. cents: rms left.", style="dim"
    )
    screen.say(as_sentence(NOTICED))
    show_points(screen, "Assumption", p.assumed)


def _friction(screen: Screen, nut: Nut, seen: Played) -> None:
    rub = seen.friction
    screen.say("Friction at the nut", style="bold")
    low, high = rub.dead_band
    rows = [
        [
            _name(nut, i),
            f"{rub.down_deg[i]:.1f}\N{DEGREE SIGN}",
            f"{rub.sideways_deg[i]:+.1f}\N{DEGREE SIGN}",
            f"{rub.down_force_n[i]:.1f}",
            f"{low[i]:.0f} to {high[i]:.0f}",
            f"{rub.gain_over_tight[i]:.0f}",
            f"{rub.gain_over_v[i]:.0f}",
        ]
        for i in range(len(nut.slots))
    ]
    _table(screen, ["string", "down", "sideways", "force N", "dead band", "tight", "V"], rows)
    screen.say(
        "dead band: cents that friction can hide while tuning. tight, V: cents that this slot saves, at most, against"
        " one that grips the string like a mould and one filed to a V of 30 degrees half angle.",
        style="dim",
    )
    show_points(screen, "Assumption", rub.assumed)


def _spread(screen: Screen, nut: Nut, seen: Played) -> None:
    spread = seen.spread
    screen.say("How far the made nut may be off", style="bold")
    floor, clearance = spread.floor_height, spread.first_fret_clearance
    rows = [
        [
            _name(nut, i),
            f"{floor.mean[i]:+.2f}",
            f"{floor.sd[i]:.3f}",
            f"{clearance.mean[i]:.2f}",
            f"{clearance.sd[i]:.3f}",
            f"{clearance.low_5[i]:.2f} to {clearance.high_95[i]:.2f}",
            f"{spread.buzz_chance[i]:.1%}",
        ]
        for i in range(len(nut.slots))
    ]
    _table(screen, ["string", "floor", "sd", "fret 1", "sd", "nine in ten", "buzz"], rows)
    screen.say(as_sentence(spread.advice))
    show_points(screen, "Assumption", spread.assumed)


_SHOW: dict[str, Callable[[Screen, Nut, Played], None]] = {
    "clearances": _clearances,
    "checks": _checks,
    "buzz": _buzz,
    "pitch": _pitch,
    "friction": _friction,
    "spread": _spread,
}


def _by_fret(
    screen: Screen, nut: Nut, frets: NDArray[np.int64], values: Array, more: tuple[str, list[str]] | None = None
) -> None:
    titles = ["fret", *(_name(nut, i) for i in range(len(nut.slots)))]
    rows = [[str(fret), *(f"{values[i, k]:.2f}" for i in range(len(nut.slots)))] for k, fret in enumerate(frets)]
    if more is not None:
        titles.append(more[0])
        rows = [[*row, value] for row, value in zip(rows, more[1], strict=True)]
    show_split(screen, [Column(title, right=True) for title in titles], rows)


def _table(screen: Screen, titles: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    show_split(screen, [Column(title, right=index > 0) for index, title in enumerate(titles)], rows)


def _name(nut: Nut, index: int) -> str:
    return f"{nut.slots[index].number} {nut.slots[index].note}"


def _place(touch: Touch, i: int) -> str:
    held = f"{touch.pressed[i]}>" if touch.pressed[i] else ""
    return f"{held}{touch.fret[i]}: {touch.spare[i]:+.2f}"


def _number(value: float, form: str) -> str:
    return format(value, form) if np.isfinite(value) else "none"


def _range(frets: Sequence[int]) -> str:
    whole = len(frets) == frets[-1] - frets[0] + 1
    return f"{frets[0]} to {frets[-1]}" if whole else ", ".join(map(str, frets))
