"""News, ticks and signals on one queue → the flow, one after the other, on one thread that owns the data.

The modem's thread, the scheduler and signal handlers only put values on the queue. After each value the loop hands over
what is next in the outbox and tells the scheduler when something is next due. The guard catches whatever goes wrong and puts it
on record. The queue wait itself ends after a minute, so that a stepped clock can never stop the ticks.
"""

import queue
from collections.abc import Callable
from datetime import datetime
from functools import partial
from typing import Literal, TypeVar

from gateway import ports
from gateway.errors import ConfigurationWrong
from gateway.handlers import credit, deliver, due, gateway_life
from gateway.handlers.receive import receive, receive_all
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.inbox import clock_trusted
from gateway.schedule import Ticker
from gateway.service.backlog import Backlog
from gateway.service.backups import Backups
from gateway.service.chores import Chores
from gateway.service.ending import keep_last
from gateway.service.fresh_page import Pages
from gateway.service.guard import Guard
from gateway.service.handing import Handing, only_reports
from gateway.service.health import Health
from gateway.service.lifesign import LifeSign
from gateway.service.looks import Looks
from gateway.service.record import Record
from gateway.service.trouble import Trouble
from gateway.settings.models import Settings
from gateway.site import Site, compile_site
from gateway.status.credit import credit_due
from gateway.status.next_due import next_due

LONGEST_WAIT_S = 61.0
MOST_AT_ONCE = 500
STOP_WITHIN_S = 3.0

T = TypeVar("T")

Order = Literal["tick", "wake", "reload", "stop"]


