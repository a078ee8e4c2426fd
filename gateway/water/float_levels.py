"""A tank's floats and the limits of its gauges → the litres that stand below them."""

from gateway.settings.water_tables import Tank
from gateway.water.volumes import below_l, capacity_l


def float_litres(tank: Tank, means: str) -> float | None:
    """Water below the tank's lowest low (or highest high) float, or a gauge's limit; None where shape or level is not known."""
    levels = [
        configured.level_m for configured in tank.floats if configured.means == means and configured.level_m is not None
    ]
    levels += [limit for gauge in tank.gauges if (limit := gauge.low_m if means == "low" else gauge.high_m)]
    if tank.shape is None or not levels:
        return None
    return below_l(tank.shape, min(levels) if means == "low" else max(levels))


def full_litres(tank: Tank) -> float | None:
    """What counts as full: its high float, else the brim."""
    if tank.shape is None:
        return None
    return float_litres(tank, "high") or capacity_l(tank.shape)
