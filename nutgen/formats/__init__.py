"""One format a module: bytes out, and readers that share no code with the writers."""
