"""Words for the work at the bench: tools, leaves, cautions, the way back, the old nut."""

from nutgen.documents.words.entry import Entry, Sentence, Told, alike
from nutgen.documents.words.quantities import MM_PER_INCH, Units, rounded


def leaves_marked(leaves: tuple[float, ...], units: Units) -> str:
    """The leaves of a stack as they are marked: 1.00 + 0.35, or .035 + .0015.

    leaves : [mm]
    units  : of the set they belong to
    """
    if units == "mm":
        return " + ".join(f"{leaf:.3f}".rstrip("0").ljust(4, "0") for leaf in leaves)
    inches = (f"{leaf / MM_PER_INCH:.4f}" for leaf in leaves)
    return " + ".join(text.lstrip("0")[: 4 if text[-1] == "0" else 5] for text in inches)


def _laid(t: Told) -> str:
    """A stack from the top down: "1.00 + 0.35", "0.24 steel over 3 card + 1 paper"."""
    leaves, sheets = t.raw("leaves"), " + ".join(t["sheets"])
    if not leaves and not t.raw("summed"):
        return f"steel over {sheets}"
    strips = [f"{leaf:leaf,bare}" for leaf in t["leaves"]]
    steel = leaves_marked(leaves, t.raw("marked")) if t.raw("marked") else " + ".join(strips)
    if leaves and (sheets or not t.raw("marked")):
        steel += " steel"
    return " over ".join(filter(None, (steel, sheets))) or "none so thin"


def thousandths(width: float) -> str:
    """A width [mm] as files are marked: .042 in."""
    return f"{rounded(width / MM_PER_INCH, 3):.3f} in".lstrip("0")


def filled(material: str) -> str:
    """How a slot is filled."""
    return f"fill the slot with dust of {material} and thin glue, in two goes, and file it again"


_SAME = filled("the same material")

_CAUTIONS = alike(
    "A step at the bench that can hurt whoever does it.",
    "Do as it says; local rules and licensed practice come first.",
    {
        "bench.dust": "Dust: wet work or extraction, a fitted mask, no dry sweeping; see the cautions of the material.",
        "bench.turning-tools": "Rotary tools and belts: goggles, hair and sleeves tied back, no gloves, piece clamped"
        " or in a jig.",
        "bench.edges": "Saws and files slip: clamp the piece, not your fingers; goggles.",
        "bench.prising": "Prise nothing out of a seat by force: score the finish first, tap the old nut sideways.",
        "bench.string-whips": "A string under tension can whip: slacken it before you lift it, goggles on, face away.",
        "bench.thin-glue": "Thin glue bonds skin and eyes and heats on cotton or dust: goggles, air the room, keep a"
        " debonder by.",
    },
)

_REMEDIES = alike(
    "A size is past its limit: what is sanded or filed off does not come back.",
    "Stop where the stage says stop, and go on stroke by stroke.",
    {
        "remedy.too-short": "start again: a short nut lets the outer string slip off; keep the piece for a narrower"
        " board",
        "remedy.turn-for-thickness": "turn the blank a quarter, so that its height becomes the thickness, where that"
        " measures {least} and more and the other way {height}; else start again",
        "remedy.turn-for-height": "turn the blank a quarter, so that its thickness becomes the height, where that"
        " measures {least} and more and the other way {thickness}; else pack it from below, up to"
        " {thickest_shim:stock}, or start again",
        "remedy.pack-behind": "pack it behind, between back face and headstock, never in front: the scale starts at the"
        " front face",
        "remedy.too-thin": "start again: the land no longer fits on the nut; a ledge can not be packed",
        "remedy.pack-below": "pack the whole nut from below, end to end, so that it stays level",
        "remedy.start-back": "a string that starts a tenth of a millimetre (0.004 in) too far back is out by less"
        " than half a cent: leave it; more, and start again",
        "remedy.shelf-thin": "start again: so thin under its slots the shelf breaks off",
        "remedy.dress-top": "dress the top and leave the bevel alone: each {off} off the top widens the land by"
        " {wider}",
        "remedy.fill-wide": f"{_SAME}; or fit the next thicker string",
        "remedy.too-wide": "start again: metal cannot be filled; or fit the next thicker string",
        "remedy.too-shallow": "the string lies too shallow: pack the whole nut from below and file every slot down by"
        " the same",
        "remedy.too-low": lambda t: (
            (f"where one slot alone is low, {_SAME}; else " if t.raw("fill") else "")
            + "pack the whole nut from below by what is missing and file the other slots down by the same"
        ),
    },
)

_TOOLS = {
    "saw": "saw of {tool_width} kerf",
    "slotting file": "slotting file {tool_width}",
    "needle file": "needle file, taped where it measures {tool_width}, handle toward the headstock; never let the tape"
    " pass the front face",
    "drill shank": "abrasive paper round a drill shank, {tool_width} over the paper",
}


