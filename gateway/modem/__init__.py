"""The serial line and the AT dialogue on it: one thread that owns both, behind `gateway.ports.Modem`."""
