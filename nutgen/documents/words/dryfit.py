"""Words for the dry fit: the neck first, readings in doubt, what to file, ways back."""

from nutgen.documents.words.entry import Entry, Sentence, Told, alike, entries


def _nut_position(sounds: str, cure: str) -> str:
    return (
        "nut position at {who}: {face_to_fret_1} to fret 1, {due:bare} is due; every fretted note is {off_cents}"
        f" {sounds} against the open string; {cure}"
    )


_NECK = {
    "neck.relief-first": Entry(
        "relief first: it reads {relief}, {wanted:bare} is wanted, and every slot is measured against it; {turn} the"
        " truss rod, a quarter turn at a time, tune back to pitch and let it settle, then take all readings again."
        " Never force a rod that will not turn: see a licensed repairer. A neck without a rod: write its own relief in"
        " setup.relief",
        "The relief as read is not the one that the file wants, and every height is measured over the frets.",
        "Set the truss rod first, or write the neck's own relief in setup.relief.",
    ),
    "neck.relief-off": Entry(
        "relief reads {relief}, {wanted:bare} is wanted: the floors are reckoned with the relief as it is; {turn} the"
        " truss rod a little when the nut is done, and read once more then",
        "The relief as read is a leaf or so off; the heights over the frets are worked out on the neck as it stands.",
        "Set the truss rod when the nut is done.",
    ),
    **alike(
        "A reading of the neck was left out, so that it is taken as the file wants it.",
        "Write it in [dry_fit].",
        {
            "neck.relief-not-read": "relief was not read: it is taken to be {relief}, as the file wants it",
            "neck.action-not-read": "action was not read: it is taken as setup.action_now has it, or as wanted; each"
            " {action_off} it is off moves a floor by {floor_moves:fine,bare}",
        },
    ),
    "neck.action-off": Entry(
        "action is off by {off:+} at {who}: set it at the saddle when the nut is done; it is reckoned with here",
        "The action as read is not the one that the file wants.",
        "Set it at the saddle when the nut is done.",
    ),
    **alike(
        "The front face is not where the scale starts.",
        "Move the nut: every fretted note is off against the open string until it stands where it should.",
        {
            "neck.nut-too-far-back": _nut_position(
                "sharp", "the nut stands too far back: pack it from behind, or move it toward the bridge"
            ),
            "neck.nut-too-far-forward": _nut_position(
                "flat", "the nut stands too far forward: take it off the back of the seat or the front face"
            ),
        },
    ),
}


def _looks_as_if(what: str) -> Sentence:
    def says(t: Told) -> str:
        return t.fill(f"it looks as if {what}" + ("; if not, {if_not}" if t.raw("if_not") else ""))

    return says


_READINGS = {
    **alike(
        "Readings of this round do not go together with those before: filing lowers a floor, and by no more than it"
        " was told to.",
        "Measure again; where something else was done to the nut, say so in dry_fit.after; where it reads so once more,"
        " write read_twice = true in [dry_fit].",
        {
            "dry-fit.rose": "it has risen by {by} at least, and filing can not raise a floor: is the string down in its"
            ' slot, the nut on its seat, no dust below? if it was filled or shimmed, say after = "fill" or "shim"; if'
            " it reads so once more, read_twice = true",
            "dry-fit.swapped": _looks_as_if("the readings of {who} are swapped"),
            "dry-fit.turned-round": _looks_as_if("the readings were listed treble to bass"),
            "dry-fit.rose-twice": "{who}: higher than it was, and read so twice: taken as true",
            "dry-fit.stayed": "{who}: has hardly come down since the round before: filed since, and read at fret 1?",
            "dry-fit.fell-unfiled": "{who}: {by} lower at least than before, with nothing to be filed: worn, or one of"
            " the two misread",
            "dry-fit.fell-too-far": "{who}: fell {by} more at least than was to be filed: a heavy hand, or a misread"
            " leaf",
        },
    ),
    "dry-fit.listed-backwards": Entry(
        "from the treble end these readings would fit the file far better: are they listed bass first?",
        "The first readings fit the gaps wanted only when they are turned round.",
        "List every reading from the bass.",
    ),
    "dry-fit.checks-disagree": Entry(
        lambda t: t.fill(
            f"{{who}}: {' and '.join(t['checks'])} tell floors {{apart}} apart: pressed down firmly at fret 3? a high"
            " fret among the first three? action and relief as they are now?"
        ),
        "Two checks of one string tell floors that can not be one.",
        "Take both again, and look for a high fret among the first three.",
    ),
    **{
        code: Entry(
            "{who}: these readings are too coarse to promise {tolerance}, so the slot is kept on the high side; "
            + next_reading,
            "Leaves leave a whole step open; two checks, or thinner leaves, cut it at another place.",
            next_reading[:1].upper() + next_reading[1:] + ".",
        )
        for code, next_reading in (
            ("dry-fit.sliver-too", "read the sliver too: press at fret 3, and find the leaf that passes over fret 1"),
            ("dry-fit.feeler-too", "read the feeler too: the leaf that passes under the open string at fret 1"),
            (
                "dry-fit.thinner-leaves",
                "add thinner leaves to the stack: paper, or foil folded and measured by caliper (list it in tools)",
            ),
        )
    },
}

