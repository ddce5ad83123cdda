"""Words for what a nut does when it is played, and for the set-up around it: saddle and string tops."""

from nutgen.documents.words.entry import Entry, Told, alike, entries
from nutgen.documents.words.nut import LESS_FRICTION

READINGS = {
    **{name: name.replace("_", " ") for name in ("fret_height", "fret_plane", "zero_fret", "relief", "action")},
    "depth": "seat depth",
    "radius": "board radius",
    "radius_share": "board radius",
    "floors": "slot floors as filed",
}
"""What the readings whose errors are looked at are called."""

WAYS_SAID = {
    "": "its tool",
    "under_string": "string",
    "gaps": "gaps on fret 1",
    "under_ruler": "ruler at the nut",
    "pencil": "pencil",
    "stack": "loose sheets",
}
"""What a reading was read by, in short."""

_GAUGES = {
    "relief": "a set of feeler leaves under a straightedge, for the relief,",
    "radius": "a radius gauge",
    "fret_height": "a set of feeler leaves, for the fret height,",
    "fret_plane": "a straightedge and leaves, for the fret plane,",
}

_MODELLED = "How a string is built, and how far it stretches until it settles, is not known from its gauge."
_UNIT_MASS = "Write unit_mass where the maker prints it."
_SETTLE = "string up to pitch, let the neck settle, set the relief, and only then file the slots"


def _bow(expected: str) -> Entry:
    def says(t: Told) -> str:
        known = t.raw("relief") is not None
        figure = t.fill(", about {relief:+} by this neck's measured stiffness") if known else ""
        return t.fill("{change_share} ") + expected.format(figure=figure) + f"; {_SETTLE}"

    return Entry(says, "Another pull bends the neck another way: more pull, more relief.", _SETTLE.capitalize() + ".")


def _errors_assumed(t: Told) -> str:
    kinds = {name: "" if name.endswith("_share") else "limit" for name, _ in t.finding.values}
    within = (f"{READINGS[name]} within {t[name]:{kind}}" for name, kind in kinds.items())
    return f"errors not in [errors]: {', '.join(within)}"


def _measure_better(t: Told) -> str:
    name = t["reading"]
    do = "file and check each slot better" if name == "floors" else f"measure {READINGS[name]} better"
    both = "; seat.fret_plane, a straightedge over frets 1 and 2, reads depth and fret height at once"
    causes = t.fill(" first: it causes {causes_share} of the spread of the first-fret clearance")
    return f"{do}{causes}{both if name in ('depth', 'fret_height') else ''}"


