"""Judging a walkaround: pure functions that add what follows from it."""
