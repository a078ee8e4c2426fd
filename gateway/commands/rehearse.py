"""`rehearse`: a whole story on the simulated modem, with the very daemon, pty, serial line, AT dialogue and store of `serve`."""

import argparse
import logging
import sys
import threading
from dataclasses import dataclass, field
from datetime import UTC, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from gateway.commands import rehearse_household
from gateway.commands.argument_parser import DEFAULT_CONFIG
from gateway.commands.rehearsal_folder import CONFIGURATION, PAGE, STORE, rehearsal_folder
from gateway.commands.terminal_output import print_json
from gateway.errors import UsageWrong
from gateway.facts.harmless import harmless
from gateway.modem import Times
from gateway.page import make_page, write_page
from gateway.service import Built, build
from gateway.settings.load import load
from gateway.settings.models import Settings
from gateway.simulator import SimulatedModem
from gateway.simulator.story import STORY, Step, configuration
from gateway.simulator.virtual_clock import VirtualClock
from gateway.site import compile_site
from gateway.storage import open_store

PAUSE_S = 2.0
BEFORE_THE_STORY = timedelta(minutes=10)
UNPLUGGED_FOR = timedelta(minutes=2)


def run(arguments: argparse.Namespace) -> int:
    """Tells the story; 1 if a message that should have left did not. With --days a household is lived through instead."""
    if arguments.days is not None:
        return rehearse_household.run(arguments)
    if arguments.stories or arguments.clock:
        raise UsageWrong("--with and --clock are of a household lived through: say --days N too")
    if arguments.config != DEFAULT_CONFIG:
        print(
            "tank-gateway: this story is of an invented household; --days N lives through that of --config",
            file=sys.stderr,
        )
    with rehearsal_folder(arguments.folder, "quandong-ridge-") as folder:
        return _tell_the_story(arguments, folder)


def _tell_the_story(arguments: argparse.Namespace, folder: Path) -> int:
    file = _write_configuration(folder)
    logging.disable(logging.CRITICAL)
    settings = load(str(file)).settings
    zone = ZoneInfo(settings.site.timezone)
    clock = VirtualClock(STORY[0].at.replace(tzinfo=zone).astimezone(UTC) - BEFORE_THE_STORY)
    with SimulatedModem(str(folder / "modem-port"), now=clock.now, clock=clock) as modem:
        times = Times(condition_every_s=settings.modem.sweep_every.total_seconds())
        built = build(settings, clock=clock, timer=clock, simulated=modem, times=times)
        teller = _Teller(
            built, modem, clock, settings, quiet=arguments.json, pause_s=0.0 if arguments.fast else PAUSE_S
        )
        told = _tell(built, teller)
    _write_its_page(settings, folder / PAGE, clock)
    if arguments.json:
        steps = [step.as_json() for step in teller.steps]
        print_json({"told": told, "of": len(STORY), "config": str(file), "steps": steps})
    else:
        _print_end(teller.steps, file, told)
    if told < len(STORY):
        print(f"tank-gateway: step {told + 1} did not go as it should: {STORY[told].told}", file=sys.stderr)
    return 0 if told == len(STORY) else 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldStep:
    """What came of one step: the kinds of its events, and who was told what."""

    told: str
    text: str | None
    events: list[str]
    messages: list[dict[str, str]] = field(default_factory=list)

    def as_json(self) -> dict[str, object]:
        """JSON values only."""
        return {"told": self.told, "text": self.text, "events": self.events, "messages": self.messages}


def _write_configuration(folder: Path) -> Path:
    """The household's file in that folder."""
    file = folder / CONFIGURATION
    file.write_text(configuration(str(folder / STORE)), "utf-8")
    file.chmod(0o600)
    return file


def _write_its_page(settings: Settings, file: Path, clock: VirtualClock) -> None:
    with open_store(settings.store.url, settings.site.name).read() as reader:
        write_page(str(file), make_page(reader, compile_site(settings), clock.now()))


def _tell(built: Built, teller: "_Teller") -> int:
    """Steps of the story, until one did not go as it should; how many went."""
    thread = threading.Thread(target=built.daemon.run, name="daemon")
    thread.start()
    told = 0
    try:
        for number, step in enumerate(STORY, start=1):
            if not teller.step(number, step):
                break
            told += 1
    finally:
        built.daemon.tell("stop")
        thread.join()
        built.close()
    return told