PLAY: dict[str, Entry] = {
    **entries("""
pull.slack
    {who}: {pull_n} is slack, under {least_n:.0}; it will flap and not sound; a thicker gauge or a higher note
    cause: So light a string at so low a note hardly pulls.
    cure: Use a thicker gauge or a higher note.
pull.breaks
    {who}: {pull_n:.0} is {load_share} of its strength; it breaks before its pitch
    cause: No gauge of this material bears its note at this scale length.
    cure: Use a lower note or a shorter scale.
pull.near-breaking
    {who}: {pull_n:.0} is {load_share} of its strength, over {most_share}; it will break soon at a bend; a lower note or
    a shorter scale (no gauge helps)
    cause: Bends at nut, bridge and post cost a fifth of a string's strength. The stress at pitch does not depend on the
    gauge.
    cure: Use a lower note or a shorter scale.
pull.stiff
    {who}: pulls {more_share} more than its neighbours; it will feel stiff
    cause: One string of the set is tighter than those beside it.
    cure: Use a thinner gauge; `tension --suggest even` finds one.
pull.loose
    {who}: pulls {less_share} less than its neighbours; it will feel loose
    cause: One string of the set is slacker than those beside it.
    cure: Use a thicker gauge; `tension --suggest even` finds one.
pull.wrap-assumed
    {strings}: the file does not say wrap_metal; phosphor bronze would pull a tenth more, so the pull is known within
    {within_share} only; write wrap_metal, off the packet
    cause: Nickel-plated steel is assumed where the wrap metal is not given.
    cure: Write wrap_metal for each wound string.
pull.strength
    strength: {strength}
    cause: What a string bears goes by its material and thickness.
pull.back-bow-stays
    the rod is slack already and the neck still bows backward: stop here, no nut cures this; heavier strings, or a
    repairer
    cause: A slack rod lets off no further, so that only more pull of the strings brings relief.
    cure: Choose heavier strings, or have a licensed repairer see the neck before a nut is made for it.
pitch.untunable
    {who}: up to {off_cents:.0} off by fret {fret}; too slack or too stiff for its length, no saddle cures that
    cause: Pressing stretches a string; a slack or thick one goes so sharp that no length makes up for it.
    cure: Use another gauge, or another note.
buzz.pressed-lies
    {who}: pressed at fret {pressed} it lies on a higher fret, {by} too low
    cause: The straight string from the pressed fret to the saddle runs through a higher crown.
    cure: Use more action or less relief; level the frets where one stands proud.
buzz.open-touches
    {who}: open, it touches fret {fret} at the pluck, {by} too low
    cause: The open string swings farther than the room over a fret.
    cure: Use a higher slot, more action, or a softer pluck in [pluck].
buzz.pressed-touches
    {who}: pressed at fret {pressed}, it touches fret {fret} at the pluck, {by} too low; no nut cures that: action,
    relief or a softer pluck
    cause: The fretted string swings farther than the room over a higher fret, whatever the nut.
    cure: Use more action, another relief or a softer pluck.
setback.rarely-noticed
    listeners rarely notice nut setback: in a blind test 32 players showed no significant preference for it
    cause: A setback moves the open string by a few cents only.
pitch.saddle-set-for-12
    the saddle is set so that fret 12 is in tune with the open string
    cause: So players set it.
pitch.finger-assumed
    the finger presses {finger:limit} behind the fret
    cause: The farther behind its fret a finger presses, the more it stretches the string.
    cure: Write pluck.finger.
pitch.ends-clamped
    string ends keep their direction (clamped); freer ends sound less sharp high up
    cause: A stiff string sounds sharper where its ends cannot turn.
pitch.core-assumed
    wound strings have the usual core (a tenth off moves their cents by a fifth)
    cause: What stretches is the core, and the file does not say how thick it is.
    cure: Write core where you have measured it at a bared end.
spread.no-error
    no reading has an error; nothing to measure better
    cause: Every error in [errors] is 0.
"""),
    "pull.model": Entry(
        "{strings}: pull by a model, within {within_share:.1}; worst of {compared} published strings that it was not"
        " fitted to: {worst_share:.1} off",
        _MODELLED,
        _UNIT_MASS,
    ),
    "pull.model-alone": Entry(
        "{strings}: pull by a model that was compared with no published string; taken to be within {within_share:.1}",
        _MODELLED,
        _UNIT_MASS,
    ),
    "pull.weigh": Entry("a unit_mass, as the maker prints it, is better than any model", _MODELLED, _UNIT_MASS),
    "pull.unclear": Entry(
        f"that is within what is known of these strings: the relief may move either way; {_SETTLE}",
        "The pulls of both sets are known less well than they differ.",
        _SETTLE.capitalize() + ".",
    ),
    "pull.more": _bow("more pull: expect more relief{figure}"),
    "pull.less": _bow("less pull: expect less relief, perhaps a back bow{figure}"),
    "friction.assumed": Entry(
        "friction {low_ratio} (greased) to {high_ratio} (dry); no published value found; graphite or a drop of"
        " lubricant in the slot lessens it, a string guide that straightens the string lessens the bend",
        "No published friction of wire on bone, antler or hard plastic was found.",
        LESS_FRICTION,
    ),
    "spread.errors-assumed": Entry(
        _errors_assumed,
        "How far each reading may be off decides how far the made nut may be off.",
        "Write [errors] for your own instruments and hands.",
    ),
    **alike(
        "A gauge reads within less than paper, a string or a pencil does; what of that the nut feels is worked out.",
        "Buy, borrow or leave it; `[errors]` says how well each reading is known.",
        {
            "spread.gauge-pays": lambda t: (
                f"{_GAUGES[t['reading']]} "
                + t.fill("would bring the clearance over fret 1 from within {now:bare} to within {then}")
            ),
            "spread.no-gauge-pays": lambda t: (
                "no gauge would pay: "
                + f"{_GAUGES[t['reading']]} "
                + t.fill("brings most, the clearance over fret 1 from within {now:fine,bare} to within {then:fine}")
            ),
        },
    ),
    "spread.measure-better": Entry(
        _measure_better,
        "Of all readings, this one causes most of the spread of the first-fret clearance.",
        "Read it again with a better instrument, or several times.",
    ),
}