def _cut(tool: str) -> Sentence:
    def says(t: Told) -> str:
        words = t.fill(_TOOLS[tool])
        if tool == "slotting file" and t.units == "mm":
            words += f" ({thousandths(t.raw('tool_width'))})"
        strokes, rocking = t["strokes"], t["rock_strokes"]
        words += t.fill(
            ": down to {floor_left} above the final floor" if t.raw("floor_left") else ": down to the stop stack"
        )
        words += f", looking every {'stroke' if strokes == 1 else f'{strokes} strokes'}"
        if t.raw("widen"):
            every = "every rocking stroke" if rocking == 1 else f"every {rocking} rocking strokes"
            words += t.fill("; rock it to widen by {widen:fine}") + f", trying the string {every}"
        return words

    return says


def _no_tool_fits(verdict: str) -> Sentence:
    def says(t: Told) -> str:
        asked = f" ({thousandths(t.raw('width'))})" if t.units == "mm" else ""
        return t.fill(f"{{width}}{asked}: no tool fits; the nearest, the {{tool}}, leaves {{leaves}}, {verdict}")

    return says


_SLOTS = {
    **alike(
        "One tool in one slot: the narrowest first, the last one to width and floor.",
        "List the files, saws and shanks that you have under [tools].",
        {f"tools.{tool.replace(' ', '-')}": _cut(tool) for tool in _TOOLS},
    ),
    "tools.fits": Entry(
        "{width}: the {tool} fits, to about {plus_minus}",
        "A tool on the bench leaves the width that the slot wants, as near as its own mark.",
    ),
    "tools.none": Entry(
        "no tool on this bench cuts a round slot; list files, needle_files or drill_shanks under [tools]",
        "The file lists no tool with a round edge.",
        "List what you have under [tools].",
    ),
    **alike(
        "No tool that the file lists leaves the width that this slot wants.",
        "Borrow or buy a file of the width, or list it under [tools] if it is there.",
        {
            "tools.below-gauge": _no_tool_fits("{off} too narrow for the string itself; open it with paper on a wire"),
            "tools.narrow": _no_tool_fits(
                "{off} narrow: the string may bind, so open it with paper folded over a leaf"
            ),
            "tools.wide": _no_tool_fits(
                "{off} wide: the string may rattle sideways, so borrow or buy a file of the width"
            ),
        },
    ),
}


def _widen(t: Told) -> str:
    return t.fill("widen to {width:bare}") + (t.fill(", toward the {toward} side") if t.raw("toward") else "")


_OLD_NUT = {
    **alike(
        "A slot of the old nut does not suit the string that it is to carry.",
        "File what can be filed; a slot that is too wide or off its place wants filling or a new nut.",
        {
            "old-slot.widen": _widen,
            "old-slot.too-wide": "too wide by {by:bare} (rattle)",
            "old-slot.listen": "{by:bare} wider than is usual: string up and listen; unless the string rattles or"
            " moves, it may stay",
            "old-slot.wide-but-quiet": "{by:bare} wider than is usual, but its string neither rattles nor moves",
            "old-slot.rattles-otherwise": "its string rattles though the slot is no wider than usual: look for a floor"
            " that is not highest at its front, a small break angle, a loose part elsewhere",
            "old-slot.off-position": "off position by {by:bare} to the {side} side",
            "old-slot.too-low": "too low by {by:bare} (buzz)",
            "old-slot.too-low-under-bar": "too low by {by:bare} (its top below the plane)",
            "old-slot.file-down": "file the floor down by {by:bare}",
            "old-slot.low-but-clear": "{by:bare} lower than wanted, still clear",
            "old-slot.narrow-untold": "{go:bare} to {no_go:bare} wide: if the string binds, widen to {width:bare}",
            "old-slot.wide-untold": lambda t: t.fill(
                ("{go:bare} to {no_go:bare}" if t.raw("no_go") else "{go:bare} at least")
                + " wide: over {most:bare} it rattles, which the string itself tells"
            ),
        },
    ),
    **alike(
        "The old nut is held, slot by slot, against the nut that the file asks for.",
        "",
        {
            "old-nut.keep": "every slot suits its string as it is",
            "old-nut.listen": "{who}: a wide slot often plays; string up, pluck open, push behind the nut, and write"
            " which rattle or move as old_nut.rattles, [] where none does",
            "old-nut.file": "every slot can be filed to what its string needs",
            "old-nut.fill": "{who} to fill and to file again; the others need no packing for that",
            "old-nut.shim": "a shim of {shim} under the nut saves it; then file each floor to its height",
            "old-nut.shim-too-thick": "a slot is too low by {shim}: over {most:stock} neither a shim nor a filled slot"
            " holds",
            "old-nut.slots-lost": lambda t: (
                " and ".join(
                    f"{what} for {', '.join(names)}"
                    for what, names in (("too wide", t["too_wide"]), ("off position", t["misplaced"]))
                    if names
                )
                + (": fill those slots and cut them again, or make a new nut" if t.raw("fill") else "")
                + "; a shim does not help"
            ),
        },
    ),
    "old-nut.pluck-assumed": Entry(
        lambda t: f"buzz is judged by a pluck that is assumed: {', '.join(t['assumed'])}; write [pluck]",
        "How hard the strings are plucked decides how low a floor may be, and the file does not say it.",
        "Write [pluck].",
    ),
}

