"""nutgen: a new nut for a fretted instrument, from caliper readings to files on the bench."""

__version__ = "0.1.0"
