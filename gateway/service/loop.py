"""News of the modem and signals on one queue → the handlers, one after the other, on one thread that owns the data.

The modem's thread and signals only put values on the queue. After each value the loop hands over what is next in the outbox and does
what is due by time; then it waits for the next value, at most until something is next due, and at most a minute: so a wall clock that was
set, which moves what is due, is noticed within that minute. The error boundary catches whatever goes wrong and puts it on record.
"""

import queue
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import Literal, TypeVar

from gateway import ports
from gateway.clock import SystemTimer
from gateway.handlers import credit, deliver, due, gateway_life
from gateway.handlers.receive import receive, receive_all
from gateway.handlers.text_clock import clock_stepped
from gateway.service.calendar_jobs import calendar_jobs
from gateway.service.clock_watch import ClockWatch
from gateway.service.error_boundary import ErrorBoundary
from gateway.service.inbound import InboundQueue, keep_last_news, note_slots_freed
from gateway.service.job_calendar import Calendar
from gateway.service.journal import Journal
from gateway.service.journal_lines import Story
from gateway.service.lifesign import LifeSign
from gateway.service.mqtt_feed import MqttFeed
from gateway.service.outbound import Dispatcher, holds_only_reports
from gateway.service.site_in_force import SiteInForce
from gateway.service.store_outage import StoreOutage
from gateway.service.systemd import Systemd
from gateway.settings.models import Settings
from gateway.site import Site
from gateway.status.next_due import next_due

SHORTEST_WAIT_S = 0.1
LOOK_EVERY_S = 0.5
"""While messages leave one after the other, what is due by time is not looked at after each; it is late by no more than this."""
MOST_AT_ONCE = 500
STOP_WITHIN_S = 3.0

Result = TypeVar("Result")

Order = Literal["wake", "reload", "stop"]


