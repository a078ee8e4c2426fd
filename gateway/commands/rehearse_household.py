"""`rehearse --config FILE --days N`: the household of that file lived through on a virtual clock, and what it can decide by.

The real store of that file is never touched: the life has a folder of its own, with a configuration by which every command looks at it.
"""

import argparse
import logging
import signal
import sys
import threading
from collections.abc import Collection, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from gateway.commands.life_summary import print_summary
from gateway.commands.rehearsal_folder import PAGE, STORE, rehearsal_folder
from gateway.commands.site_and_store import load_settings
from gateway.commands.terminal_output import Progress, print_json
from gateway.errors import GatewayError, UsageWrong
from gateway.page import make_page, write_page
from gateway.rehearsal.account import account_of
from gateway.rehearsal.clock_faults import CLOCK_TROUBLES
from gateway.rehearsal.differences import differences
from gateway.rehearsal.lived_through import Lived, live_through
from gateway.settings.models import Settings
from gateway.settings.toml_slips import parse_toml
from gateway.simulator.household.troubles import STORIES
from gateway.simulator.makes import habits_of
from gateway.storage import open_store

MOST_DAYS = 36600.0


def run(arguments: argparse.Namespace) -> int:
    """Lives, then tells; 0 also where it was ended early, with what there is."""
    stories = _words(arguments.stories, "--with", "story", STORIES)
    clock_troubles = _words(arguments.clock, "--clock", "trouble of a clock", CLOCK_TROUBLES)
    if not 0 < arguments.days <= MOST_DAYS:
        raise UsageWrong(f"--days {arguments.days:g}: expected more than 0 and at most {MOST_DAYS:.0f}")
    settings = load_settings(arguments)
    with rehearsal_folder(arguments.folder, "household-") as folder:
        if settings.store.url == f"sqlite:///{folder / STORE}":
            raise GatewayError(f"{folder / STORE} is the household's own store; give another --folder")
        lived = _live(arguments, settings, folder, stories, clock_troubles)
        _write_configuration(Path(arguments.config), lived)
        with closing(open_store(lived.store_url, lived.site.settings.site.name)) as store, store.read() as reader:
            account = account_of(reader, lived)
            write_page(str(folder / PAGE), make_page(reader, lived.site, lived.until))
            changes = list(differences(reader, lived, account))
    if arguments.json:
        print_json(account.as_json())
        print(f"tank-gateway: what was lived through is kept: {lived.configuration}", file=sys.stderr)
    else:
        print_summary(account, changes, lived)
    return 0


def _live(
    arguments: argparse.Namespace,
    settings: Settings,
    folder: Path,
    stories: tuple[str, ...],
    clock_troubles: tuple[str, ...],
) -> Lived:
    """Until its end, or until Ctrl-C."""
    ended = threading.Event()
    before = signal.signal(signal.SIGINT, lambda *_: ended.set())
    logging.disable(logging.CRITICAL)
    try:
        return live_through(
            settings,
            folder,
            days=arguments.days,
            seed=arguments.seed,
            stories=stories,
            clock_troubles=clock_troubles,
            habits=habits_of(arguments.modem, on_a_fast_clock=True),
            progress=Progress("lived"),
            stopped=ended.is_set,
        )
    finally:
        signal.signal(signal.SIGINT, before)
        logging.disable(logging.NOTSET)


def _words(given: str, option: str, what: str, known: Collection[str]) -> tuple[str, ...]:
    """Words with commas between them, each a known one. Raises UsageWrong."""
    words = tuple(word.strip() for word in given.split(",") if word.strip())
    for word in words:
        if word not in known:
            raise UsageWrong(f"{option} {word}: no such {what}; there are {', '.join(known)}")
    return words


def _write_configuration(original: Path, lived: Lived) -> None:
    """The same household at the simulated modem and at the life's own store."""
    tables: dict[str, Any] = dict(parse_toml(original.read_text("utf-8-sig")).data or {})
    tables["modem"] = {**tables.get("modem", {}), "device": "simulated", "pin_file": ""}
    tables["store"] = {"url": lived.store_url}
    for listener in ("page", "metrics", "mqtt"):
        tables.pop(listener, None)  # what others of the household read is of the real gateway
    lines = [f"{name} = {toml_value(value)}\n" for name, value in tables.items()]
    lived.configuration.write_text(f"# written by a rehearsal of {original}\n" + "".join(lines), "utf-8")
    lived.configuration.chmod(0o600)


def toml_value(value: object) -> str:
    """A value of TOML as one line."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            escaped = value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
            return f'"{escaped}"'
        case Mapping():
            return (
                "{ " + ", ".join(f"{toml_value(str(key))} = {toml_value(inner)}" for key, inner in value.items()) + " }"
            )
        case list() | tuple():
            return "[" + ", ".join(toml_value(inner) for inner in value) + "]"
        case _:
            return str(value)
