"""`rehearse`: a whole story on the simulated modem, with the very daemon, pty, serial line, AT dialogue and store of `serve`."""

import argparse
import logging
import sys
import threading
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from gateway.commands import rehearse_household
from gateway.commands.rehearsal_folder import CONFIGURATION, PAGE, STORE, rehearsal_folder
from gateway.commands.story_output import StoryOutput
from gateway.commands.terminal_output import Progress, print_json
from gateway.errors import UsageWrong
from gateway.modem import Times
from gateway.page import make_page, write_page
from gateway.ports import Store
from gateway.rehearsal.lived_through import live_through
from gateway.service import Built, build
from gateway.settings.load import load
from gateway.settings.models import Settings
from gateway.simulator import SimulatedModem
from gateway.simulator.makes import habits_of
from gateway.simulator.story import (
    STORY,
    YEAR_BEFORE_DAYS,
    YEAR_BEFORE_SEED,
    YEAR_BEFORE_STORIES,
    Step,
    configuration,
)
from gateway.simulator.virtual_clock import VirtualClock
from gateway.site import Site, compile_site
from gateway.storage import open_store

PAUSE_S = 1.0
BEGINS = STORY[0].at - timedelta(minutes=10)
"""Local time at Quandong Ridge."""
RESTART, UNPLUGGED_FOR = timedelta(minutes=1), timedelta(minutes=2)


def run(arguments: argparse.Namespace) -> int:
    """Tells the story; 1 if a message that should have left did not. With --days a household is lived through instead."""
    if arguments.days is not None:
        return rehearse_household.run(arguments)
    if arguments.stories or arguments.clock:
        raise UsageWrong("--with and --clock are of a household lived through: say --days N too")
    with rehearsal_folder(arguments.folder, "quandong-ridge-") as folder:
        return _tell_the_story(arguments, folder)


def _tell_the_story(arguments: argparse.Namespace, folder: Path) -> int:
    habits = habits_of(arguments.modem, on_a_fast_clock=True)
    file = _write_configuration(folder)
    settings = load(str(file)).settings
    site = compile_site(settings)
    output = StoryOutput(site, quiet=arguments.json)
    output.introduce()
    logging.disable(logging.CRITICAL)
    _live_the_year_before(settings, folder)
    clock = VirtualClock(_utc(BEGINS, site))
    with SimulatedModem(str(folder / "modem-port"), habits=habits, now=clock.now, clock=clock) as modem:
        times = Times(condition_every_s=settings.modem.sweep_every.total_seconds())
        built = build(settings, clock=clock, timer=clock, simulated=modem, times=times)
        teller = _Teller(built.store, modem, clock, site, output, pause_s=0.0 if arguments.fast else PAUSE_S)
        told = _tell(built, teller)
    _write_its_page(site, folder / PAGE, clock)
    if arguments.json:
        steps = [step.as_json() for step in teller.steps]
        print_json({"told": told, "of": len(STORY), "config": str(file), "steps": steps})
    events, messages = (
        sum(len(part) for part in parts)
        for parts in zip(*((step.events, step.messages) for step in teller.steps), strict=True)
    )
    output.end(told, events, messages, file, folder / PAGE)
    if told < len(STORY):
        print(f"tank-gateway: step {told + 1} did not go as it should: {STORY[told].told}", file=sys.stderr)
    return 0 if told == len(STORY) else 1


def _utc(local: datetime, site: Site) -> datetime:
    return local.replace(tzinfo=site.zone).astimezone(UTC)


def _live_the_year_before(settings: Settings, folder: Path) -> None:
    """In the same store, up to a minute before the story begins."""
    live_through(
        settings,
        folder,
        days=YEAR_BEFORE_DAYS - RESTART / timedelta(days=1),
        seed=YEAR_BEFORE_SEED,
        stories=YEAR_BEFORE_STORIES,
        begins=BEGINS - timedelta(days=YEAR_BEFORE_DAYS),
        progress=Progress("of the year before"),
    )


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


def _write_its_page(site: Site, file: Path, clock: VirtualClock) -> None:
    with closing(open_store(site.settings.store.url, site.settings.site.name)) as store, store.read() as reader:
        write_page(str(file), make_page(reader, site, clock.now()))


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
        store: Store,
        modem: SimulatedModem,
        clock: VirtualClock,
        site: Site,
        output: StoryOutput,
        *,
        pause_s: float,
    ) -> None:
        self._store, self._modem, self._clock, self._site, self._output = store, modem, clock, site, output
        self._pause_s = pause_s
        with store.read() as reader:
            self._newest_event = reader.last_id("events")
        self._messages_left = 0
        self._last_pdu = ""
        self.steps: list[ToldStep] = []

    def step(self, number: int, step: Step) -> bool:
        """One step of the story, with what became due on the way to it; False if it did not go as it should."""
        if step.does == "wait":
            self._output.heading(number, step)
        self._clock.go_on_until(_utc(step.at, self._site))
        before = len(self._modem.network.outgoing)
        events, messages = self._show()
        if step.does != "wait":
            self._output.heading(number, step)
        self._carry_out(step)
        self._clock.settle()
        then_events, then_messages = self._show()
        messages += then_messages
        self.steps.append(
            ToldStep(told=step.told, text=step.text or None, events=[*events, *then_events], messages=messages)
        )
        left = len(messages) if step.does == "wait" else len(self._modem.network.outgoing) - before
        if left < step.messages:
            self._output.line(f"    It did not go as it should: {step.messages} messages were expected to leave.")
        threading.Event().wait(self._pause_s)
        return left >= step.messages

    def _carry_out(self, step: Step) -> None:
        if step.does == "unplug":
            self._modem.unplug()
            self._clock.go_on_until(self._clock.now() + UNPLUGGED_FOR)
            self._modem.plug()
            self._clock.go_on_until(self._clock.now() + UNPLUGGED_FOR)
        elif step.does in ("text", "repeat"):
            self._output.raw_text(step.sender, step.text)
            if step.does == "repeat":
                self._modem.network.deliver_pdu(self._last_pdu)
            else:
                self._last_pdu = self._modem.network.deliver(step.sender, step.text)[0]

    def _show(self) -> tuple[list[str], list[dict[str, str]]]:
        """What is new: kinds of event, and messages."""
        with self._store.read() as reader:
            events = [
                event for event in reader.events(since=_utc(BEGINS, self._site)) if (event.id or 0) > self._newest_event
            ]
        self._newest_event = max((event.id or 0 for event in events), default=self._newest_event)
        self._output.events(events)
        left = self._modem.network.outgoing[self._messages_left :]
        self._messages_left += len(left)
        self._output.messages(left)
        return [event.kind for event in events], [
            {"to": self._output.name(message.number), "text": message.text} for message in left
        ]
