"""Does this natural piece yield the blank, and how does the blank lie in it?"""

MOST_BLOCKS = 12
"""That are laid in one piece at a time."""
