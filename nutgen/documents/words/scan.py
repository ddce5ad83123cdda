"""Words for the mesh of a piece: why it cannot be read or used, and what was mended in it."""

from nutgen.documents.words.entry import Entry, Told, alike, entries

_AGAIN = "Save or export the mesh again."
_THIN = "Thin the mesh out to about 200,000 triangles in the program it came from."
_MEND = "Make one closed skin of it in the program it was scanned with."


def _place(t: Told) -> str:
    return t.fill("near x {at[0]:bare,.1}, y {at[1]:bare,.1}, z {at[2]:bare,.1} {units} of the scan")


def _counted(number: int, what: str) -> str:
    return f"1 {what} was" if number == 1 else f"{number:,} {what}s were"


def _text_size(t: Told) -> str:
    return (
        f"is text of {t.raw('bytes') / 1e6:.0f} MB; at most {t.raw('most') // 10**6} MB: save it as binary STL or PLY"
    )


def _unpacked(t: Told) -> str:
    return (
        f"unpacks from {t.raw('bytes') / 1e6:.1f} to more than {t.raw('most') // 10**6} MB; that is refused unread:"
        " save the mesh as binary STL or PLY"
    )


def _too_large(t: Told) -> str:
    return f"has {t.raw('bytes') / 1e6:.0f} MB; at most {t.raw('most') // 10**6} MB: thin it out to 200,000 triangles"


def _missing(t: Told) -> str:
    near = t.raw("near")
    return f"no such file; {'beside it are ' + ', '.join(near) if near else 'put the mesh beside the piece file'}"


def _meet(t: Told) -> str:
    edges = f"{t.raw('count'):,} {'edge' if t.raw('count') == 1 else 'edges'}"
    return (
        f"has {edges} where more than two triangles meet, first {_place(t)}: make one closed skin of it where it was"
        " scanned"
    )


def _open(t: Told) -> str:
    openings = "1 opening" if t.raw("openings") == 1 else f"{t.raw('openings'):,} openings"
    return (
        f"is not closed: it has {openings}, the largest {t['wide']:.1} wide {_place(t)}; only flat holes of less than"
        f" {t['most_share']} of its area in all are closed here: close it where it was scanned"
    )


def _size(t: Told) -> str:
    likely = " or ".join(f'"{name}" ({length:.0f} mm)' for name, length in t.raw("likely"))
    cure = f"is scan.units {likely}?" if likely else "is scan.units right?"
    return (
        f'is {t.raw("size"):.3g} mm long with scan.units "{t["stated"]}"; a piece has {t.raw("least"):.0f} to'
        f" {t.raw('most'):.0f} mm: {cure}"
    )


def _unit_hint(t: Told) -> str:
    if likely := t.raw("likely"):
        return f'its unit is likely "{likely}": write scan.units = "{likely}"'
    return (
        f'is scan.units = "{t["stated"]}" right, are distances taken from the first end, and back toward the back line?'
    )


def _compared(t: Told) -> str:
    where = f" at {t['where']:stock}" if t.raw("where") is not None else ""
    return t.fill(
        f"is {{found}} {t['what']}{where}, but the caliper reads {{read}} (ratio {{read_ratio}}; allowed is"
        f" {{within:.1}} or {{within_share}}): {_unit_hint(t)}"
    )


