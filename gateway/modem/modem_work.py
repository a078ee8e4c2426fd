"""What is done with a modem that is at work: slots freed and listed, messages sent, the network asked, its condition read.

What comes first is one decision, made anew after each thing that was done: slots to free, once many are taken, since a full store takes
no text; a listing that is due, wanted or announced; a message; a question to the network; the modem's condition.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Literal

from gateway.errors import ModemSilent, SimTrouble
from gateway.facts import HeldPdu
from gateway.modem.condition import differs
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.freeing import FreeQueue
from gateway.modem.initialise import Session
from gateway.modem.jobs import Jobs
from gateway.modem.list_and_free import RecentlyTold
from gateway.modem.memories import memory_in
from gateway.modem.parse_listing import ResetSeen
from gateway.modem.pdu import decode
from gateway.modem.text_mode import arrival_in_text_mode
from gateway.modem.unasked_lines import Unasked
from gateway.modem.unknown_lines import UnknownLines
from gateway.modem.ussd import PREFIX, Questions
from gateway.ports import Condition, Listed, ModemNews, SendEnded, SendJob, SlotFreed, UnknownLinesSeen

DOUBTED_AGAIN_AFTER_S = 1.0
UNREAD_AGAIN_AFTER_S = 5.0
"""A memory that could not be read is looked into again so soon, then later each time."""


class ModemWork:
    """What is to do and what was told, over all sessions. `sweep`, `free`, `send` and `ask_network` from any thread; the rest belongs to the
    modem's own. `first_listing`: the next listing is told even where it is empty; `listed` is called after each."""

    def __init__(
        self,
        jobs: Jobs,
        times: Times,
        sweep_every: timedelta,
        *,
        monotonic: Callable[[], float],
        stopping: threading.Event,
        tell: Callable[[ModemNews], None],
        listed: Callable[[], None],
    ) -> None:
        self._jobs, self._times, self._sweep_every_s = jobs, times, sweep_every.total_seconds()
        self._monotonic, self._stopping, self._tell, self._listed = monotonic, stopping, tell, listed
        self._to_free = FreeQueue()
        self._announced: frozenset[str] = frozenset()
        self._questions = Questions(monotonic, tell, times.ussd_s)
        self._recently_told = RecentlyTold()
        self._condition: Condition | None = None
        self._in_flight: SendJob | None = None
        self.first_listing = True
        self.unknown_lines = UnknownLines()
        self._at_work: Session | None = None
        self._settings_are_lost = False
        self._acknowledgements_owed = 0
        self._registration_changed = False
        self._unread_again_s = UNREAD_AGAIN_AFTER_S
        self._stuck: set[HeldPdu] = set()

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

    def begin(self, session: Session) -> None:
        """A line was opened: what is said from now on is said in this session."""
        self._at_work, self._settings_are_lost = session, False

    def go_on(self, dialogue: Dialogue, session: Session) -> None:
        """One thing after the other, until the gateway stops or the session ends."""
        next_listing_s = next_condition_s = self._monotonic()
        silent_in_a_row = 0
        while not self._stopping.is_set():
            now = self._monotonic()
            try:
                self._see_to_unsolicited(session)
                if self._free_next_slot(session, now):
                    continue
                if now >= next_listing_s or self._jobs.take_listing_wanted():
                    complete = self._list_slots(session)
                    next_listing_s = self._monotonic() + self._next_listing_in_s(session, complete=complete)
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
        self._to_free.ended(held, self._monotonic())
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
        self._listed()
        now, looked_into = self._monotonic(), session.memories.to_look_into(announced)
        new = self._recently_told.take_new(listed.held, now, looked_into)
        full = session.memories.full(listed.held)
        self._stuck = {pdu for pdu in self._stuck if pdu.memory not in looked_into or pdu in listed.held}
        self._to_free.drain([pdu for pdu in new if pdu.memory in full], listed.held, looked_into, now)
        if new or self.first_listing:
            self._tell(Listed(held=new, complete=listed.complete))
        self.first_listing = self.first_listing and not listed.complete
        return listed.complete

    def _send_next_message(self, dialogue: Dialogue, session: Session, now: float) -> bool:
        if self._to_free.draining(now):
            return False
        self._in_flight = self._jobs.take_message()
        if self._in_flight is None:
            return False
        ended = session.sender.send(self._in_flight)
        self._in_flight = None
        self._to_free.message_ended(self._monotonic())
        self._tell(ended)
        dialogue.tell_waiting_lines()
        return True

    def _read_condition(self, session: Session) -> None:
        self._registration_changed = False
        rooms = session.memories.rooms(self._stuck, session.slots.unread)
        new = replace(session.gauges.read(), memories=rooms)
        unknown = self.unknown_lines.take_changed()
        if unknown is not None:
            self._tell(UnknownLinesSeen(lines=unknown))
        if new.sim != "ready" and "SIM" in new.sim:
            raise SimTrouble(new.sim)
        if self._condition is None or differs(self._condition, new):
            self._condition = new
            self._tell(new)

    def hear(self, news: Unasked) -> None:
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

    def lose(self, said: str) -> None:
        """The modem went away: nobody waits for its answers any longer."""
        self._questions.lose(said)
        self.answer_message_in_flight(said)

    def answer_message_in_flight(self, said: str) -> None:
        """The session is over: unsure, or not sent where nothing of it was handed over."""
        job, self._in_flight = self._in_flight, None
        if job is not None:
            handed_over = self._at_work is not None and self._at_work.sender.handed_over
            outcome: Literal["unsure", "not-sent"] = "unsure" if handed_over else "not-sent"
            self._tell(SendEnded(job=job.id, outcome=outcome, said=said))

    def answer_waiting_messages(self) -> None:
        """The gateway stops."""
        while (message := self._jobs.take_message()) is not None:
            self._tell(SendEnded(job=message.id, outcome="not-sent", said="the gateway stops"))
