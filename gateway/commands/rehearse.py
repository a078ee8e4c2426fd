"""`rehearse`: a whole story on the simulated modem, with the very daemon, pty, serial line, AT dialogue and store of `serve`."""

import argparse
import logging
import sys
import tempfile
import threading
from pathlib import Path
from typing import Any

from gateway.commands.showing import print_json
from gateway.errors import GatewayError
from gateway.facts.harmless import harmless
from gateway.service import Built, build
from gateway.settings.load import load
from gateway.settings.models import Settings
from gateway.simulator import SimulatedModem
from gateway.simulator.story import STORY, Step, configuration
from gateway.site import compile_site

PAUSE_S = 3.0
WITHIN_S = 30.0


def run(arguments: argparse.Namespace) -> int:
    """Tells the story; 1 if a message that should have left did not."""
    folder = Path(arguments.folder or tempfile.mkdtemp(prefix="quandong-ridge-"))
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / "gateway.toml"
    store = folder / "gateway.db"
    if store.exists():
        raise GatewayError(f"{store} is there already; a rehearsal begins with an empty folder")
    file.write_text(configuration(str(store)), "utf-8")
    file.chmod(0o600)
    logging.disable(logging.CRITICAL)
    settings = load(str(file)).settings
    with SimulatedModem(str(folder / "modem-port")) as modem:
        built = build(settings, simulated=modem)
        teller = _Teller(built, modem, settings, quiet=arguments.json, pause_s=0.0 if arguments.fast else PAUSE_S)
        told = _tell(built, teller)
    _page(settings, folder / "page.html")
    _end(teller, file, as_json=arguments.json, told=told)
    if told < len(STORY):
        print(f"tank-gateway: step {told + 1} did not go as it should: {STORY[told].told}", file=sys.stderr)
    return 0 if told == len(STORY) else 1


def _page(settings: Settings, file: Path) -> None:
    from gateway.clock import SystemClock
    from gateway.page import make_page, write_page
    from gateway.storage import open_store

    with open_store(settings.store.url, settings.site.name).read() as reader:
        write_page(str(file), make_page(reader, compile_site(settings), SystemClock().now()))


def _tell(built: Built, teller: "_Teller") -> int:
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

    def __init__(self, built: Built, modem: SimulatedModem, settings: Settings, *, quiet: bool, pause_s: float) -> None:
        self._store = built.store
        self._modem = modem
        self._names = {one.number: one.name for one in settings.contacts}
        self._names.update({number: one.name for one in settings.controllers for number in one.number})
        self._quiet = quiet
        self._pause_s = pause_s
        self._seen_events = 0
        self._seen_texts = 0
        self._left = 0
        self.steps: list[dict[str, Any]] = []

    def step(self, number: int, step: Step) -> bool:
        """One step of the story; False if it did not go as it should."""
        self._say(f"\n[{number:2d}/{len(STORY)}] {step.told}")
        ok = self._do(step)
        ok = ok and self._left_in_time(step.messages)
        self._wait_until_stored(step)
        events, messages = self._show_events(), self._show_messages()
        self.steps.append({"told": step.told, "text": step.text or None, "events": events, "messages": messages})
        if not ok:
            self._say(f"    It did not go as it should: {step.messages} messages were expected to leave.")
        threading.Event().wait(self._pause_s)
        return ok

    def _left_in_time(self, messages: int) -> bool:
        try:
            self._modem.network.wait_for_outgoing(self._left + messages, WITHIN_S)
        except TimeoutError:
            return False
        return True

    def _do(self, step: Step) -> bool:
        if step.does == "unplug":
            self._modem.unplug()
            threading.Event().wait(0.5)
            self._modem.plug()
            return self._event_came("modem-back")
        if step.does in ("text", "repeat"):
            who = self._names.get(step.sender, step.sender)
            self._say(f"    text  {who}: {harmless(step.text)}")
            if step.does == "repeat":
                self._modem.network.deliver_pdu(self._last_pdu)
            else:
                self._deliver(step)
        return True

    def _deliver(self, step: Step) -> None:
        pdus = self._modem.network.deliver(step.sender, step.text)
        self._last_pdu = pdus[0]

    def _wait_until_stored(self, step: Step) -> None:
        """Messages leave after the commit; a step without any is waited for in the store."""
        wait = threading.Event()
        for _ in range(100):
            with self._store.read() as reader:
                came = sum(1 for one in reader.texts() if one.way == "in")
            if step.does != "text" or came > self._seen_texts:
                self._seen_texts = came
                return
            wait.wait(0.05)

    def _event_came(self, kind: str) -> bool:
        wait = threading.Event()
        for _ in range(300):
            with self._store.read() as reader:
                if reader.last_event((kind,)) is not None:
                    return True
            wait.wait(0.1)
        return False

    def _show_events(self) -> list[str]:
        with self._store.read() as reader:
            events = [one for one in reader.events() if (one.id or 0) > self._seen_events]
        self._seen_events = max((one.id or 0 for one in events), default=self._seen_events)
        kinds: list[str] = []
        for event in events:
            where = event.tank or event.controller or "gateway"
            kinds.append(event.kind)
            self._say(f"    event {event.kind} ({where})")
        return kinds

    def _show_messages(self) -> list[dict[str, str]]:
        new = self._modem.network.outgoing[self._left :]
        self._left += len(new)
        for one in new:
            self._say(f"    -> {self._names.get(one.number, one.number)}: {harmless(one.text)}")
        return [{"to": self._names.get(one.number, one.number), "text": one.text} for one in new]

    def _say(self, line: str) -> None:
        if not self._quiet:
            print(line, flush=True)


def _end(teller: _Teller, file: Path, *, as_json: bool, told: int) -> None:
    messages = sum(len(step["messages"]) for step in teller.steps)
    events = sum(len(step["events"]) for step in teller.steps)
    if as_json:
        print_json({"told": told, "of": len(STORY), "config": str(file), "steps": teller.steps})
        return
    print(f"\n{told} of {len(STORY)} steps told; {events} events stored; {messages} messages left by the modem.")
    print("Every text went through a pseudo-terminal, the AT dialogue and the store, as it will at home.")
    program = "tank-gateway" if sys.argv[0].endswith("tank-gateway") else "python -m gateway"
    where = Path(sys.argv[0]).with_name(program) if program == "tank-gateway" else program
    print("Look further:")
    for command in ("history", "texts", "tanks", "water", "power"):
        print(f"  {where} {command} --config {file}")
    print(f"  and in a browser: {file.with_name('page.html')}")
