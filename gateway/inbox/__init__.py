"""Parts → one whole text, known once, at a time that can be believed."""

from gateway.inbox.join import join
from gateway.inbox.stamps import CLOCK_FLOOR, believable, clock_trusted, happened_at, tells_apart

__all__ = ["CLOCK_FLOOR", "believable", "clock_trusted", "happened_at", "join", "tells_apart"]
