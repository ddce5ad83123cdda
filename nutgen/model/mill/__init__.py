"""The part as a router wants it: held, contours, lines of the slots, what they leave."""