_STACKS = {
    "wires.between": Entry(
        lambda t: t.fill(
            f"the {leaves_marked((t.raw('go'),), 'in')} enters, the {leaves_marked((t.raw('no_go'),), 'in')} does not:"
            " then it is {go:bare} to {no_go}"
        ),
        "Offcuts of plain strings are gauges of a slot: what enters is no wider, what does not is wider.",
        "List them under tools.wires; where neither tells enough, try the string itself.",
    ),
    "stack.laid": Entry(
        _laid,
        "A stop, or a gap, is made of what lies on the bench: leaves, or steel over sheets of one's own.",
        "List leaves under tools.feeler, sheets under tools.own_leaves, strips under tools.steel.",
    ),
}

_TUNER_CAUSE = (
    "A nut too high is sharp at fret 1 and less so higher up; a saddle is off most at fret 12; a string that is uneven"
    " fits neither, and its harmonic is no octave."
)


def _saddle_off(t: Told) -> str:
    whom = t.fill("{who}: its saddle") if t.finding.about else "all saddles"
    return f"{whom} {t['by']} {'toward the nut' if t['toward'] else 'away from the nut'}"


_TUNER = alike(
    _TUNER_CAUSE,
    "One step at a time, then tune and read again.",
    {
        "tuner.string-bad": "{who}: the string itself is uneven, no nut and no saddle tunes it: a new one first",
        "tuner.nut-high": "the nut is too high, by about {by}: file its slots by leaves, see `nutgen dryfit`",
        "tuner.slot-high": "{who}: its slot is too high, by about {by}: file it by leaves, see `nutgen dryfit`",
        "tuner.saddles-off": _saddle_off,
        "tuner.saddle-off": _saddle_off,
        "tuner.nothing-found": "nothing is off by more than such readings are",
        "tuner.nut-unheard": "a nut {high:limit} too high would sharpen fret 1 by {most_cents} at most: a tuner does"
        " not find that, leaves do",
    },
)


def _shims(t: Told, side: str) -> str:
    """Shims in all at a side, and what they are laid of."""
    laid = " + ".join(f"{sheet:leaf,bare}" for sheet in t[f"of_{side}"])
    if not laid:
        return f"no shim under its {side} side"
    return t.fill(f"shims of {{{side}:leaf}} in all under its {side} side") + f" ({laid})"


_CLAMPED = alike(
    "A metal nut that clamps its strings is not filed: shims under it set its height; a plain nut can take its place.",
    "Loosen the clamps and slacken the strings before it is lifted; its own screws and holes stay, nothing is drilled.",
    {
        "setup.nut-clamped": lambda t: (
            f"the clamped nut, strings slack: {_shims(t, 'bass')}, {_shims(t, 'treble')}, pressed flat by its own"
            " screws; nothing is drilled"
        ),
        "clamped.not-read": "missing; shims go by what the strings over the clamped nut read over fret 1",
        "clamped.too-high": "the clamped nut stands {by} too high with no shim under it: lowering the wood below it is"
        " for a licensed repairer; or the plain block that `nutgen make` gives in its place",
        "clamped.string-off": "{who}: comes to {comes} over fret 1 on these shims, {wanted:bare} is wanted: the clamped"
        " nut's own curve is not that of the frets, or thinner sheets come nearer (clamped.shims)",
        "clamped.filler": "what is made of this file is the plain block that fills the seat of the clamped nut,"
        " {length:bare} x {thickness:bare} x {height}, with slots, glued over its screw holes: no hole is drilled near"
        " the truss rod; while the clamped nut stays, `nutgen setup` tells its shims",
    },
)

BENCH: dict[str, Entry] = {
    **_CLAMPED,
    "compare.never-made": Entry(
        "its log holds nothing that was made; make it first, or name two files",
        "What was made of a file is kept in the log beside it.",
    ),
    "compare.other-strings": Entry(
        "another number of strings: a new nut", "Slots of a nut for other strings stand in other places."
    ),
    **alike(
        "The nut that was made is smaller than the one that is wanted.",
        "Make a new one; a shim under it helps where only height is missing.",
        {
            "compare.length-short": "the nut is too short by {by}: a new one",
            "compare.thickness-short": "the nut is too thin by {by}: a new one, or a packing behind it",
            "compare.height-short": "the nut's top is too low by {by}: its slots are shallower than wanted",
        },
    ),
    **alike(
        "The nut that was made is larger than the one that is wanted.",
        "Take it off in passes, and measure between them.",
        {
            "compare.length-off": "the ends: take off {by} in all",
            "compare.thickness-off": "the back: take off {by}",
            "compare.height-off": "the top: take off {by} once the slots are right",
        },
    ),
    **_STACKS,
    **_TUNER,
    **_CAUTIONS,
    **_REMEDIES,
    **_SLOTS,
    **_OLD_NUT,
}
