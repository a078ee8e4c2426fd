"""An invented water supply, simulated, to which forecasts and causes are held."""
