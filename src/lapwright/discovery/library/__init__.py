"""Tracks already known: found in folders, fitted to a log, turned round."""
