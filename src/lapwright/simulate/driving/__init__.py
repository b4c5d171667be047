"""A car and a driver on a circuit: limits, line, speed, and what happens."""
