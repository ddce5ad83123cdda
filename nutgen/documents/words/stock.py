"""Words for a blank in its piece: the answer, and what would fit instead."""

from nutgen.documents.words.entry import Entry, Told, alike

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
        "{margin:spare} is little to spare: a pencil line and a saw that wanders use up {used:stock}. Measure the"
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
            "permit.sawn-face": "{left:stock} left on each sawn face (permit.sawn_face), which asks for a steady saw,",
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
                f"no straight saw cut parts the blocks of nuts {', '.join(map(str, t.raw('nuts')))} from each other"
            ),
        },
    ),
}
