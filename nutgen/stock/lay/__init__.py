"""Where a block has most room in a piece, and what would fit instead."""
