"""What the record knows of the file → notes: numbers that were adopted by text, and what `silence_after = "auto"` has come to."""

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

from gateway.commands.site_and_store import open_site_store
from gateway.errors import GatewayError, Problem
from gateway.heartbeats.silence_limit import DAILY, silence_limit
from gateway.settings.key_lines import find_key_lines
from gateway.settings.models import Settings
from gateway.settings.problem_locator import ProblemLocator
from gateway.site import compile_site
from gateway.status.adopted import lines_for_file
from gateway.status.silence import auto_said, rhythm_of

FILE_URL = "sqlite:///"


def record_notes(settings: Settings, file: str) -> Iterator[Problem]:
    """In the order of the file; none where there is no record yet, or it cannot be read: that is no matter of the file's."""
    # before anything of the store is loaded: most who check a first configuration have none
    if settings.store.url.startswith(FILE_URL) and not Path(settings.store.url.removeprefix(FILE_URL)).exists():
        return
    site, locator = compile_site(settings), ProblemLocator(file, find_key_lines(Path(file).read_text("utf-8")))
    try:
        with closing(open_site_store(settings, check=False)) as store, store.read() as reader:
            lines = lines_for_file(reader, site)
            rhythms = [
                (place, rhythm_of(reader, controller))
                for place, controller in enumerate(settings.controllers)
                if controller.silence_after == "auto"
            ]
    except (GatewayError, OSError):
        return
    for line in lines:
        by = site.contact_name(line.adopted.by)
        yield locator.note(
            (line.table, line.place, "number"),
            found=line.number,
            wrong=f"{line.number} counts as {line.name} too, adopted by {by} on {line.adopted.at.astimezone(site.zone):%Y-%m-%d}",
            right=line.line,
        )
    for place, rhythm in rhythms:
        asks = bool(settings.controllers[place].ask.text)
        if rhythm is not None and silence_limit(rhythm, asks=asks) > DAILY:
            yield locator.note(
                ("controllers", place, "silence_after"),
                found="auto",
                wrong=auto_said(rhythm, asks=asks),
                right="an asking text (ask), if it can answer one"
                if not asks
                else "it as it is, if that is soon enough",
            )
