"""Words for making, proving and writing files."""

from nutgen.documents.words.entry import Entry

JOBS: dict[str, Entry] = {
    "files.left-out": Entry(
        "the files to {purpose} were left out: {why}",
        "Files for a purpose that was not asked for by name are left out where they cannot be made.",
        "Mend what it says, or leave them out with --for.",
    ),
    "files.placed-late": Entry(
        lambda t: f"an earlier run was ended while it placed its files; placed now: {', '.join(t['names'])}",
        "A run was killed, or the power failed, after its files were written and before all were in their places.",
    ),
    "files.not-all-placed": Entry(
        "{name}: {reason}; some of the new files are in place, the others wait in a folder beside them",
        "A file could not be moved to its place after others had been.",
        "Mend what it says; the next run into the same folder places the others.",
    ),
    "file.not-as-solved": Entry(
        "{who}, read back by {reader}: {what} is {found}, not {wanted}; this is a fault of nutgen's, please report it",
        "Every file is read back before the set counts as made, and this one does not say what was solved.",
        "Nothing was written. Please report it with the instrument file.",
    ),
}
