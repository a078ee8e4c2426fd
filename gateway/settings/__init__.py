"""The configuration file as frozen models, and how it is read."""
