"""The SIM's credit as the network said it last."""

from gateway.facts.states.gateway_itself import CreditAnswer, CreditFailures
from gateway.ports import Reader


def last_credit(reader: Reader) -> CreditAnswer | None:
    """What came of the newest question; None where none was asked yet."""
    return reader.state(CreditAnswer)


def credit_failures(reader: Reader) -> int:
    """How often in a row no answer came."""
    failures = reader.state(CreditFailures)
    return 0 if failures is None else failures.times
