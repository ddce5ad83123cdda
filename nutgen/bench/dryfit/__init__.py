"""The dry fit: from leaf readings to what each slot still loses."""
