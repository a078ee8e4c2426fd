"""Volumes, draw and inflow, forecast, cause: what a low tank means for the house. Pure."""
