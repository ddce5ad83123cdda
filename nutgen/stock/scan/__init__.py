"""A piece from a scanned mesh: read in safety, mended, put in its frame."""
