"""Words for what a material does to people, tools and files, and for how a blank is sawn out of its piece."""

from collections.abc import Iterable

from nutgen.documents.words.entry import Entry, Told, alike

_HAZARDS = alike(
    "Working this material can hurt whoever breathes, touches or burns it.",
    "Do as it says; local rules and licensed practice come first.",
    {
        "material.fine-dust": "Fine dust: work wet or with extraction, wear a fitted mask (P3, FFP3 or N95 to P100),"
        " wipe up wet, never sweep dry. The general dust limits are 15 mg/m3 total and 5 respirable (US), 10 inhalable"
        " and 4 respirable (UK); local rules may ask for more.",
        "material.raw-animal": "Raw or imported horn, bone and hide can carry disease, anthrax among it: take cleaned,"
        " dried, treated material from a known seller; wash your hands; cover cuts.",
        "material.species": "Know the animal it comes from: trade in some species is licensed or forbidden; no ivory.",
        "material.wasting": "Hard, clean, dry antler only: no tissue, no skull plate, nothing from an animal found dead"
        " or sick. No human case of chronic wasting disease is shown; the advice is to avoid exposure.",
        "material.burnt-bone": "Burnt bone stinks and its smoke irritates: go slowly and wet under a rotary tool.",
        "material.hot-horn": "Horn softens and stinks when it is hot: light cuts, no dry power sanding, open the"
        " window.",
        "material.wood-dust": "Wood dust is a recognised cause of cancer of the nose: extraction and a fitted mask (P3,"
        " FFP3 or N95 to P100), no dry sweeping; many countries set a stricter limit for hardwood than for dust in"
        " general.",
        "material.timber-rash": "Ebony, rosewood and other oily timbers can bring on a rash or asthma: stop at the"
        " first sign.",
        "material.licensed-timber": "Some rosewoods and ebonies are licensed in trade.",
        "material.lead": "Free-cutting brass holds lead: wash your hands before eating, keep the dust off food and away"
        " from children, wipe up wet; clamp it down on a drill or router, it snatches.",
        "material.brass-filings": "Filings are sharp and fly: goggles, gloves off near anything that turns.",
        "material.brass-heat": "It grows hot on a belt or wheel long before it looks it: dip it often.",
        "material.phenolic-dust": "Phenolic dust with paper or cloth fibres irritates skin, eyes and lungs; hot cutting"
        " gives off formaldehyde: wet work, sharp tools, slow speeds, sleeves closed.",
        "material.uncured-resin": "Uncured resin sensitises skin: gloves, and cure a resin print fully before you touch"
        " or sand it.",
        "material.fumes": "Printers and heat guns give off fumes: air the room. No flame near alcohol or acetone.",
    },
)

_WORKING = alike(
    "The material cuts, clogs, moves or wears in a way of its own.",
    "Do as it says; most of it is common practice, and the part that is published names its source.",
    {
        "material.bone-dulls-files": "Dulls fine files slowly; the dust packs the teeth, so brush them out every few"
        " strokes.",
        "material.exit-edge-chips": "Chips at an exit edge: let the file run out onto a scrap, or file from both"
        " sides.",
        "material.bone-along-shaft": "Lay the nut's length along the shaft of the bone. Reject soft, translucent spots"
        " and keep any porous core out of the slot floors and the front edge.",
        "material.bone-degreased": "Fat yellows and smells: degrease raw bone before it is squared.",
        "material.antler-dulls-files": "Easy on files, a little softer than bone; the dust packs the teeth, so brush"
        " them out.",
        "material.antler-shell": "A compact shell around a porous core, all along: cut the nut from the shell. The"
        " compact antler is softer than bone (7.5 GPa, 108 MPa, wet).",
        "material.antler-core": "Porous core that must stay is soaked with thin glue first; never leave it under a"
        " string.",
        "material.horn-clogs-files": "Easy on files but clogs them: chalk the teeth and brush them out; heat smears"
        " it.",
        "material.horn-moves": "It moves with damp and heat and wears faster than bone under a wound string: let the"
        " squared blank rest a day before it is fitted, and look at the slots again after some months.",
        "material.horn-layers": "It is built in layers: keep them level with the board so that no layer edge lifts in a"
        " slot.",
        "material.timber-clogs-files": "Easy on files; oily timber clogs them, so brush them out along the teeth.",
        "material.timber-grain": "A plain steel string saws through end grain and soft spots: let the grain run along"
        " the nut, and run thin glue into the slot floors of a soft timber.",
        "material.timber-wears": "Slots wear low within months; keep this nut's sheet for the next one.",
        "material.brass-wears-files": "Wears gauged slotting files fast, and a file worn on brass skates on bone: start"
        " the slots with a saw and keep older files for it.",
        "material.brass-pins-files": "Pins the teeth and then scores the slot: chalk and brush the file.",
        "material.brass-burrs": "Burrs at every edge will cut a string: break them with P600. There is no filling a"
        " metal slot that is too low: shim the nut or start again.",
        "material.phenolic-wears-files": "Abrasive to fine files, more so with glass or cloth in it; brush them out"
        " dry.",
        "material.phenolic-layers": "Layers show at the edges and may fray: lay them level with the board and file"
        " toward the middle.",
        "material.plastic-melts": "Does not wear files but melts into the teeth: slow strokes, brush them out, or file"
        " wet.",
        "material.trial-nut": "A trial nut: PLA softens at 55 to 65 C, so not in a parked car. Expect"
        " {error_low:leaf,bare} to {error_high:leaf} of error from a filament printer, and slots under about"
        " {pilot_width} as pilots only.",
        "material.print-allowances": "Print it with this sheet's allowances (body.top, back, ends, floors) so that"
        " there is plastic to take off.",
    },
)

