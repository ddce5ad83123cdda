"""From laid blocks to saw cuts: marks, sections, strips to wrap round the piece."""
