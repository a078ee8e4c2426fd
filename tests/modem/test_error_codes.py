"""Rows 15 and 16: every refusal is for never, for later or our side, and all but the first come back."""

from datetime import UTC, datetime, timedelta

import pytest

from gateway.facts import Message
from gateway.modem.error_codes import (
    ALREADY_THERE_CMS,
    LATER_CMS,
    NEVER_CME,
    NEVER_CMS,
    OUR_SIDE_CME,
    OUR_SIDE_CMS,
    refusal,
)
from gateway.outbox import after_send
from gateway.outbox.after_sending import TRIES

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
LISTED_CMS = {
    *(1, 8, 10, 21, 22, 27, 28, 29, 30, 38, 41, 42, 47, 50, 69, 81, 95, 96, 97, 98, 99, 111, 127),
    *(128, 129, 130, 143, 144, 145, 159, 160, 161, 175, 176, *range(192, 200), *range(208, 214), 255),
    *(*range(300, 306), *range(310, 319), *range(320, 323), *range(330, 333), 340, 500),
}
"""3GPP TS 24.011 annex E-2 and 22 of its table 8.4; TS 23.040 9.2.3.22; TS 27.005 3.2.5."""


def message(**more):
    return Message(**{"id": 1, "contact": "wren", "number": "+61491570156", "text": "x", "at": NOW, **more})


def refused(code, family="cms", now=NOW, **more):
    return after_send(message(**more), refusal(1, family, code), now)


@pytest.mark.parametrize("code", sorted(LISTED_CMS))
def test_row_16_every_listed_code_has_words_and_one_kind(code):
    """Each code of the standards stands in exactly one table."""
    assert [code in table for table in (NEVER_CMS, LATER_CMS, OUR_SIDE_CMS, ALREADY_THERE_CMS)].count(True) == 1
    assert "error" not in refusal(1, "cms", code).why or code in (255, 500)


@pytest.mark.parametrize("family", ["cms", "cme", ""])
def test_row_16_every_code_there_can_be(family):
    """Listed or not, of the network or the maker: permanent ends it on record with words, anything else is tried again."""
    tables = {"cms": NEVER_CMS, "cme": NEVER_CME, "": {}}
    codes = [code for code in (None, *range(1000)) if family != "cms" or code not in ALREADY_THERE_CMS]
    for code in codes:
        change = refused(code, family)
        never = refusal(1, family, code).verdict == "never"
        assert never is (code in tables[family])
        assert (change.state == "failed") is change.give_up is never
        assert change.why == refusal(1, family, code).why != ""
        assert change.tries == 1 and (change.not_before is None) is change.give_up


def test_row_54_what_the_centre_holds_already_was_handed_over():
    """TS 23.040 9.2.3.22, 197: it has an equal text; said before anything was handed over it speaks of nothing of ours."""
    change = refused(197)
    assert (change.state, change.give_up) == ("sent", False)
    assert refusal(1, "cms", 197, handed_over=False).outcome == "refused"


@pytest.mark.parametrize(
    ("family", "code", "is_permanent"),
    [
        ("cms", 1, True),
        ("cms", 8, True),
        ("cms", 28, True),
        ("cms", 50, True),
        ("cms", 38, False),
        ("cms", 42, False),
        ("cms", 310, False),
        ("cms", 331, False),
        ("cms", 500, False),
        ("cms", 512, False),
        ("cme", 1, False),
        ("cme", 14, False),
        ("cme", 30, False),
    ],
)
def test_row_16_well_known_codes(family, code, is_permanent):
    """What the standards' own explanations leave no doubt about; a +CME number is no +CMS number."""
    assert (refusal(1, family, code).verdict == "never") is is_permanent


def test_row_15_back_off_from_one_to_sixty_minutes():
    """1, 2, 4 … 60 minutes, spread by up to a tenth, for two days and more."""
    waits = [(refused(42, tries=tries).not_before - NOW).total_seconds() / 60 for tries in range(9)]
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]
    spread = after_send(message(), refusal(1, "cms", 42), NOW, jitter=1.0)
    assert spread.not_before - NOW == timedelta(seconds=66)


@pytest.mark.parametrize(("code", "ends"), [(331, False), (314, False), (27, True), (None, True), (600, True)])
def test_row_15_what_is_our_own_trouble_ends_no_message(code, ends):
    """A contact that cannot be reached is given up after three days of trying; the network's absence ends nothing."""
    at, tries, change = NOW, 0, None
    while tries < 1000:
        change = refused(code, tries=tries, now=at)
        if change.give_up:
            break
        at, tries = change.not_before, change.tries
    assert change.give_up is ends
    if ends:
        assert tries == TRIES - 1 and timedelta(days=2) < at - NOW < timedelta(days=3, hours=1)


def test_row_30_a_clock_that_was_set_meanwhile_ends_nothing():
    """A message of 1970 that is refused for now in 2026 is as young as it was."""
    assert refused(27, at=datetime(1970, 1, 1, tzinfo=UTC)).state == "waiting"


def test_every_cme_code_is_ours_or_permanent():
    """None of them is about the contact's phone."""
    assert not set(OUR_SIDE_CME) & set(NEVER_CME)


@pytest.mark.parametrize(
    ("code", "why"),
    [
        (None, "the modem said no and gave no reason"),
        (511, "error 511 of the network or modem"),
        (512, "the modem's own error 512"),
        (900, "the modem's own error 900"),
    ],
)
def test_a_code_that_is_not_listed(code, why):
    """Whose it is, by its number."""
    assert (refusal(1, "cms", code).why, refusal(1, "cms", code).verdict) == (why, "later")
