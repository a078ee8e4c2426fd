"""Durable state: the values that `gateway.facts.states` declares ↔ their rows."""

import json
from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError
from sqlalchemy import bindparam, delete, insert, select, update

from gateway.errors import StoreDamaged, StoreNewer
from gateway.facts.states.declared import STATES, State
from gateway.facts.states.gateway_itself import LastReference
from gateway.storage.remembered import remembered
from gateway.storage.tables import here, states
from gateway.storage.transactions import TableReader, TableWriter

S = TypeVar("S", bound=State)
REFERENCES = 256
_ADAPTERS: dict[type[State], TypeAdapter[Any]] = {}
_KIND = states.c.kind == bindparam("its_kind")
_THIS = (here(states), _KIND, states.c.subject == bindparam("its_subject"))
_ALL = (
    select(states.c.kind, states.c.subject, states.c.version, states.c.value)
    .where(here(states))
    .order_by(states.c.kind, states.c.subject)
)
_OTHERS = (
    select(states.c.site, states.c.version, states.c.value)
    .where(states.c.site != bindparam("here"), _KIND, states.c.subject == "")
    .order_by(states.c.site)
)
_ADD = insert(states)
_CHANGE = update(states).where(*_THIS)
_CLEAR = delete(states).where(*_THIS)


class StateReader(TableReader):
    """All are read at once and remembered: whatever is due depends on some thirty of them, and each question costs a tenth of what all of
    them do."""

    def state(self, kind: type[S], subject: str = "") -> S | None:
        row = self._rows_of(STATES[kind].name).get(subject)
        return None if row is None else read_state(kind, subject, *row)

    def states(self, kind: type[S]) -> dict[str, S]:
        return {subject: read_state(kind, subject, *row) for subject, row in self._rows_of(STATES[kind].name).items()}

    def _rows_of(self, kind: str) -> dict[str, tuple[int, str]]:
        """Subject → (version, value)."""
        sites = remembered(self._connection, "states")
        if self._site not in sites:
            rows: dict[str, dict[str, tuple[int, str]]] = {}
            for of, about, version, value in self._all(_ALL):
                rows.setdefault(of, {})[about] = (version, value)
            sites[self._site] = rows
        of_kind: dict[str, tuple[int, str]] = sites[self._site].setdefault(kind, {})
        return of_kind

    def state_of_others(self, kind: type[S]) -> Mapping[str, S | None]:
        rows = self._all(_OTHERS, its_kind=STATES[kind].name)
        return {site: _read_if_known(kind, version, value) for site, version, value in rows}


class StateWriter(StateReader, TableWriter):
    def set_state(self, state: State, subject: str = "") -> None:
        """What stands there already is not written again."""
        declared = STATES[type(state)]
        version, value = declared.version, written(state)
        rows = self._rows_of(declared.name)
        row = rows.get(subject)
        if row is None:
            about = {"site": self._site, "kind": declared.name, "subject": subject}
            self._change(_ADD, **about, version=version, value=value)
        elif row != (version, value):
            self._change(_CHANGE, its_kind=declared.name, its_subject=subject, version=version, value=value)
        rows[subject] = (version, value)

    def clear_state(self, kind: type[State], subject: str = "") -> None:
        """One that does not stand is not asked to go."""
        if self._rows_of(STATES[kind].name).pop(subject, None) is not None:
            self._change(_CLEAR, its_kind=STATES[kind].name, its_subject=subject)

    def next_reference(self) -> int:
        last = self.state(LastReference)
        number = 0 if last is None else (last.number + 1) % REFERENCES
        self.set_state(LastReference(number=number))
        return number


def read_state(kind: type[S], subject: str, version: int, value: str) -> S:
    """The value, made one of today if an older program wrote it. Raises StoreNewer or StoreDamaged, naming kind and subject."""
    declared = STATES[kind]
    which = f"the state {declared.name!r} of {subject or 'the gateway'!r}"
    if version > declared.version:
        raise StoreNewer(
            f"{which} was written by a newer tank-gateway (version {version}, this program knows {declared.version}); "
            "it is left as it is: install the newer program",
            raw=value,
        )
    try:
        if version < declared.version:
            if declared.upgrade is None:
                raise ValueError(f"nothing makes version {version} one of version {declared.version}")
            value = json.dumps(declared.upgrade(version, json.loads(value)))
        read: S = _adapter(kind).validate_json(value, strict=True)
        return read
    except ValidationError as wrong:
        first = wrong.errors(include_url=False)[0]
        place = ".".join(str(part) for part in first["loc"])
        raise StoreDamaged(f"{which} cannot be read: {first['msg']} ({place or 'as a whole'})", raw=value) from wrong
    except (ValueError, KeyError, TypeError) as wrong:
        raise StoreDamaged(f"{which} cannot be read: {wrong}", raw=value) from wrong


def written(state: State) -> str:
    """The value as JSON."""
    return _adapter(type(state)).dump_json(state).decode()


def _read_if_known(kind: type[S], version: int, value: str) -> S | None:
    """The value of another site; None where its gateway is of a version that this one cannot follow."""
    try:
        return read_state(kind, "", version, value)
    except (StoreNewer, StoreDamaged):
        return None


def _adapter(kind: type[State]) -> TypeAdapter[Any]:
    """Made when a kind is first used, and kept: it takes a millisecond."""
    if kind not in _ADAPTERS:
        _ADAPTERS[kind] = TypeAdapter(kind)
    return _ADAPTERS[kind]