class Daemon:
    """The gateway at work. `run` returns once `stop` was told; everything accepted is durable by then."""

    def __init__(
        self,
        *,
        site: Site,
        store: ports.Store,
        modem: ports.Modem,
        clock: ports.Clock,
        reload: Callable[[], Settings] | None = None,
        life: LifeSign | None = None,
        timer: ports.Timer | None = None,
    ) -> None:
        self.refused: str | None = None
        self._store, self._modem, self._clock = store, modem, clock
        self._timer, self._watch = timer or SystemTimer(), ClockWatch(clock)
        self._queue: queue.SimpleQueue[ports.ModemNews | Order] = queue.SimpleQueue()
        self._inbound = InboundQueue()
        self._journal = Journal(clock.monotonic)
        self._systemd = Systemd(clock, modem, life)
        self._in_force = SiteInForce(site, store, self._watch, self._journal, self._systemd, reload)
        self._within, self._unit = self._in_force.within, self._in_force.unit
        self._outage = StoreOutage(modem, clock, self._journal)
        self._boundary = ErrorBoundary(self._outage, self._journal, clock, self._within, self._store_heals)
        more = partial(bool, self._inbound)
        self._dispatcher = Dispatcher(store, modem, self._within, self._boundary, self._outage, self._journal, more)
        # ten minutes; on a virtual clock ten days: the real disk does not fill in the seconds that a year takes there
        disk_every = timedelta(seconds=10 * self._timer.longest_s)
        jobs = calendar_jobs(store, modem, self._modem_ready, self._within, self._journal, disk_every)
        self._mqtt = MqttFeed(store, self._within, self._journal, clock, partial(self.tell, "wake"))
        self._calendar = Calendar((*jobs, self._mqtt.job()), store, self._guarded)
        self._story = Story(store, self._journal, clock)
        self._ever_ready = self._stopping = False
        self._wake_at_s = self._looked_at_s = float("-inf")

    # the outside ---------------------------------------------------------------------------

    def run(self) -> None:
        """Works until stopped."""
        self.begin()
        while not self._stopping:
            self.step()
        self.end()

    def begin(self) -> None:
        """Everything starts: on record, half-done messages judged, the modem."""
        self._story.begin()
        self._within(partial(gateway_life.started, at_work=self._systemd.at_work_before))
        self._within(deliver.judge_unfinished)
        self._modem.start(self._queue.put)
        self.site.phrases.preload_names()
        self._journal("started", site=self.site.settings.site.name)
        self._systemd.say_ready()

    @property
    def site(self) -> Site:
        """The configuration in force."""
        return self._in_force.site

    @property
    def idle(self) -> bool:
        """Whether nothing waits to be handled."""
        return self._queue.empty() and not self._inbound

    @property
    def sending(self) -> bool:
        """Whether a message is with the modem."""
        return self._dispatcher.busy

    @property
    def ended(self) -> bool:
        """Whether it was stopped, or stopped by itself (`refused` says why)."""
        return self._stopping

    def _modem_ready(self) -> bool:
        return self._dispatcher.ready

    @property
    def wait_s(self) -> float:
        """How long it waits for the next value before it looks at what is due."""
        return min(max(self._wake_at_s - self._clock.monotonic(), 0.0), self._timer.longest_s)

    def tell(self, order: Order) -> None:
        """From any thread: wake, reload or stop."""
        self._queue.put(order)

    # one round -----------------------------------------------------------------------------

    def step(self, wait_s: float | None = None) -> None:
        """Everything that waits on the queue, some of the texts that were listed, then what is due.

        A burst costs few commits and one look at the clock; and answers are taken between its texts, so that messages leave meanwhile.
        """
        items = self._waiting(self.wait_s if wait_s is None else wait_s)
        if self._watch.stepped():
            self._guarded("clock", partial(self._within, clock_stepped))
        listed = [item for item in items if isinstance(item, ports.Listed)]
        for item in items:
            if isinstance(item, ports.SendEnded):
                self._story.follow(item.job)
                reports = [news for news in listed if holds_only_reports(news)]
                held = [report for news in reports for report in news.held]
                if self._dispatcher.handle_send_ended(self.site, item, held):
                    listed = [news for news in listed if news not in reports]
            elif not isinstance(item, ports.SlotFreed | ports.Listed):
                self._guarded(item, partial(self._handle, item))
        for item in items:
            if isinstance(item, ports.SlotFreed) or item in listed:
                self._inbound.add(item)
        self._work_off_inbound()
        self._go_on()

    def _waiting(self, wait_s: float) -> list[ports.ModemNews | Order]:
        first = self._timer.wait(self._queue, 0.0 if self._inbound else wait_s)
        if first is None:
            return []
        items = [first]
        while len(items) < MOST_AT_ONCE and not self._queue.empty():  # nobody else takes from it
            items.append(self._queue.get_nowait())
        return items

    def _go_on(self) -> None:
        """The next message, what is due by time, then when to wake; not all of it again and again in a burst."""
        if self._outage.ends:
            self._end_when_told()
        if self._stopping or self._outage.ends:
            return
        message_due = self._guarded("outbox", self._dispatcher.send_next)
        now_s = self._clock.monotonic()
        burst = self._dispatcher.busy or bool(self._inbound)
        if burst and 0 <= now_s - self._looked_at_s < LOOK_EVERY_S:
            self._wake_at_s = self._looked_at_s + LOOK_EVERY_S
            return
        self._looked_at_s = now_s
        self._do_what_is_due(message_due)

    def _do_what_is_due(self, message_due: datetime | None) -> None:
        now = self._clock.now()
        run_due = partial(self._calendar.run_due, self.site, now, clock_is_set=self._watch.ever_set(now))
        calendar_due = self._guarded("calendar", run_due)
        if self._calendar.did_something:
            message_due = self._guarded("outbox", self._dispatcher.send_next)
        dues = [message_due, calendar_due, self._guarded("due", partial(self._act_on_due, now))]
        self._guarded("story", partial(self._story.go_on, self.site))
        self._systemd.say_alive()
        waits = [(due_at - self._clock.now()).total_seconds() for due_at in dues if due_at is not None]
        again_s = self._boundary.again_within_s()
        if again_s is not None:
            waits.append(again_s)
        wait_s = min([*waits, self._systemd.wake_within_s(self._timer.longest_s)])
        self._wake_at_s = self._clock.monotonic() + max(wait_s, SHORTEST_WAIT_S)

    def _act_on_due(self, now: datetime) -> datetime | None:
        """What is due by time, in one transaction; where that fails, each part by itself, so that one costs no other."""
        verdicts = self._inbound.swept and not self._inbound and self._dispatcher.ready
        with self._store.read() as reader:
            due_at = next_due(reader, self.site, now, verdicts=verdicts)
        if due_at is None or due_at > now:
            return due_at
        after = self._guarded("due", partial(self._within, partial(due.do_what_is_due, verdicts=verdicts)))
        if self._boundary.mistaken:
            for part in due.parts(verdicts=verdicts):
                self._guarded(part, partial(self._within, part))
        message_due = self._guarded("outbox", self._dispatcher.send_next)
        return min((at for at in (after, message_due) if at is not None), default=None)

    # texts and slots -----------------------------------------------------------------------

    def _work_off_inbound(self) -> None:
        """Slots first; where they could not be noted, what was listed since must not be taken for what they held: a sweep finds it again."""
        freed = self._inbound.next_freed()
        note_freed = partial(note_slots_freed, self._within, self._journal, freed)
        if freed and not self._guarded("freed", note_freed) and not self._boundary.mistaken:
            self._inbound.not_noted(freed)
            self._outage.keep(self._inbound.next_texts())
        elif texts := self._inbound.next_texts():
            self._guarded(texts, partial(self._store_texts, texts))

    def _store_texts(self, texts: ports.Listed) -> None:
        """As many as fit before the modem could go on with a message."""
        stored = receive_all(self._store, self._unit, texts.held, enough=self._modem_could_go_on)
        for held in stored:
            self._journal("stored", memory=held.memory, slot=held.slot)
        self._inbound.stored(texts, len(stored))
        self._guarded("outbox", self._dispatcher.send_next)
        if stored:
            self._modem.free(stored)

    def _modem_could_go_on(self, tx: ports.Transaction) -> bool:
        """It answered, or it has nothing to do and a message waits."""
        return not self._queue.empty() if self._dispatcher.busy else self._dispatcher.could_go_on(tx)

    # other news and orders -----------------------------------------------------------------

    def _handle(self, item: ports.ModemNews | Order) -> None:
        match item:
            case ports.NetworkSaid():
                self._within(lambda unit: credit.credit_answered(unit, item))
                self._journal("network-said", code=item.code, said=item.said, why=item.why or None)
            case ports.ModemLost() | ports.ModemReady() | ports.Condition() | ports.UnknownLinesSeen():
                self._handle_modem_news(item)
            case "reload":
                self._in_force.reload()
            case "stop":
                self._stopping = True
            case "wake":
                self._looked_at_s = float("-inf")

    def _handle_modem_news(
        self, news: ports.ModemLost | ports.ModemReady | ports.Condition | ports.UnknownLinesSeen
    ) -> None:
        if isinstance(news, ports.ModemLost):
            if news.kind == "held" and not self._ever_ready:
                self.refused, self._stopping = f"{news.why}; one gateway a port: stop the other first", True
            self._dispatcher.ready = False
        elif isinstance(news, ports.ModemReady):
            self._dispatcher.ready = self._ever_ready = True
        self._within(lambda unit: gateway_life.modem_news(unit, news))
        self._journal(type(news).__name__, said=getattr(news, "why", None) or getattr(news, "model", None))

    # the store, mistakes, the end ----------------------------------------------------------

    def _guarded(self, item: object, work: Callable[[], Result]) -> Result | None:
        """The work through the error boundary: what goes wrong in it stops nothing else."""
        return self._boundary.run(self.site, item, work, modem_ready=self._dispatcher.ready)

    def _store_heals(self) -> None:
        for item in self._outage.heal():
            self._queue.put(item)
        self._modem.sweep()

    def _end_when_told(self) -> None:
        if self._outage.over:
            self.refused, self._stopping = self._outage.reason, True
        self._wake_at_s = self._clock.monotonic() + 1.0

    def end(self) -> None:
        """What waits for the store, and what the modem says while it stops, is on record; then the daemon has ended."""
        self._systemd.say_stopping()
        self._modem.stop(STOP_WITHIN_S)
        news: list[object] = [*self._outage.heal(), *self._inbound.all_waiting()]
        while not self._queue.empty():
            news.append(self._queue.get_nowait())
        receive_one = partial(receive, self._store, self._unit)
        keep_last_news(news, self._within, self._journal, receive_one)
        self._guarded("mqtt", self._mqtt.end)
        self._guarded("story", partial(self._story.go_on, self.site))
        self._journal("stopped")
