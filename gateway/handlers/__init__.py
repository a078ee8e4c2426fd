"""What writes: receive, text, order, record, notify, deliver, and what is due by time. Knows ports, not the shell."""
