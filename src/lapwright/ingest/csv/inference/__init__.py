"""Columns whose header does not say what they are, understood from their values."""
