"""The HTML page and its SVG charts."""
