"""The SIM's credit, asked now and then → kept, and told once when it is low, until it is not.

Marks: `credit:next` when to ask again; `credit:last` what came (`at`, `said`, `amount`, `why`); `credit:failed` how often in a row no
answer came; `gateway:credit-low`, `gateway:credit-unread` while told. An answer that nobody can read goes on word for word, once.
"""

from datetime import datetime, timedelta

from gateway.facts import Event
from gateway.facts.harmless import harmless
from gateway.facts.moments import time_of
from gateway.flow.gateway_life import begin, end
from gateway.flow.happen import happen
from gateway.flow.house import House, Moment
from gateway.flow.tell import about, pass_on
from gateway.flow.words import Told
from gateway.ports import NetworkSaid, Reader
from gateway.rules.amount import amount_in
from gateway.settings.models import Balance

NEXT, LAST, FAILED, UNREAD = "credit:next", "credit:last", "credit:failed", "gateway:credit-unread"
AFTER_A_FAILURE = timedelta(hours=1)
FAILURES_TOLD = 3
"""One answer is lost now and then; three in a row say that the code or the SIM is wrong."""


def next_due(reader: Reader, house: House, now: datetime) -> datetime | None:
    """When to ask; None: nobody wants it asked. A time further off than the interval comes from another clock or file."""
    balance = house.settings.balance
    if not balance.ussd:
        return None
    at = time_of(reader.mark(NEXT)) or now
    return now if at - now > balance.every else at


def asked(moment: Moment) -> str:
    """The code to ask with now; on record as asked, so that a restart does not ask again."""
    balance = moment.house.settings.balance
    moment.tx.set_mark(NEXT, (moment.now + balance.every).isoformat())
    return balance.ussd


def answered(moment: Moment, news: NetworkSaid) -> None:
    """The network's answer, or that none came."""
    balance = moment.house.settings.balance
    if news.code != balance.ussd:
        return
    if news.said is None:
        _keep(moment, None, None, news.why)
        _failed(moment, news)
        return
    moment.tx.set_mark(FAILED, None)
    amount = amount_in(balance.pattern, news.said)
    _keep(moment, news.said, amount, "" if amount is not None else "the pattern does not fit it")
    if amount is None:
        _unread(moment, news.said)
        return
    moment.tx.set_mark(UNREAD, None)
    _judge(moment, balance, amount, news.said)


def _judge(moment: Moment, balance: Balance, amount: float, said: str) -> None:
    shown = {"amount": f"{amount:.2f} {moment.house.settings.limits.currency}", "said": said}
    if balance.low is not None and amount < balance.low:
        begin(moment, "credit-low", shown)
    else:
        end(moment, "credit-low", "credit-back", shown)


def _failed(moment: Moment, news: NetworkSaid) -> None:
    times = int(moment.tx.mark(FAILED) or 0) + 1
    moment.tx.set_mark(FAILED, times)
    again = moment.now + min(AFTER_A_FAILURE, moment.house.settings.balance.every)
    moment.tx.set_mark(NEXT, again.isoformat())
    if times >= FAILURES_TOLD:
        moment.tx.set_mark(NEXT, (moment.now + moment.house.settings.balance.every).isoformat())
        _unread(moment, news.why)


def _unread(moment: Moment, said: str) -> None:
    """On record, and passed on whole to whoever looks after the gateway: once, until an answer can be read again."""
    if moment.tx.mark(UNREAD) is not None:
        return
    moment.tx.set_mark(UNREAD, moment.now.isoformat())
    event = happen(
        moment,
        Event(
            kind="credit-unread",
            at=moment.now,
            heard_at=moment.now,
            known_at=moment.now,
            text=said,
            detail={"code": moment.house.settings.balance.ussd},
        ),
        tell=False,
    )
    told = Told(key="credit-unread", values={"raw": harmless(said)})
    pass_on(moment, about(moment.house, "gateway"), told, event.id, subject="gateway")


def _keep(moment: Moment, said: str | None, amount: float | None, why: str) -> None:
    kept = {"at": moment.now.isoformat(), "said": said, "amount": amount, "why": why}
    moment.tx.set_mark(LAST, kept)
