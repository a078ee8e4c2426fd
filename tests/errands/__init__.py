"""Errands: their course, codes and clocks, and what becomes of them in a household."""
