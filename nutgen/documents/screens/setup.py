"""What `setup` shows: the order of work, the saddles, the tops under the hand."""

from itertools import pairwise

import numpy as np

from nutgen.bench.setup import SetupOrder
from nutgen.documents.blocks import (
    Block,
    Column,
    Document,
    Figure,
    Findings,
    Paragraph,
    Points,
    Shown,
    Space,
    Steps,
    Title,
    remark,
)
from nutgen.documents.lettering import Words
from nutgen.documents.strings import by_string
from nutgen.documents.words.play import turns_said
from nutgen.geometry.lines import Chain, Line
from nutgen.play.tops import PLACES, undersides
from nutgen.spec.playing import Saddle
from nutgen.theory import Array

STEP = 0.05
"""To which a hand can set a saddle [mm]."""

STRIP_TALL, BEYOND, CHECK, TYPE = 8.0, 5.0, 50.0, 2.4
"""Below the lowest crest of a strip, beyond its outer strings, its check bar, and its type [mm]."""


def setup_blocks(order: SetupOrder) -> Document:
    """Steps in their order, the saddles below theirs; then the tops, and what was found."""
    before = len(order.before)
    return (
        Title(order.nut.title),
        remark("The set-up in its order; every step is read again before the next. All in {units}."),
        Steps((*order.before, order.saddle)),
        *_saddles(order),
        Space(),
        Steps(order.after, first=before + 2),
        *_tops(order),
        Space(),
        *_tuner(order),
        Findings((*order.moves.findings, *(order.shimmed.findings if order.shimmed else ()), *order.tops.findings)),
        Points(order.cautions, "!"),
    )


def _saddles(order: SetupOrder) -> tuple[Block, ...]:
    moves = order.moves
    each: list[Shown] = [
        (Column("capo now", "leaf"), moves.capo_now),
        (Column("relief set", "leaf"), moves.capo_relief),
        (Column("set to", "leaf", strong=True), moves.capo_wanted),
        (Column("saddle", "leaf", sign=True), _nearest(moves.move)),
    ]
    if moves.eighths is not None:
        each.append((Column("turns"), [turns_said(int(one)) for one in moves.eighths]))
    if moves.underside is not None:
        each.append((Column("crest", "leaf"), moves.left))
    if moves.posts is not None:
        each.append((Column("left", "leaf", sign=True), moves.left))
    if moves.break_now_deg is not None and moves.break_deg is not None:
        each += [(Column("bend", "angle"), moves.break_now_deg), (Column("then", "angle"), moves.break_deg)]
    each.append((Column("from 12", "setting_out"), moves.from_12))
    words = (
        "capo: over fret 12 with a capo at fret 1, which leaves the nut out; now, once the relief is set, and what to"
        " set it to. saddle: up or down, to {step:limit}. from 12: fret 12 to where the string leaves the saddle, for"
        " pitch."
    )
    more = " crest: to sand off there besides." if moves.underside is not None else ""
    more += " left: what the posts leave too high." if moves.posts is not None else ""
    return by_string(order.nut.slots, *each), remark(words + more, step=STEP)


def _tuner(order: SetupOrder) -> tuple[Block, ...]:
    """What the tuner says after the fit."""
    if not order.tuner:
        return ()
    steps = tuple(one for one in order.tuner if one.severity == "step")
    rest = tuple(one for one in order.tuner if one.severity != "step")
    words = "One step at a time, then tune and read all of it again: the first may cure what follows."
    told = (Paragraph(words, "note"), Steps(steps)) if steps else ()
    return Title("After the fit: what the tuner says", 2), *told, Findings(rest, none=""), Space()


def _nearest(move: Array) -> list[float | None]:
    return [round(float(one) / STEP) * STEP if np.isfinite(one) else None for one in move]


def _tops(order: SetupOrder) -> tuple[Block, ...]:
    seen = order.tops
    off = {"now": order.proud_now, "proud": seen.off[-1]}
    off |= {"nut": seen.by_nut[-1], "saddle": seen.by_saddle[-1], "gauge": seen.by_gauge[-1]}
    each: list[Shown] = [(Column(f"at {place}", "setting_out"), z) for place, z in zip(PLACES, seen.z, strict=True)]
    each += [(Column(name, "setting_out", sign=True), by) for name, by in off.items() if by is not None]
    if seen.evened is not None:
        each.append((Column("evened", "leaf", sign=True), seen.evened))
    read = remark(
        "tops over the board at the nut, the board carried on straight. proud: over the arc of the other tops where the"
        " hand plucks, and what nut, saddle and gauge do of it."
        f"{'' if order.proud_now is None else ' now: the same over the saddles as they are.'}"
    )
    return Title("String tops under the hand", 2), by_string(order.nut.slots, *each), read


def strip_blocks(order: SetupOrder, saddle: Saddle) -> Document:
    """A fixed saddle true to size: its crest as it is and as it has to be, and the cut below it; bass at the left."""
    x, z, *_ = (rows[-1] for rows in undersides(order.nut, saddle))
    across = np.abs(x - x[0])
    bass, treble = order.moves.underside or (0.0, 0.0)
    under = bass + (treble - bass) * across / (across[-1] or 1.0)
    foot = float(z.min()) - STRIP_TALL
    now = z - foot + order.moves.left + under
    wide = float(across[-1])

    def line(layer: str, heights: Array) -> Chain:
        shelf = heights[[0, *range(len(heights)), -1]].tolist()
        points = list(zip([-BEYOND, *across.tolist(), wide + BEYOND], shelf, strict=True))
        return Chain(layer, tuple(Line(*ends) for ends in pairwise(points)))

    flat, tips = np.zeros(len(x)), list(zip(across.tolist(), now.tolist(), strict=True))
    chains = (
        *(line("front-hidden", one) for one in (now, flat)),
        *(line("front-outline", one) for one in (now - order.moves.left, under)),
        *(Chain("slot-centres", (Line((at, 0.0), (at, top)),)) for at, top in tips),
        Chain("front-outline", (Line((0.0, -6.0), (CHECK, -6.0)),)),
    )
    labels = (
        *(
            Words(at, top + 1.5, str(slot.number), TYPE, align="centre")
            for slot, (at, top) in zip(order.nut.slots, tips, strict=True)
        ),
        Words(0.0, -10.0, "check bar: 50 mm", TYPE),
    )
    words = (
        "Printed at 100 %, without fitting: measure the check bar. Glue it on the face of the saddle that looks at the"
        " nut, the lower dashed line on its underside: file to the full lines. The crest is known at the strings alone."
    )
    return (
        Title(order.nut.title),
        Paragraph(words),
        Figure("strip", chains, labels, "Dashed: the saddle as it is; full: as it has to be, below and at its crest."),
        Findings(order.moves.findings, none=""),
        Points(order.cautions, "!"),
    )
