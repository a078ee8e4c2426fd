"""Sun, battery, outlook."""
