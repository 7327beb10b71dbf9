"""Each kind of sheet, from its pages down to its figures."""
