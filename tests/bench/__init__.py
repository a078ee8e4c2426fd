"""Measurements against what is physically there. `tests/bench/run` prints one table; nothing in here asserts a time."""
