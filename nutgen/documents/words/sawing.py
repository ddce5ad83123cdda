"""Words for how a blank is marked, held and sawn out of its piece."""

from collections.abc import Iterable

from nutgen.documents.words.entry import Entry, Told, alike

_SQUARED = "\N{SUPERSCRIPT TWO}"
_CARE = "Clamps, eye protection, mask."
_WET = "Mask; wet only by hand, never at a machine on the mains."


def _list(numbers: Iterable[int]) -> str:
    return ", ".join(map(str, numbers))


def _where(t: Told) -> str:
    """The ends of stretches that a cross cut makes."""
    return " and ".join(f"the {end} end of stretch {number}" for number, end in t.raw("ends"))


def _cross(t: Told) -> str:
    return t.fill(
        "Clamp the piece in a V-block, close to the line, on both sides of it where it reaches. Keep the wide line, saw"
        f" beyond it, toward the {{toward}} end ({{kerf}} kerf, hatched). {{depth:.0}} deep, {_area(t)}. {_CARE}"
    )


def _stick(t: Told) -> str:
    return t.fill(
        "A straight stick of hardwood, {stick:stock,.0} or longer, its end sawn square, on the face toward the"
        " piece's {end} end: epoxy over the whole face, clean and dry; gloves, air, and as long as its sheet says. From"
        " here on the stick sits in the vise."
    )


def _hold(t: Told) -> str:
    on_piece = t.raw("held") == "piece"
    handle = "the rest of the piece, {length:stock,.0} of it beyond cut {foot}" if on_piece else "the stick"
    foot, line = ("in the kerf of cut {foot}", "the line of cut {foot}") if on_piece else ("at the glue", "the glue")
    return t.fill(
        "On the face toward the {end} end, printed side out, its back mark on the back line: its lines meet those of"
        " the strip at the edge; where they do not, check which end you hold. In the vise, between grooved or padded"
        f" jaws, sits {handle}, never what is sawn. Each rip starts on this face, keeps the line there and the two on"
        f" the skin, and stops {foot}, the saw level; then saw in from that side along {line} until the offcut drops."
    )


def _free(t: Told) -> str:
    return t.fill(
        "The handle stays in the vise. Keep the line, saw through beyond it, in the handle ({kerf} kerf), a cloth below"
        f" to catch the blank, no hand. {_area(t)} in all, with what dropped the offcuts. {_CARE}"
    )


def _area(t: Told) -> str:
    square = t.raw("area_mm2")
    return f"{square / 100.0:.1f} cm{_SQUARED}" if t.units == "mm" else f"{square / 645.16:.1f} in{_SQUARED}"


def _face(t: Told) -> str:
    side = t.raw("side")
    nut = f" of nut {t.raw('nut')}" if t.raw("several") else ""
    return (f"the {side}" if "end" in side else f"the {side} face") + nut


def _rip(t: Told) -> str:
    size = t.fill("{depth:.0} deep, {length:.0} long, ") if t.raw("length") else ""
    drop = "" if t.raw("parts") else "; drop the offcut"
    along = f"Keep the line, kerf on the waste side, down to {_foot(t)}{drop}."
    line = _end_line(t) if "end" in t.raw("side") else along
    return " ".join((*t["about"], line, f"{size}{_area(t)}.", *t["runs_out"], _CARE))


def _filed(t: Told) -> str:
    line = (_end_line(t),) if "end" in t.raw("side") else ()
    flat = "At most {over:stock} stands over, too little for the saw: file or sand a flat down to the line."
    return " ".join((t.fill(flat), *line, *t["runs_out"], _WET))


def _foot(t: Told) -> str:
    """Where a rip stops."""
    return f"the kerf of cut {t.raw('foot')}" if t.raw("foot") else "the glue"


def _parts(t: Told) -> str:
    return (
        f"Parts it from nut {_list(t.raw('nuts'))}. The half that this leaves loose is sawn off along the same end,"
        " glued on a stick of its own, and ripped last."
    )


def _end_line(t: Told) -> str:
    """Where an end of a freed block is marked: its rip lines and its skin are gone."""
    if not t.raw("to_mark"):
        return t.fill("Square a line around the block: at most {over:stock} comes off.")
    other = "last" if t.raw("side") == "first end" else "first"
    return t.fill(
        f"Square a line around the block, {{to_mark:stock}} from its {other} end; at most {{over:stock}} comes off."
    )


def _runs_out(t: Told) -> str:
    verb, beyond = ("starts", "before") if t.raw("end") == "first" else ("ends", "behind")
    at_end = "at the end of the piece itself"
    where = at_end if t.raw("at_end") else t.fill("on the skin, {at:stock} from the first end")
    return f"The line {verb} {where}: {beyond} that nothing stands over."


def _stretch(t: Told) -> str:
    """A stretch by its number, with its nuts where there are several."""
    nuts = t.raw("nuts")
    which = f" ({'nut' if len(nuts) == 1 else 'nuts'} {_list(nuts)})" if t.raw("several") else ""
    return f"stretch {t.raw('stretch')}{which}"