_VERDICTS = {
    **alike(
        "A floor is in tolerance a little below and above the height wanted; readings tell two heights that it lies"
        " between.",
        "File what is told, and read again.",
        {
            "fit.wait": "wait for the relief",
            "fit.wait-for-readings": "wait until what is in doubt has been measured again",
            "fit.leave": "{low:+,bare} to {high:+} from the height wanted: leave it alone",
            "fit.file": "{low:+,bare} to {high:+} from the height wanted",
        },
    ),
    **alike(
        "A floor lies below the height wanted by more than is played over.",
        "Do not file it: fill it, pack the nut from below, or make a new one.",
        {
            "fit.too-low": "too low by {least} at least, {most:bare} at most: do not file; see the ways back",
            "fit.too-low-untold": "too low by {least} at least, perhaps far more: do not file; see the ways back",
        },
    ),
}


def _strokes(before: str) -> Sentence:
    def says(t: Told) -> str:
        usual, every = t["strokes"], t["look_every"]
        total = "1 easy stroke" if usual == 1 else f"{usual} easy strokes"
        look = "look after every stroke" if every == 1 else f"look after every {every} strokes"
        return t.fill(before).replace("TOTAL", total) + look

    return says


def _shim(t: Told) -> str:
    sheets, veneers = t["sheets"], t.raw("veneers")
    words = t.fill("raise the whole nut, end to end and level, with packing of {thickness}: prove it ")
    of_leaves = " of feeler leaves" if t.raw("leaves") else ""
    laid = t.raw("leaves") or t.raw("stack").value("sheets")
    words += t.fill(f"with {{stack}}{of_leaves} ({{leaves_error:fine,+}})") if laid else "by caliper"
    wood = f"{veneers} x {sheets[0]} veneer" if veneers else ""
    wood += t.fill(" sanded down by {sand_off}") if t.raw("sand_off") else ""
    flat = " + ".join(f"{sheet:bare}" for sheet in sheets[veneers:]) or ("" if sheets else "sheets by caliper")
    thin = f"{flat} of brass, or of paper hardened with thin glue" if flat else ""
    return f"{words}, then make it of {' and '.join(filter(None, (wood, thin)))}; then file the others down"


_WEAR = {
    **entries("""
wear.nothing-read
    missing; write what the open strings clear fret 1 by today, in a file of your own, then add it
    cause: Wear shows in readings of the same thing over months.
wear.too-early
    wear: {count} readings of this nut at one relief over {span} days; a rate is named from {least} over {least_span}
    days on
    cause: Leaves are felt a few hundredths of a millimetre off, a thousandth of an inch or two; fewer readings
    tell more of the hand than of the nut.
    cure: Read clearance and relief every month or two, at pitch, and add them with --add.
wear.none
    wear: no string came down by more than {most}
    cause: It may be wear or the hand.
wear.frets-hide
    a worn fret 1 lowers its crown and so hides wear of the nut: read fretboard.fret_height beside it
    cause: The clearance is from the crown to the string, and both wear.
"""),
    "wear.rate": Entry(
        lambda t: (
            t.fill("{who}: came down by {drop} in {months} months, {in_a_year} a year")
            + (t.fill("; it reaches {lowest}, from where it buzzes, about {until}") if t["until"] else "")
        ),
        "A wound string files its slot whenever it is tuned.",
        "Have bone dust and thin glue, or a new blank, ready by then; graphite in the slot slows it.",
    ),
}
_WORK = {
    **alike(
        "What comes off a slot in this round, and how.",
        "Look as often as it says: the first look tells your own rate.",
        {
            "file.to-stack": _strokes("{amount:leaf} with the stack as a stop, or about TOTAL; "),
            "file.less-sheets": _strokes(
                "{amount:leaf} with the stack as a stop, {out} taken out of it: about TOTAL; "
            ),
            "file.in-strokes": _strokes("{amount:leaf} in strokes: about TOTAL, "),
            "file.last-in-strokes": _strokes("the last {amount:leaf} in strokes: about TOTAL, "),
        },
    ),
    **alike(
        "A slot is too low: no filing brings it back.",
        "Choose one way, the one that spoils least first, before anything else is filed.",
        {
            "fit.fill": "fill {who}: pack dust of the same {material} into the slot, wick in thin glue, let it harden,"
            " do it once more, and file it again from well above. It wears sooner than the solid. Thin glue bonds skin"
            " and heats on cotton: goggles, air, no tissue under it",
            "fit.shim": _shim,
            "fit.new-nut": "make a new nut, and keep this one for its spacing; {who} then gets its height from the"
            " start",
        },
    ),
}