SCAN: dict[str, Entry] = {
    **entries("""
scan.back-along
    scan.back points along the piece; it must lead from its middle toward its back
    cause: scan.along and scan.back are nearly one direction, so neither side of the piece is its back.
    cure: Write in scan.back a direction of the scan that leads from the piece's middle to its back.
scan.core-outside
    is outside the skin, by up to {by:.1} at {along:.0} along the piece; {out_share} of it is out there: both meshes
    must be in the same place and units, and the core the smaller
    cause: A core lies inside its skin; these two meshes do not fit together.
    cure: Export both meshes in the same place and units.
scan.other-unit
    {file} says that its unit is "{says}"; it was read in "{stated}", as stated.
    cause: The file states a unit of its own, the piece file another; the piece file counts.
    cure: Check scan.units.
scan.ends-alike
    Both ends are about as thick; the first end is that of the lowest {axis} in the scan
    cause: Nothing in the scan tells the two ends apart.
    cure: Write scan.along to say which end is the first.
scan.end-not-flat
    The {end} end is said to be cut, but no flat cut was found there; the wall goes round it
    cause: A saw cut shows the core; an end without a flat is taken to be closed by the wall.
    cure: Check ends in the piece file.
scan.nowhere-thicker
    The piece is nowhere thicker than two walls of {wall:stock}: it counts as compact all through
    cause: The wall that the file states leaves no room for a core.
    cure: Check scan.wall.
scan.core-parts
    The core falls apart into {count} bodies; only the largest counts
    cause: Where the piece is thin, two walls meet and part its core.
scan.of-the-core
    Core: {note}
    cause: What was mended in the mesh of the core.
"""),
    **alike(
        "A mesh is held against limits before it is read, so that no file takes more time and memory than it may.",
        _THIN,
        {
            "scan.too-many-triangles": "has {found:,} {what}; at most {most:,} triangles are read: thin it out to about"
            " 200,000",
            "scan.text-too-large": _text_size,
            "scan.too-large": _too_large,
            "scan.unpacks-too-large": _unpacked,
            "scan.too-many-files": "holds {found:,} files; at most {most:,}",
            "scan.too-many-parts": "holds more than {most:,} parts; save the one mesh alone",
            "scan.too-many-joined": "is put together of more than {most} parts; save the one mesh alone",
            "scan.takes-memory": "takes more memory to read than a mesh of a piece may: thin it out to 200,000"
            " triangles",
            "scan.takes-time": "took more than {seconds} s to read: thin it out to 200,000 triangles",
            "scan.takes-too-much": "takes more time or memory to read than a mesh may: thin it out to 200,000 triangles"
            " (the reading ended with {ended})",
        },
    ),
    **alike(
        "What the file holds is not what its format, or its own head, says.",
        _AGAIN,
        {
            "scan.stl-without-facets": "begins like a text STL but holds no facet: export the mesh again",
            "scan.no-stl": "is neither a binary nor a text STL: export the mesh again as binary STL",
            "scan.stl-cut-short": "says it has {triangles:,} triangles, which take {needed:,} bytes, but has {bytes:,}:"
            " cut short? save it again",
            "scan.no-obj": "is not text, so not an OBJ: export the mesh again",
            "scan.no-ply": "is not a PLY: it does not begin with the word ply and a head that ends in end_header",
            "scan.ply-head": "has a PLY head that cannot be read: save it again as binary PLY",
            "scan.ply-cut-short": "says it has {vertices:,} vertices and {triangles:,} faces, but is too short for them"
            " with {bytes:,} bytes: cut short? save it again",
            "scan.no-3mf": lambda t: (
                "is not a sound 3MF (a zip package)" + (f": {t['reason']}" if t.raw("reason") else "")
            ),
            "scan.3mf-entities": "defines its own XML entities, which 3MF forbids: save the mesh again",
            "scan.no-glb": "is not a GLB: it does not begin with glTF",
            "scan.glb-version": "is a GLB of version {version}; read is version 2",
            "scan.glb-cut-short": "says it has {says:,} bytes and a head of {head:,}, but has {bytes:,}: cut short?",
            "scan.glb-no-json": "has a head that is not JSON: save the mesh again",
            "scan.glb-part": "has a part of {part:,} bytes where {left:,} are left: cut short? save it again",
            "scan.glb-head": "has a head that no GLB has: save the mesh again",
            "scan.glb-external": "refers to another file; only what it holds itself is read: save it as one GLB",
            "scan.glb-packed": "is packed by {by}, which is not read: save it without compression",
            "scan.glb-list": "says that one of its lists is {count} long; at most {most:,}",
            "scan.unreadable": "cannot be read as {form} ({reason}): save it again",
            "scan.not-triangles": "is not a mesh of triangles in space: save it again as triangles",
            "scan.no-such-vertex": "names vertex {wrong:,} where there are 0 to {last:,}: save it again",
            "scan.not-a-number": "has a vertex that is not a number (nan or infinite): repair it where it was scanned",
            "scan.far-away": "has a vertex {farthest} units from zero; at most {most}: repair it where it was scanned",
        },
    ),
    **alike(
        "A piece is measured on a surface; points, lines and empty files have none.",
        "Make a mesh of the points first.",
        {
            "scan.no-faces": "has no faces: a cloud of points is no surface; make a mesh of it first",
            "scan.no-triangles": "holds no triangles: a cloud of points or lines is no surface; make a mesh of it"
            " first",
            "scan.no-extent": "has no triangle with any extent: are the units right?",
        },
    ),
    **alike(
        "The line scan.file or scan.core of the piece file does not lead to a mesh that can be opened.",
        "Put the mesh beside the piece file and write its name there.",
        {
            "scan.other-form": "is no mesh by its name; read are {read}",
            "scan.folder": "is a folder; name the mesh file in it",
            "scan.no-plain-file": "is not a plain file",
            "scan.missing": _missing,
            "scan.cannot-be-opened": "cannot be read: {reason}",
            "scan.empty": "is empty: save the mesh again",
        },
    ),
    **alike(
        "A blank is laid inside the piece, so its skin must be one closed surface with an inside.",
        _MEND,
        {
            "scan.one-sided": "has only one side (it is twisted in itself), so no inside: make a closed mesh of it",
            "scan.overlaps": lambda t: t.fill(
                f"overlaps itself: {{twice_share:.1}} of its inside is counted twice or is inside out, first"
                f" {_place(t)}: make one closed skin of it"
            ),
            "scan.loose-parts": "falls into {parts:,} loose parts; {crumb_share} of its area is in crumbs, at most"
            " {most_share}: keep the largest part, or join them, where it was scanned",
            "scan.edges-meet": _meet,
            "scan.open-mesh": _open,
            "scan.encloses-nothing": lambda t: (
                f"encloses {t.raw('enclosed_mm3'):.2g} mm3, so nothing: it is flat, or its units are wrong"
            ),
            "scan.several-bodies": lambda t: (
                f"holds {t.raw('bodies'):,} bodies, one {_place(t)}: keep the piece alone, as one closed skin"
            ),
        },
    ),
    **alike(
        "A mesh file knows no unit; the piece file states it, and a caliper reading can check it.",
        "Check scan.units, and measure the piece again.",
        {
            "scan.reaches-too-far": "reaches {reach:.0}; at most {most:.0}: are the units right?",
            "scan.size": _size,
            "scan.off-the-caliper": _compared,
            "scan.check-beyond": lambda t: t.fill(
                f"is {{length:.1}} long, so that scan.check.at = {{where:stock}} is not on it; {_unit_hint(t)}"
            ),
            "scan.no-section": "has no section at scan.check.at = {where:stock}",
        },
    ),
    **alike(
        "A scan is mended where that is simple, and what was done is told.",
        "Look whether that is right for this scan.",
        {
            "scan.triangles-turned": lambda t: (
                f"{_counted(t.raw('count'), 'triangle')} turned that faced the wrong way"
            ),
            "scan.triangles-twice": lambda t: f"{_counted(t.raw('count'), 'triangle')} there twice and dropped",
            "scan.crumbs-dropped": lambda t: (
                f"{_counted(t.raw('count'), 'loose crumb')} dropped: {100.0 * t.raw('lost_share'):.2g} % of the area"
            ),
            "scan.holes-closed": lambda t: t.fill(
                f"{_counted(t.raw('count'), 'small hole')} closed by flat patches, the widest {{wide:.1}} wide"
            ),
            "scan.faced-inward": "The skin faced inward and was turned",
            "scan.crosses-itself": lambda t: (
                f"The scan's surface runs through itself, first {_place(t)}, by little: look at the piece there before"
                " you saw; room there may be told too small"
            ),
            "scan.hollows": lambda t: (
                ("A closed hollow" if t.raw("count") == 1 else f"{t.raw('count')} closed hollows")
                + " inside the scan counts as skin: the blank keeps out of it"
            ),
        },
    ),
}
