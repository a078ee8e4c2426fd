"""`gateway.ports.Modem` on a serial line: one thread that owns the line, opens it again when it went, and never polls.

It waits in one select for octets or for a job. What comes first is one decision, made anew after each thing that was done:
slots to free, once many are taken, since a full store takes no text; a listing that is due, wanted or announced; a message; a question
to the network; the modem's condition. Whatever ends a session is told once as ModemLost, and a message in flight is answered at once
(unsure or not-sent): its fate must not hang on a modem that may never come back.
"""

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from math import inf
from typing import Literal

from gateway.errors import ModemGone, ModemHeld, ModemSilent, ModemTrouble, SimTrouble
from gateway.facts import HeldPdu
from gateway.modem.condition import differs
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.freeing import FreeQueue
from gateway.modem.initialise import Session
from gateway.modem.jobs import Jobs
from gateway.modem.link import Link
from gateway.modem.list_and_free import RecentlyTold
from gateway.modem.memories import memory_in
from gateway.modem.parse_listing import ResetSeen
from gateway.modem.pdu import decode
from gateway.modem.sim import Pin
from gateway.modem.text_mode import arrival_in_text_mode
from gateway.modem.trace import Trace, TracedWire
from gateway.modem.unasked_lines import Unasked
from gateway.modem.unknown_lines import UnknownLines
from gateway.modem.ussd import PREFIX, Questions
from gateway.ports import (
    Clock,
    Condition,
    Listed,
    ModemLost,
    ModemNews,
    ModemReady,
    SendEnded,
    SendJob,
    SlotFreed,
    UnknownLinesSeen,
)

