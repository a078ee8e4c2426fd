"""How strong a signal is, in percent of +CSQ's scale (0..31) → where it is weak and where it is well again."""

WEAK_PERCENT, WELL_PERCENT = 15, 25
"""+CSQ 4 (-105 dBm) and 8 (-97 dBm): below the first a text often fails (common practice)."""
