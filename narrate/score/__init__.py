"""Accuracy against cases: what was owed, what was found, and what got lost."""
