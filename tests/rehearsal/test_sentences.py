"""What was lived through, made up by hand → the account's figures, what would have made a difference, what was taken for granted."""

from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from gateway.rehearsal.account import DrySpell, MessagesTo, account_of
from gateway.rehearsal.assumptions import assumptions
from gateway.rehearsal.differences import differences
from gateway.rehearsal.lived_through import ForecastMade
from gateway.settings.load import load_text
from gateway.simulator.household.contacts_at_home import TAKES_IT
from gateway.simulator.household.household import TrueSpell
from gateway.site import compile_site
from tests.rehearsal.households import HOUSEHOLDS

START = datetime(2026, 6, 1, 2, 0, tzinfo=UTC)  # noon in Sydney
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
SITE = compile_site(load_text(HOUSEHOLDS["one tank, one float"], "gateway.toml").settings)


def lived(site=SITE, *, dry=(), low=(), level_l=(), box_dead=None, forecasts=(), stories=(), boxes=None):
    """Ten days of that household."""
    truth = SimpleNamespace(
        dry=list(dry), low={("house", 1): list(low)}, level_l=list(level_l), box_dead=box_dead or {}
    )
    household = SimpleNamespace(boxes=boxes or {})
    return SimpleNamespace(
        site=site, start=START, until=START + 10 * DAY, seed=3, truth=truth, forecasts=list(forecasts), stories=stories,
        household=household,
    )  # fmt: skip


def text(id, at, *, way="out", state="sent", event=None, urgent=True, segments=1):
    """One that came or left."""
    contact = "wren" if way == "out" else None
    return SimpleNamespace(
        id=id, way=way, state=state, event=event, urgent=urgent, segments=segments, contact=contact, at=at
    )


def event(id, at, kind="low"):
    """One on record."""
    return SimpleNamespace(id=id, at=at, kind=kind, tank="house", heard_at=at)


def told(events=(), texts=(), **life):
    """The account of it."""
    reader = SimpleNamespace(texts=lambda: list(texts), events=lambda **_: list(events))
    return account_of(reader, lived(**life))


def test_what_left_is_counted_by_weight_and_by_night():
    """What waits or failed is not; the night is from ten to six in the household's own time; each segment has its price."""
    texts = [
        text(1, START, way="in"),
        text(2, START, event=1),
        text(3, START + 10 * HOUR, event=1, urgent=False, state="delivered"),
        text(4, START + 13 * HOUR, state="unsure", segments=2),
        text(5, START, state="failed"),
        text(6, START, state="waiting"),
    ]
    account = told([event(1, START), event(3, START + HOUR), event(2, START, "alive")], texts)
    assert account.messages == (MessagesTo(contact="wren", urgent=1, soon=1, record=1, night=2),)
    assert (account.texts_in, account.cost, account.days) == (1, 0.48, 10.0)
    assert (account.low_spells, account.events) == ({"house": 2}, {"alive": 1, "low": 2})


@pytest.mark.parametrize(("trickle_h", "spells"), [(23, 1), (24, 2)])
def test_a_trickle_ends_no_dry_spell(trickle_h, spells):
    """Less than a day of it."""
    first = TrueSpell(began=START, until=START + HOUR)
    second = TrueSpell(began=START + (1 + trickle_h) * HOUR, until=START + 40 * HOUR)
    assert len(told(dry=[first, second]).dry_spells) == spells


@pytest.mark.parametrize(
    ("fell", "rose", "heard", "sent", "margin_h"),
    [
        (0, None, 0, 0.1, 9.9),
        (0, None, -0.1, 0.1, 9.9),  # the box stamps whole minutes
        (0, None, -0.2, 0.1, None),
        (0, None, 0, 10.1, None),  # told after the taps ran dry
        (0, 9, 0, 0.1, None),  # the float hung no more
        (11, None, 11, 11.1, None),
    ],
)
def test_who_was_told_before_the_taps_ran_dry(fell, rose, heard, sent, margin_h):
    """By the first message about a float that had fallen and still hung then."""
    at = [START + hours * HOUR for hours in (fell, heard, sent)]
    low = TrueSpell(began=at[0], until=None if rose is None else START + rose * HOUR)
    dry = TrueSpell(began=START + 10 * HOUR, until=None)
    (spell,) = told([event(1, at[1])], [text(2, at[2], event=1)], low=[low], dry=[dry]).dry_spells
    assert spell.margin_h == margin_h
    assert spell == DrySpell(began=dry.began, until=None, told_at=None if margin_h is None else at[2])


