"""What `heights` shows, section by section."""

from collections.abc import Callable, Sequence

import numpy as np

from nutgen.documents.blocks import Column, Document, Findings, Paragraph, Shown, Space, Table, Title, remark
from nutgen.documents.strings import by_string
from nutgen.documents.texts import Phrase, Run, capital, phrase
from nutgen.documents.words.play import READINGS, WAYS_SAID
from nutgen.documents.words.quantities import Kind
from nutgen.nut import Nut
from nutgen.nut.heights import behind_zero_fret, line_of
from nutgen.play.buzz import Touch
from nutgen.play.friction import Friction
from nutgen.play.heights import CHECKS, Check, ShopChecks, floor_for_check, shop_checks
from nutgen.play.pitch import JUST_NOTICEABLE_CENTS, LOWERED_BY, NOTICED
from nutgen.play.played import Played
from nutgen.play.spread import NutSpread
from nutgen.theory import Array, Ints

MEANINGS: dict[Check, str] = {
    "feeler": "open string, over fret 1",
    "sliver": "pressed at fret 3, over fret 1",
    "barre": "open string over fret 1, less the string barred at 1 over fret 2; 0 where the nut is like a fret",
}
"""What each shop check reads."""

SHOWN_FRETS = (1, 2, 3, 5, 7, 9)


def played_blocks(nut: Nut, seen: Played, sections: Sequence[str]) -> Document:
    """The verdict and what was found, then the sections asked for."""
    head = remark("Strings at pitch, relief {relief:bare}. All in {units} unless marked.", relief=nut.relief)
    shown = [block for section in sections for block in _SHOW[section](nut, seen)]
    return Title(nut.title), Paragraph(_verdict(nut, seen), "strong"), Findings(seen.findings), Space(), head, *shown


def _verdict(nut: Nut, seen: Played) -> Phrase:
    """Whether it buzzes at the pluck, and where it is closest to that."""
    touches = seen.buzz
    rooms = np.nanmin([touch.spare for touch in (touches.open_toward, touches.open_away, touches.fretted)], axis=0)
    slot, least = nut.slots[int(np.nanargmin(rooms))], float(np.nanmin(rooms))
    if least >= 0.0:
        words = "Clear: no string touches a fret at its pluck; string {number} ({note}) comes closest, by {room:spare}."
    else:
        words = "{buzzing} of {strings} strings buzz at their pluck; string {number} ({note}) most, {short} too low."
    counts = {"buzzing": int(np.sum(rooms < 0.0)), "strings": len(nut.slots)}
    return phrase(words, number=slot.number, note=slot.note, room=least, short=-least, **counts)


def lowest_blocks(nut: Nut, seen: Played) -> Document:
    """The lowest floors that stay clear, beside those of the nut."""
    touches, none = seen.buzz, "none"
    low, floors = touches.lowest_floor, np.array([slot.sounds_from for slot in nut.slots])
    each: tuple[Shown, ...] = (
        (Column("floor", "setting_out", sign=True), floors),
        (Column("lowest", "setting_out", sign=True, none=none), low),
        (Column("fret 1", "setting_out"), "first_fret_clearance"),
        (Column("lowest", "setting_out", none=none), touches.lowest_clearance),
        (Column("spare", "setting_out", sign=True, none=none), floors - low),
    )
    hopeless = "No floor clears every string at this pluck: raise the action or soften the pluck."
    return (
        Title(nut.title),
        by_string(nut.slots, *each),
        Space(),
        remark(
            "lowest: the open string leaves {margin:bare} over every fret at the pluck, the action kept; never below"
            ' the fret plane. As a target: first_fret_clearance = "lowest".',
            touches.swing,
        ),
        *([Paragraph(hopeless)] if np.any(np.isnan(low)) else []),
        Findings(touches.swing.assumed, none=""),
    )


def converted_blocks(nut: Nut, check: Check, reading: float) -> Document:
    """What the other checks read where one reads so."""
    floors = floor_for_check(nut, check, reading)
    checks = shop_checks(line_of(nut, floor_height=floors))
    words = phrase(
        "Where the {check} reads {reading:fine} ({meaning}), the action kept:",
        check=check,
        reading=reading,
        meaning=MEANINGS[check],
    )
    table = _checks_table(nut, "fine", floors, checks)
    return Title(nut.title), Paragraph(words), table, Space(), _explained_checks()


