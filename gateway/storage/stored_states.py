"""Durable state: what the gateway remembers between texts, as values under keys."""

from typing import Any

from sqlalchemy import bindparam, delete, func, insert, select, update

from gateway.storage.tables import here, marks
from gateway.storage.transactions import TableReader, TableWriter

REFERENCES = 256
_ONE = (here(marks), marks.c.key == bindparam("its_key"))
_MARK = select(marks.c.value).where(*_ONE)
_MARKS = select(marks.c.key, marks.c.value).where(
    here(marks), func.substr(marks.c.key, 1, bindparam("length")) == bindparam("prefix")
)
_OTHERS = (
    select(marks.c.site, marks.c.value)
    .where(marks.c.key == bindparam("its_key"), marks.c.site != bindparam("here"))
    .order_by(marks.c.site)
)
_ADD = insert(marks)
_CHANGE = update(marks).where(*_ONE)
_DROP = delete(marks).where(*_ONE)


class StateReader(TableReader):
    def mark(self, key: str) -> Any:
        return self._value(_MARK, its_key=key)

    def marks(self, prefix: str) -> dict[str, Any]:
        return {row[0]: row[1] for row in self._all(_MARKS, length=len(prefix), prefix=prefix)}

    def others(self, key: str) -> dict[str, Any]:
        return {row[0]: row[1] for row in self._all(_OTHERS, its_key=key)}


class StateWriter(StateReader, TableWriter):
    def set_mark(self, key: str, value: Any) -> None:
        """What stands there already is not written again."""
        if value is None:
            self._change(_DROP, its_key=key)
            return
        before = self.mark(key)
        if before is None:
            self._change(_ADD, site=self._site, key=key, value=value)
        elif before != value:
            self._change(_CHANGE, its_key=key, value=value)

    def next_reference(self) -> int:
        last = self.mark("concatenation-reference")
        reference: int = 0 if last is None else (int(last) + 1) % REFERENCES
        self.set_mark("concatenation-reference", reference)
        return reference
