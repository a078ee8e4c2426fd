"""What the modem says of itself: as few questions as tell it."""

from gateway.modem import Pin, Times
from gateway.modem.condition import Gauges
from gateway.modem.sim import PatientCommands, SimLock
from gateway.ports import Condition
from tests.modem.test_dialogue import OK, talk

SIGNAL, READY = [(0.01, "+CSQ: 17,99"), OK], [(0.01, "+CPIN: READY"), OK]


def at(state):
    """Registered so."""
    return [(0.01, f"+CREG: 0,{state}"), OK]


def named(operator):
    """With whom."""
    return [(0.01, f'+COPS: 0,0,"{operator}",7'), OK]


def test_the_operator_is_asked_for_when_the_registration_changed():
    """At home it stays the same; abroad it is another; one that the modem did not say is asked for again."""
    dialogue, wire, _ = talk(
        *(SIGNAL, at(1), [OK], READY),
        *(SIGNAL, at(1), named("Quandong Mobile"), READY),
        *(SIGNAL, at(1), READY),
        *(SIGNAL, at(5), named("Mulga Telecom"), READY),
    )
    pin = Pin(pin=None, tried=lambda: False, mark_tried=lambda: None)
    sim = SimLock(dialogue, PatientCommands(dialogue, within_s=5.0, pause=lambda seconds: None), pin)
    gauges = Gauges(dialogue, sim, Times())
    conditions = [gauges.read() for _ in range(4)]
    assert [condition.operator for condition in conditions] == [
        None,
        "Quandong Mobile",
        "Quandong Mobile",
        "Mulga Telecom",
    ]
    assert conditions[0] == Condition(signal_percent=55, registered=True, operator=None, sim="ready")
    assert wire.written.count(b"AT+COPS?\r") == 3
