"""Runs through corners: one row a lap and corner, every quantity with its error bar."""
