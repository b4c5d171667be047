"""The car itself, from what its sensors say: limits, oil in corners, temperatures, dead sensors."""
