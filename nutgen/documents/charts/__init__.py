"""Pictures of how a nut plays and how its fit went."""
