"""The SIM's credit, asked now and then → kept, and told once when it is low, until it is not.

States of the store beside those of `status.credit`: `credit:failed` how often in a row no answer came; `gateway:credit-low`,
`gateway:credit-unread` while told. An answer that nobody can read goes on word for word, once.
"""

from datetime import timedelta

from gateway.handlers.gateway_health import begin_trouble, end_trouble
from gateway.handlers.record import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.ports import NetworkSaid
from gateway.rules.credit_amount import find_amount
from gateway.settings.models import Balance
from gateway.status.credit import LAST, NEXT

FAILED, UNREAD = "credit:failed", "gateway:credit-unread"
AFTER_A_FAILURE = timedelta(hours=1)
FAILURES_TOLD = 3
"""One answer is lost now and then; three in a row say that the code or the SIM is wrong."""


def code_to_ask(unit: UnitOfWork) -> str:
    """The code to ask with now; on record as asked, so that a restart does not ask again."""
    balance = unit.site.settings.balance
    unit.tx.set_mark(NEXT, (unit.now + balance.every).isoformat())
    return balance.ussd


def credit_answered(unit: UnitOfWork, news: NetworkSaid) -> None:
    """The network's answer, or that none came."""
    balance = unit.site.settings.balance
    if news.code != balance.ussd:
        return
    if news.said is None:
        _keep(unit, None, None, news.why)
        _failed(unit, news)
        return
    unit.tx.set_mark(FAILED, None)
    amount = find_amount(balance.pattern, news.said)
    _keep(unit, news.said, amount, "" if amount is not None else "the pattern does not fit it")
    if amount is None:
        _unread(unit, news.said)
        return
    unit.tx.set_mark(UNREAD, None)
    _judge(unit, balance, amount, news.said)


def _judge(unit: UnitOfWork, balance: Balance, amount: float, said: str) -> None:
    shown = {"amount": f"{amount:.2f} {unit.site.settings.limits.currency}", "said": said}
    if balance.low is not None and amount < balance.low:
        begin_trouble(unit, "credit-low", shown)
    else:
        end_trouble(unit, "credit-low", "credit-back", shown)


def _failed(unit: UnitOfWork, news: NetworkSaid) -> None:
    times = int(unit.tx.mark(FAILED) or 0) + 1
    unit.tx.set_mark(FAILED, times)
    again = unit.now + min(AFTER_A_FAILURE, unit.site.settings.balance.every)
    unit.tx.set_mark(NEXT, again.isoformat())
    if times >= FAILURES_TOLD:
        unit.tx.set_mark(NEXT, (unit.now + unit.site.settings.balance.every).isoformat())
        _unread(unit, news.why)


def _unread(unit: UnitOfWork, answer: str) -> None:
    """On record, and passed on whole to whoever looks after the gateway: once, until an answer can be read again."""
    if unit.tx.mark(UNREAD) is not None:
        return
    unit.tx.set_mark(UNREAD, unit.now.isoformat())
    record_event(unit, unit.event("credit-unread", {"code": unit.site.settings.balance.ussd}, text=answer))


def _keep(unit: UnitOfWork, said: str | None, amount: float | None, why: str) -> None:
    kept = {"at": unit.now.isoformat(), "said": said, "amount": amount, "why": why}
    unit.tx.set_mark(LAST, kept)
