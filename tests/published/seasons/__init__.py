"""Whole seasons on the plateau, by us and by libraries that others wrote."""
