"""tank-gateway: raw alarm texts of an unattended controller become named events and plain messages."""

__version__ = "0.1.0"
