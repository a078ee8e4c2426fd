"""A told story in a terminal: each step with its hour, the raw text, what was made of it, and who was told what, when."""

import sys
from collections.abc import Sequence
from datetime import datetime, tzinfo
from pathlib import Path

from gateway.commands.terminal_output import print_text
from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.simulator.network import Sent
from gateway.simulator.story import STORY, YEAR_BEFORE_DAYS, Step
from gateway.site import Site

INTRODUCTION = f"""\
Quandong Ridge (invented): a spring, two tanks one above the other, and a box
on the ridge that sends a text when a float falls, such as "LINE 2 MADE 0642".
Nobody reads such texts at six in the morning. This program does, and tells
Wren, Robin and the dairy office in plain words. It also notices when the box
says nothing any more.

First it lives through {YEAR_BEFORE_DAYS} days there, so that it knows the place; then three
days are told. Only the clock runs ahead: every text goes through a modem (a
simulated one), the rules and the store, as it will at home.
"""


class StoryOutput:
    """Prints it, or nothing where it is `quiet`."""

    def __init__(self, site: Site, *, quiet: bool) -> None:
        self._site, self._quiet = site, quiet
        self._names = {contact.number: contact.name for contact in site.settings.contacts}
        self._names.update({number: box.name for box in site.settings.controllers for number in box.number})

    def introduce(self) -> None:
        """What this is."""
        self.line(INTRODUCTION)

    def heading(self, number: int, step: Step) -> None:
        """The step's place in the story, its hour and what happens."""
        self.line("")
        self._paragraph(f"[{number:2d}/{len(STORY)}] {step.at:%a %H:%M}  ", step.told)

    def raw_text(self, sender: str, text: str) -> None:
        """What came, word for word."""
        self._paragraph("    text   ", f"{self.name(sender)}: {text}")

    def events(self, events: Sequence[Event]) -> None:
        """What was made of it."""
        for event in events:
            whose = self._site.tank_name(event.tank) or self._site.controller_name(event.controller) or "the gateway"
            self._paragraph("    event  ", f"{whose}: {event.kind}")

    def messages(self, left: Sequence[Sent]) -> None:
        """Who was told what, at which hour."""
        for message in left:
            self._paragraph(f"    {self._hour(message.at)}  to {self.name(message.number)}: ", message.text)

    def name(self, number: str) -> str:
        """Whose number it is; a stranger's as it came."""
        return self._names.get(number, number)

    def end(self, told: int, events: int, messages: int, configuration: Path, page: Path) -> None:
        """How it went, and where to look further."""
        self.line(f"\n{told} of {len(STORY)} steps told; {events} events stored; {messages} messages left.\n")
        program = "tank-gateway" if sys.argv[0].endswith("tank-gateway") else "python -m gateway"
        where = Path(sys.argv[0]).with_name(program) if program == "tank-gateway" else program
        self.line(f"The page with the year and these days, in a browser:\n  {page}")
        self.line("The same questions as at home:")
        for command in ("tanks", "history", "texts", "water", "power"):
            self.line(f"  {where} {command} --config {configuration}")
        self.line("Your own house, lived through: rehearse --config FILE --days 365")

    def line(self, line: str) -> None:
        """As it is."""
        if not self._quiet:
            print(line, flush=True)

    def _paragraph(self, label: str, text: str) -> None:
        """Wrapped where somebody looks; a line each where a program does."""
        if self._quiet:
            return
        if sys.stdout.isatty():
            print_text(text, label=label)
        else:
            print(f"{label}{harmless(text)}")
        sys.stdout.flush()

    def _hour(self, at: datetime) -> str:
        zone: tzinfo = self._site.zone
        return f"{at.astimezone(zone):%a %H:%M}"
