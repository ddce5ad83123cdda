"""Every file read back, by another reader than its writer, before it counts as made."""