class Daemon:
    """The gateway at work. `run` returns once `stop` was called; everything accepted is durable by then."""

    def __init__(
        self,
        *,
        site: Site,
        store: ports.Store,
        modem: ports.Modem,
        clock: ports.Clock,
        reload: Callable[[], Settings] | None = None,
        backups: Backups | None = None,
        pages: Pages | None = None,
        life: LifeSign | None = None,
        ticker: Callable[[Callable[[], None]], ports.Ticks] = Ticker,
    ) -> None:
        self.site = site
        self.record = Record(clock.monotonic)
        self._store = store
        self._modem = modem
        self._clock = clock
        self._reload = reload
        self._queue: queue.SimpleQueue[ports.ModemNews | Order] = queue.SimpleQueue()
        self._ticker = ticker(lambda: self._queue.put("tick"))
        self._health = Health(clock, modem, life)
        self._ever_ready = False
        self._backlog = Backlog()
        self.refused: str | None = None
        self._trouble = Trouble(modem, clock, self.record)
        self._guard = Guard(self._trouble, self.record, clock, self._within, self._store_heals)
        more_comes = partial(bool, self._backlog)
        self._handing = Handing(store, modem, self._within, self._guard, self._trouble, self.record, more_comes)
        self._stopping = False
        self._looks = Looks(clock.monotonic, self._ticker.wake_in)
        self._chores = Chores(store, self._within, self.record, backups, pages)

    # the outside ---------------------------------------------------------------------------

    def run(self) -> None:
        """Works until stopped."""
        self.begin()
        while not self._stopping:
            self.step()
        self._end()

    def begin(self) -> None:
        """Everything starts: on record, half-done messages judged, ticks, the modem."""
        self._within(partial(gateway_life.started, at_work=self._health.at_work_before))
        self._within(deliver.judge_unfinished)
        self._ticker.start()
        self._modem.start(self._queue.put)
        self.site.phrases.preload_names()
        self.record("started", site=self.site.settings.site.name)
        self._health.ready()
        self._ticker.wake_in(0)

    @property
    def idle(self) -> bool:
        """Whether nothing waits to be handled."""
        return self._queue.empty() and not self._backlog

    @property
    def sending(self) -> bool:
        """Whether a message is with the modem."""
        return self._handing.busy

    @property
    def ended(self) -> bool:
        """Whether it was stopped, or stopped by itself (`refused` says why)."""
        return self._stopping

    def tell(self, order: Order) -> None:
        """From any thread or a signal handler: tick, wake, reload or stop."""
        self._queue.put(order)

    # one value at a time -------------------------------------------------------------------

    def step(self, wait_s: float = LONGEST_WAIT_S) -> None:
        """Everything that waits on the queue, some of the texts that were listed, then what is due.

        A burst costs few commits and one look at the clock; and answers are taken between its texts, so that messages leave meanwhile.
        """
        items = self._waiting(0.0 if self._backlog else wait_s)
        listed = [item for item in items if isinstance(item, ports.Listed)]
        for item in items:
            if isinstance(item, ports.SendEnded):
                reports = [news for news in listed if only_reports(news)]
                if self._handing.ended(self.site, item, [one for news in reports for one in news.held]):
                    listed = [news for news in listed if news not in reports]
            elif not isinstance(item, ports.SlotFreed | ports.Listed):
                self._guarded(item, partial(self._handle, item))
        for item in items:
            if isinstance(item, ports.SlotFreed) or item in listed:
                self._backlog.add(item)
        self._work_off()
        self._go_on()

    def _work_off(self) -> None:
        """Slots first; where they could not be noted, what was listed since must not be taken for what they held: a sweep finds it again."""
        freed = self._backlog.freed()
        if freed and not self._guarded("freed", partial(self._take_freed, freed)) and not self._guard.mistaken:
            self._backlog.not_noted(freed)
            self._trouble.keep(self._backlog.some())
        elif some := self._backlog.some():
            self._guarded(some, partial(self._take, some))

    def _waiting(self, wait_s: float) -> list[ports.ModemNews | Order]:
        items: list[ports.ModemNews | Order] = []
        try:
            items.append(self._queue.get(timeout=wait_s))
            while len(items) < MOST_AT_ONCE:
                items.append(self._queue.get_nowait())
        except queue.Empty:
            return items or ([] if self._backlog else ["tick"])
        return items

    def _guarded(self, item: object, work: Callable[[], T]) -> T | None:
        """The work through the guard: what goes wrong in it stops nothing else."""
        return self._guard.run(self.site, item, work, modem_ready=self._handing.ready)

    def _handle(self, item: ports.ModemNews | Order) -> None:
        match item:
            case ports.NetworkSaid():
                self._within(lambda unit: credit.credit_answered(unit, item))
                self.record("network-said", code=item.code, said=item.said, why=item.why or None)
            case ports.ModemLost() | ports.ModemReady() | ports.Condition():
                self._take_modem(item)
            case "reload":
                self._take_reload()
            case "stop":
                self._stopping = True
            case "tick" | "wake":
                pass

    def _go_on(self) -> None:
        """The next message, what is due by time, then when to wake; not all of it again and again in a burst."""
        if self._trouble.ends:
            self._end_when_told()
        if self._stopping or self._trouble.ends:
            return
        due = self._guarded("tick", self._handing.next)
        if not self._looks.wanted(busy=self._handing.busy or bool(self._backlog)):
            return
        now = self._clock.now()
        due = _earlier(due, self._guarded("tick", partial(self._watch, now)))
        due = _earlier(due, self._guarded("tick", partial(self._ask_credit, now)))
        due = _earlier(due, self._guarded("tick", partial(self._chores.do, now, self.site)))
        self._health.alive()
        waits = [LONGEST_WAIT_S if due is None else (due - self._clock.now()).total_seconds()]
        waits += [wait for wait in (self._guard.again_within_s(), self._health.wake_within_s()) if wait is not None]
        self._ticker.wake_in(min(waits))

    def _watch(self, now: datetime) -> datetime | None:
        """What is due by time, in one transaction; where that fails, each part by itself, so that one costs no other."""
        verdicts = self._backlog.swept and not self._backlog and self._handing.ready
        with self._store.read() as reader:
            at = next_due(reader, self.site, now, verdicts=verdicts)
        if at is None or at > now:
            return at
        after = self._guarded("watch", partial(self._within, partial(due.do_what_is_due, verdicts=verdicts)))
        if self._guard.mistaken:
            for part in due.parts(verdicts=verdicts, trusted=self._trusted()):
                self._guarded(part, partial(self._within, part))
        return _earlier(after, self._guarded("tick", self._handing.next))

    def _ask_credit(self, now: datetime) -> datetime | None:
        """Asks the network what is left on the SIM, when that is due."""
        if not self._handing.ready or not self.site.settings.balance.ussd:
            return None
        with self._store.read() as reader:
            at = credit_due(reader, self.site, now)
        if at is None or at > now:
            return at
        self._modem.ask_network(self._within(credit.code_to_ask))
        return None

    # news of the modem ---------------------------------------------------------------------

    def _take(self, some: ports.Listed) -> None:
        """As many as fit before the modem could go on with a message."""
        trusted, enough = self._trusted(), self._modem_could_go_on
        done = receive_all(self._store, self.site, some.held, self._clock, trusted=trusted, enough=enough)
        for one in done:
            self.record("stored", memory=one.memory, slot=one.slot)
        self._backlog.stored(some, len(done))
        self._guarded("tick", self._handing.next)
        if done:
            self._modem.free(done)

    def _modem_could_go_on(self, tx: ports.Transaction) -> bool:
        """It answered, or it has nothing to do and a message waits."""
        return not self._queue.empty() if self._handing.busy else self._handing.could_go_on(tx)

    def _take_freed(self, freed: list[ports.SlotFreed]) -> bool:
        done = [(one.held.memory, one.held.slot) for one in freed if one.done]
        if done:
            self._within(lambda unit: unit.tx.slots_freed(done))
        for one in freed:
            action = "freed" if one.done else "not-freed"
            self.record(action, memory=one.held.memory, slot=one.held.slot, said=one.said or None)
        return True

    def _take_modem(self, news: ports.ModemLost | ports.ModemReady | ports.Condition) -> None:
        if isinstance(news, ports.ModemLost):
            if news.kind == "held" and not self._ever_ready:
                self.refused, self._stopping = f"{news.why}; one gateway a port: stop the other first", True
            self._handing.ready = False
        elif isinstance(news, ports.ModemReady):
            self._handing.ready = self._ever_ready = True
        self._within(lambda unit: gateway_life.modem_news(unit, news))
        self.record(type(news).__name__, said=getattr(news, "why", None) or getattr(news, "model", None))

    def _take_reload(self) -> None:
        if self._reload is None:
            return
        self._health.reloading()
        try:
            self.site = compile_site(self._reload())
            self._within(gateway_life.reloaded)
            self.record("reloaded")
        except ConfigurationWrong as wrong:
            problems = [f"{one.key}: {one.wrong}" for one in wrong.problems]
            self._within(lambda unit: gateway_life.reload_refused(unit, problems))
            self.record("reload-refused", mistakes=len(problems))
        self._health.ready()

    # the store and mistakes ----------------------------------------------------------------

    def _within(self, work: Callable[[UnitOfWork], T]) -> T:
        with self._store.write() as tx:
            return work(UnitOfWork(tx=tx, site=self.site, now=self._clock.now(), trusted=self._trusted()))

    def _trusted(self) -> bool:
        return clock_trusted(self._clock.now(), None)

    def _end_when_told(self) -> None:
        if self._trouble.over:
            self.refused, self._stopping = self._trouble.said, True
        self._ticker.wake_in(1.0)

    def _store_heals(self) -> None:
        for item in self._trouble.healed():
            self._queue.put(item)
        self._modem.sweep()

    def _end(self) -> None:
        self._health.stopping()
        self._ticker.stop()
        self._modem.stop(STOP_WITHIN_S)
        receive_one = partial(receive, self._store, self.site, clock=self._clock, trusted=self._trusted())
        keep_last(self._last_news(), self._within, self.record, receive_one)
        self.record("stopped")

    def _last_news(self) -> list[object]:
        """What waits for the store, and what came while stopping."""
        last: list[object] = [*self._trouble.healed(), *self._backlog.rest()]
        while not self._queue.empty():
            last.append(self._queue.get_nowait())
        return last


def _earlier(one: datetime | None, other: datetime | None) -> datetime | None:
    return min((at for at in (one, other) if at is not None), default=None)
