"""Invented circuits: shapes, bends, where everything lies."""
