"""Texts that came in, and what both ways have in common: listed as they were, and forgotten with the person they are of."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from functools import cache
from typing import Any

from sqlalchemy import Executable, Integer, bindparam, delete, func, or_, select, update

from gateway.facts import InState, Text
from gateway.ports import HEARD_AT_MOST, StoredText
from gateway.storage.remembered import LONG_AGO, Newest, remembered
from gateway.storage.tables import arrivals, events, here, segments, texts, this_row
from gateway.storage.transactions import TableReader, TableWriter

FORGOTTEN = "(forgotten)"
_LIMIT = bindparam("most", type_=Integer)
_COLUMNS = (
    "id",
    "way",
    "number",
    "contact",
    "text",
    "state",
    "segments",
    "tries",
    "event",
    "controller",
    "site",
    "urgent",
)
_CAME_OR_LEFT = func.coalesce(texts.c.handed_at, texts.c.at)
"""When it came, or was handed to the modem: what the night held was no message of the night. Until it leaves, when it was written."""
_SINCE = or_(texts.c.at >= bindparam("since"), texts.c.handed_at >= bindparam("since"))
_BOUNDS = {"here": here(texts), "since": _SINCE}
_HEARD = (
    select(texts.c.at, texts.c.known_at)
    .where(here(texts), texts.c.controller == bindparam("controller"), texts.c.way == "in", texts.c.state != "repeat")
    .order_by(texts.c.at.desc())
    .limit(_LIMIT)
)
_HEARD_AS_KNOWN = _HEARD.where(texts.c.known_at <= bindparam("known_by"), texts.c.at <= bindparam("known_by"))
_IMPORTED = select(texts.c.id).where(here(texts), texts.c.import_key == bindparam("import_key"))
_TEXT = update(texts).where(*this_row(texts))
_TEXTS_OF = (
    update(texts).where(here(texts), texts.c.number == bindparam("its_number")).values(text=FORGOTTEN, number=FORGOTTEN)
)
_EVENTS_OF = (
    update(events)
    .where(here(events), events.c.sender == bindparam("its_number"))
    .values(text=FORGOTTEN, sender=FORGOTTEN)
)
_ARRIVALS_OF = (
    update(arrivals)
    .where(here(arrivals), arrivals.c.number == bindparam("its_number"))
    .values(pdu="", number=FORGOTTEN)
)
_SEGMENTS_OF = delete(segments).where(here(segments), segments.c.number == bindparam("its_number"))


class TextReader(TableReader):
    def texts(
        self, *, since: datetime | None = None, limit: int | None = None, all_sites: bool = False
    ) -> tuple[StoredText, ...]:
        bounds = {"here": None if all_sites else self._site, "since": since}
        given = {name: value for name, value in bounds.items() if value is not None}
        rows = self._all(_texts_within(tuple(given), limit is not None), **given, most=limit)
        return tuple(sorted(map(_text_of, rows), key=lambda text: (text.at, text.id)))

    def each_text(self, *, since: datetime | None = None) -> Iterator[StoredText]:
        given = {} if since is None else {"since": since}
        asked = _texts_within(("here", *given), False, oldest_first=True)
        return map(_text_of, self._each(asked, **given))

    def last_heard(self, controller: str, *, known_by: datetime | None = None) -> datetime | None:
        times = self.heard_times(controller, limit=1, known_by=known_by)
        return times[-1] if times else None

    def heard_times(self, controller: str, *, limit: int, known_by: datetime | None = None) -> tuple[datetime, ...]:
        assert limit <= HEARD_AT_MOST
        sites = remembered(self._connection, "heard-times")
        if (self._site, controller) not in sites:
            sites[self._site, controller] = _heard_of(self._all(_HEARD, controller=controller, most=HEARD_AT_MOST))
        heard = sites[self._site, controller]
        if known_by is not None and heard.known_by > known_by:
            asked = {"controller": controller, "most": limit, "known_by": known_by}
            heard = _heard_of(self._all(_HEARD_AS_KNOWN, **asked))
        return tuple(heard.kept[-limit:])


class TextWriter(TextReader, TableWriter):
    def keep_text(
        self,
        text: Text,
        state: InState,
        *,
        controller: str | None = None,
        contact: str | None = None,
        event: int | None = None,
        import_key: str | None = None,
        known_at: datetime | None = None,
    ) -> int | None:
        if import_key is not None and self._value(_IMPORTED, import_key=import_key) is not None:
            return None
        heard = remembered(self._connection, "heard-times").get((self._site, controller))
        if heard is not None and state != "repeat":
            heard.add(text.at, max(text.at, known_at or text.heard_at), lambda at: at)
        return self._insert(
            texts,
            way="in",
            number=text.number,
            contact=contact,
            controller=controller,
            text=text.text,
            at=text.at,
            known_at=known_at or text.heard_at,
            state=state,
            segments=text.segments,
            tries=0,
            event=event,
            import_key=import_key,
            urgent=False,
            subject="tanks",
            possible_repeat=False,
        )

    def tie_text(self, id: int, event: int) -> None:
        self._change(_TEXT, its_id=id, event=event)

    def read_text_anew(self, id: int, state: InState, controller: str, event: int | None) -> None:
        self._change(_TEXT, its_id=id, state=state, controller=controller, event=event)
        remembered(self._connection, "heard-times").clear()

    def forget(self, number: str) -> int:
        changed = self._change(_TEXTS_OF, its_number=number)
        for statement in (_EVENTS_OF, _ARRIVALS_OF, _SEGMENTS_OF):
            self._change(statement, its_number=number)
        self._leave_no_trace()
        return changed


@cache
def _texts_within(bounds: tuple[str, ...], limited: bool, *, oldest_first: bool = False) -> Executable:
    """Newest first, if not told otherwise; built once for each set of bounds that is asked for."""
    asked = select(_CAME_OR_LEFT.label("at"), *(texts.c[name] for name in _COLUMNS)).where(
        *(_BOUNDS[name] for name in bounds)
    )
    if oldest_first:
        return asked.order_by(_CAME_OR_LEFT, texts.c.id)
    asked = asked.order_by(texts.c.at.desc(), texts.c.id.desc())
    return asked.limit(_LIMIT) if limited else asked


def _heard_of(rows: Sequence[Any]) -> Newest[datetime]:
    """Rows of (at, known_at), newest first: none counts as known before its own time."""
    times = [row[0] for row in reversed(rows)]
    return Newest(times, max((max(row) for row in rows), default=LONG_AGO), HEARD_AT_MOST)


def _text_of(row: Any) -> StoredText:
    return StoredText(**row._mapping)
