"""`gateway.ports.Modem` on a serial line: one thread that owns the line, opens it again when it went, and never polls.

It waits in one select for bytes or for a job. Jobs: slots to free, sweeps, messages; slots first once many are taken, since a
full store takes no text. Whatever ends a session is told once as ModemLost; a message in flight is answered at once (unsure or not-sent).
"""

import os
import threading
from collections import deque
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import timedelta
from typing import Literal

from gateway.errors import ModemGone, ModemSilent, ModemTrouble, SimTrouble
from gateway.facts import HeldPdu
from gateway.modem.dialogue import Dialogue, Unasked
from gateway.modem.frees import Frees
from gateway.modem.link import Link, drain
from gateway.modem.listing import ResetSeen, memory_in
from gateway.modem.noteworthy import Told, differs, kind_of
from gateway.modem.pdu import decode
from gateway.modem.session import Session, Times
from gateway.modem.sim import Pin
from gateway.modem.ussd import PREFIX, Questions
from gateway.ports import Clock, Condition, Listed, ModemLost, ModemNews, ModemReady, SendEnded, SendJob, SlotFreed
from gateway.settings.models import ModemTable

FIRST_RETRY_S, LONGEST_RETRY_S = 0.5, 5.0
CONDITION_EVERY_S, DOUBTED_AGAIN_AFTER_S = 60.0, 1.0


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
    ) -> None:
        self._device, self._baud = device, baud
        self._pin = pin
        self._sweep_every_s = sweep_every.total_seconds()
        self._reports = delivery_reports
        self._clock = clock
        self._times = times or Times()
        self._lock = threading.Lock()
        self._frees = Frees()
        self._sends: deque[SendJob] = deque()
        self._sweep_wanted = True
        self._announced: frozenset[str] = frozenset()
        self._stopping = threading.Event()
        self._wake_read, self._wake_write = os.pipe()
        os.set_blocking(self._wake_read, False)
        os.set_blocking(self._wake_write, False)
        self._tell: Callable[[ModemNews], None] = lambda news: None
        self._questions = Questions(clock.monotonic, lambda news: self._tell(news), self._times.ussd_s)
        self._thread = threading.Thread(target=self._run, name="modem", daemon=True)
        self._progress = clock.monotonic()
        self._lost_said: str | None = None
        self._told = Told()
        self._condition: Condition | None = None
        self._in_flight: SendJob | None = None
        self._handed_over: Callable[[], bool] = lambda: False
        self._first_sweep = True
        self._reset_seen = False
        self._resets_unlisted = 0
        self._ready_untold: ModemReady | None = None

    # the port ------------------------------------------------------------------------------

    def start(self, tell: Callable[[ModemNews], None]) -> None:
        """See the port."""
        self._tell = tell
        self._thread.start()

    def sweep(self) -> None:
        """See the port."""
        with self._lock:
            self._sweep_wanted = True
            self._told.forget_all()
        self._wake()

    def free(self, held: Sequence[HeldPdu]) -> None:
        """See the port."""
        self._frees.add(held)
        self._wake()

    def send(self, job: SendJob) -> None:
        """See the port."""
        with self._lock:
            self._sends.append(job)
        self._wake()

    def ask_network(self, code: str) -> None:
        """See the port."""
        self._questions.ask(code)
        self._wake()

    def stop(self, timeout_s: float) -> bool:
        """See the port: True once the thread has ended and the line is closed."""
        self._stopping.set()
        self._wake()
        if self._thread.is_alive():
            self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def progress(self) -> float:
        """See the port."""
        return self._progress

    # the thread ----------------------------------------------------------------------------

    def _run(self) -> None:
        retry_s = FIRST_RETRY_S
        while not self._stopping.is_set():
            try:
                self._session()
                retry_s = FIRST_RETRY_S
            except ResetSeen as reset:
                self._answer_in_flight(str(reset))
                self._reset_seen = True
                self._resets_unlisted += 1
                if self._resets_unlisted > 1:  # it never gets as far as a listing: deaf, and people must hear so
                    retry_s = self._lose_for(ModemTrouble(str(reset)), retry_s)
            except ModemTrouble as trouble:
                retry_s = self._lose_for(trouble, retry_s)
        self._answer_rest()
        os.close(self._wake_read)
        os.close(self._wake_write)

    def _tell_ready(self) -> None:
        ready, self._ready_untold = self._ready_untold, None
        if ready is not None:
            self._lost_said = None
            self._tell(ready)

    def _lose_for(self, trouble: ModemTrouble, retry_s: float) -> float:
        """Tells it and waits; how long to wait the next time."""
        wait_s = FIRST_RETRY_S if self._lost_said is None else retry_s
        self._lose(trouble)
        self._pause(wait_s)
        return min(wait_s * 2, LONGEST_RETRY_S)

    def _session(self) -> None:
        """From opening the line to its end."""
        link = Link(self._device, self._baud, self._wake_read)
        try:
            dialogue = Dialogue(link, self._clock.monotonic, self._unasked)
            session = Session(
                dialogue,
                pin=self._pin,
                times=self._times,
                delivery_reports=self._reports,
                monotonic=self._clock.monotonic,
                pause=self._pause,
            )
            self._handed_over = lambda: session.handed_over
            ready = session.initialise()
            self._first_sweep = not self._reset_seen
            self._reset_seen = False
            self._ready_untold = ready
            if self._resets_unlisted < 2:
                self._tell_ready()
            self._work(dialogue, session)
        finally:
            self._close(link)

    def _work(self, dialogue: Dialogue, session: Session) -> None:
        next_sweep = next_condition = self._clock.monotonic()
        silent = 0
        while not self._stopping.is_set():
            self._progress = now = self._clock.monotonic()
            try:
                if self._one_free(session, now):
                    continue
                if now >= next_sweep or self._take_sweep():
                    self._sweep(session)
                    wait_s = DOUBTED_AGAIN_AFTER_S if session.doubts else self._sweep_every_s
                    next_sweep = self._clock.monotonic() + wait_s
                elif self._announced:
                    self._sweep(session, self._announced)
                    next_sweep = min(next_sweep, now + DOUBTED_AGAIN_AFTER_S) if session.doubts else next_sweep
                elif self._one_send(dialogue, session, now) or self._questions.step(dialogue):
                    continue
                elif now >= next_condition:
                    self._ask_condition(session)
                    next_condition = now + CONDITION_EVERY_S
                else:
                    due = min(next_sweep, next_condition, self._questions.due_s, self._frees.due_s(now))
                    dialogue.listen(due - now)
                    drain(self._wake_read)
                silent = 0
            except ModemSilent:
                silent += 1
                if silent > 1 or not session.in_step():
                    raise
                self.sweep()

    def _one_free(self, session: Session, now: float) -> bool:
        may_wait = session.memories.slots_that_may_wait
        held = self._frees.take(now, messages_wait=bool(self._sends), may_wait=may_wait)
        if held is None:
            return False
        done, said = session.free(held)
        self._frees.ended(held, self._clock.monotonic())
        if done:
            with self._lock:
                self._told.forget(held)
        self._tell(SlotFreed(held=held, done=done, said=said))
        return True

    def _take_sweep(self) -> bool:
        with self._lock:
            wanted, self._sweep_wanted = self._sweep_wanted, False
        return wanted

    def _sweep(self, session: Session, announced: frozenset[str] = frozenset()) -> None:
        self._announced = frozenset()
        if not announced:
            self._take_sweep()
        listed = session.sweep(announced)
        self._resets_unlisted = 0
        self._tell_ready()
        now, looked_into = self._clock.monotonic(), session.memories.to_look_into(announced)
        with self._lock:
            new = self._told.new(listed.held, now, looked_into)
        full = session.memories.full(listed.held)
        self._frees.drain([one for one in new if one.memory in full], listed.held, looked_into, now)
        if new or self._first_sweep:
            self._tell(Listed(held=new, complete=listed.complete))
        self._first_sweep = self._first_sweep and not listed.complete

    def _one_send(self, dialogue: Dialogue, session: Session, now: float) -> bool:
        if self._frees.draining(now):
            return False
        with self._lock:
            self._in_flight = self._sends.popleft() if self._sends else None
        if self._in_flight is None:
            return False
        ended = session.send(self._in_flight)
        self._in_flight = None
        self._frees.message_ended(self._clock.monotonic())
        self._tell(ended)
        dialogue.tell_rest()
        return True

    def _ask_condition(self, session: Session) -> None:
        new = session.condition()
        if new.sim != "ready" and "SIM" in new.sim:
            raise SimTrouble(new.sim)
        if self._condition is None or differs(self._condition, new):
            self._condition = new
            self._tell(new)

    def _unasked(self, news: Unasked) -> None:
        """Whatever the modem says by itself."""
        if news.line.startswith(("+CMTI", "+CDSI")):
            self._announced |= {memory_in(news.line)}
        elif news.line.startswith(PREFIX):
            self._questions.heard(news.line)
        elif news.pdu is not None:
            held = HeldPdu(memory="--", slot=None, pdu=news.pdu, content=decode(news.pdu))
            self._tell(Listed(held=(held,)))
        elif news.line.startswith("RDY"):
            raise ResetSeen(news.line)

    def _lose(self, trouble: ModemTrouble) -> None:
        self._questions.lost(trouble.said)
        self._answer_in_flight(trouble.said)
        if trouble.said != self._lost_said:
            self._lost_said = trouble.said
            self._tell(ModemLost(why=trouble.said, kind=kind_of(trouble)))

    def _answer_in_flight(self, said: str) -> None:
        job, self._in_flight = self._in_flight, None
        if job is not None:
            outcome: Literal["unsure", "not-sent"] = "unsure" if self._handed_over() else "not-sent"
            self._tell(SendEnded(job=job.id, outcome=outcome, said=said))

    def _answer_rest(self) -> None:
        while self._sends:
            self._tell(SendEnded(job=self._sends.popleft().id, outcome="not-sent", said="the gateway stops"))

    def _pause(self, seconds: float) -> None:
        """Waits; a stop ends the wait."""
        self._progress = self._clock.monotonic()
        self._stopping.wait(seconds)

    def _wake(self) -> None:
        with suppress(OSError):
            os.write(self._wake_write, b"!")

    def _close(self, link: Link) -> None:
        with suppress(ModemGone):
            link.close()


def open_modem(
    table: ModemTable,
    pin: str | None,
    clock: Clock,
    *,
    pin_tried: Callable[[], bool] = lambda: False,
    mark_pin_tried: Callable[[], None] = lambda: None,
    times: Times | None = None,
) -> SerialModem:
    """The modem of a configuration; opened once it is started."""
    return SerialModem(
        table.device,
        baud=table.baud,
        pin=Pin(pin=pin, tried=pin_tried, mark_tried=mark_pin_tried),
        sweep_every=table.sweep_every,
        delivery_reports=table.delivery_reports,
        clock=clock,
        times=times,
    )
