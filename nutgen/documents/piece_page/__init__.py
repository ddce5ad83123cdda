"""The answer for a natural piece as a page in 3D."""
