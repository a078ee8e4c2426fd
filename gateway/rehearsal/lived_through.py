"""Days at a household of a configuration: the very daemon, store, dialogue and pseudo-terminal of `serve`; only time is another.

One thread here drives: whenever all are at rest, what the gateway's modem handed over is carried to the phones, and the household lives on
until a text comes or somebody in the gateway wanted to be woken. The same seed gives the same days.
"""

import threading
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from gateway.modem import Times
from gateway.ports import Reader, Store
from gateway.rehearsal.clock_faults import ClockFault, planned_faults
from gateway.service import Built, build
from gateway.settings.models import Settings
from gateway.simulator import Habits, SimulatedModem
from gateway.simulator.household.household import Arrival, Household, Truth
from gateway.simulator.virtual_clock import Happening, VirtualClock
from gateway.site import Site, compile_site
from gateway.status.forecast import forecast_of

BEGINS = datetime(2027, 1, 1)  # noqa: DTZ001 - local time there, whatever the zone
"""Every life begins then, if nothing else is said, so that the same seed gives the same days."""
SWEEP_EVERY = timedelta(hours=6)
"""Announcements hurry every text; on the virtual clock the sweep behind them need not come each minute."""
REACHES_PHONE = timedelta(seconds=8)
STOPS_WITHIN_S = 10.0
LOOKED_BACK = timedelta(days=3)
"""A text may be brought so late that its event lies back."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastMade:
    """What was foretold when a tank was low, and what would have come had nobody helped (None: not within ten days).

    `dry_at`: early, likely, late. `true_causes`: what was wrong with it then; with several troubles at once each is one.
    """

    tank: str
    at: datetime
    dry_at: tuple[datetime, datetime, datetime] | None
    cause: str | None
    true_dry_at: datetime | None
    true_causes: frozenset[str]


@dataclass(slots=True, kw_only=True)
class Lived:
    """What a life leaves: its store, what was really so, what was foretold. `until`: how far it got."""

    site: Site
    store_url: str
    configuration: Path
    start: datetime
    until: datetime
    seed: int
    stories: tuple[str, ...]
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
    clock_troubles: Sequence[str] = (),
    begins: datetime = BEGINS,
    with_backups: bool = False,
    habits: Habits | None = None,
    progress: Callable[[float], None] = lambda share: None,
    stopped: Callable[[], bool] = lambda: False,
) -> Lived:
    """Lives `days` through in a store below `folder`, from local time `begins` on; `with_backups` makes those of each day there too.

    `progress` gets the share that is done, `stopped` ends it with what there is.
    """
    settings = _at_the_simulated_modem(settings, folder, with_backups)
    start = begins.replace(tzinfo=ZoneInfo(settings.site.timezone)).astimezone(UTC)
    household = Household(settings, seed, start, days, stories)
    lived = Lived(
        site=compile_site(settings),
        store_url=settings.store.url,
        configuration=folder / "gateway.toml",
        start=start,
        until=start,
        seed=seed,
        stories=tuple(stories),
        household=household,
    )
    clock = VirtualClock(start)
    faults = planned_faults(clock_troubles, start, days, seed)
    while faults and faults[0].at <= start:
        faults.pop(0).befalls(clock)
    with ExitStack() as undo:
        modem = SimulatedModem(str(folder / "modem-port"), habits=habits, now=clock.true_now, clock=clock, seed=seed)
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
        driver = _Driver(built, modem, clock, lived, faults)
        thread = threading.Thread(target=built.daemon.run, name="daemon", daemon=True)
        thread.start()
        try:
            driver.drive(start + timedelta(days=days), progress, stopped)
        finally:
            built.daemon.tell("stop")
            thread.join(STOPS_WITHIN_S)
    return lived


class _Driver:
    """Brings what happens outside to the gateway, and what the gateway sends to the phones."""

    def __init__(
        self, built: Built, modem: SimulatedModem, clock: VirtualClock, lived: Lived, faults: list[ClockFault]
    ) -> None:
        self._store: Store = built.store
        self._modem, self._clock, self._lived, self._faults = modem, clock, lived, faults
        self._newest_event = 0
        self._last_pdus: dict[tuple[str, datetime], tuple[str, ...]] = {}

    def drive(self, end: datetime, progress: Callable[[float], None], stopped: Callable[[], bool]) -> None:
        """Until the end, or until it is stopped."""
        whole = end - self._lived.start

        def look() -> None:
            self._note_forecasts()
            self._carry_to_phones()
            self._lived.until = min(self._clock.true_now(), end)
            progress((self._lived.until - self._lived.start) / whole)

        self._clock.go_on_until(end, self._next_happening, at_rest=look, stopped=stopped)

    def _next_happening(self, until: datetime) -> Happening | None:
        """The next text that reaches the modem by then, or the next fault of the board's clock."""
        fault = next((fault for fault in self._faults[:1] if fault.at <= until), None)
        arrival = self._lived.household.next_arrival(until if fault is None else fault.at)
        if arrival is not None:
            return arrival.at, partial(self._bring, arrival)
        if fault is not None:
            return fault.at, partial(self._befall, self._faults.pop(0))
        return None

    def _befall(self, fault: ClockFault) -> None:
        """The clock's fault; what reached the modem while the board slept lies there when it wakes."""
        fault.befalls(self._clock)
        while (arrival := self._lived.household.next_arrival(self._clock.true_now())) is not None:
            self._bring(arrival)

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
        for message in left:
            self._lived.household.left(message.number, message.text, self._clock.true_now() + REACHES_PHONE)
        left.clear()  # nobody else is at work; over years they would fill the memory

    def _note_forecasts(self) -> None:
        """When a tank has just become low: what is foretold of it, and what would come."""
        with self._store.read() as reader:
            newest = reader.last_id("events")
            if newest == self._newest_event:
                return
            low = [
                event
                for event in reader.events(since=self._clock.now() - LOOKED_BACK, kinds=("low",))
                if (event.id or 0) > self._newest_event and event.tank is not None
            ]
            self._newest_event = newest
            for event in low:
                self._note_forecast(reader, event.tank or "")

    def _note_forecast(self, reader: Reader, tank: str) -> None:
        forecast = forecast_of(reader, self._lived.site, tank, self._clock.now())
        if forecast is None:
            return
        household = self._lived.household
        self._lived.forecasts.append(
            ForecastMade(
                tank=tank,
                at=self._clock.now(),
                dry_at=forecast.dry_at,
                cause=forecast.cause.kind if forecast.cause else None,
                true_dry_at=household.empty_if_nobody_helps(tank),
                true_causes=household.causes_now(tank),
            )
        )


def _at_the_simulated_modem(settings: Settings, folder: Path, with_backups: bool) -> Settings:
    """The same household at the simulated modem, with a store and backups of its own: the real ones are never touched."""
    backups = folder / "backups"
    if with_backups:
        backups.mkdir()
    modem = settings.modem.model_copy(update={"device": "simulated", "pin_file": "", "sweep_every": SWEEP_EVERY})
    kept = {"url": f"sqlite:///{folder / 'gateway.db'}", "backup_folder": str(backups) if with_backups else ""}
    store = settings.store.model_copy(update=kept)
    page = settings.page.model_copy(update={"folder": ""})
    metrics, mqtt = settings.metrics.model_copy(update={"file": ""}), settings.mqtt.model_copy(update={"url": ""})
    own = {"modem": modem, "store": store, "page": page, "metrics": metrics, "mqtt": mqtt}
    return settings.model_copy(update=own)
