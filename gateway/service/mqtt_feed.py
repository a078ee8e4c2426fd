"""What is on record → the household's MQTT broker: what stands, retained; what happens, in order and once.

Up to which event the broker has acknowledged is kept in the store (`MqttPublished`); what happened while it was away, or while we were, is
read from the record after it. Without a connection nothing is read or made, and kept is only that there is none, and why (`MqttLinkSeen`).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING

from gateway.facts.states.gateway_itself import MqttLinkSeen, MqttPublished
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import Clock, Reader, Store
from gateway.service.error_boundary import Within
from gateway.service.job_calendar import CalendarJob, NoteRun, Trigger, every
from gateway.service.journal import Journal
from gateway.settings.credentials import read_credential
from gateway.settings.models import Mqtt
from gateway.site import Site
from gateway.status.broker import NO_LIBRARY, news
from gateway.status.record_mark import RecordMark, record_mark

if TYPE_CHECKING:
    from gateway.feeds.mqtt_link import MqttLink
    from gateway.feeds.mqtt_topics import Publication

AT_ONCE = 200
"""Events in one batch: no more than these are ever held in memory for a broker."""
SOON, REST, HOUR = timedelta(milliseconds=100), timedelta(seconds=1), timedelta(hours=1)
OFF = Mqtt()


class MqttFeed:
    """The feed of one daemon. `wake` makes the daemon look again, from any thread."""

    def __init__(self, store: Store, within: Within, journal: Journal, clock: Clock, wake: Callable[[], None]) -> None:
        self._store, self._within, self._journal, self._clock, self._wake = store, within, journal, clock, wake
        self._link: MqttLink | None = None
        self._table = OFF
        self._site: Site | None = None
        self._connection, self._trouble = 0, ""
        self._told: dict[str, bytes] = {}
        self._shown: RecordMark | None = None
        self._looked_at: datetime | None = None
        self._catching_up = False

    def job(self) -> CalendarJob:
        """It in the calendar."""
        return CalendarJob(name="mqtt", trigger=self._trigger, run=self._run, kept=False, with_unset_clock=True)

    def end(self) -> None:
        """Goodbye to the broker; what it has acknowledged until then is on record."""
        if self._link is None or self._site is None:
            return
        from gateway.feeds.mqtt_topics import gateway_publication  # loaded already

        self._link.end(gateway_publication(self._site, "ended", self._clock.now()))
        self._keep_what_is_done(self._link.take_done())
        self._link = None

    def _trigger(self, reader: Reader, site: Site) -> Trigger | None:
        if site.settings.mqtt != self._table:
            return every(SOON)
        link = self._link
        if link is None:
            return None
        if link.has_done or link.connections != self._connection or link.trouble != self._trouble:
            return every(SOON)
        if not link.idle or not self._has_changed(reader):
            return every(HOUR)
        return every(SOON if self._catching_up else REST)

    def _has_changed(self, reader: Reader) -> bool:
        return self._catching_up or record_mark(reader) != self._shown

    def _run(self, site: Site, now: datetime, note_run: NoteRun) -> None:
        self._site = site
        if site.settings.mqtt != self._table:
            self.end()
            self._table = site.settings.mqtt
            self._within(lambda unit: unit.tx.clear_state(MqttLinkSeen))  # of a daemon before, or of another broker
            self._link = self._begin(site) if self._table.url else None
        link = self._link
        if link is None:
            return
        self._keep_what_is_done(link.take_done())
        if link.connections != self._connection:
            self._connection, self._told, self._shown = link.connections, {}, None
            self._journal.tell("mqtt", "the MQTT broker is reached")
            self._keep_link(reached=True, why="", now=now)
        if link.trouble != self._trouble:
            self._trouble = link.trouble
            if self._trouble:
                self._journal.tell("mqtt", f"the MQTT broker is not reached: {self._trouble}")
                self._keep_link(reached=False, why=self._trouble, now=now)
        if link.idle and self._is_due(now) and (batch := self._next_batch(site, now)):
            link.offer(batch)

    def _is_due(self, now: datetime) -> bool:
        """Something changed, or forecasts are an hour old; they change with every second, and each would be another message."""
        with self._store.read() as reader:
            return self._has_changed(reader) or self._looked_at is None or abs(now - self._looked_at) >= HOUR

    def _begin(self, site: Site) -> "MqttLink | None":
        """Threads and library only where there is a broker to speak to."""
        table = site.settings.mqtt
        try:
            from gateway.feeds.mqtt_link import Account, MqttLink, client_id
        except ImportError:
            self._journal.tell("mqtt", f"no MQTT: {NO_LIBRARY}")
            self._keep_link(reached=False, why=NO_LIBRARY, now=self._clock.now())
            return None
        from gateway.feeds.mqtt_topics import gateway_publication

        self._connection, self._trouble, self._told, self._shown = 0, "", {}, None
        account = Account(
            url=table.url,
            user=table.user,
            password=lambda: read_credential(table.password_file) if table.password_file else None,
            ca_file=table.ca_file,
            client_id=client_id(site.settings.site.name, table.topic),
        )
        will = gateway_publication(site, "lost", None)
        birth = partial(self._birth, site)
        return MqttLink(account, will, birth, self._wake, self._clock.monotonic)

    def _birth(self, site: Site) -> "Publication":
        from gateway.feeds.mqtt_topics import gateway_publication  # loaded already

        return gateway_publication(site, "at-work", self._clock.now())

    # what is next --------------------------------------------------------------------------

    def _next_batch(self, site: Site, now: datetime) -> "Sequence[Publication]":
        """The events after the last that was acknowledged; once there are none, what has changed of what stands."""
        with self._store.read() as reader:
            kept, newest = reader.state(MqttPublished), reader.last_id("events")
        if kept is None:  # what was before the household had a broker is not news to it
            kept = MqttPublished(event=newest, topics=(), at=None)
            self._keep(kept)
        events = self._events_after(site, kept)
        self._catching_up = bool(events)
        return events or self._changed_states(site, now)

    def _events_after(self, site: Site, kept: MqttPublished) -> "Sequence[Publication]":
        from gateway.feeds.mqtt_topics import event_publication

        after = kept.event
        while True:
            with self._store.read() as reader:
                events = reader.events_after(after, limit=AT_ONCE)
            fresh = [event_publication(site, event) for event in news(events)]
            if fresh or not events:
                return fresh
            after = events[-1].id or after
            self._keep(replace(kept, event=after))

    def _changed_states(self, site: Site, now: datetime) -> "Sequence[Publication]":
        """What is retained is on record before it is published, so that it can be taken back whatever happens between."""
        from gateway.feeds.mqtt_topics import forgotten, state_publications

        self._looked_at = now
        with self._store.read() as reader:
            kept, self._shown = reader.state(MqttPublished), record_mark(reader)
            states = state_publications(reader, site, now)
        topics = kept.topics if kept is not None else ()
        new = tuple(topic for topic in states if topic not in topics)
        if new and kept is not None:
            self._keep(replace(kept, topics=(*topics, *new)))
        changed = [state for topic, state in states.items() if self._told.get(topic) != state.payload]
        return [*changed, *(forgotten(topic) for topic in topics if topic not in states)]

    # what is kept --------------------------------------------------------------------------

    def _keep_what_is_done(self, done: "Sequence[Publication]") -> None:
        events = [publication.event for publication in done if publication.event is not None]
        gone = {publication.topic for publication in done if publication.retain and not publication.payload}
        for publication in done:
            if publication.retain:
                self._told[publication.topic] = publication.payload
        if not events and not gone:
            return

        def keep(unit: UnitOfWork) -> None:
            kept = unit.tx.state(MqttPublished) or MqttPublished(event=0, topics=(), at=None)
            topics = tuple(topic for topic in kept.topics if topic not in gone)
            at = unit.now if events else kept.at
            unit.tx.set_state(MqttPublished(event=max([kept.event, *events]), topics=topics, at=at))

        self._within(keep)

    def _keep_link(self, *, reached: bool, why: str, now: datetime) -> None:
        """For `doctor`; since when is that of the first reason, however the reasons change."""

        def keep(unit: UnitOfWork) -> None:
            before = unit.tx.state(MqttLinkSeen)
            same = before is not None and before.reached == reached
            unit.tx.set_state(MqttLinkSeen(reached=reached, since=before.since if before and same else now, why=why))

        self._within(keep)

    def _keep(self, published: MqttPublished) -> None:
        self._within(lambda unit: unit.tx.set_state(published))
