"""What the nut does when it is played: pull, heights, buzz, pitch, friction, and how far each may be off."""
