"""Days at a household of a configuration: the very daemon, store, dialogue and pseudo-terminal of `serve`; only time is another.

One thread here drives: all are let come to rest, what the gateway's modem handed over is carried to the phones, the household lives on
until a text comes or somebody in the gateway wanted to be woken, and the clock goes there. The same seed gives the same days.
"""

import logging
import threading
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from gateway.modem import Times
from gateway.ports import Store
from gateway.service import Built, build
from gateway.settings.models import Settings
from gateway.simulator import SimulatedModem
from gateway.simulator.household.household import Arrival, Household, Truth
from gateway.simulator.household.troubles import CAUSE_OF
from gateway.simulator.virtual_clock import VirtualClock
from gateway.site import Site, compile_site
from gateway.status.forecast import forecast_of

BEGINS = datetime(2027, 1, 1)  # noqa: DTZ001 - local midnight there, whatever the zone
"""Every life begins on this day, so that the same seed gives the same days."""
SWEEP_EVERY = timedelta(hours=6)
"""Announcements hurry every text; on the virtual clock the sweep behind them need not come each minute."""
REACHES_PHONE = timedelta(seconds=8)
STOPS_WITHIN_S = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastMade:
    """What was foretold when the tank above the taps was low, and what would have come had nobody helped (None: not within ten days)."""

    at: datetime
    early: datetime
    likely: datetime
    late: datetime
    cause: str | None
    true_dry_at: datetime | None
    true_cause: str | None


@dataclass(slots=True, kw_only=True)
class Lived:
    """What a life leaves: its store, what was really so, what was foretold. `until`: how far it got."""

    site: Site
    store_url: str
    configuration: Path
    start: datetime
    until: datetime
    seed: int
    household: Household
    forecasts: list[ForecastMade] = field(default_factory=list)

    @property
    def truth(self) -> Truth:
        """What really happened."""
        return self.household.truth


def live_through(
    settings: Settings,
    folder: Path,
    *,
    days: float,
    seed: int,
    stories: Sequence[str],
    progress: Callable[[float], None] = lambda share: None,
    stopped: Callable[[], bool] = lambda: False,
) -> Lived:
    """Lives `days` through in a store below `folder`; `progress` gets the share that is done, `stopped` ends it with what there is."""
    settings = _at_the_simulated_modem(settings, folder)
    start = BEGINS.replace(tzinfo=ZoneInfo(settings.site.timezone)).astimezone(UTC)
    household = Household(settings, seed, start, days, stories)
    lived = Lived(
        site=compile_site(settings),
        store_url=settings.store.url,
        configuration=folder / "gateway.toml",
        start=start,
        until=start,
        seed=seed,
        household=household,
    )
    logging.disable(logging.CRITICAL)
    clock = VirtualClock(start)
    with ExitStack() as undo:
        undo.callback(logging.disable, logging.NOTSET)
        modem = SimulatedModem(str(folder / "modem-port"), now=clock.now, clock=clock, seed=seed)
        modem.start()
        undo.callback(modem.stop)
        built = build(
            settings,
            clock=clock,
            timer=clock,
            simulated=modem,
            times=Times(condition_every_s=SWEEP_EVERY.total_seconds()),
        )
        undo.callback(built.close)
        driver = _Driver(built, modem, clock, lived)
        thread = threading.Thread(target=built.daemon.run, name="daemon", daemon=True)
        thread.start()
        try:
            driver.drive(start + timedelta(days=days), progress, stopped)
        finally:
            built.daemon.tell("stop")
            thread.join(STOPS_WITHIN_S)
    return lived


class _Driver:
    """Takes the clock from one thing to the next."""

    def __init__(self, built: Built, modem: SimulatedModem, clock: VirtualClock, lived: Lived) -> None:
        self._store: Store = built.store
        self._modem, self._clock, self._lived = modem, clock, lived
        self._carried = 0
        self._newest_event = 0
        self._last_pdus: dict[tuple[str, datetime], tuple[str, ...]] = {}

    def drive(self, end: datetime, progress: Callable[[float], None], stopped: Callable[[], bool]) -> None:
        """Until the end, or until it is stopped."""
        household, whole = self._lived.household, end - self._lived.start
        self._clock.settle()
        while self._clock.now() < end and not stopped():
            self._carry_to_phones()
            until = min(self._clock.next_due(), end)
            arrival = household.next_arrival(until)
            self._clock.advance(until if arrival is None else arrival.at)
            if arrival is not None:
                self._bring(arrival)
            self._clock.settle()
            if arrival is not None:
                self._note_forecasts()
            self._lived.until = self._clock.now()
            progress((self._clock.now() - self._lived.start) / whole)

    def _bring(self, arrival: Arrival) -> None:
        """The network brings a text, or the very same PDUs once more."""
        key = (arrival.number, arrival.sent_at)
        if arrival.again and key in self._last_pdus:
            for pdu in self._last_pdus.pop(key):
                self._modem.network.deliver_pdu(pdu)
            return
        self._last_pdus = {key: self._modem.network.deliver(arrival.number, arrival.text, stamp=arrival.sent_at)}

    def _carry_to_phones(self) -> None:
        left = self._modem.network.outgoing
        for message in left[self._carried :]:
            self._lived.household.left(message.number, message.text, self._clock.now() + REACHES_PHONE)
        self._carried = len(left)

    def _note_forecasts(self) -> None:
        """When the tank above the taps has just become low: what is foretold, and what would come."""
        site, now = self._lived.site, self._clock.now()
        tank = site.house_tank()
        with self._store.read() as reader:
            newest = reader.last_event(("low",), tank=tank.id) if tank is not None else None
            if tank is None or newest is None or newest.id is None or newest.id <= self._newest_event:
                return
            self._newest_event = newest.id
            forecast = forecast_of(reader, site, tank.id, now)
        if forecast is None or forecast.dry_at is None:
            return
        household = self._lived.household
        troubles = household.troubles_at(now)
        early, likely, late = forecast.dry_at
        self._lived.forecasts.append(
            ForecastMade(
                at=now,
                early=early,
                likely=likely,
                late=late,
                cause=forecast.cause.kind if forecast.cause else None,
                true_dry_at=household.dry_if_nobody_helps(),
                true_cause=CAUSE_OF.get(troubles[-1].kind) if troubles else None,
            )
        )


def _at_the_simulated_modem(settings: Settings, folder: Path) -> Settings:
    """The same household at the simulated modem, with a store of its own: the real one is never touched."""
    modem = settings.modem.model_copy(update={"device": "simulated", "pin_file": "", "sweep_every": SWEEP_EVERY})
    store = settings.store.model_copy(update={"url": f"sqlite:///{folder / 'gateway.db'}", "backup_folder": ""})
    page = settings.page.model_copy(update={"folder": ""})
    return settings.model_copy(update={"modem": modem, "store": store, "page": page})
