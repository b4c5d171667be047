"""How a command runs and ends, whatever it does: signals, what cannot be written to."""
