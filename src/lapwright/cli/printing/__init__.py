"""What the commands print: tables, laps, JSON, progress."""
