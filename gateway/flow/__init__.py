"""The order of things: receive, read, happen, tell, deliver, watch, answer. Knows ports, not the shell."""
