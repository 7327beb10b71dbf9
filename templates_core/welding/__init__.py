"""How welds pull, and what is set against it."""
