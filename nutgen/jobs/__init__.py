"""From a solved nut to a set of files: made, proved, recorded, placed."""
