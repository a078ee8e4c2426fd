"""One short file per command: parse, call, print (text or JSON)."""
