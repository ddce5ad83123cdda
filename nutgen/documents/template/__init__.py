"""The paper template, 1:1."""
