"""Text → readings, or unread; rules proposed from samples."""
