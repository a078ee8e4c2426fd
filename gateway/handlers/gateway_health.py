"""Troubles of the gateway itself → one event when one begins and one when it is over: a weak signal, a full disk, a stuck outbox.

    well → (`modem-lost`, `signal-weak`, `disk-low` …) → well again (`modem-back`, `signal-good`, `disk-back` …)

A trouble's state says since when it lasts, so that a restart tells nothing twice. Nothing is written while nothing happens.
"""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from gateway.facts import KINDS, EventKind
from gateway.facts.states.gateway_itself import Trouble, WeakSignal
from gateway.gsm.signal_strength import WEAK_PERCENT, WELL_PERCENT
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.gateway_troubles import (
    WEAK_FOR,
    disk_wrong,
    least_free_bytes,
    signal_percent,
    trouble_since,
    weak_since,
)
from gateway.status.undelivered import nothing_delivered
from gateway.status.waiting import stuck

FREE_AGAIN = 1.25
"""How much more than the least a disk must have free again, so that its trouble does not flutter."""
SHORT_TROUBLE = timedelta(minutes=5)
"""Where no message could leave meanwhile, the end of one that was shorter than this is on record and told to nobody."""


def begin_trouble(unit: UnitOfWork, kind: EventKind, detail: Mapping[str, Any]) -> None:
    """A trouble begins: once, until it is over."""
    if trouble_since(unit.tx, kind) is not None:
        return
    unit.tx.set_state(Trouble(since=unit.now), kind)
    record_event(unit, unit.event(kind, detail))


def end_trouble(unit: UnitOfWork, began: EventKind, over: EventKind, detail: Mapping[str, Any]) -> None:
    """A trouble is over: once, told with how long it lasted if it was long enough to be worth it."""
    since = trouble_since(unit.tx, began)
    if since is None:
        return
    unit.tx.clear_state(Trouble, began)
    lasted = unit.now - since
    tell = lasted >= SHORT_TROUBLE or not KINDS[began].bars_messages
    record_event(unit, unit.event(over, {**detail, "lasted_s": lasted.total_seconds()}), tell=tell)


def watch_signal(unit: UnitOfWork) -> None:
    """The signal has been weak for ten minutes, or is well again."""
    percent, since = signal_percent(unit.tx), weak_since(unit.tx)
    if percent is None:
        return
    if percent >= WELL_PERCENT and since is not None:
        unit.tx.clear_state(WeakSignal)
        end_trouble(unit, "signal-weak", "signal-good", {"percent": percent})
    elif percent < WEAK_PERCENT and (since is None or since > unit.now):
        unit.tx.set_state(WeakSignal(since=unit.now))
    elif percent < WEAK_PERCENT and since is not None and unit.now - since >= WEAK_FOR:
        begin_trouble(unit, "signal-weak", {"percent": percent})


def watch_outbox(unit: UnitOfWork) -> None:
    """Messages wait for longer than they should, or none does any more."""
    late = stuck(unit.tx, unit.now)
    if late:
        since = min(message.at for message in late)
        begin_trouble(unit, "outbox-waits", {"count": str(len(late)), "since": since.isoformat()})
    else:
        end_trouble(unit, "outbox-waits", "outbox-moves", {})


def watch_delivery(unit: UnitOfWork) -> None:
    """The network takes every message and none is reported delivered, or one is again."""
    since = nothing_delivered(unit.tx, unit.site, unit.now)
    if since:
        begin_trouble(unit, "nothing-delivered", {"count": str(len(since)), "since": since[0].isoformat()})
    else:
        end_trouble(unit, "nothing-delivered", "delivered-again", {})


def watch_disk(unit: UnitOfWork, free_bytes: int, total_bytes: int) -> None:
    """The store's disk has too little room, or enough again."""
    free = {"free": f"{free_bytes / 1e6:.0f} MB"}
    if disk_wrong(free_bytes, total_bytes):
        begin_trouble(unit, "disk-low", free)
    elif free_bytes >= FREE_AGAIN * least_free_bytes(total_bytes):
        end_trouble(unit, "disk-low", "disk-back", free)