_ORDER = "Every step moves what comes after it: relief the action, the saddle the clearance, all of them the pitch."
_ROD = (
    "an eighth of a turn at a time, tune back to pitch, wait some minutes, read again; never force a rod that does not"
    " turn: see a licensed repairer; a neck without a rod: write its own relief in setup.relief"
)


def _unfiled(t: Told) -> str:
    """Why no saddle is set over open strings; nothing where they do not lie on the nut."""
    words = "; {left:limit} left in a slot adds {adds} there on the open string: no saddle is set over such a nut"
    return t.fill(words) if t.raw("left") is not None else ""


def turns_said(eighths: int) -> str:
    """Eighths of a turn as a hand counts them: "1 3/8 up"."""
    whole, rest = divmod(abs(eighths), 8)
    part = {0: "", 2: "1/4", 4: "1/2", 6: "3/4"}.get(rest, f"{rest}/8")
    return " ".join(filter(None, (str(whole or ""), part, "up" if eighths > 0 else "down"))) if eighths else "none"


def _posts(t: Told) -> str:
    said = t.fill("the two posts: bass side {bass:leaf,+}, treble side {treble:leaf,+}")
    if t.raw("bass_eighths") is not None:
        said += f" (turns: bass {turns_said(t['bass_eighths'])}, treble {turns_said(t['treble_eighths'])})"
    return said + ", read with a capo at fret 1" + _unfiled(t)


def _fixed(t: Told) -> str:
    bass, treble, deepest = t.raw("bass"), t.raw("treble"), t.raw("crest")
    ways = "the fixed saddle, out, read with a capo at fret 1: "
    if min(bass, treble) < 0.0:
        ways += "pack it or make it higher, see below"
    else:
        ways += t.fill(
            "off its underside, kept flat, {bass:leaf} at the bass-most string and {treble:leaf,bare} at the"
        )
        ways += t.fill(" treble-most, {at_once:limit} at a time and read again")
    if deepest > 0.02:
        ways += t.fill("; then up to {crest:leaf} off the crest, string by string as below")
    return ways + _unfiled(t)


def _pitch(t: Told) -> str:
    said = "pitch: tune, press at fret 12 against the harmonic there, sharp goes away from the nut"
    if t.raw("bass") is None:
        return said
    return said + t.fill("; start from {bass} behind fret 12 at the bass-most string and {treble} at the treble-most")


