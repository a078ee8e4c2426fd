"""An event → the alarm that it opens or ends; two alarms → whether they are one matter, and which of them speaks for both.

Consequences go with their cause: what one box tells of its power, its battery and its silence is one matter, and so are low tanks of which
one is fed by the other, and dry taps with the tanks that were low before: whoever sees to those needs no second call that says when the taps
may run dry. (A tank that is low after them is a matter of its own: nobody may ever say that the dry taps are over.) The more urgent one
speaks, of two urgent ones that on which water hangs; of two low tanks the one that is nearer to the taps, and the dry taps before both.
"""

from collections.abc import Collection, Mapping

from gateway.facts import KINDS, Event
from gateway.facts.alarms import GATEWAY, Alarm
from gateway.facts.event_kind import Priority

RANK: Mapping[Priority, int] = {"urgent": 0, "soon": 1, "record": 2}
OF_A_BOX = frozenset({"power", "battery", "silence"})
OF_ONE_OF_MANY = frozenset({"input", "reading"})
WEIGHT = {name: place for place, name in enumerate(KINDS)}
"""The order of `KINDS` is the order of weight."""

Upstream = Mapping[str, Collection[str]]
"""Tank → every tank that its water comes through."""


def key_opened_by(event: Event) -> str | None:
    """The key of the alarm that it opens, or is the newest of; None where its kind opens none."""
    family = KINDS[event.kind].opens
    return None if family is None else _key(family, event)


def key_ended_by(event: Event) -> str | None:
    """The key of the alarm that it says is over; None where its kind ends none."""
    family = KINDS[event.kind].closes
    return None if family is None else _key(family, event)


def is_one_matter(alarm: Alarm, other: Alarm, upstream: Upstream) -> bool:
    """Whether one of them follows from the other."""
    families = {_family(alarm), _family(other)}
    if families <= OF_A_BOX:
        return alarm.controller == other.controller
    if alarm.tank is None or other.tank is None:
        return False
    if families == {"low", "dry"}:
        low, dry = (alarm, other) if _family(alarm) == "low" else (other, alarm)
        return low.since <= dry.since and low.tank in (dry.tank, *upstream.get(dry.tank or "", ()))
    if families != {"low"}:
        return False
    return other.tank in upstream.get(alarm.tank, ()) or alarm.tank in upstream.get(other.tank, ())


def speaks_for(alarm: Alarm, other: Alarm, upstream: Upstream) -> bool:
    """Whether the alarm is the one to tell of both, rather than the other."""
    if alarm.priority != other.priority:
        return RANK[alarm.priority] < RANK[other.priority]
    if {_family(alarm), _family(other)} == {"low", "dry"}:
        return _family(alarm) == "dry"
    if alarm.at_stake != other.at_stake:
        return alarm.at_stake  # a box that hides a low tank, after its power: that wakes people
    return alarm.tank is not None and other.tank in upstream.get(alarm.tank, ())


def is_graver(kind: str, than: str) -> bool:
    """Whether the one kind weighs more than the other: dry more than low."""
    return WEIGHT[kind] < WEIGHT[than]


def most_urgent_first(alarm: Alarm) -> tuple[int, bool, int, object, int]:
    """Sorts alarms by what a household must know first."""
    return RANK[alarm.priority], not alarm.at_stake, WEIGHT.get(alarm.kind, len(WEIGHT)), alarm.since, alarm.id or 0


def which_of_many(alarm: Alarm) -> str | None:
    """Of an input or a reading: its name, in small letters; None for an alarm that a box has one of."""
    family, _, *which = alarm.key.split(":", 2)
    return which[0] if which and family in OF_ONE_OF_MANY else None


def _family(alarm: Alarm) -> str:
    return alarm.key.partition(":")[0]


def _key(family: str, event: Event) -> str:
    """`low:house`; where one box has several, also which (`input:ridge:9`, `reading:ridge:cellar`)."""
    about = f"{family}:{event.tank or event.controller or GATEWAY}"
    if family not in OF_ONE_OF_MANY:
        return about
    return f"{about}:{event.detail.get('name', event.input)}".casefold()
