"""Metrics, calendar and MQTT: held against their standards, by libraries and by checks of our own where those are lenient."""
