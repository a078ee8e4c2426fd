"""Parts → one whole text, known once, at a time that can be believed."""

from gateway.inbox.join import join
from gateway.inbox.stamps import CLOCK_FLOOR, believable, clock_trusted, happened_at

__all__ = ["CLOCK_FLOOR", "believable", "clock_trusted", "happened_at", "join"]
