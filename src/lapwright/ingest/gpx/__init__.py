"""GPX 1.0 and 1.1, strictly read, with line numbers."""
