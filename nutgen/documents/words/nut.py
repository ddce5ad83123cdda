"""Words for what the solver finds in a nut."""

from nutgen.documents.words.entry import Entry, Told, alike, entries


def _pluck_assumed(t: Told) -> str:
    return f"plucked with {t.raw('force_n'):g} N square to the board"


LESS_FRICTION = (
    "Graphite or a drop of lubricant in the slot lessens friction, and so does a string guide that straightens the"
    " string behind the nut."
)


def _otherwise(t: Told) -> str:
    says = t.fill("{who}: {buried_share} of the gauge is buried, {asked_share} was asked: the top is one arc")
    return f"{says}; it may jump out" if t.raw("buried_share") < t.raw("well_share") else says


def _too_much(t: Told) -> str:
    one_arc = t.fill(", {asked_share} was asked: the top is one arc")
    says = t.fill("{who}: {buried_share} of the gauge is buried")
    if t.raw("asked_share") > t.raw("most_share"):
        return f"{says}; too much, the slot will choke and bind"
    return f"{says}{one_arc}; file it down along this string at the end, or it may choke"


NUT: dict[str, Entry] = {
    **entries("""
strings.no-room
    {who}: the strings and margins need {missing} more than the board is wide; use a smaller spacing.margin or fewer,
    thinner strings
    cause: Margins, gauges and gaps together are wider than the fretboard at the nut.
    cure: Use smaller margins, or fewer or thinner strings.
slant.scales-do-not-fit
    {who}: two scale lengths that differ by {difference} do not fit strings {spread} apart (instrument.scale_length,
    instrument.perpendicular_fret, spacing.margin)
    cause: Strings that stand so close cannot start as far behind each other as the two scale lengths ask.
    cure: Measure both scale lengths again, and count the fret that stands square.
slant.square-fret-assumed
    slanted nut: fret {square_fret} is assumed to stand square to the centre line, which slants the nut by
    {slant_deg:bare,.2} degrees; count and write instrument.perpendicular_fret
    cause: Two scale lengths slant the nut, and which fret stands square decides by how much.
    cure: Find the fret that stands square to the centre line and write instrument.perpendicular_fret.
slot.nothing-to-roll-to
    {who}: the tuner line does not fall behind the nut; nothing to roll to (strings.post, or headstock.break_angle_deg;
    or slots.floor = "straight")
    cause: A rolled floor bends from the string's line over the board down to its tuner; here the tuner lies too high.
    cure: Check the tuner post or the break angle, or use a straight floor.
guide.not-touched
    {who}: runs below guide {number} without touching it, whose underside is {drop} below the board's plane
    cause: Its post lies so low that the string passes under the guide.
    cure: Lower the guide, or leave the string out of it.
guide.height
    guide {number}: underside {wanted} below the board's plane bends each of its strings down by {wanted_deg:bare,.1}
    degrees or more at the nut; at {drop} it is {low_deg:bare,.1} to {high_deg:bare,.1}
    cause: A guide that is lower bends its strings more, and they slip less well.
    cure: No lower than it takes: each degree more hides more of the pitch.
zero-fret.decides
    open strings start on the zero fret, and heights over the frets follow from it and the saddle; a straightedge along
    the frets passes {over_seat} over the middle of the seat, which check before the blank is cut
    cause: Its slots hold strings apart and down: one a little too low does no harm, one too high lifts its string off.
    cure: Nothing: where the heights over the frets are wrong, it is the zero fret or the saddle that moves them.
zero-fret.bends-past-tuner
    {who}: would bend down over the zero fret by {bend_deg:bare,.1} degrees, and to its tuner by only
    {most_deg:bare,.1}; make zero_fret.below smaller, or measure zero_fret.behind and the break angle again
    cause: A string that bends down more to its slot than to its tuner is not held by the slot.
    cure: Make zero_fret.below smaller, or measure zero_fret.behind and the break angle again.
zero-fret.bend-small
    {who}: bends down over the zero fret by {bend_deg:bare,.1} degrees; less than {least_deg:bare,.0} lets it buzz there
    cause: A string that hardly presses on the zero fret rattles on it.
    cure: Make zero_fret.below larger, or leave it out.
zero-fret.decides-already
    of no use with a zero fret, on which the open strings start; leave the key out
    cause: A zero fret says where the open strings start and how high.
    cure: Leave the key out, or take the table zero_fret out where there is none.
zero-fret.nothing-to-fit
    {who}: nothing is filed by leaves behind a zero fret; file each slot until its string lies on the zero fret, as the
    stage "fix" says
    cause: The clearance over fret 1 comes from the zero fret, whatever the slot's floor is.
    cure: Where the heights over the frets are wrong, look at the zero fret and the saddle.
top.ends-out-of-reach
    the board radius is too small for the top to reach both ends; check fretboard.radius and fretboard.width, and leave
    less on by body.ends
    cause: The top follows an arc of the board radius, which ends before the nut does.
    cure: Check fretboard.radius and fretboard.width.
top.leans
    the top would lean by {lean_deg:bare,.0} degrees across the nut; strings that stand so close need nearly equal
    heights (spacing.margin or spacing.measured, seat.fret_plane, setup.action, setup.first_fret_clearance)
    cause: The heights of the outer strings differ by more than their spacing allows: as a rule a slip of a measurement.
    cure: Check spacing.margin or spacing.measured, seat.fret_plane, setup.action and setup.first_fret_clearance.
back.too-low
    the bevel leaves {left} at the back face; use a smaller body.bevel_deg or a wider body.land, or measure seat.depth
    again
    cause: The bevel falls so far over the thickness that hardly any back face is left.
    cure: Use a smaller body.bevel_deg or a wider body.land.
slot.floor-breaks
    {who}: {wall} is left under the slot; the seat is too shallow for this height, or the floor falls too steeply
    (seat.depth, slots.tilt_deg)
    cause: Between the slot's floor and the underside there is too little material to hold.
    cure: Check seat.depth; a deeper seat, a higher slot or a smaller slots.tilt_deg leaves more.
slot.shelf-breaks
    {who}: the shelf of its setback would be {shelf} thick under the slot, over the board; {least:limit,bare} is the
    least in {material} (slots.setback = 0 for this string; or shorten the end of the board by {shorter} and fill it
    with a thicker nut, seat.thickness = {thickness:given,bare} and slots.setback = 0, where every string then starts)
    cause: The shelf that carries a set-back string lies between its slot and the board, and would be too thin to hold.
    cure: Set slots.setback to 0 for this string. Or shorten the end of the board and make the nut thicker by as much:
    strings then start at its front face, nearer the bridge, with no shelf; that is for a licensed repairer where the
    instrument is worth more than the lesson.
slot.shelf-below-seat
    {who}: the board in front falls {by} below the floor of the seat, so that no nut with a shelf goes in: measure
    seat.depth again, on the centre line, or write the radius of its floor as seat.floor
    cause: A flat floor of a shallow seat stands over the edges of a round board.
    cure: Measure seat.depth on the centre line, and write seat.floor where the floor is arched like the board.
slot.post-above
    {who}: its tuner post lies above the slot; check strings.post, its drop
    cause: A string that rises behind the nut does not press into its slot.
    cure: Check the drop in strings.post.
slot.no-depth
    {who}: the top is no higher than its floor; check body.top
    cause: The slot would have no walls.
    cure: Check body.top and slots.buried.
slot.beyond-end
    {who}: its slot lies beyond the end; check spacing.margin or spacing.measured, and fretboard.width
    cause: The string's centre lies outside the width of the board.
    cure: Check spacing.margin or spacing.measured, and fretboard.width.
string.no-floor-clears
    {who}: no slot floor keeps it clear of fret {fret}, where {missing} are missing; raise setup.action, lessen relief,
    or soften [pluck]
    cause: With the action kept, a higher slot does not lift the string over the higher frets.
    cure: Raise setup.action, lessen the relief, or soften [pluck].
pluck.point-assumed
    plucked an eighth of the scale length from the bridge
    cause: The file does not say where the strings are plucked.
    cure: Write pluck.from_bridge.
string.lies-on-fret
    {who}: the open string lies on fret {fret}, {by} too low; more action, or another relief
    cause: The straight string from slot to saddle runs through the crown of a fret.
    cure: Use more action, or another relief.
strings.close-on-bass
    {who}: gap {gap} is under {least:limit,bare} on a bass course; the fingers will touch both
    cause: Thick strings swing wide and want room between their edges.
    cure: Use smaller margins or a wider board, or live with it where the hand is used to it.
strings.close
    {who}: gap {gap} is under {least:limit,bare}; the fingers will touch both
    cause: A finger needs room between the edges of neighbouring courses.
    cure: Use smaller margins, or live with it where the hand is used to it.
slots.break-into-each-other
    {who}: the slots break into each other by {by}; move them apart or narrow them
    cause: Neighbouring slots are wider than the room between their centres, at the front or behind it.
    cure: Move the strings apart, use less clearance or less fan.
slots.wall-breaks
    {who}: the wall between the slots is {wall} and will break; {least:limit,bare} is the least
    cause: So thin a wall does not stand the side pull of a string.
    cure: Move the strings apart, or use less clearance.
slot.breaks-out-of-end
    {who}: the slot breaks out of the end by {by}; use a larger margin or less fan
    cause: The slot of an outer string runs over the end of the nut.
    cure: Use a larger margin or less fan.
slot.end-may-chip
    {who}: {wall} is left between the slot and the end; it may chip
    cause: So little material outside an outer slot chips under a file or a knock.
    cure: Use a larger margin.
string.bend-small
    {who}: bends {bend_deg:bare} degrees behind the nut, down and sideways together, under {least_deg:bare,.0}; it may
    rattle in its slot: a string guide between nut and tuner presses it down
    cause: A string that hardly bends over the nut presses too little into its slot.
    cure: Check the break angle or the tuner posts; a string guide, or more windings downward, presses it down.
string.buried-too-little
    {who}: {buried_share} of the gauge is buried; too little, it may jump out
    cause: The top is too low beside the string to hold it.
    cure: Raise slots.buried for such strings; another board radius or other heights bring the top nearer.
slot.floor-below-board
    {who}: the slot floor is {by} below the board; it will only buzz
    cause: The string would run through the board.
    cure: Check the heights in setup, seat.depth and fretboard.fret_height.
slot.floor-below-fret-plane
    {who}: the slot floor is {by} below the fret plane; the open string will buzz
    cause: A floor below the line over the crowns of frets 1 and 2 lays the open string on fret 1.
    cure: Use a larger first-fret clearance or floor height.
slot.floor-may-crack
    {who}: {wall} is left under the slot; under {least:limit,bare} it may crack
    cause: So thin a bridge under the slot may crack under the string.
    cure: Use a deeper seat, a higher slot or a smaller slots.tilt_deg.
slot.bevel-below-floor
    {who}: the bevel cuts below the slot floor at the back; use a smaller body.bevel_deg
    cause: The bevel falls faster than the slot, so that the string leaves its slot before the back face.
    cure: Use a smaller body.bevel_deg, a wider body.land or a larger slots.tilt_deg.
slot.floor-too-flat
    {who}: the floor falls less than the string; it starts at the back, not at the front face
    cause: A floor that falls less than the string comes in carries it at the back: the scale is too long there.
    cure: Use a larger slots.tilt_deg.
slot.floor-too-steep
    {who}: the floor falls steeper than the string; it rests on the front edge alone
    cause: A floor that falls faster than the string to its tuner carries it on an edge, which wears and kinks it.
    cure: Use a smaller slots.tilt_deg.
string.first-fret-low
    {who}: first-fret clearance {clearance} is outside practice ({low:limit,bare} to {high:limit,bare}); it may buzz
    open
    cause: Less room over fret 1 than players of this kind of instrument use.
    cure: Use a larger setup.first_fret_clearance, unless you play softly.
string.first-fret-high
    {who}: first-fret clearance {clearance} is outside practice ({low:limit,bare} to {high:limit,bare}); it will be
    stiff and sharp in the first frets
    cause: More room over fret 1 than players of this kind of instrument use.
    cure: Use a smaller setup.first_fret_clearance.
string.action-to-set
    {who}: action {now} now, {wanted:bare} wanted: set it at the saddle once the nut is in
    cause: The action as measured, setup.action_now, is not the one wanted, setup.action, for which the slots are cut.
    cure: Set the saddle once the nut is in; until then the clearances at fret 1 read otherwise.
string.action-unusual
    {who}: action {action} is outside practice ({low:limit,bare} to {high:limit,bare})
    cause: The action at fret 12 is not one that players of this kind of instrument use.
    cure: Measure it again; set it at the saddle.
relief.no-leaf
    relief {relief:given} is less than any leaf reads; inches ({likely:limit})? a straight neck has relief = 0
    cause: A relief of a few thousandths of a millimetre, less than a thousandth of an inch, cannot be read with
    feeler leaves.
    cure: Write the leaf with its unit, or 0 for a straight neck.
relief.unusual
    relief {relief} is outside practice ({low:bare} to {high:bare}); set the truss rod before the nut
    cause: The neck is straighter or more bowed than players of this kind of instrument use.
    cure: Set the truss rod, let the neck settle, and measure again before the nut is made.
crowns.rocker-fits
    crowns by rocker: what these heights leave of the readings is {left:fine} in the mean of squares
    cause: Readings that fit each other leave about what they are rounded to.
    cure: Where they leave more, read again the frets beside those told.
crowns.shape
    neck: its arc of least squares has a relief of {relief}; at fret {fret} it lies {off:+} off that
    cause: Heights over every fret are worked out on the neck as it was read.
    cure: Write setup.relief as you want it; the shape stays with it.
crowns.no-such-fret
    fret {fret} is not among {first} to {last}
    cause: A rocker, and a gap along the neck, lie between other frets.
    cure: Write the number of the fret in the middle.
"""),
    "zero-fret.height-once": Entry(
        lambda t: (
            "given as height and as gap_at_1; keep the one that was read"
            if t.raw("given")
            else "missing; write it, or gap_at_1 where the zero fret stands higher than fret 1"
        ),
        "How high the zero fret stands is read under a ruler: on frets 1 and 2, or on it and on fret 2.",
        "Keep one of the two keys.",
    ),
    **alike(
        "A bar lies on the strings: none is pressed on a fret.",
        "For a nut raised for a bar write [lap] instead of [setup]; else measure the heights over the frets again.",
        {
            "nut.raised": "every string would pass {lowest} over the fret plane, over {most:limit}: strings pressed on"
            " frets want a lower setup.floor_height, or setup.first_fret_clearance and setup.action; for a nut raised"
            " for a bar write [lap], and no [setup]",
            "lap.decides": "a bar lies on the strings: their tops are in one plane, {tops} over the board and"
            " {over_seat} over the middle of the seat, which check before the blank is cut; no fret is pressed:"
            " clearances, buzz, fretted pitch and the dry fit by leaves do not apply",
            "lap.nothing-pressed": "under a bar nothing is pressed on frets, so that there is no {what}; lay a"
            " straightedge across the string tops at pitch and file the slots of those that stand proud",
        },
    ),
    "lowest.pluck-assumed": Entry(
        lambda t: f'first-fret clearance "lowest" rests on an assumption: {", ".join(t["assumed"])}; write [pluck]',
        "The lowest floor is the one that a pluck just clears, and the file does not say how you pluck.",
        "Write [pluck] with your own force or height.",
    ),
    "pluck.force-assumed": Entry(
        _pluck_assumed,
        "The file does not say how hard the strings are plucked; the usual for its kind and scale length is taken.",
        "Write pluck.force_n or pluck.height.",
    ),
    "string.bend-large": Entry(
        "{who}: bends {bend_deg:bare} degrees behind the nut ({down_deg:bare} down, {sideways_deg:bare,+} sideways),"
        " {most_deg:bare,.0} or more; it binds: friction can hide {low_cents:.0} greased and {high_cents:.0} dry while"
        " tuning; fewer windings downward, a string guide that takes the bend, or graphite in the slot",
        "A string presses on its slot by its whole bend, down and sideways together; it sticks while tuning and wears"
        " the floor.",
        f"Check the break angle or the tuner posts. {LESS_FRICTION}",
    ),
    "string.buried-otherwise": Entry(
        _otherwise,
        "One arc over all strings cannot meet every share where gauges and heights are uneven.",
        "Change slots.buried for such strings, or file the top down along the deep ones at the end.",
    ),
    "string.buried-too-much": Entry(
        _too_much,
        "Walls that stand over the string grip it and damp it.",
        "Lower slots.buried, or file the top down along the strings at the end.",
    ),
    "crowns.level": Entry(
        lambda t: (
            t.fill("fret {fret} stands {by} over its neighbours: level it before a nut is worth making")
            + ("; one reading alone says so, read it again" if t["unsure"] else "")
        ),
        "A string that clears one high fret stands too high over all others, whatever the nut.",
        "Seat it where it is loose, else have it levelled and crowned; then read it again.",
    ),
    "crowns.sunk": Entry(
        lambda t: (
            t.fill("fret {fret} lies {by} below its neighbours: worn or loose; pressed before it, a string may buzz")
            + ("; one reading alone says so, read it again" if t["unsure"] else "")
        ),
        "A string pressed at a low fret runs closer over the next ones.",
        "Press it: one that gives is loose. Else level the others to it, or have it replaced.",
    ),
}
