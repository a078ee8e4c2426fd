"""The network's answer about the SIM's credit → the amount, by the householder's pattern."""

import pytest

from gateway.rules.credit_amount import amount_pattern_mistake, find_amount, parse_amount


@pytest.mark.parametrize(
    ("answer", "amount"),
    [
        ("12.40", 12.4),
        ("12,40", 12.4),
        ("1 234,50", 1234.5),
        ("1.234,50", 1234.5),
        ("1,234.50", 1234.5),
        ("1.234", 1234.0),
        ("0.123", 0.123),
        ("-3", -3.0),
        ("−2,5", -2.5),
        (".5", 0.5),
        ("12.40.", 12.4),
        ("1'234'567", 1234567.0),
        ("+3", 3.0),
        ("1.234.567", 1234567.0),
        ("12.3456", 12.3456),
        ("1234.567", 1234.567),
        ("1,234.567", 1234.567),
        ("12", 12.0),
        ("twelve", None),
        ("", None),
    ],
)
def test_amounts(answer, amount):
    """As people write money, in either custom."""
    assert parse_amount(answer) == amount


@pytest.mark.parametrize(
    ("pattern", "answer", "amount"),
    [
        (r"credit (?P<amount>[\d.,]+)", "Your Credit\n is: Credit 3.20 AUD.", 3.2),
        (r"credit (?P<amount>[\d.,]+)", "No such luck", None),
        (r"credit (?P<amount>\w+)", "credit none", None),
        (r"credit(?: (?P<amount>\d+))?", "credit is fine", None),
        (r"(?P<amount>(?:1+)+)2", "1" * 4000, None),
    ],
)
def test_the_pattern_finds_the_amount(pattern, answer, amount):
    """Anywhere in the answer; a pattern that runs away has found nothing."""
    assert find_amount(pattern, answer, limit_s=0.01) == amount


@pytest.mark.parametrize(
    ("pattern", "mistake"),
    [
        (r"credit (?P<amount>\d+)", ""),
        (r"credit (\d+)", "it has no group named amount"),
        (r"credit (", "the regex is wrong: missing ) at position 8"),
    ],
)
def test_what_is_wrong_with_a_pattern(pattern, mistake):
    """It must be a regex and name the amount."""
    assert amount_pattern_mistake(pattern) == mistake
