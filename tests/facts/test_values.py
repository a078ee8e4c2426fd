"""What the values say of themselves: an alarm, a figure, a time, an input's name, a kind; and older states read as today's."""

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from pydantic import TypeAdapter, ValidationError

from gateway.facts import KINDS
from gateway.facts.alarms import Alarm
from gateway.facts.figures import Figure
from gateway.facts.harmless import harmless, spreadsheet_cell
from gateway.facts.iso_time import iso_time
from gateway.facts.kinds import kinds_where
from gateway.facts.readings import input_key
from gateway.facts.states.controllers_and_tanks import Asked
from gateway.facts.states.declared import STATES

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def alarm(**more) -> Alarm:
    """A low tank since noon."""
    given = {"key": "low:house", "kind": "low", "tank": "house", "priority": "urgent", **more}
    return Alarm(since=NOON, raised_at=NOON, round_at=NOON, turn_at=NOON, reminded_at=NOON, **given)


@pytest.mark.parametrize(
    ("state", "by_itself", "nobodys", "reckoned"),
    [
        ("open", True, True, False),
        ("unanswered", True, True, False),
        ("taken", True, False, False),
        ("held", False, False, False),
        ("folded", False, False, False),
        ("reckoned-over", False, False, True),
        ("over", False, False, False),
    ],
)
def test_what_an_alarm_is_by_its_state(state, by_itself, nobodys, reckoned):
    """Whether it has a round of its own, whether anybody has it, whether it is only reckoned to be over."""
    one = alarm(state=state)
    assert (one.stands_by_itself, one.is_nobodys, one.is_reckoned) == (by_itself, nobodys, reckoned)


def test_whose_an_alarm_is():
    """By its key and its kind; only a stored one has a number."""
    assert (alarm(key="input:ridge:9:x", kind="silent").about, alarm(kind="silent").subject) == ("ridge", "controllers")
    assert (alarm().about, alarm().subject, alarm(id=7).number) == ("house", "tanks", 7)
    with pytest.raises(AssertionError):
        _ = alarm().number


def test_a_figure_as_the_contract_has_it():
    """Its value, its unit, what it is from, and the source of the method."""
    figure = Figure(value=1.5, unit="l/min", inputs={"litres": 3}, source="measured")
    assert figure.as_json() == {"value": 1.5, "unit": "l/min", "from": {"litres": 3}, "source": "measured"}


def test_a_time_as_json_has_it():
    """With the zone's offset; none where there is none."""
    assert iso_time(NOON, ZoneInfo("Australia/Sydney")) == "2026-11-25T23:00:00+11:00"
    assert iso_time(None, UTC) is None


@pytest.mark.parametrize(
    ("given", "key"), [(1, "1"), ("01", "1"), (" 7 ", "7"), ("Pump ", "pump"), ("-1", "-1"), ("1a", "1a"), ("", "")]
)
def test_an_input_in_the_one_form_it_is_compared_in(given, key):
    """Figures without noughts before them, names in lower case."""
    assert input_key(given) == key


@pytest.mark.parametrize(
    ("text", "line", "lines"),
    [
        ("a\nb\tc\r\nd", "a b c d", "a\nb c\nd"),
        ("a\rb", "a b", "a b"),
        ("\x85", "\\x85", "\\x85"),
        ("\u0100\u200b", "\u0100\\u200b", "\u0100\\u200b"),
        ("\U000e0001", "\\U000e0001", "\\U000e0001"),
        ("\u2028", "\\u2028", "\\u2028"),
        ("\x07", "\\x07", "\\x07"),
    ],
)
def test_what_hides_in_a_text(text, line, lines):
    """In two, four or eight figures; a line break stays where lines are kept."""
    assert (harmless(text), harmless(text, lines=True)) == (line, lines)


@pytest.mark.parametrize(
    ("text", "cell"), [("House tank", "House tank"), ("a=b", "a=b"), ("=1", "'=1"), ("\t-1", "' -1")]
)
def test_a_cell_of_a_spreadsheet(text, cell):
    """An apostrophe only before what would start a formula."""
    assert spreadsheet_cell(text) == cell


@pytest.mark.parametrize(
    ("kind", "begins", "ends"),
    [
        ("low", "low", None),
        ("ran-dry", None, None),
        ("low-over", None, "low"),
        ("note", None, None),
        ("alive", None, None),
        ("credit-low", None, None),
    ],
)
def test_which_episode_a_kind_begins_or_ends_on_the_page(kind, begins, ends):
    """Only of families that the page draws."""
    assert (KINDS[kind].begins_episode, KINDS[kind].ends_episode) == (begins, ends)


def test_kinds_are_found_by_what_holds_of_them():
    """In the table's order."""
    assert kinds_where(lambda kind: kind.closes == "low") == tuple(
        name for name in KINDS if KINDS[name].closes == "low"
    )
    assert kinds_where(lambda kind: False) == ()


def test_an_older_state_is_read_as_todays():
    """What it did not know is empty, and the rest is kept."""
    upgrades = {declared.name: declared.upgrade for declared in STATES.values() if declared.upgrade is not None}
    read = {name: upgrade(1, {"at": 1, "reports": [{"reference": 7}]}) for name, upgrade in upgrades.items()}
    assert {"at": 1, "reports": [{"reference": 7}], "memories": []} in read.values()
    assert {"reports": [{"reference": 7, "stamp": None, "discharged": None}]} in read.values()


def test_a_state_with_a_field_that_nobody_knows_is_unreadable():
    """A newer program wrote it: what is lost by reading half of it nobody can say."""
    asked = TypeAdapter(Asked)
    assert asked.validate_python({"at": NOON}) == Asked(at=NOON)
    for wrong in ({"at": NOON, "by": "wren"}, {}):
        with pytest.raises(ValidationError):
            asked.validate_python(wrong)