SETUP: dict[str, Entry] = {
    **entries("""
setup.rod-lets-off-no-further
    relief reads {now}, {wanted:bare} is wanted, and the rod is slack already: only more pull brings relief; heavier
    strings, a repairer, or write the relief that the neck has
    cause: A slack rod lets off no further.
    cure: Write setup.relief as it is, or string heavier.
saddle.thread-misread
    {written} is no thread that is known, of {least:limit,bare} to {most:limit} a turn; write "M3", "M3 x 0.35", "32 per
    inch", or count: "10 turns = 7.0 mm"
    cause: What a turn lifts is needed, to tell turns.
    cure: Turn a screw ten times, measure what that lifts, and write it so.
saddle.not-alone
    the tops are evened by saddles that move alone; bridge is "{bridge}"
    cause: Saddles on two posts, or in one piece, do not move string by string.
    cure: Leave even_tops out, or sand the crest as the tops say.
saddle.action-not-read
    the action as it is was not read: how far the saddles go is not known, only what to set them to
    cause: From what is, to what is wanted, is a move.
    cure: Write setup.action_now, best read with a capo at fret 1: action_read = "capo 1".
saddle.floors-assumed
    the action was read open, and is taken as read over the finished nut; another nut's floors are in it by half
    cause: An open string tells nut and saddle together.
    cure: Read it with a capo at fret 1 and write action_read = "capo 1", or write setup.clearance_now.
saddle.body-keeps-line
    the body keeps its line with the last fret while the relief changes
    cause: What the saddle does when the neck bends goes by this.
    cure: Read over fret 12 again once the relief is set.
saddle.break-shallow
    {who}: bends {break_deg} over the saddle, under {least_deg:limit}; it may rattle or jump
    cause: A string that hardly bends over its saddle is hardly held by it.
    cure: Lead it lower behind the saddle, or keep the saddle higher: shim the neck's heel only with a repairer.
saddle.posts-leave
    {who}: the posts leave it {by:+} at the saddle; above 0 its notch comes down by that
    cause: Two posts tilt and lift all strings along one line.
    cure: File the notch that is high; where one is low, keep the others above it or change that saddle.
saddle.too-low
    the saddle is too low by {pack:short} for its lowest string: pack it with that, flat over its whole length, or make
    it new
    cause: Nothing that is sanded off lifts a string.
    cure: Pack it with veneer of hard wood over its whole length, or make it new.
tops.touches-once-even
    {who}: with its top evened it touches a fret at its pluck, {by} too low
    cause: A saddle that comes down takes room over the frets.
    cure: Leave even_tops out, or choose another gauge.
"""),
    **alike(
        _ORDER,
        "",
        {
            "setup.frets": "frets first: none loose, none proud; what is not level is levelled before a nut is made",
            "setup.frets-level": lambda t: (
                f"frets first: level {', '.join(map(str, t['frets']))}; a nut waits for that"
            ),
            "setup.strings": "new strings of the set to pitch, stretched until they stay there for a day",
            "setup.relief-kept": "relief: {wanted}, as it is",
            "setup.relief-read": "relief: {wanted} is wanted; read it, and write setup.relief_now where it is not so",
            "setup.relief": "relief: from {now} to {wanted}: {turn} the truss rod, " + _ROD,
            "setup.relief-from-back-bow": "relief: the neck bows backward, {wanted} is wanted: slacken the truss rod, "
            + _ROD,
            "setup.saddle-each": lambda t: "each saddle as below, read with a capo at fret 1" + _unfiled(t),
            "setup.saddle-posts": _posts,
            "setup.saddle-fixed": _fixed,
            "setup.saddle-unread": lambda t: "saddle: capo at fret 1, set each over fret 12 as below" + _unfiled(t),
            "setup.nut": "the nut: slots to {bass} over fret 1 at the bass-most string, {treble} at the treble-most;"
            " `nutgen stages` and `nutgen dryfit` lead through it",
            "setup.nut-behind-zero-fret": "the nut: each slot filed until its string lies on the zero fret; `nutgen"
            " stages` leads through it",
            "setup.again": "read again, open: {bass} over fret 12 at the bass-most string, {treble} at the treble-most,"
            " relief {relief}; where one is off, go back to its step",
            "setup.pitch": _pitch,
        },
    ),
    "tops.proud": Entry(
        lambda t: (
            t.fill("{who}: its top stands {by} proud of the others ")
            + ("where the hand plucks" if t["place"] == "pluck" else f"at {'the ' * (t['place'] == 'nut')}{t['place']}")
            + {
                "nut": t.fill("; its floor at the nut does {causes} of it"),
                "saddle": t.fill("; its saddle does {causes} of it, and comes down where the string stays clear"),
                "gauge": t.fill(
                    "; its gauge does {causes} of it: a saddle down takes that out under the hand, or another gauge"
                ),
            }[t["cause"]]
        ),
        "Tops of strings lie on an arc; the hand feels one that does not.",
        "Move its saddle, by 0.3 at most: saddle.even_tops = true. Not its floor, which its clearance decides.",
    ),
}
