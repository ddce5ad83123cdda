"""The part as a router wants it: operations, reach of the cutters, what they leave."""
