"""One test a row of the fault table, the number in its name; a twentieth of the trials, all of them with --soak."""
