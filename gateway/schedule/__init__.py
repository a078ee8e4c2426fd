"""APScheduler → ticks on the daemon's queue."""

from gateway.schedule.ticker import Ticker

__all__ = ["Ticker"]
