"""Time in a log: how it is written, on which scale, in which order."""
