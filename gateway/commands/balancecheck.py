"""The `[balance]` table → mistakes in it: a code that cannot be dialled, a pattern that can find no amount, asking too often."""

from collections.abc import Iterator
from datetime import timedelta

from gateway.errors import Problem
from gateway.phone_numbers import is_network_code
from gateway.settings.models import Settings
from gateway.settings.problems import ProblemLocator

SHORTEST_ASKING = timedelta(hours=1)
"""A network may bar a SIM that asks all the time (common practice)."""


def balance_checks(settings: Settings, locator: ProblemLocator) -> Iterator[Problem]:
    """The question about the SIM's credit: a code that can be dialled, and a pattern that can find an amount."""
    from gateway.rules.credit_amount import amount_pattern_mistake

    balance = settings.balance
    if balance.ussd and not is_network_code(balance.ussd):
        yield locator.problem(
            ("balance", "ussd"), found=balance.ussd, wrong="is no code", right='what one dials, such as "*100#"'
        )
    right = r"such as '(?P<amount>[\d.,]+) AUD', around what the network answers"
    wrong = amount_pattern_mistake(balance.pattern) if balance.pattern else "is empty, so that no answer could be read"
    if wrong and (balance.ussd or balance.pattern):
        key = ("balance", "pattern") if balance.pattern else ("balance", "ussd")
        yield locator.problem(key, found=balance.pattern, wrong=wrong, right=f"balance.pattern {right}")
    if balance.ussd and balance.every < SHORTEST_ASKING:
        yield locator.problem(
            ("balance", "every"), found=balance.every, wrong="asks too often", right='an hour at least, such as "7d"'
        )