class _Teller:
    """Carries the steps out and shows what came of them."""

    def __init__(
        self,
        built: Built,
        modem: SimulatedModem,
        clock: VirtualClock,
        settings: Settings,
        *,
        quiet: bool,
        pause_s: float,
    ) -> None:
        self._store = built.store
        self._modem, self._clock = modem, clock
        self._zone = ZoneInfo(settings.site.timezone)
        self._names = {contact.number: contact.name for contact in settings.contacts}
        self._names.update({number: box.name for box in settings.controllers for number in box.number})
        self._quiet = quiet
        self._pause_s = pause_s
        self._newest_event_shown = 0
        self._texts_stored = 0
        self._messages_left = 0
        self._last_pdu = ""
        self.steps: list[ToldStep] = []

    def step(self, number: int, step: Step) -> bool:
        """One step of the story, with what became due on the way to it; False if it did not go as it should."""
        heading = f"\n[{number:2d}/{len(STORY)}] {step.at:%a %H:%M}  {step.told}"
        if step.does == "wait":
            self._print(heading)
        self._clock.go_on_until(step.at.replace(tzinfo=self._zone).astimezone(UTC))
        before = len(self._modem.network.outgoing)
        events, messages = self._show_events(), self._show_messages()
        if step.does != "wait":
            self._print(heading)
        self._carry_out(step)
        self._clock.settle()
        events, messages = [*events, *self._show_events()], [*messages, *self._show_messages()]
        self.steps.append(ToldStep(told=step.told, text=step.text or None, events=events, messages=messages))
        left = len(messages) if step.does == "wait" else len(self._modem.network.outgoing) - before
        if left < step.messages:
            self._print(f"    It did not go as it should: {step.messages} messages were expected to leave.")
        threading.Event().wait(self._pause_s)
        return left >= step.messages

    def _carry_out(self, step: Step) -> None:
        if step.does == "unplug":
            self._modem.unplug()
            self._clock.go_on_until(self._clock.now() + UNPLUGGED_FOR)
            self._modem.plug()
            self._clock.go_on_until(self._clock.now() + UNPLUGGED_FOR)
        elif step.does in ("text", "repeat"):
            self._print(f"    text  {self._names.get(step.sender, step.sender)}: {harmless(step.text)}")
            if step.does == "repeat":
                self._modem.network.deliver_pdu(self._last_pdu)
            else:
                self._last_pdu = self._modem.network.deliver(step.sender, step.text)[0]

    def _show_events(self) -> list[str]:
        with self._store.read() as reader:
            events = [event for event in reader.events() if (event.id or 0) > self._newest_event_shown]
        self._newest_event_shown = max((event.id or 0 for event in events), default=self._newest_event_shown)
        for event in events:
            self._print(f"    event {event.kind} ({event.tank or event.controller or 'gateway'})")
        return [event.kind for event in events]

    def _show_messages(self) -> list[dict[str, str]]:
        left = self._modem.network.outgoing[self._messages_left :]
        self._messages_left += len(left)
        messages = [{"to": self._names.get(message.number, message.number), "text": message.text} for message in left]
        for message, sent in zip(messages, left, strict=True):
            self._print(
                f"    {sent.at.astimezone(self._zone):%a %H:%M} -> {message['to']}: {harmless(message['text'])}"
            )
        return messages

    def _print(self, line: str) -> None:
        if not self._quiet:
            print(line, flush=True)


def _print_end(steps: list[ToldStep], file: Path, told: int) -> None:
    messages = sum(len(step.messages) for step in steps)
    events = sum(len(step.events) for step in steps)
    print(f"\n{told} of {len(STORY)} steps told; {events} events stored; {messages} messages left by the modem.")
    print(
        "Every text went through a pseudo-terminal, the AT dialogue and the store, as it will at home; only the clock ran ahead."
    )
    program = "tank-gateway" if sys.argv[0].endswith("tank-gateway") else "python -m gateway"
    where = Path(sys.argv[0]).with_name(program) if program == "tank-gateway" else program
    print("Look further:")
    for command in ("history", "texts", "tanks", "water", "power"):
        print(f"  {where} {command} --config {file}")
    print(f"  and in a browser: {file.with_name('page.html')}")
