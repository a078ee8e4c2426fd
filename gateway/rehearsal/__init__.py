"""A household lived through: the gateway of `serve` on a virtual clock, with a simulated household behind its modem, and the account of it."""
