"""An errand's text as it leaves: `{time}` is the local time of day, `{gateway}` our own number."""

from datetime import datetime, tzinfo


def filled_text(text: str, now: datetime, zone: tzinfo, own_number: str) -> str:
    """The text with its fields filled in; other braces stand as they are."""
    return text.replace("{time}", f"{now.astimezone(zone):%H:%M}").replace("{gateway}", own_number)
