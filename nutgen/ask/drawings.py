"""Where the caliper goes, in characters; 48 letters wide at most, so that they stand on a narrow screen."""

Drawing = tuple[str, ...]

# fmt: off

LEAST: Drawing = (
    "  Five readings reach a template:",
    "  1 strings  off the packet, bass first",
    "  2 width    caliper across the board,",
    "             right at the nut",
    "  3 spacing  old nut: bass end to middle",
    "             of each slot, on one line",
    "  4 seat     channel (groove), ledge or",
    "             surface; front to back face",
    "  5 plane    ruler on frets 1 + 2, down",
    "             to the seat floor, each end",
    "  Slacken all before the nut comes out.",
)
SCALE: Drawing = (
    "  nut                        fret 12",
    "   |.  .  .  . . . . . . . . .|",
    "   |<------------------------>|",
    "  front face          top of the crown",
)
RELIEF: Drawing = (
    "  =============================== straightedge",
    "  /\\  ..        ==           ..  /\\",
    "  fret 1     half way      last fret",
)
ACTION: Drawing = (
    "  _______________________________ string, open",
    "              | gap",
    "  ______/\\____/\\____/\\___________ board",
    "        11    12    13",
)
FIRST_FRET: Drawing = (
    "  |\\_____________________________ string, open",
    "  | |     | gap",
    "  |_|_____/\\__________/\\_________ board",
    "  nut     1           2",
)
WIDTH: Drawing = (
    "   ___|___|___|___|___",
    "  |    nut, in front  |",
    "  |<----------------->|   the board, at the nut",
)
WIDTH_AT_12: Drawing = (
    "       |<----->|       width at the nut",
    "      /   \\     \\      the nut may slant",
    "     |<--------->|     width at fret 12",
    "  square to the centre line, where it crosses",
)
RADIUS: Drawing = (
    "  ===================== ruler on fret 1",
    "  |gap _.-------._    |   gap: at either end,",
    "  |_.-'           '-._|   or a radius gauge",
)
FRET_HEIGHT: Drawing = (
    "          .-.",
    "         /   \\  ^",
    "  ______/     \\_v_______ board",
    "         fret 1",
)
MARGIN: Drawing = (
    "  |      o              o     |",
    "  |<---->|              |<--->|",
    "  board edge        board edge",
    "   to the near edge of the string",
)
CENTRES: Drawing = (
    "  |    o      o      o      o    |",
    "  |<-->|      |      |      |",
    "  |<--------->|      |      |",
    "  bass edge, to the middle of each slot",
)
EDGES: Drawing = (
    "  |   |_|     |_|     |_|     |_|   |",
    "  |<->|       |       |       |",
    "  |<--------->|       |       |",
    "  bass end, to the bass-side edge of each slot",
)
SLOT_WIDTH: Drawing = (
    "  ____    ____",
    "      |  |",
    "       ><   the thickest that enters",
)
FLOOR_OVER_SEAT: Drawing = (
    "  ____     ____",
    "      | ^ |",
    "      |_v_|   slot floor ...",
    "  _____v______  ... over the underside",
)
COURSE_GAP: Drawing = (
    "      o  o           o  o",
    "      >||<  room inside a pair",
)
BREAK: Drawing = (
    "  string ___________",
    "             nut |  `-._  angle",
    "                 |      `-._ to the tuner",
)
POSTS: Drawing = (
    "  seen from above       seen from the side",
    "  \\             o      ____|",
    "   \\ nut        | x       |`-._",
    "  --+---- y ----+--     drop  `-o",
    "  centre line, also where the nut is slanted",
)
SEAT: Drawing = (
    "  channel         ledge           surface",
    "      |\\             |\\             |\\",
    "  ____| |____     ____| |_        ____|_|_",
    "      |_|             |_| \\__",
    "  board   head    board   head    board",
)
THICKNESS: Drawing = (
    "   front     back",
    "    |<------->|",
    "  __|         |__ head",
    "    |_________|",
)
DEPTH: Drawing = (
    "  ___board___",
    "      ^      |",
    "      v      |________ seat floor",
)
FRET_PLANE: Drawing = (
    "  ============================= straightedge",
    "   | ^      /\\        /\\",
    "   | |  ____||________||__ board",
    "   | v |    1         2",
    "  _____|  seat floor, at the board's edge",
)
PENCIL: Drawing = (
    "       .--------------------.  half a pencil,",
    "  |---<'____________________|  flat side down",
    "  | ^       /\\       /\\       on frets 1 and 2",
    "  | |   ____||_______||__ board",
    "  |_v_  underside of the block to the line",
)
TEN_SHEETS: Drawing = ("  ]|========== ten |[   caliper, squeezed",)
STRING: Drawing = (
    "  bass-most first. note, gauge, wound or plain:",
    "  E2 0.046 wound      B3 0.016 plain",
)