def foretold(likely_h, true_h, cause=None, true_causes=()):
    """A forecast of so many hours, four either way."""
    times = tuple(START + (likely_h + spread) * HOUR for spread in (-4, 0, 4)) if likely_h else None
    true = START + true_h * HOUR if true_h else None
    return ForecastMade(
        tank="house", at=START, dry_at=times, cause=cause, true_dry_at=true, true_causes=frozenset(true_causes)
    )


def test_what_was_foretold_is_held_against_what_came():
    """Inside or not; the factor either way; one of a tank that never ran dry did not hold, and has no factor."""
    made = [
        foretold(10, 10),
        foretold(10, 14),
        foretold(10, 20),
        foretold(30, 10),
        foretold(10, None),
        foretold(None, 10),
    ]
    assert told(forecasts=made).forecasts == (2, 5, 1.7)  # 1, 1.4, 2 and 3
    assert told().forecasts == (0, 0, None)


def test_causes_that_were_named():
    """Of those that were named while something was wrong; "unclear" names none."""
    leak = ("heavy-draw",)
    named = (("heavy-draw", leak), ("unclear", leak), ("supply-stopped", leak), ("heavy-draw", ()), (None, leak))
    made = [foretold(9, 9, cause, wrong) for cause, wrong in named]
    assert told(forecasts=made).causes == (1, 2)


def said(events=(), lowest=1.0, **life):
    """What would have made a difference."""
    account = SimpleNamespace(lowest_charge={"ridge": lowest}, with_second_panel={"ridge": 0.6})
    return list(differences(SimpleNamespace(events=lambda **_: list(events)), lived(**life), account))


def test_what_would_have_made_a_difference():
    """A second panel below a fifth; a float 20 cm higher, by the water that fell; a shorter silence."""
    assert said(lowest=0.2) == []
    assert said(lowest=0.19) == ["A second panel on Ridge box: its battery's lowest charge 60% instead of 19%."]
    # 0.5 m are 1005 l, 0.7 m 1407 l: at ten litres in five minutes forty steps
    falling = [1500 - 10 * step for step in range(151)]
    dry = TrueSpell(began=START + 150 * HOUR / 12, until=None)
    assert said(dry=[dry], level_l=falling) == [
        "The low float of House tank 20 cm higher: told 3 h earlier before the taps ran dry."
    ]
    assert said(dry=[dry], level_l=[900] * 151) == []
    faster = [1500 - 20 * step for step in range(76)]  # twenty steps: in the mean of both two hours and a half
    again = TrueSpell(began=START + (151 + 75) * HOUR / 12, until=None)
    assert "told 2 h earlier" in said(dry=[dry, again], level_l=[*falling, *faster])[0]
    dead = {"ridge": [TrueSpell(began=START, until=START + 3 * DAY), TrueSpell(began=START + 5 * DAY, until=None)]}
    silent = [event(1, START - HOUR), event(2, START + 20 * HOUR), event(3, START + 5 * DAY + 30 * HOUR)]
    assert said(silent, box_dead=dead) == [
        "Ridge box had been dead for 25 h when its silence was told: a shorter silence_after, or an asking text, tells sooner."
    ]
    assert said([event(1, START + 4 * DAY)], box_dead={"ridge": dead["ridge"][:1]}) == []


@pytest.mark.parametrize(("household", "gaps"), [("one tank, one float", 0), ("no float, no figures", 3)])
def test_what_the_file_does_not_say_is_taken_for_granted(household, gaps):
    """A size, the people and the source, each only where it lacks; that nothing goes wrong only where no story was asked for."""
    site = compile_site(load_text(HOUSEHOLDS[household], "gateway.toml").settings)
    taken = list(assumptions(lived(site)))
    assert sum("your file" in sentence for sentence in taken) == gaps and len(taken) == gaps + 5
    assert len(list(assumptions(lived(site, stories=("leak",))))) == gaps + 4
    assert (
        taken[-2].startswith(f"{round(100 * TAKES_IT)} of a hundred times people take") and "texts 0 " not in taken[-1]
    )
