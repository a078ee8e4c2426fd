"""How a kind of durable state is declared: one frozen dataclass with a name and a version, and how an older value is read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeVar, dataclass_transform

Upgrade = Callable[[int, Mapping[str, Any]], Mapping[str, Any]]
"""(the older version, its fields as JSON) → the fields of today's version as JSON."""


class State:
    """What every kind of state is."""

    __slots__ = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """How a kind stands in the store."""

    name: str
    version: int
    upgrade: Upgrade | None


STATES: dict[type[State], Declared] = {}
S = TypeVar("S", bound=State)


@dataclass_transform(frozen_default=True, kw_only_default=True)
def state(name: str, *, version: int = 1, upgrade: Upgrade | None = None) -> Callable[[type[S]], type[S]]:
    """Declares a kind of state. A field that it does not know makes a value unreadable, as a missing one does."""

    def declare(kind: type[S]) -> type[S]:
        made = dataclass(frozen=True, slots=True, kw_only=True)(kind)
        setattr(made, "__pydantic_config__", {"extra": "forbid"})  # noqa: B010  # no attribute of the class for mypy
        STATES[made] = Declared(name=name, version=version, upgrade=upgrade)
        return made

    return declare
