"""Words for a blank in its piece: the answer, what would fit instead, and how it is marked and sawn out."""

from collections.abc import Iterable

from nutgen.documents.words.entry import Entry, Told, alike

_SQUARED = "\N{SUPERSCRIPT TWO}"
_ASK_LESS = "Take a larger piece, ask for fewer nuts, or take what fits instead."


def _yes(t: Told) -> str:
    nuts = "one nut" if t.raw("nuts") == 1 else f"{t.raw('nuts')} nuts"
    return f"Yes: {nuts}, {t['margin']:spare} to spare"


def _on_block(t: Told) -> str:
    """A place on the block: an end, a face, an edge or a corner; commas within it."""
    level, side = t.raw("level"), t.raw("side")
    if t.raw("part") == "front edge and slot floors" and level == "underside":
        return f"the {side} edge of the slot floors" if side else "the floor of the deepest slot"
    end = f"the end toward the piece's {t.raw('end')} end" if t.raw("end") else ""
    lower = "lower" if level == "underside" else level
    edge = f"the {lower} {side} edge" if level and side else ""
    if not edge and (level or side):
        edge = f"the {level or side + ' face'}"
    return f"{edge}, at {end}" if edge and end else edge or end or "the inside of the block"


def _begun(t: Told) -> str:
    """The same at the beginning of a sentence, or within one, closed by a comma where it has one."""
    place = _on_block(t)
    return place + ("," if "," in place else "")


def _too_near(t: Told) -> str:
    away = t.raw("from_core")
    where = f"{t['from_core']:spare} from" if away >= 0.0 else f"{t['inside_core']:short} inside"
    return t.fill(
        f"{_begun(t)} lies {where} the core, {{along:.0}} along the piece; {{keep:stock}} of compact material are asked"
        " for: {missing:short} are short"
    )


def _off_grain(t: Told) -> str:
    which = "the block" if t.raw("blocks") == 1 else "one of the blocks"
    return f"{which} lies {t.raw('off_deg'):.1f} degrees off the grain; up to {t.raw('most_deg'):g} are permitted"


_SAWN = "saw {sawn[0]:blank,bare} x {sawn[1]:blank,bare} x {sawn[2]:blank,bare} {units}"


def _walls(t: Told) -> str:
    *others, last = (f"{at:bare,.0}" for at in t["at"])
    places = f"{', '.join(others)} and {last}" if others else last
    return (
        f"the wall over the core was measured {places} {t['units']} along the piece only; elsewhere it is taken to run"
        " on evenly. Measure it again on the fresh faces after the first cuts; where it is thinner, lay the blank anew"
    )


def _too_short(t: Told) -> str:
    instead = "; it would do for a nut of {longest:stock} at most" if t.raw("longest") is not None else ""
    return t.fill(
        "the piece is {length:stock} long, the nut {nut:stock}, and {sawn:blank} as a sawn block: take a longer"
        f" piece{instead}"
    )


def _not_sawn(t: Told) -> str:
    nuts = "the nut lies" if t.raw("nuts") == 1 else f"{t.raw('nuts')} nuts lie"
    fewer = "" if t.raw("nuts") == 1 else "; ask for fewer with --count"
    return t.fill(
        f"{nuts} in the piece with {{margin:spare}} to spare, but the saw cuts do not come out: {{why}}{fewer}"
    )


def _list(numbers: Iterable[int]) -> str:
    return ", ".join(map(str, numbers))


def _where(t: Told) -> str:
    """The ends of stretches that a cross cut makes."""
    return " and ".join(f"the {end} end of stretch {number}" for number, end in t.raw("ends"))


