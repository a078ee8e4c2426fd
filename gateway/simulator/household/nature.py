"""What no configuration says of a household and the gateway never learns: how its figures, days, pipes and floats really are.

Drawn by a seed where a household is rehearsed; given where many invented supplies are lived through to hold forecasts to them.
"""

from dataclasses import dataclass

HOUR_SD = 0.5
SEASON_SWING = 0.2
BAND_M = 0.04
"""A float switches back so much higher or lower (common practice: 3 to 5 cm)."""
FLOAT_NOISE = 0.002


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How water is drawn. `truth`: the real mean over the household's own figure; `hours`: each hour's share of the mean; `day_sd` of the log;
    `weekend`: a day there in times the others; `outdoors`: at most that share in the warmest weeks."""

    truth: float
    hours: tuple[float, ...]
    day_sd: float
    weekend: float
    outdoors: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Nature:
    """A whole supply. `source_l_h`: what the source gives; `pipe_l_h`: what comes down between two tanks; `hour_sd` of the log."""

    habits: Habits
    source_l_h: float
    pipe_l_h: float
    hour_sd: float = HOUR_SD
    season_swing: float = SEASON_SWING
    band_m: float = BAND_M
    float_noise: float = FLOAT_NOISE