def _clearances(nut: Nut, seen: Played) -> Document:
    return (
        Title("Clearance over each fret, open", 2),
        _by_fret(nut, seen.frets, seen.open, dip=np.abs(seen.dip[0])),
        remark("dip: of the crowns below the line from fret 1 to the last, the relief arc."),
        Title("Pressed at each fret: least clearance over the frets beyond", 2),
        _by_fret(nut, seen.frets[:-1], seen.fretted[:, :-1]),
    )


def _checks(nut: Nut, seen: Played) -> Document:
    floors = np.array([slot.sounds_from for slot in nut.slots])
    return (
        Title("The three shop checks: three readings of one nut", 2),
        _checks_table(nut, "setting_out", floors, seen.checks),
        _explained_checks(),
    )


def _checks_table(nut: Nut, kind: Kind, floors: Array, checks: ShopChecks) -> Table:
    read = ((Column(name, kind), getattr(checks, name)) for name in CHECKS)
    return by_string(nut.slots, (Column("floor", kind, sign=True), floors), *read)


def _explained_checks() -> Paragraph:
    words = "; ".join(f"{name}: {meaning}" for name, meaning in MEANINGS.items())
    return remark(f"floor: over the fret plane. {words}. Press the string down just in front of the nut first.")


def _buzz(nut: Nut, seen: Played) -> Document:
    touches, swing = seen.buzz, seen.buzz.swing
    touched = {"toward": touches.open_toward, "away": touches.open_away, "pressed": touches.fretted}
    each: tuple[Shown, ...] = (
        (Column("N", "pull"), swing.force_n),
        (Column("height", "setting_out"), swing.height),
        *((Column(name, right=True), _touched(touch)) for name, touch in touched.items()),
        (Column("lowest", "setting_out", sign=True, none="none"), touches.lowest_floor),
    )
    places = {round(at): phrase("{at:bare,.0}", at=at) for at in sorted(swing.from_bridge)}
    words = phrase(
        " from the bridge. toward, away: displaced to or from the board, so that one side or the other of the swing"
        " comes down. pressed: worst fretted note, fret held > fret touched. lowest: floor that leaves the open string"
        " {margin:bare} everywhere.",
        margin=swing.margin,
    )
    return (
        Title("Buzz: first fret that the pluck reaches, and the room left there", 2),
        by_string(nut.slots, *each),
        Paragraph(Run(("Plucked ", Run(tuple(places.values()), ", "), words)), "note"),
        Findings(swing.assumed, none=""),
    )


def _touched(touch: Touch) -> list[Phrase]:
    return [
        phrase("{held}{fret}: {spare:bare,+}", held=f"{held}>" if held else "", fret=fret, spare=spare)
        for held, fret, spare in zip(touch.pressed, touch.fret.tolist(), touch.spare.tolist(), strict=True)
    ]


def _pitch(nut: Nut, seen: Played) -> Document:
    p, none = seen.pitches, "none"
    frets = [fret for fret in (*SHOWN_FRETS, nut.frets) if fret <= nut.frets]
    cents = ((Column(str(fret), "cents", sign=True, none=none), p.cents[:, fret - 1]) for fret in frets)
    return (
        Title("Cents sharp at each fret, the saddle set for fret 12", 2),
        by_string(nut.slots, *cents, (Column("gain", "cents", none=none), p.gain[:, 0])),
        remark(
            "gain: cents that fret 1 comes down for {lowered:limit} less at the {start}. About {least_cents:.0} are"
            " just noticeable (common practice, no source).",
            lowered=LOWERED_BY,
            start="zero fret" if behind_zero_fret(nut) else "nut",
            least_cents=JUST_NOTICEABLE_CENTS,
        ),
        *_setbacks(nut, seen),
        Findings(p.assumed, none=""),
    )


def _setbacks(nut: Nut, seen: Played) -> Document:
    """Where the strings would best start and end; from a zero fret they start where it stands."""
    p, none = seen.pitches, "none"
    saddle: Shown = Column("saddle 12", "setting_out", none=none), p.saddle
    if behind_zero_fret(nut):
        return Title("Saddle setback with fret 12 in tune", 2), by_string(nut.slots, saddle)
    common = phrase(
        "One for all strings: nut {nut:bare}, saddle {saddle:bare}, leaving {rms_cents} rms.",
        nut=-float(p.common.nut),
        saddle=float(p.common.saddle),
        rms_cents=float(p.common.rms),
    )
    both, alone = p.both, p.nut_alone
    each: tuple[Shown, ...] = (
        (Column("nut", "setting_out", none=none), -both.nut),
        (Column("saddle", "setting_out", none=none), both.saddle),
        (Column("cents", "cents", none=none), both.rms),
        (Column("nut alone", "setting_out", none=none), -alone.nut),
        (Column("cents", "cents", none=none), alone.rms),
    )
    return (
        Title(f"Setbacks with the least error over frets {_range(p.chosen)}", 2),
        by_string(nut.slots, saddle, *each),
        *([Paragraph(common)] if np.any(p.tunable) else []),
        remark("nut: toward the bridge, as in [slots] setback. saddle: away from the nut. cents: rms left."),
        Paragraph(Run((capital(NOTICED), "."))),
    )