def _square(t: Told) -> str:
    each = "Each block" if t.raw("blocks") > 1 else "The block"
    return t.fill(
        f"{each} is now {{length:stock}} long, {{thickness:stock}} thick and {{height:stock}} high, or a little more."
        " Write front and top on it, then soak the paper off. Look for pores under a lamp before you square it; then"
        " take off what the table says."
    )


SAWING: dict[str, Entry] = {
    **alike(
        "A step of the cut plan, in its order.",
        "",
        {
            "cut.first-end": "Find the first end",
            "cut.first-end-how": "It is {which}. All distances count from it, in {units}.",
            "cut.lines": "Draw four lines along the piece",
            "cut.lines-how": "The back line: {which}. Then the left side, the belly and the right side, each a quarter"
            " turn on; left is left when you look from the first end along the piece, the back line up.",
            "cut.marks": "Mark the cross cuts on all four lines",
            "cut.marks-straight": "Take the distances from the table of marks. Measure from the first end with a rule"
            " laid along the piece.",
            "cut.marks-along-skin": "Take the distances from the table of marks. Measure straight, from a square held"
            " against the first end; with a tape along the skin, take the second table.",
            "cut.strips": "Glue the strips around the piece",
            "cut.strips-how": "Cut each strip out. Arrow to the first end, upper edge at the distance printed there,"
            " back line on yours; close it at the tab, the ticks of the joint must meet. Where they do not, trust the"
            " pencil marks.",
            "cut.cross": lambda t: f"Cut {t.raw('cut')}: across, {_where(t)}",
            "cut.cross-how": _cross,
            "cut.cross-sanded": "Cut {cut}: no saw",
            "cut.cross-sanded-how": lambda t: (
                f"Sand {_where(t)} down to the line: less than a slice stands over. {_WET}"
            ),
            "cut.sawn-end": lambda t: f"Cut {t.raw('cut')}: no saw, {_where(t)}",
            "cut.sawn-end-how": "It is the piece's own sawn end: so thin a slice is not taken off the whole piece. The"
            " rip lines go on it as it is; what stands over the block is cut off after its long faces.",
            "cut.stick": lambda t: f"Glue {_stretch(t)} on a stick",
            "cut.stick-how": _stick,
            "cut.hold": lambda t: f"Glue the end view on {_stretch(t)}, and hold it",
            "cut.hold-how": _hold,
            "cut.free": lambda t: f"Cut {t.raw('cut')}: across, last, {_where(t)}",
            "cut.free-how": _free,
            "cut.off-the-stick": "Saw it off the stick",
            "cut.off-the-stick-how": f"Through the wood, just beyond the glue; pare wood and glue off the end. {_CARE}",
            "cut.held-by-piece": lambda t: t.fill(
                f"{_stretch(t)} is ripped held by the rest of the piece: {{length:stock,.0}} at the {{end}} end"
            ),
            "cut.held-by-stick": lambda t: t.fill(
                f"{_stretch(t)} leaves no handle: it is glued on a hardwood stick of {{stick:stock,.0}} or more"
                " before it is ripped"
            ),
            "cut.rip": lambda t: f"Cut {t.raw('cut')}: {_face(t)}",
            "cut.rip-how": _rip,
            "cut.rip-sanded": lambda t: f"Cut {t.raw('cut')}: no saw, {_face(t)}",
            "cut.rip-sanded-how": _filed,
            "cut.measure": "Measure, square, and go on",
            "cut.measure-how": _square,
            "cut.parts-nuts": _parts,
            "cut.opens-core": "Takes the core off: look for pores in the fresh face.",
            "cut.runs-out": _runs_out,
            "cut.ends-and-lines": "The first end: {first_end}. The back line: {back_line}; left, belly and right follow"
            " a quarter turn on each. Left is left when you look from the first end, the back line up.",
        },
    ),
    **alike(
        "Common practice, no source; put before every cut plan. Local rules and licensed practice come first.",
        "",
        {
            "caution.raw-material": "Use clean, dry, sound material from a known seller; degrease raw bone first. Wash"
            " your hands, cover cuts.",
            "caution.round-pieces": "A round piece rolls and grabs: clamp it in a V-block or a grooved board, on both"
            " sides of the cut. Keep fingers away from the blade, use push sticks, wear eye protection, no gloves at"
            " turning tools.",
            "caution.short-pieces": "Rip by hand, with a fine saw, the handle or the stick in a vise: nothing short is"
            " ever held in the fingers. What sits in the vise stays there until its blank is free.",
            "caution.machines": "For any machine the blank too is glued on a hardwood stick of {stick:stock,.0} or"
            " more, and roughed there to {over:stock} over its size, no nearer. Never wet at a machine on the mains."
            " Local rules and a licensed repairer come first.",
            "caution.sawing-in-short": "Round pieces roll and grab: clamp them on both sides of the cut, fingers away;"
            " read the whole list on stock.pdf.",
        },
    ),
}