def _cross(t: Told) -> str:
    both = " It ends one stretch and begins the next." if len(t.raw("ends")) > 1 else ""
    return t.fill(
        "Clamp the piece in a V-block, close to the line. Keep the wide line, saw beyond it, toward the {toward} end"
        f" ({{kerf}} kerf, hatched). {{depth:.0}} deep, {_area(t)}.{both}"
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
    line = _end_line(t) if "end" in t.raw("side") else "Keep the line, kerf on the waste side."
    return f"{t['why']} {line} {size}{_area(t)}.{''.join(map(str, t['runs_out']))}"


def _end_line(t: Told) -> str:
    """Where an end of a freed block is marked: its rip lines and its skin are gone."""
    if not t.raw("to_mark"):
        return t.fill("Square a line around the block: at most {over:stock} comes off.")
    other = "last" if t.raw("side") == "first end" else "first"
    return t.fill(
        f"Square a line around the block, {{to_mark:stock}} from its {other} end; at most {{over:stock}} comes off."
    )


def _rests(t: Told) -> str:
    table, *fence = t.raw("rests")
    against = f", its {fence[0]} face against the fence" if fence else ""
    return f"The {table} face lies flat on the table{against}."


def _runs_out(t: Told) -> str:
    verb, beyond = ("starts", "before") if t.raw("end") == "first" else ("ends", "behind")
    at_end = "at the end of the piece itself"
    where = at_end if t.raw("at_end") else t.fill("on the skin, {at:stock} from the first end")
    return f" The line {verb} {where}: {beyond} that nothing stands over."


def _glue(t: Told) -> str:
    nuts = t.raw("nuts")
    which = f" ({'nut' if len(nuts) == 1 else 'nuts'} {_list(nuts)})" if t.raw("several") else ""
    return f"Glue the end views on stretch {t.raw('stretch')}{which}"


def _square(t: Told) -> str:
    each = "Each block" if t.raw("blocks") > 1 else "The block"
    return t.fill(
        f"{each} is now {{length:stock}} long, {{thickness:stock}} thick and {{height:stock}} high, or a little more."
        " Write front and top on it, then soak the paper off. Look for pores under a lamp before you square it; then"
        " take off what the table says."
    )


STOCK: dict[str, Entry] = {
    **alike(
        "The answer: the least spare room of any blank in its place, or what is missing.",
        "",
        {
            "piece.yields": _yes,
            "piece.short": "No: short by {missing:short}",
            "piece.no-room": "No",
            "piece.tightest": lambda t: t.fill(
                f"tightest at {_on_block(t)}, against the {t['against']}, {{along:.0}} along the piece"
            ),
        },
    ),
    **alike(
        "The block with its allowances must lie inside the skin and along the grain, its nut outside the core, with a"
        " saw cut between blocks.",
        _ASK_LESS,
        {
            "piece.out-of-skin": lambda t: t.fill(
                f"{_begun(t)} is out of the skin by {{missing:short}}, {{along:.0}} along the piece"
            ),
            "piece.nut-in-core": lambda t: t.fill(
                f"of the nut, {_begun(t)} is inside the core by {{missing:short}}, {{along:.0}} along the piece, where"
                " no core is permitted"
            ),
            "piece.core-too-near": _too_near,
            "piece.beyond-grain": "the block lies {off_deg:.1f} degrees off the grain; {most_deg:g} are permitted",
            "piece.no-room-between": "between the {blocks} blocks {missing:short} are missing for the cuts",
            "piece.shorter-than-nut": _too_short,
        },
    ),
    "piece.wall-unmeasured": Entry(
        "No yes yet: {material} is hollow or porous inside, and no wall was measured. Saw off the thick end, look, and"
        " write the wall in the piece file, or no_core = true where it is compact all through. Until then:",
        "Bone, antler and horn grow about a hollow or a porous core, which the outside does not show.",
        "Measure the compact wall at a fresh cut: wall of a station, or of the scan; or say no_core = true.",
    ),
    "piece.if-wall": Entry(
        lambda t: t.fill(
            "with a wall of {wall:stock} it would fit, {margin:spare} to spare"
            if t.raw("margin") > t.raw("least")
            else "with a wall of {wall:stock} it would not: {missing:short} are short"
        ),
        "What the answer would be for a wall that is often met in such pieces. Common practice, no source.",
        "Measure the wall.",
    ),
    "piece.little-to-spare": Entry(
        "{margin:spare} is little to spare: a caliper, a pencil line and a saw may each take a few tenths. Measure the"
        " tightest place again, saw on the waste side, and leave the line",
        "The block fits by less than marking and sawing may take.",
        "Measure the tightest place again before you saw.",
    ),
    "piece.off-grain": Entry(
        _off_grain,
        "There is more room across the grain than along it; a nut is strongest along it.",
        "Lower permit.grain_deg to have the block lie along the grain.",
    ),
    "piece.walls-assumed": Entry(
        _walls,
        "The wall was measured at some stations only.",
        "Measure the wall at more stations, or again on the fresh faces.",
    ),
    "piece.core-crosses-skin": Entry(
        "the core comes out through the skin about {along:.0} from the first end; measure a station there, or look at"
        " the walls beside it",
        "Skin and core run smoothly through the stations, and between two of them they cross.",
        "Measure a station there, or look at the walls beside it.",
    ),
    "piece.far-from-origin": Entry(
        lambda t: t.fill(
            f"the scan lies {t.raw('away') / 1000.0:.0f} m from the origin of its file, where the numbers of an STL"
            f" file are {t.raw('step'):.2g} mm apart and blank.stl would lose its shape; move the mesh to its origin in"
            " the program it came from, save it again and lay the blank anew"
        ),
        "The numbers of an STL file grow coarser with the distance from zero.",
        "Move the mesh to its origin in the program it came from.",
    ),
    **alike(
        "Nothing else was short: with that permitted, or made smaller, the piece would do.",
        "",
        {
            "instead.permitting-more": "with {what} it fits, {margin:spare} to spare",
            "instead.fewer": "the piece yields {fewer} of the {blocks} blocks: ask for --count {fewer}",
            "instead.lower": "a blank {by:stock} lower would do, on a shim of {by:stock} glued under it: "
            f"{_SAWN}; the nut is then {{left:stock}} high",
            "instead.thinner": "a blank {by:stock} thinner would do, with a shim of {by:stock} behind it (in a channel;"
            f" on an open ledge it needs none): {_SAWN}; the nut is then {{left:stock}} thick",
            "instead.shorter": f"at full thickness and height the longest nut is {{left:stock}}: {_SAWN}, for a"
            " narrower board",
        },
    ),
    **alike(
        "What the piece file may permit a blank.",
        "",
        {
            "permit.wane": "a wane of {most:stock} permitted on the top back edge",
            "permit.core": lambda t: (
                "core permitted in " + ("the " if len(t.raw("parts")) == 1 else "") + " and ".join(t.raw("parts"))
            ),
        },
    ),
    "permit.wane-too-large": Entry(
        "permit.wane: {wane:stock} is more than what is cut away from the top back edge later; allowed is up to"
        " {most:stock} on this nut",
        "A wane on the top back edge must be cut away when the nut gets its bevel.",
        "Permit a smaller wane.",
    ),
    **alike(
        "Every mark counts from the first end and from the back line, so both must be found on the piece itself.",
        "Write first_end and back_line in the piece file in your own words.",
        {
            "first-end.stated": "{words}",
            "first-end.cut": "the end that is sawn off",
            "first-end.closed": "the end that rounds off to a tip",
            "first-end.thicker": "the thicker end",
            "first-end.thinner": "the thinner end",
            "first-end.alike": "the end that the distances were measured from; the two look alike, so pencil a 1 on it",
            "back-line.stated": "{words}",
            "back-line.scan": "along the side that lay uppermost in the scan",
            "back-line.back": "straight along the middle of the back, the side that the height was measured from",
        },
    ),
    **alike(
        "The blocks fit, but straight saw cuts do not part them from the piece or from each other.",
        "Ask for fewer nuts from this piece.",
        {
            "cut.not-sawn": _not_sawn,
            "cut.misses-the-skin": "a cut {along:stock} from the first end misses the skin of the piece",
            "cut.not-around-the-axis": "the outline does not go round the axis of the piece; check the axis against the"
            " skin",
            "cut.skin-too-short": "the skin is met at fewer than three places along the piece; is its axis along the"
            " piece?",
            "cut.not-parted": lambda t: (
                f"no straight saw cut parts the blocks of nuts {_list(t.raw('nuts'))} from each other; ask for"
                " fewer nuts"
            ),
        },
    ),
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
            "cut.cross-sanded-how": lambda t: f"Sand {_where(t)} down to the line: less than a slice stands over.",
            "cut.sawn-end": lambda t: f"Cut {t.raw('cut')}: no saw, {_where(t)}",
            "cut.sawn-end-how": "It is the piece's own sawn end: so thin a slice is not taken off the whole piece. The"
            " rip lines go on it as it is; what stands over the block is cut off last.",
            "cut.end-views": _glue,
            "cut.end-views-how": "Each on the face it is named for, printed side out, its back mark on the back line."
            " Then its lines and those of the strip meet at the edge; where they do not, check which end you hold.",
            "cut.rip": lambda t: f"Cut {t.raw('cut')}: {_face(t)}",
            "cut.rip-how": _rip,
            "cut.rip-sanded": lambda t: f"Cut {t.raw('cut')}: no saw, {_face(t)}",
            "cut.rip-sanded-how": lambda t: t.fill(
                "At most {over:stock} stands over, too little for the saw: "
                + (f"sand. {_end_line(t)}" if "end" in t.raw("side") else "sand down to the line.")
            ),
            "cut.measure": "Measure, square, and go on",
            "cut.measure-how": _square,
            "cut.parts-nuts": lambda t: f"Parts it from nut {_list(t.raw('nuts'))}. Hold the stretch in the V-block.",
            "cut.opens-core": "Takes the core off: look for pores in the fresh face. Hold the stretch in the V-block;"
            " what follows lies on this flat.",
            "cut.first-flat": "A wide face, on its thinner side. Hold the stretch in the V-block; what follows lies on"
            " this flat.",
            "cut.rests": _rests,
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
            "caution.short-pieces": "Short pieces go in a hand vise or in a holder, never in the fingers. Where a power"
            " saw is not meant for such a piece, take a fine hand saw.",
            "caution.sawing-in-short": "Round pieces roll and grab: clamp them on both sides of the cut, fingers away;"
            " read the whole list on stock.pdf.",
        },
    ),
}
