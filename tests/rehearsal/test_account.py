"""The account of a life is what its store holds: counted anew from `history --json` and `texts --json`, over households unlike each other."""

import contextlib
import io
import json
import tomllib
from collections import Counter
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.commands.life_summary import forecasts_in_words
from gateway.rehearsal.account import Account
from gateway.simulator.household.troubles import STORIES
from tests.rehearsal.households import HOUSEHOLDS

DAYS = 45
ALL_STORIES = ",".join(STORIES)
LEFT = ("sent", "delivered", "unsure")


def command(*words):
    """What a command prints as JSON."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        assert main([*map(str, words), "--json"]) == 0
    return json.loads(printed.getvalue())


class Life:
    """One household with everything going wrong: its account, and what the store says."""

    def __init__(self, folder, configuration, *more, days=DAYS, stories=ALL_STORIES):
        file, kept = folder / "household.toml", folder / "life" / "gateway.toml"
        file.write_text(configuration, "utf-8")
        self.tables = tomllib.loads(configuration)
        self.account = command(
            "rehearse", "--config", file, "--days", days, "--seed", 3, "--with", stories, "--folder", kept.parent, *more
        )
        self.texts = command("texts", "--config", kept)["texts"]
        self.events = command("history", "--config", kept)["events"]
        self.left = [text for text in self.texts if text["way"] == "out" and text["state"] in LEFT]


IN_EVERY_RUN = 2
LIVED = [
    pytest.param(name, marks=() if place < IN_EVERY_RUN else pytest.mark.soak) for place, name in enumerate(HOUSEHOLDS)
]
"""Two of them in every run, all of them in the soak: each is several hundred texts long."""


@pytest.fixture(scope="module", params=LIVED)
def life(request, tmp_path_factory):
    """Each household, with all seven stories."""
    return Life(tmp_path_factory.mktemp("household"), HOUSEHOLDS[request.param])


def at(written):
    """A time of the JSON."""
    return datetime.fromisoformat(written)


def test_texts_events_and_low_spells_are_counted(life):
    """Each text that came, each kind of event."""
    account = life.account
    assert account["days"] == DAYS and account["seed"] == 3
    assert account["texts_in"] == sum(text["way"] == "in" for text in life.texts) > 0
    assert account["events"] == Counter(event["kind"] for event in life.events)
    assert account["low_spells"] == account["events"].get("low", 0)


def test_messages_are_counted_by_person_weight_and_hour(life):
    """Every message that left is one of three; those between ten in the evening and six are the night's."""
    people = [person["contact"] for person in life.account["messages"]]
    assert people == [contact["id"] for contact in life.tables.get("contacts", [])]
    for person in life.account["messages"]:
        theirs = [text for text in life.left if text["contact"] == person["contact"]]
        assert person["urgent"] + person["soon"] + person["record"] == len(theirs)
        hours = [at(text["at"]).hour for text in theirs]
        assert person["night"] == sum(hour >= 22 or hour < 6 for hour in hours)
        assert person["record"] == sum(text["event"] is None for text in theirs), "answers and the week's message"


ENDS = {"low-over", "high-over", "heard-again", "power-back", "battery-back"}
"""What people are told of as soon as their hours are quiet no more."""


def test_only_what_is_urgent_breaks_the_quiet_hours(life):
    """Whatever else a person got in them answers what that person wrote; that something is over waits until they end."""
    quiet = {
        contact["id"]: contact["quiet"].split("-") for contact in life.tables.get("contacts", []) if "quiet" in contact
    }
    kinds = {event["id"]: event["kind"] for event in life.events}
    for person in life.account["messages"]:
        begins, ends = quiet.get(person["contact"], ("24:00", "00:00"))
        broke = [
            text
            for text in life.left
            if text["contact"] == person["contact"] and (text["at"][11:16] >= begins or text["at"][11:16] < ends)
        ]
        assert len(broke) <= person["urgent"] + person["record"]
        assert not [text for text in broke if kinds.get(text["event"]) in ENDS]


def test_the_cost_is_that_of_the_segments_that_left(life):
    """By the household's own price; nought where it gives none."""
    limits = life.tables.get("limits", {})
    segments = sum(text["segments"] for text in life.left)
    assert life.account["cost"] == pytest.approx(segments * limits.get("price_per_segment", 0), abs=0.005)
    assert life.account["currency"] == limits.get("currency", "EUR")


def test_who_was_told_before_the_taps_ran_dry_was_told_by_a_message(life):
    """`told_at` is the time of a message about a low tank, the first of its spell, and the margin is the time between."""
    kinds = {event["id"]: event["kind"] for event in life.events}
    told = {at(text["at"]) for text in life.left if text["contact"] and kinds.get(text["event"]) == "low"}
    spells = life.account["dry_spells"]
    for spell in spells:
        if spell["told_at"] is None:
            assert spell["margin_h"] is None
            continue
        began, told_at = at(spell["from"]), at(spell["told_at"])
        assert told_at in told and told_at <= began
        assert spell["margin_h"] == pytest.approx((began - told_at) / timedelta(hours=1), abs=0.01)
    ends = [at(spell["until"]) for spell in spells[:-1]]
    assert all(end < at(after["from"]) for end, after in zip(ends, spells[1:], strict=True))


def test_what_held_is_no_more_than_what_was_foretold(life):
    """Every forecast and cause that is judged belongs to a low tank; a factor is at least one, or unknown."""
    forecasts, causes = life.account["forecasts"], life.account["causes"]
    assert 0 <= forecasts["inside"] <= forecasts["of"] <= life.account["low_spells"]
    foretells = life.account["low_spells"] and all("shape" in tank for tank in life.tables.get("tanks", []))
    assert forecasts["of"] > 0 or not foretells
    assert forecasts["factor"] is not None or forecasts["inside"] == 0
    assert forecasts["factor"] is None or forecasts["factor"] >= 1
    assert 0 <= causes["right"] <= causes["of"] <= life.account["low_spells"]


@pytest.mark.parametrize(
    ("forecasts", "causes", "said"),
    [
        ((0, 0, None), (0, 0), []),
        ((0, 1, None), (0, 1), ["Of 1 forecast of a dry tank 0 held.", "A cause was named once, rightly never."]),
        (
            (3, 5, 1.26),
            (1, 4),
            [
                "Of 5 forecasts of a dry tank 3 held. Where it would have run dry, the likely time was off by a factor of 1.3.",
                "A cause was named 4 times, rightly once.",
            ],
        ),
    ],
)
def test_what_held_in_words(forecasts, causes, said):
    """Also where no tank would ever have run dry: that is no factor."""
    account = Account(
        zone=UTC, days=1, seed=1, texts_in=0, low_spells={}, dry_spells=(), messages=(), cost=0, currency="EUR",
        forecasts=forecasts, causes=causes, events={}, lowest_charge={}, with_second_panel={}, unspoken=(),
    )  # fmt: skip
    assert list(forecasts_in_words(account)) == said