def friction_blocks(nut: Nut, rub: Friction) -> Document:
    """How the strings bend and rub in their slots."""
    band = [
        phrase("{low_cents:bare,.0} to {high_cents:bare,.0}", low_cents=float(low), high_cents=float(high))
        for low, high in zip(*rub.dead_band, strict=True)
    ]
    return (
        Title("Friction at the nut", 2),
        by_string(
            nut.slots,
            (Column("down", "angle"), rub.down_deg),
            (Column("sideways", "angle", sign=True), rub.sideways_deg),
            (Column("force N", "pull"), rub.down_force_n),
            (Column("dead band", right=True), band),
            (Column("tight", "cents", places=0), rub.gain_over_tight),
            (Column("V", "cents", places=0), rub.gain_over_v),
        ),
        remark(
            "dead band: cents that friction can hide while tuning. tight, V: cents that this slot saves, at most,"
            " against one that grips the string like a mould and one filed to a V of 30 degrees half angle."
        ),
        Findings(rub.assumed, none=""),
    )


def _spread(nut: Nut, seen: Played) -> Document:
    spread = seen.spread
    floor, clearance = spread.floor_height, spread.first_fret_clearance
    between = [
        phrase("{low:bare} to {high:bare}", low=float(low), high=float(high))
        for low, high in zip(clearance.low_5, clearance.high_95, strict=True)
    ]
    return (
        Title("How far the made nut may be off", 2),
        by_string(
            nut.slots,
            (Column("floor", "setting_out", sign=True), floor.mean),
            (Column("sd", "fine"), floor.sd),
            (Column("fret 1", "setting_out"), clearance.mean),
            (Column("sd", "fine"), clearance.sd),
            (Column("nine in ten", right=True), between),
            (Column("buzz", "share", places=1), spread.buzz_chance),
        ),
        _sources(spread),
        remark(
            "within: holds 95 %. by gauge: what then holds 95 % of fret 1, now {within:bare}, were that one read by"
            " leaves or a radius gauge.",
            within=spread.within,
        ),
        *(Paragraph(Run((capital(advice), "."))) for advice in spread.advice),
        Findings(spread.assumed, none=""),
    )


def _sources(spread: NutSpread) -> Table:
    """What the spread of the first-fret clearance comes from, and what a gauge would leave of it."""
    columns = (
        Column("reading"),
        Column("read by"),
        Column("within", right=True),
        Column("causes", "share"),
        Column("by gauge", "setting_out", none=""),
    )
    rows = []
    for one in spread.sources:
        within = phrase("{error:radius,bare}" if one.name == "radius" else "{error:bare}", error=one.error)
        rows.append((capital(READINGS[one.name]), WAYS_SAID[one.way], within, one.share, one.gauged))
    return Table(columns, tuple(rows))


_SHOW: dict[str, Callable[[Nut, Played], Document]] = {
    "clearances": _clearances,
    "checks": _checks,
    "buzz": _buzz,
    "pitch": _pitch,
    "friction": lambda nut, seen: friction_blocks(nut, seen.friction),
    "spread": _spread,
}


def _by_fret(nut: Nut, frets: Ints, values: Array, *, dip: Array | None = None) -> Table:
    """A row a fret, a column a string."""
    heads = [f"{slot.number} {slot.note}" for slot in nut.slots] + ([] if dip is None else ["dip"])
    columns = (Column("fret", "count"), *(Column(head, "setting_out") for head in heads))
    across = values if dip is None else np.vstack([values, dip])
    return Table(columns, tuple((int(fret), *row) for fret, row in zip(frets, across.T.tolist(), strict=True)))


def _range(frets: Sequence[int]) -> str:
    whole = len(frets) == frets[-1] - frets[0] + 1
    return f"{frets[0]} to {frets[-1]}" if whole else ", ".join(map(str, frets))
