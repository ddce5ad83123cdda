"""What the commands show of each room's answer."""
