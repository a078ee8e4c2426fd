"""`gateway.ports.Modem` on a serial line: one thread that owns the line, opens it again when it went, and never polls.

It waits in one select for octets or for a job; what it does then stands in `modem_work`. Whatever ends a session is told once as
ModemLost, and a message in flight is answered at once (unsure or not-sent): its fate must not hang on a modem that may never come back.
"""

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import timedelta
from math import inf
from typing import Literal

from gateway.errors import ModemGone, ModemHeld, ModemSilent, ModemTrouble, SimTrouble
from gateway.facts import HeldPdu
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.initialise import Session
from gateway.modem.jobs import Jobs
from gateway.modem.link import Link
from gateway.modem.modem_work import ModemWork
from gateway.modem.parse_listing import ResetSeen
from gateway.modem.sim import Pin
from gateway.modem.trace import Trace, TracedWire
from gateway.ports import Clock, ModemLost, ModemNews, ModemReady, SendJob

FIRST_RETRY_S, LONGEST_RETRY_S = 0.5, 5.0
STOPS_WITHIN_S = 2.5
"""A gateway that stops waits no longer for an answer; the fate of a message without one is unsure."""


class SerialModem:
    """The real modem."""

    def __init__(
        self,
        device: str,
        *,
        baud: int,
        pin: Pin,
        sweep_every: timedelta,
        delivery_reports: bool,
        clock: Clock,
        times: Times | None = None,
        trace: Trace | None = None,
    ) -> None:
        self._device, self._baud = device, baud
        self._pin = pin
        self._reports = delivery_reports
        self._clock = clock
        self._times = times or Times()
        self._trace = trace
        self._jobs = Jobs()
        self._stopping = threading.Event()
        self._tell: Callable[[ModemNews], None] = lambda news: None
        self._work = ModemWork(
            self._jobs,
            self._times,
            sweep_every,
            monotonic=self._monotonic,
            stopping=self._stopping,
            tell=lambda news: self._tell(news),
            listed=self._note_listed,
        )
        self._thread = threading.Thread(target=self._run, name="modem", daemon=True)
        self._progress = clock.monotonic()
        self._lost_said: str | None = None
        self._reset_seen = False
        self._resets_unlisted = 0
        self._ready_untold: ModemReady | None = None
        self._stop_by_s = inf

    # the port ------------------------------------------------------------------------------

    def start(self, tell: Callable[[ModemNews], None]) -> None:
        """Opens the line on a thread of its own, which tells its news from now on."""
        self._tell = tell
        self._thread.start()

    def sweep(self) -> None:
        """Lists every memory soon, and tells all that stands there, told before or not."""
        self._work.sweep()

    def free(self, held: Sequence[HeldPdu]) -> None:
        """Deletes these slots, where they still hold the same; each is answered with SlotFreed."""
        self._work.free(held)

    def send(self, job: SendJob) -> None:
        """Sends the message in its turn; answered with SendEnded, whatever happens."""
        self._work.send(job)

    def ask_network(self, code: str) -> None:
        """Asks the network (USSD) when nothing more urgent is to do; answered with NetworkSaid."""
        self._work.ask_network(code)

    def stop(self, timeout_s: float) -> bool:
        """Ends the session; True once the thread has ended and the line is closed."""
        self._stop_by_s = self._clock.monotonic() + STOPS_WITHIN_S
        self._stopping.set()
        self._jobs.wake()
        if self._thread.is_alive():
            self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def progress(self) -> float:
        """Monotonic seconds of the thread's last sign of life."""
        return self._progress

    # the thread ----------------------------------------------------------------------------

    def _run(self) -> None:
        retry_s = FIRST_RETRY_S
        while not self._stopping.is_set():
            try:
                self._session()
                retry_s = FIRST_RETRY_S
            except ResetSeen as reset:
                self._work.answer_message_in_flight(str(reset))
                self._reset_seen = True
                self._resets_unlisted += 1
                if self._resets_unlisted > 1:
                    # it never gets as far as a listing: the gateway is deaf, and people must hear so. Initialised again and again
                    # without a word it said 85 commands a second for ever
                    retry_s = self._lose_and_wait(ModemTrouble(str(reset)), retry_s)
            except ModemTrouble as trouble:
                retry_s = self._lose_and_wait(trouble, retry_s)
        self._work.answer_waiting_messages()
        self._jobs.close()

    def _note_listed(self) -> None:
        self._resets_unlisted = 0
        self._tell_ready()

    def _tell_ready(self) -> None:
        ready, self._ready_untold = self._ready_untold, None
        if ready is not None:
            self._lost_said = None
            self._tell(ready)

    def _lose_and_wait(self, trouble: ModemTrouble, retry_s: float) -> float:
        """Tells it and waits; how long to wait the next time."""
        wait_s = FIRST_RETRY_S if self._lost_said is None else retry_s
        self._lose(trouble)
        self._pause(wait_s)
        return min(wait_s * 2, LONGEST_RETRY_S)

    def _session(self) -> None:
        """From opening the line to its end."""
        link = Link(self._device, self._baud, self._jobs.wake_descriptor, self._clock.select)
        try:
            wire = link if self._trace is None else TracedWire(link, self._trace)
            dialogue = Dialogue(
                wire,
                self._monotonic,
                self._work.hear,
                unknown=self._work.unknown_lines.note,
                gives_up_by=lambda: self._stop_by_s,
            )
            session = Session(
                dialogue,
                pin=self._pin,
                times=self._times,
                delivery_reports=self._reports,
                monotonic=self._clock.monotonic,
                pause=self._pause,
            )
            self._work.begin(session)
            ready = session.initialise()
            # told even where it is empty, since the gateway waits for it before it calls anything silent; once, not after each reset
            self._work.first_listing = not self._reset_seen
            self._reset_seen = False
            self._ready_untold = ready
            if self._resets_unlisted < 2:
                self._tell_ready()
            self._work.go_on(dialogue, session)
        finally:
            with suppress(ModemGone):
                link.close()

    def _monotonic(self) -> float:
        """Monotonic seconds; whoever waits for an answer is alive, however long the modem takes."""
        self._progress = self._clock.monotonic()
        return self._progress

    def _lose(self, trouble: ModemTrouble) -> None:
        self._work.lose(trouble.said)
        if trouble.said != self._lost_said:
            self._lost_said = trouble.said
            sim = trouble.reason if isinstance(trouble, SimTrouble) else None
            self._tell(ModemLost(why=trouble.said, kind=_kind_of(trouble), sim=sim))

    def _pause(self, seconds: float) -> None:
        """Waits; a stop ends the wait."""
        self._progress = self._clock.monotonic()
        self._clock.pause(self._stopping, seconds)


def _kind_of(trouble: ModemTrouble) -> Literal["gone", "held", "silent", "sim", "refused"]:
    """How a session ended."""
    match trouble:
        case ModemHeld():
            return "held"
        case SimTrouble():
            return "sim"
        case ModemSilent():
            return "silent"
        case ModemGone():
            return "gone"
    return "refused"
