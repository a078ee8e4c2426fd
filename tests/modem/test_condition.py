"""What the modem says of itself: as few questions as tell it."""

import pytest

from gateway.gsm.signal_strength import WEAK_PERCENT, WELL_PERCENT
from gateway.modem import Pin, Times
from gateway.modem.condition import SIGNAL_STEP_PERCENT, Gauges, differs, is_registered, signal_percent
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


@pytest.mark.parametrize(
    ("figures", "percent"), [([0, 99], 0), ([17, 99], 55), ([31, 0], 100), ([32], None), ([99, 99], None), ([], None)]
)
def test_signal_in_percent(figures, percent):
    """27.007 8.5: 0 to 31; 99 is unknown."""
    assert signal_percent(figures) == percent


@pytest.mark.parametrize(
    ("stats", "registered"),
    [
        *(([stat], True) for stat in (1, 5, 6, 7, 9, 10)),
        *(([stat], False) for stat in (0, 2, 3, 4, 8)),
        ([0, 0, 6], True),
        ([0, 2], False),
        ([], None),
    ],
)
def test_registration(stats, registered):
    """27.007 7.2: home, roaming, for texts only, with calls over another network; of any kind of network."""
    assert is_registered(stats) is registered


def condition(percent=60.0, registered=True, operator="Quandong Mobile", sim="ready"):
    return Condition(signal_percent=percent, registered=registered, operator=operator, sim=sim)


@pytest.mark.parametrize(
    ("old", "new", "matters"),
    [
        (condition(), condition(), False),
        (condition(60), condition(70), False),
        (condition(WEAK_PERCENT), condition(WEAK_PERCENT - 1), True),
        (condition(WEAK_PERCENT - 1), condition(WEAK_PERCENT), True),
        (condition(WELL_PERCENT - 1), condition(WELL_PERCENT), True),
        (condition(60), condition(60 + SIGNAL_STEP_PERCENT), True),
        (condition(60 + SIGNAL_STEP_PERCENT), condition(60), True),
        (condition(60), condition(59 + SIGNAL_STEP_PERCENT), False),
        (condition(60), condition(None), True),
        (condition(None), condition(60), True),
        (condition(None), condition(None), False),
        (condition(), condition(registered=False), True),
        (condition(), condition(operator=None), True),
        (condition(), condition(sim="SIM PIN"), True),
    ],
)
def test_what_is_worth_telling(old, new, matters):
    """Another band of the signal, a quarter of its scale at once, or anything else that changed."""
    assert differs(old, new) is matters
