"""Who has the watch, and how many draw water, where that is not as configured: what TANKS, `tanks` and the page say of people."""

from datetime import datetime

from gateway.phrases.phrasebook import Line
from gateway.ports import Reader
from gateway.site import Site
from gateway.status.presence import presence_said
from gateway.status.watch import watch_said


def who_is_there(reader: Reader, site: Site, now: datetime, line: Line = "mobile") -> tuple[str, ...]:
    """Each as a sentence without its full stop."""
    said = (watch_said(reader, site, now, line), presence_said(reader, site, now, line))
    return tuple(f"{words[:1].upper()}{words[1:]}".rstrip(".") for words in said if words is not None)
