"""`calendar FILE`: what is due and what was, for a phone to subscribe to from any web server."""

import argparse
from pathlib import Path

from gateway.clock import SystemClock
from gateway.commands.own_files import refuse_what_is_not_ours
from gateway.commands.site_and_store import load_site, open_site_store
from gateway.commands.terminal_output import print_json
from gateway.errors import GatewayError
from gateway.feeds.calendar_entries import calendar_entries
from gateway.feeds.calendar_file import calendar_octets, is_calendar
from gateway.whole_file import write_whole


def run(arguments: argparse.Namespace) -> int:
    """Writes the calendar."""
    file = Path(arguments.file)
    refuse_what_is_not_ours(
        file,
        Path(arguments.config),
        is_ours=is_calendar,
        what="calendar",
        example="tanks.ics",
        force=arguments.force,
    )
    site, now = load_site(arguments), SystemClock().now()
    with open_site_store(site.settings, check=False).read() as reader:
        entries = calendar_entries(reader, site, now)
    try:
        before = file.read_bytes() if file.exists() and is_calendar(file) else None
        write_whole(file, calendar_octets(site.settings.site.name, entries, now, before))
    except OSError as error:
        raise GatewayError(f"{file} cannot be written: {error.strerror}") from None
    if arguments.json:
        print_json({"file": str(file), "entries": len(entries)})
    else:
        print(f"Written: {file} (entries: {len(entries)})")
    return 0