_ASK = "local rules first; unsure, ask a licensed repairer"

_IN_SHORT = {
    "bone": "Bone dust harms lungs: work wet or draw it off, fitted mask (FFP3, N95), eye protection",
    "antler": "Antler dust harms lungs: work wet or draw it off, fitted mask (FFP3, N95), eye protection",
    "horn": "Horn dust harms lungs: light cuts, draw it off, fitted mask (FFP3, N95), eye protection",
    "hardwood": "Wood dust causes cancer and rashes: draw it off, fitted mask (FFP3, N95), eye protection",
    "brass": "Brass filings fly and may hold lead: eye protection, fitted mask, wipe up wet, wash your hands",
    "phenolic": "Phenolic dust irritates lungs, eyes and skin: work wet, fitted mask (FFP3, N95), eye protection",
    "printed plastic": "Plastic dust and fumes irritate: air the room, fitted mask (FFP3, N95), eye protection",
}

_SHORT = alike(
    "What can hurt, in one line; the sheet and `nutgen stages` have the whole list.",
    "Do as it says; local rules and licensed practice come first.",
    {
        "caution.material": lambda t: f"{_IN_SHORT[t['material']]}; {_ASK}.",
        "caution.strings": "A string under tension can whip: slacken it before you lift or cut it, eye protection;"
        f" {_ASK}.",
        "caution.router": "Cutters grab and throw: clamp the piece, clamps out of the cutter's way, keep hands, hair"
        " and sleeves clear.",
    },
)

MATERIALS: dict[str, Entry] = {**_HAZARDS, **_WORKING, **_SHORT}

_CARE = "Clamps, eye protection, mask."
_WET = "Mask; wet only by hand, never at a machine on the mains."


def _list(numbers: Iterable[int]) -> str:
    return ", ".join(map(str, numbers))


def _where(t: Told) -> str:
    """The ends of stretches that a cross cut makes."""
    return " and ".join(f"the {end} end of stretch {number}" for number, end in t.raw("ends"))


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


def _face(t: Told) -> str:
    side = t.raw("side")
    nut = f" of nut {t.raw('nut')}" if t.raw("several") else ""
    return (f"the {side}" if "end" in side else f"the {side} face") + nut


def _rip(t: Told) -> str:
    size = t.fill("{depth:.0} deep, {length:.0} long, ") if t.raw("length") else ""
    drop = "" if t.raw("parts") else "; drop the offcut"
    along = f"Keep the line, kerf on the waste side, down to {_foot(t)}{drop}."
    line = _end_line(t) if "end" in t.raw("side") else along
    return " ".join((*t["about"], line, f"{size}{t['area_mm2']}.", *t["runs_out"], _CARE))


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
    other = "last" if t.raw("side") == "first end" else "first"
    where = f", {{to_mark:stock}} from its {other} end;" if t.raw("to_mark") else ":"
    return t.fill(f"Square a line around the block{where} at most {{over:stock}} comes off.")


def _runs_out(t: Told) -> str:
    verb, beyond = ("starts", "before") if t.raw("end") == "first" else ("ends", "behind")
    where = "at the end of the piece itself" if t.raw("at_end") else "on the skin, {at:stock} from the first end"
    return t.fill(f"The line {verb} {where}: {beyond} that nothing stands over.")


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
            "cut.cross-how": "Clamp the piece in a V-block, close to the line, on both sides of it where it reaches."
            " Keep the wide line, saw beyond it, toward the {toward} end ({kerf} kerf, hatched). {depth:.0} deep,"
            f" {{area_mm2}}. {_CARE}",
            "cut.cross-sanded": "Cut {cut}: no saw",
            "cut.cross-sanded-how": lambda t: (
                f"Sand {_where(t)} down to the line: less than a slice stands over. {_WET}"
            ),
            "cut.sawn-end": lambda t: f"Cut {t.raw('cut')}: no saw, {_where(t)}",
            "cut.sawn-end-how": "It is the piece's own sawn end: so thin a slice is not taken off the whole piece. The"
            " rip lines go on it as it is; what stands over the block is cut off after its long faces.",
            "cut.stick": lambda t: f"Glue {_stretch(t)} on a stick",
            "cut.stick-how": "A straight stick of hardwood, {stick:stock,.0} or longer, its end sawn square, on the"
            " face toward the piece's {end} end: epoxy over the whole face, clean and dry; gloves, air, and as long as"
            " its sheet says. From here on the stick sits in the vise.",
            "cut.hold": lambda t: f"Glue the end view on {_stretch(t)}, and hold it",
            "cut.hold-how": _hold,
            "cut.free": lambda t: f"Cut {t.raw('cut')}: across, last, {_where(t)}",
            "cut.free-how": "The handle stays in the vise. Keep the line, saw through beyond it, in the handle ({kerf}"
            " kerf), a cloth below to catch the blank, no hand. {area_mm2} in all, with what dropped the offcuts."
            f" {_CARE}",
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
