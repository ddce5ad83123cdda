"""One module a command: parse, call, show. Heavy imports stand inside the function bodies."""
