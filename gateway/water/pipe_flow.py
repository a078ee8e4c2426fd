"""A pipe's bore, length and fall → the litres a day that it can pass, and the least speed that carries air out of it.

Darcy-Weisbach with the friction factor after Colebrook (laminar: 64/Re), polyethylene of 0.007 mm roughness, water of 15 °C; below 50 mm
Hazen-Williams shows a tenth to a third too little loss. Checked against the published table of a library and its examples. Air: Wisner
et al. 1975, from memory.
"""

import math
from collections.abc import Sequence
from datetime import timedelta

from gateway.settings.water_tables import Pipe
from gateway.water.bisection import reached

GRAVITY = 9.81
VISCOSITY_M2_S = 1.139e-6
"""Kinematic, of water at 15 °C."""
ROUGHNESS_M = 7e-6
LAMINAR_BELOW = 2040.0
FASTEST_M_S = 30.0
CLOSE = 1e-7
ROUNDS = 12
FILL_SLOWLY_M_S = 0.3
LITRES_A_DAY = 1000.0 * 86_400.0


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy's f; Colebrook's equation iterated from a smooth guess."""
    if reynolds < LAMINAR_BELOW:
        return 64 / reynolds
    root = 8.0
    for _ in range(ROUNDS):
        root = -2 * math.log10(relative_roughness / 3.7 + 2.51 * root / reynolds)
    return 1 / root**2


def head_loss_m(inner_m: float, length_m: float, speed_m_s: float, roughness_m: float = ROUGHNESS_M) -> float:
    """Metres of water that friction takes; `speed_m_s` above 0."""
    factor = friction_factor(speed_m_s * inner_m / VISCOSITY_M2_S, roughness_m / inner_m)
    return factor * length_m / inner_m * speed_m_s**2 / (2 * GRAVITY)


def passes_l_day(pipe: Pipe) -> float:
    """Litres a day once it runs full: where friction takes the whole fall."""
    inner_m = pipe.inner_mm / 1000
    speed = reached(
        lambda speed: head_loss_m(inner_m, pipe.length_m, speed) if speed > 0 else 0.0,
        pipe.fall_m,
        0.0,
        FASTEST_M_S,
        CLOSE,
    )
    return speed * math.pi * inner_m**2 / 4 * LITRES_A_DAY


def carries_air_m_s(inner_m: float, slope_degrees: float) -> float:
    """The least speed that carries air down and out."""
    slope = math.sqrt(math.sin(math.radians(slope_degrees)))
    return math.sqrt(GRAVITY * inner_m) * (0.825 + 0.25 * slope)


def fills_in(pipe: Pipe, flow_l_day: float | None) -> timedelta:
    """Until an empty pipe is full: by what comes, and slowly, since water that rushes into air hammers (AWWA M51, from memory)."""
    area_m2 = math.pi * (pipe.inner_mm / 1000) ** 2 / 4
    comes = flow_l_day / LITRES_A_DAY / area_m2 if flow_l_day else FILL_SLOWLY_M_S
    return timedelta(seconds=pipe.length_m / min(comes, FILL_SLOWLY_M_S))


def tightest_l_day(pipes: Sequence[Pipe]) -> float | None:
    """What the narrowest pipe between two tanks passes; None where none is configured."""
    between = [passes_l_day(pipe) for pipe in pipes if pipe.upper != "source"]
    return min(between, default=None)