FIRST_RETRY_S, LONGEST_RETRY_S = 0.5, 5.0
DOUBTED_AGAIN_AFTER_S = 1.0
UNREAD_AGAIN_AFTER_S = 5.0
"""A memory that could not be read is looked into again so soon, then later each time."""
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
        self._sweep_every_s = sweep_every.total_seconds()
        self._reports = delivery_reports
        self._clock = clock
        self._times = times or Times()
        self._trace = trace
        self._jobs = Jobs()
        self._to_free = FreeQueue()
        self._announced: frozenset[str] = frozenset()
        self._stopping = threading.Event()
        self._tell: Callable[[ModemNews], None] = lambda news: None
        self._questions = Questions(clock.monotonic, lambda news: self._tell(news), self._times.ussd_s)
        self._thread = threading.Thread(target=self._run, name="modem", daemon=True)
        self._progress = clock.monotonic()
        self._lost_said: str | None = None
        self._recently_told = RecentlyTold()
        self._condition: Condition | None = None
        self._in_flight: SendJob | None = None
        self._handed_over: Callable[[], bool] = lambda: False
        self._first_listing = True
        self._reset_seen = False
        self._resets_unlisted = 0
        self._ready_untold: ModemReady | None = None
        self._unknown_lines = UnknownLines()
        self._at_work: Session | None = None
        self._settings_are_lost = False
        self._acknowledgements_owed = 0
        self._registration_changed = False
        self._unread_again_s = UNREAD_AGAIN_AFTER_S
        self._stuck: set[HeldPdu] = set()
        self._stop_by_s = inf

    # the port ------------------------------------------------------------------------------

    def start(self, tell: Callable[[ModemNews], None]) -> None:
        """Opens the line on a thread of its own, which tells its news from now on."""
        self._tell = tell
        self._thread.start()

    def sweep(self) -> None:
        """Lists every memory soon, and tells all that stands there, told before or not."""
        self._recently_told.forget_all()
        self._jobs.want_listing()
        self._jobs.wake()

    def free(self, held: Sequence[HeldPdu]) -> None:
        """Deletes these slots, where they still hold the same; each is answered with SlotFreed."""
        self._to_free.add(held)
        self._jobs.wake()

    def send(self, job: SendJob) -> None:
        """Sends the message in its turn; answered with SendEnded, whatever happens."""
        self._jobs.add_message(job)
        self._jobs.wake()

    def ask_network(self, code: str) -> None:
        """Asks the network (USSD) when nothing more urgent is to do; answered with NetworkSaid."""
        self._questions.ask(code)
        self._jobs.wake()

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
                self._answer_message_in_flight(str(reset))
                self._reset_seen = True
                self._resets_unlisted += 1
                if self._resets_unlisted > 1:
                    # it never gets as far as a listing: the gateway is deaf, and people must hear so. Initialised again and again
                    # without a word it said 85 commands a second for ever
                    retry_s = self._lose_and_wait(ModemTrouble(str(reset)), retry_s)
            except ModemTrouble as trouble:
                retry_s = self._lose_and_wait(trouble, retry_s)
        self._answer_waiting_messages()
        self._jobs.close()

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
                self._unasked,
                unknown=self._unknown_lines.note,
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
            self._handed_over = lambda: session.sender.handed_over
            self._at_work, self._settings_are_lost = session, False
            ready = session.initialise()
            # told even where it is empty, since the gateway waits for it before it calls anything silent; once, not after each reset
            self._first_listing = not self._reset_seen
            self._reset_seen = False
            self._ready_untold = ready
            if self._resets_unlisted < 2:
                self._tell_ready()
            self._work(dialogue, session)
        finally:
            with suppress(ModemGone):
                link.close()

    def _work(self, dialogue: Dialogue, session: Session) -> None:
        next_listing_s = next_condition_s = self._clock.monotonic()
        silent_in_a_row = 0
        while not self._stopping.is_set():
            self._progress = now = self._clock.monotonic()
            try:
                self._see_to_unsolicited(session)
                if self._free_next_slot(session, now):
                    continue
                if now >= next_listing_s or self._jobs.take_listing_wanted():
                    complete = self._list_slots(session)
                    next_listing_s = self._clock.monotonic() + self._next_listing_in_s(session, complete=complete)
                elif self._announced:
                    self._list_slots(session, self._announced)
                    next_listing_s = (
                        min(next_listing_s, now + DOUBTED_AGAIN_AFTER_S) if session.slots.doubts else next_listing_s
                    )
                elif self._send_next_message(dialogue, session, now) or self._questions.step(dialogue):
                    continue
                elif now >= next_condition_s or self._registration_changed:
                    self._read_condition(session)
                    next_condition_s = now + self._times.condition_every_s
                else:
                    due_s = min(next_listing_s, next_condition_s, self._questions.due_s, self._to_free.due_s(now))
                    dialogue.listen(due_s - now)
                    self._jobs.was_woken()
                silent_in_a_row = 0
            except ModemSilent:
                silent_in_a_row += 1
                if silent_in_a_row > 1 or not session.resynchronise():
                    raise
                self.sweep()

    def _free_next_slot(self, session: Session, now: float) -> bool:
        may_wait = session.memories.slots_that_may_wait
        held = self._to_free.take(now, messages_wait=self._jobs.messages_wait, may_wait=may_wait)
        if held is None:
            return False
        done, said = session.slots.free(held)
        self._to_free.ended(held, self._clock.monotonic())
        if done:
            self._recently_told.forget(held)
            self._stuck.discard(held)
        else:
            self._stuck.add(held)
        self._tell(SlotFreed(held=held, done=done, said=said))
        return True

    def _next_listing_in_s(self, session: Session, *, complete: bool) -> float:
        """Soon where something was hurt on the wire or a memory could not be read; else after a sweep's time."""
        if session.slots.doubts:
            return DOUBTED_AGAIN_AFTER_S
        if complete:
            self._unread_again_s = UNREAD_AGAIN_AFTER_S
            return self._sweep_every_s
        wait_s = min(self._unread_again_s, self._sweep_every_s)
        self._unread_again_s = min(2 * wait_s, self._sweep_every_s)
        return wait_s

    def _see_to_unsolicited(self, session: Session) -> None:
        """What came in no slot is acknowledged; where it came in text mode, the modem is set up again at once. Raises ResetSeen."""
        owed, self._acknowledgements_owed = self._acknowledgements_owed, 0
        for _ in range(owed):
            session.acknowledge(settings_lost=self._settings_are_lost)
        if self._settings_are_lost:
            self._settings_are_lost = False
            raise ResetSeen("a text came in text mode: the modem's settings were lost")

    def _list_slots(self, session: Session, announced: frozenset[str] = frozenset()) -> bool:
        self._announced = frozenset()
        if not announced:
            self._jobs.take_listing_wanted()
        listed = session.slots.list_all(announced)
        self._resets_unlisted = 0
        self._tell_ready()
        now, looked_into = self._clock.monotonic(), session.memories.to_look_into(announced)
        new = self._recently_told.take_new(listed.held, now, looked_into)
        full = session.memories.full(listed.held)
        self._stuck = {pdu for pdu in self._stuck if pdu.memory not in looked_into or pdu in listed.held}
        self._to_free.drain([pdu for pdu in new if pdu.memory in full], listed.held, looked_into, now)
        if new or self._first_listing:
            self._tell(Listed(held=new, complete=listed.complete))
        self._first_listing = self._first_listing and not listed.complete
        return listed.complete

    def _send_next_message(self, dialogue: Dialogue, session: Session, now: float) -> bool:
        if self._to_free.draining(now):
            return False
        self._in_flight = self._jobs.take_message()
        if self._in_flight is None:
            return False
        ended = session.sender.send(self._in_flight)
        self._in_flight = None
        self._to_free.message_ended(self._clock.monotonic())
        self._tell(ended)
        dialogue.tell_waiting_lines()
        return True

    def _read_condition(self, session: Session) -> None:
        self._registration_changed = False
        rooms = session.memories.rooms(self._stuck, session.slots.unread)
        new = replace(session.gauges.read(), memories=rooms)
        unknown = self._unknown_lines.take_changed()
        if unknown is not None:
            self._tell(UnknownLinesSeen(lines=unknown))
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
            self._questions.hear(news.line)
        elif news.line.startswith("+CBM"):
            return  # a broadcast to everybody in the cell: no text to this house
        elif news.pdu is not None:
            self._acknowledgements_owed += 1
            held = HeldPdu(memory="--", slot=None, pdu=news.pdu, content=decode(news.pdu))
            self._tell(Listed(held=(held,)))
        elif news.words is not None:
            self._acknowledgements_owed += 1
            self._settings_are_lost = True
            self._tell(Listed(held=(arrival_in_text_mode(news.line, news.words),)))
        elif news.line.startswith("+CMGS"):
            self._settle_late(news.line)
        elif self._at_work is not None and self._at_work.gauges.hear(news.line):
            self._registration_changed = True
        elif news.line.startswith("RDY"):
            raise ResetSeen(news.line)

    def _settle_late(self, line: str) -> None:
        """The answer to a message that was given up as unsure."""
        ended = self._at_work.sender.settle_late(line) if self._at_work is not None else None
        if ended is not None and self._in_flight is None:
            self._tell(ended)

    def _monotonic(self) -> float:
        """Monotonic seconds; whoever waits for an answer is alive, however long the modem takes."""
        self._progress = self._clock.monotonic()
        return self._progress

    def _lose(self, trouble: ModemTrouble) -> None:
        self._questions.lose(trouble.said)
        self._answer_message_in_flight(trouble.said)
        if trouble.said != self._lost_said:
            self._lost_said = trouble.said
            sim = trouble.reason if isinstance(trouble, SimTrouble) else None
            self._tell(ModemLost(why=trouble.said, kind=_kind_of(trouble), sim=sim))

    def _answer_message_in_flight(self, said: str) -> None:
        job, self._in_flight = self._in_flight, None
        if job is not None:
            outcome: Literal["unsure", "not-sent"] = "unsure" if self._handed_over() else "not-sent"
            self._tell(SendEnded(job=job.id, outcome=outcome, said=said))

    def _answer_waiting_messages(self) -> None:
        while (message := self._jobs.take_message()) is not None:
            self._tell(SendEnded(job=message.id, outcome="not-sent", said="the gateway stops"))

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
