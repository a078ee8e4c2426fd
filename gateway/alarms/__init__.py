"""Alarms from raised to over: one for each matter, whom to tell, when, and whose turn is next."""
