"""Where the corners of a path are."""
