"""A household's water, box and people, lived through on a clock of its own: what stands behind the simulated modem."""
