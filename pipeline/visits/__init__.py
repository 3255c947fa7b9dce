"""Visits: which sites a visit now is worth most, and why. The rules stand in `rules_*.py`."""
