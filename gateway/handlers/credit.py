"""The SIM's credit, asked now and then → kept, and told once when it is low, until it is not.

An answer that nobody can read goes on word for word, once.
"""

from datetime import timedelta

from gateway.facts.states.gateway_itself import CreditAnswer, CreditFailures, Trouble
from gateway.handlers.event_followers import record_event
from gateway.handlers.gateway_health import begin_trouble, end_trouble
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import NetworkSaid
from gateway.rules.credit_amount import find_amount
from gateway.settings.models import Balance
from gateway.status.credit import credit_failures
from gateway.status.gateway_troubles import trouble_since

AFTER_A_FAILURE = timedelta(hours=1)
FAILURES_TOLD = 3
"""One answer is lost now and then; three in a row say that the code or the SIM is wrong."""


def credit_answered(unit: UnitOfWork, news: NetworkSaid) -> None:
    """The network's answer, or that none came."""
    balance = unit.site.settings.balance
    if news.code != balance.ussd:
        return
    if news.said is None:
        _keep(unit, None, None, news.why)
        _failed(unit, news)
        return
    unit.tx.clear_state(CreditFailures)
    amount = find_amount(balance.pattern, news.said)
    _keep(unit, news.said, amount, "" if amount is not None else "the pattern does not fit it")
    if amount is None:
        _unread(unit, news.said)
        return
    unit.tx.clear_state(Trouble, "credit-unread")
    _judge(unit, balance, amount, news.said)


def _judge(unit: UnitOfWork, balance: Balance, amount: float, said: str) -> None:
    shown = {"amount": f"{amount:.2f} {unit.site.settings.limits.currency}", "said": said}
    if balance.low is not None and amount < balance.low:
        begin_trouble(unit, "credit-low", shown)
    else:
        end_trouble(unit, "credit-low", "credit-back", shown)


def _failed(unit: UnitOfWork, news: NetworkSaid) -> None:
    times = credit_failures(unit.tx) + 1
    unit.tx.set_state(CreditFailures(times=times))
    if times >= FAILURES_TOLD:
        _unread(unit, news.why)


def _unread(unit: UnitOfWork, answer: str) -> None:
    """On record, and passed on whole to whoever looks after the gateway: once, until an answer can be read again."""
    if trouble_since(unit.tx, "credit-unread") is not None:
        return
    unit.tx.set_state(Trouble(since=unit.now), "credit-unread")
    record_event(unit, unit.event("credit-unread", {"code": unit.site.settings.balance.ussd}, text=answer))


def _keep(unit: UnitOfWork, said: str | None, amount: float | None, why: str) -> None:
    unit.tx.set_state(CreditAnswer(at=unit.now, said=said, amount=amount, why=why))
