"""Who has the watch, as a line and as JSON."""

from gateway.commands.terminal_output import local_time
from gateway.facts.iso_time import iso_time
from gateway.site import Site
from gateway.status.watch import OnWatch


def watch_json(site: Site, watch: OnWatch | None) -> dict[str, object] | None:
    """None: nobody has it."""
    if watch is None:
        return None
    since, until = iso_time(watch.since, site.zone), iso_time(watch.until, site.zone)
    return {"contact": watch.contact.id, "since": since, "until": until, "by_word": watch.by_word}


def watch_line(site: Site, watch: OnWatch | None) -> str:
    """In a sentence."""
    if watch is None:
        return "Nobody has the watch: all are called by their turns."
    until = f" until {local_time(watch.until, site.zone)}" if watch.until is not None else ""
    return f"{watch.contact.name} has the watch{until}."
