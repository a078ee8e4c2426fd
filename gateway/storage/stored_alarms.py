"""Alarms from raised to over, and who was told of each by which message."""

from collections.abc import Collection, Sequence
from dataclasses import fields, replace
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, exists, select, update

from gateway.facts.alarms import Alarm, Telling
from gateway.storage.tables import alarm_tellings, alarms, here, texts, this_row
from gateway.storage.transactions import TableReader, TableWriter

_COLUMNS = tuple(field.name for field in fields(Alarm))
_ALARMS = select(*(alarms.c[name] for name in _COLUMNS)).where(here(alarms)).order_by(alarms.c.id)
_STANDING = _ALARMS.where(alarms.c.over_at.is_(None))
_ENDED_SINCE = _ALARMS.where(alarms.c.over_at >= bindparam("since"))
_CHANGE = update(alarms).where(*this_row(alarms))

_TELLINGS = (
    select(
        *(alarm_tellings.c[name] for name in ("id", "alarm", "contact", "at", "why", "answered_at")),
        alarm_tellings.c.text.label("message"),
        texts.c.state,
        texts.c.tries,
        texts.c.handed_at,
        texts.c.delivered_at,
    )
    .select_from(alarm_tellings.outerjoin(texts, texts.c.id == alarm_tellings.c.text))
    .where(here(alarm_tellings))
    .order_by(alarm_tellings.c.id)
)
_TELLINGS_OF = _TELLINGS.where(alarm_tellings.c.alarm == bindparam("alarm"))
_TELLINGS_SINCE = _TELLINGS_OF.where(alarm_tellings.c.at >= bindparam("since"))
"""An alarm that stands for months has hundreds, and is looked at after every text: what is past is left where it is."""
_EVER_REACHED = select(
    exists().where(
        here(alarm_tellings),
        alarm_tellings.c.alarm == bindparam("alarm"),
        alarm_tellings.c.contact == bindparam("contact"),
        texts.c.id == alarm_tellings.c.text,
        texts.c.state == "delivered",
    )
)
_TELLINGS_FROM = _TELLINGS.where(alarm_tellings.c.alarm >= bindparam("from_alarm"))
_TELLINGS_BY = _TELLINGS.where(alarm_tellings.c.text == bindparam("message"))
_WAITING = (
    select(alarm_tellings.c.text)
    .distinct()
    .select_from(alarm_tellings.join(texts, texts.c.id == alarm_tellings.c.text))
    .where(
        here(texts),
        texts.c.way == "out",
        texts.c.state.in_(("waiting", "held")),
        texts.c.tries == 0,
        alarm_tellings.c.why.in_(bindparam("whys", expanding=True)),
        ~exists().where(alarms.c.id == alarm_tellings.c.alarm, alarms.c.kind == "ran-dry"),
    )
)
_CHANGE_TELLING = update(alarm_tellings).where(*this_row(alarm_tellings))


class AlarmReader(TableReader):
    def alarms(self, *, ended_since: datetime | None = None) -> tuple[Alarm, ...]:
        standing = tuple(map(_alarm_of, self._all(_STANDING)))
        if ended_since is None:
            return standing
        return (*standing, *map(_alarm_of, self._all(_ENDED_SINCE, since=ended_since)))

    def tellings(
        self,
        *,
        alarm: int | None = None,
        since: datetime | None = None,
        message: int | None = None,
        from_alarm: int = 0,
    ) -> tuple[Telling, ...]:
        if message is not None:
            return _tellings_of(self._all(_TELLINGS_BY, message=message))
        if alarm is not None and since is not None:
            return _tellings_of(self._all(_TELLINGS_SINCE, alarm=alarm, since=since))
        if alarm is not None:
            return _tellings_of(self._all(_TELLINGS_OF, alarm=alarm))
        return _tellings_of(self._all(_TELLINGS_FROM, from_alarm=from_alarm))

    def ever_reached(self, alarm: int, contact: str) -> bool:
        return bool(self._value(_EVER_REACHED, alarm=alarm, contact=contact))

    def waiting_alarm_messages(self, whys: Collection[str]) -> frozenset[int]:
        return frozenset(row[0] for row in self._all(_WAITING, whys=tuple(whys)))


class AlarmWriter(AlarmReader, TableWriter):
    def put_alarm(self, alarm: Alarm) -> Alarm:
        values = {name: getattr(alarm, name) for name in _COLUMNS if name != "id"}
        if alarm.id is None:
            return replace(alarm, id=self._insert(alarms, **values))
        self._change(_CHANGE, its_id=alarm.id, **values)
        return alarm

    def put_telling(self, telling: Telling) -> Telling:
        values = {
            "alarm": telling.alarm,
            "contact": telling.contact,
            "text": telling.message,
            "at": telling.at,
            "why": telling.why,
            "answered_at": telling.answered_at,
        }
        if telling.id is None:
            return replace(telling, id=self._insert(alarm_tellings, **values))
        self._change(_CHANGE_TELLING, its_id=telling.id, **values)
        return telling


def _alarm_of(row: Any) -> Alarm:
    return Alarm(**row._mapping)


def _tellings_of(rows: Sequence[Any]) -> tuple[Telling, ...]:
    """One without a message was told by a text that is not known any more."""
    return tuple(Telling(**{**row._mapping, "tries": row.tries or 0}) for row in rows)
