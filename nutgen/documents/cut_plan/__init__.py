"""The cut plan of a natural piece."""
