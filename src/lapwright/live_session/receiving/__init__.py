"""Where fixes come from: bytes that are recorded as they come, and read as they come."""
