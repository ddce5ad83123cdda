"""Words for what a material does to people, to tools, and under the file."""

from nutgen.documents.words.entry import Entry, alike

_HAZARDS = alike(
    "Working this material can hurt whoever breathes, touches or burns it.",
    "Do as it says; local rules and licensed practice come first.",
    {
        "material.fine-dust": (
            "Fine dust: work wet or with extraction, wear a fitted mask (P3, FFP3 or N95 to P100), wipe up wet, never"
            " sweep dry. The general dust limits are 15 mg/m3 total and 5 respirable (US), 10 inhalable and 4"
            " respirable (UK); local rules may ask for more."
        ),
        "material.raw-animal": (
            "Raw or imported horn, bone and hide can carry disease, anthrax among it: take cleaned, dried, treated"
            " material from a known seller; wash your hands; cover cuts."
        ),
        "material.species": "Know the animal it comes from: trade in some species is licensed or forbidden; no ivory.",
        "material.wasting": (
            "Hard, clean, dry antler only: no tissue, no skull plate, nothing from an animal found dead or sick. No"
            " human case of chronic wasting disease is shown; the advice is to avoid exposure."
        ),
        "material.burnt-bone": "Burnt bone stinks and its smoke irritates: go slowly and wet under a rotary tool.",
        "material.hot-horn": (
            "Horn softens and stinks when it is hot: light cuts, no dry power sanding, open the window."
        ),
        "material.wood-dust": (
            "Wood dust is a recognised cause of cancer of the nose: extraction and a fitted mask (P3, FFP3 or N95 to"
            " P100), no dry sweeping; many countries set a stricter limit for hardwood than for dust in general."
        ),
        "material.timber-rash": (
            "Ebony, rosewood and other oily timbers can bring on a rash or asthma: stop at the first sign."
        ),
        "material.licensed-timber": "Some rosewoods and ebonies are licensed in trade.",
        "material.lead": (
            "Free-cutting brass holds lead: wash your hands before eating, keep the dust off food and away from"
            " children, wipe up wet; clamp it down on a drill or router, it snatches."
        ),
        "material.brass-filings": "Filings are sharp and fly: goggles, gloves off near anything that turns.",
        "material.brass-heat": "It grows hot on a belt or wheel long before it looks it: dip it often.",
        "material.phenolic-dust": (
            "Phenolic dust with paper or cloth fibres irritates skin, eyes and lungs; hot cutting gives off"
            " formaldehyde: wet work, sharp tools, slow speeds, sleeves closed."
        ),
        "material.uncured-resin": (
            "Uncured resin sensitises skin: gloves, and cure a resin print fully before you touch or sand it."
        ),
        "material.fumes": ("Printers and heat guns give off fumes: air the room. No flame near alcohol or acetone."),
    },
)

_WORKING = alike(
    "The material cuts, clogs, moves or wears in a way of its own.",
    "Do as it says; most of it is common practice, and the part that is published names its source.",
    {
        "material.bone-dulls-files": (
            "Dulls fine files slowly; the dust packs the teeth, so brush them out every few strokes."
        ),
        "material.exit-edge-chips": (
            "Chips at an exit edge: let the file run out onto a scrap, or file from both sides."
        ),
        "material.bone-along-shaft": (
            "Lay the nut's length along the shaft of the bone. Reject soft, translucent spots and keep any porous core"
            " out of the slot floors and the front edge."
        ),
        "material.bone-degreased": "Fat yellows and smells: degrease raw bone before it is squared.",
        "material.antler-dulls-files": (
            "Easy on files, a little softer than bone; the dust packs the teeth, so brush them out."
        ),
        "material.antler-shell": (
            "A compact shell around a porous core, all along: cut the nut from the shell. The compact antler is softer"
            " than bone (7.5 GPa, 108 MPa, wet)."
        ),
        "material.antler-core": (
            "Porous core that must stay is soaked with thin glue first; never leave it under a string."
        ),
        "material.horn-clogs-files": (
            "Easy on files but clogs them: chalk the teeth and brush them out; heat smears it."
        ),
        "material.horn-moves": (
            "It moves with damp and heat and wears faster than bone under a wound string: let the squared blank rest a"
            " day before it is fitted, and look at the slots again after some months."
        ),
        "material.horn-layers": (
            "It is built in layers: keep them level with the board so that no layer edge lifts in a slot."
        ),
        "material.timber-clogs-files": "Easy on files; oily timber clogs them, so brush them out along the teeth.",
        "material.timber-grain": (
            "A plain steel string saws through end grain and soft spots: let the grain run along the nut, and run thin"
            " glue into the slot floors of a soft timber."
        ),
        "material.timber-wears": "Slots wear low within months; keep this nut's sheet for the next one.",
        "material.brass-wears-files": (
            "Wears gauged slotting files fast, and a file worn on brass skates on bone: start the slots with a saw and"
            " keep older files for it."
        ),
        "material.brass-pins-files": "Pins the teeth and then scores the slot: chalk and brush the file.",
        "material.brass-burrs": (
            "Burrs at every edge will cut a string: break them with P600. There is no filling a metal slot that is too"
            " low: shim the nut or start again."
        ),
        "material.phenolic-wears-files": (
            "Abrasive to fine files, more so with glass or cloth in it; brush them out dry."
        ),
        "material.phenolic-layers": (
            "Layers show at the edges and may fray: lay them level with the board and file toward the middle."
        ),
        "material.plastic-melts": (
            "Does not wear files but melts into the teeth: slow strokes, brush them out, or file wet."
        ),
        "material.trial-nut": (
            "A trial nut: PLA softens at 55 to 65 C, so not in a parked car. Expect {error_low:leaf,bare} to"
            " {error_high:leaf} of error from a filament printer, and slots under about {pilot_width} as pilots only."
        ),
        "material.print-allowances": (
            "Print it with this sheet's allowances (body.top, back, ends, floors) so that there is plastic to take off."
        ),
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
