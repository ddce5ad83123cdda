"""The sheet for the wall over the bench."""
