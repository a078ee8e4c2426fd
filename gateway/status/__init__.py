"""What is only looked at: the record as values. Writes nothing; knows ports, not the shell."""
