"""A time to come, as somebody writes it at the terminal or would by text."""

from datetime import UTC, datetime

from gateway.errors import UsageWrong
from gateway.orders import moment_of
from gateway.phrases import load_phrases
from gateway.site import Site


def moment_ahead(written: str, site: Site, now: datetime) -> datetime:
    """`sunday`, `sunday 18:00`, `tomorrow`, `2026-12-06 18:00`, `3d`, in the household's language or in English. Raises UsageWrong."""
    local = now.astimezone(site.zone)
    for words in (site.phrases.until_words(), load_phrases("en").until_words()):
        at = moment_of(written, words, local)
        if at is not None:
            return at.astimezone(UTC)
    raise UsageWrong(f"{written!r} is no time to come; right would be: sunday, tomorrow 18:00, 2026-12-06 18:00 or 3d")