def _plane_far(t: Told) -> str:
    slip = (
        "were the wires taken off the readings already?" if t["less_wire"] else "is every reading taken over its wire?"
    )
    return t.fill(f"the fret plane lies {{by:+}} from where the file has it, farther than a seat is misread: {slip}")


_TRIAL = {
    **entries("""
trial.arch-unlike-board
    the middle of the plane stands {by:+} from where fretboard.radius has it: was the radius misread, or is one of {who}
    (the others hardly show that)? read the outer strings again before a blank is cut
    cause: An outer string that is misread bends the plane through all; so does a board whose radius was misread.
    cure: Read the outer strings again, and the radius; where both stay, the trial is right.
trial.wire-over-slot
    {who}: a wire of {wire:gauge} does not lie on the floor of a slot {width:gauge} wide
    cause: A wire that is wider than its slot rides on the walls, and the floor reads too high.
    cure: Take a thinner wire: an offcut of the string itself does.
trial.wire-under-top
    {who}: a wire of {wire:gauge} lies under the top of a slot {depth:gauge} deep: the jaw reads the top
    cause: A jaw is wider than a slot; a wire below the top is not touched by it, and the floor reads too high.
    cure: Take a thicker wire that still lies on the floor.
trial.relief-off
    relief reads {relief}, {wanted:bare} is wanted: once it is set, seat and frets stand to each other a little
    otherwise, by a twentieth of the difference; set it first and read all of it again
    cause: The seat rides on the end of the neck, which bends with it.
    cure: Set the truss rod to setup.relief, or write the neck's own relief there, and read the trial again.
trial.too-coarse
    {who}: the new floor may be off by {within}, {wanted:bare} is wanted: narrow what passes and what drags, or read
    more strings, those at the ends first
    cause: A plane is as sure as the readings under it; beyond the outermost string that was read it is carried on.
    cure: Read clearances by finer stacks or wires, both what passes and what drags, and every string.
trial.no-clearance
    {who}: no clearance, so no plane there; the new floor is by the others
    cause: A floor alone says nothing of the frets; feel would copy a slot that was filed too low.
    cure: Read its clearance over fret 1; a slot that was filed too low still tells it.
trial.few-strings
    {strings} of the strings tell of the plane: between and beyond them it is taken from fretboard.radius and
    seat.floor, and level where only one tells
    cause: Three heights make the board's radius no matter; one or two do not.
    cure: Read three strings at least: the outer two and one between them.
trial.within
    the new floors hold within {within} in 95 of 100 cases: caliper, wire, leaves, relief and action as they are read;
    what was misread of seat, board or frets falls out
    cause: Errors of the readings are carried through to each floor.
trial.same-day
    read all of it on one day: plastic gives way under the strings, and next week's clearance goes with another floor
    cause: Printed plastic creeps under a load.
    cure: Read clearances, then the floors, one after the other; play the trial nut no longer than that.
"""),
    "trial.off-the-fit": Entry(
        lambda t: (
            t.fill("{who}: ")
            + ("one of them is " * (len(t.finding.strings) > 1))
            + t.fill(
                "up to {by} off the plane through the others, more than hands explain: read clearance and caliper again"
            )
        ),
        "The fret plane runs evenly from string to string; a reading that leaves it is misread, or its fret is uneven.",
        "Read that string again; where it reads so once more, look for a high or worn fret 1 under it.",
    ),
    "trial.others-misread": Entry(
        lambda t: (
            t.fill("seat.depth, fretboard.radius and fretboard.fret_height put the plane up to {apart} elsewhere")
            + (f": {' or '.join(t['slips'])}?" if t["slips"] else "")
            + "; where the trial's readings are sound, the trial is right"
        ),
        "The fret plane by a trial nut, and by lone readings of seat and board, lie apart.",
        "Read those again when the nut is out; the heights follow seat.fret_plane.",
    ),
    "trial.plane-far": Entry(
        _plane_far,
        "A seat is misread by a few tenths of a millimetre, a hundredth of an inch, at the most; a plane that moves by"
        " more comes from a slip in the trial.",
        "Look at the readings: the caliper over the wire as it shows, the wire's gauge beside it.",
    ),
}

DRYFIT: dict[str, Entry] = {**_TRIAL, **_NECK, **_READINGS, **_VERDICTS, **_WEAR, **_WORK}
