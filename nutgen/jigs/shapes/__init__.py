"""The few words that printed parts are made of: fasteners, fits, solids, letters, a wedge."""
