"""What a maker needs to know at the printer and at the router."""
