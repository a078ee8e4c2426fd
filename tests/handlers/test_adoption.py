"""A text from a number that nobody has: it is asked whose it is, nothing moves before somebody says so, and then it counts."""

import re
from datetime import UTC, datetime, timedelta

import pytest

from gateway.__main__ import main
from gateway.facts.states.people import AdoptedNumber
from gateway.handlers.gateway_life import record_configuration
from gateway.status.adopted import site_with_adopted
from gateway.status.errands import texted_number
from tests.handlers.days import Days
from tests.household import FINCH, RIDGE, ROBIN, STRANGER, WREN

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
MIN, H, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
FINCHES = '[[contacts]]\nid = "finch"\nname = "Finch"\nnumber = "0491 570 158"\nabout = ["tanks"]\nmay_ask = false\n'
CREEK = """
[[controllers]]
id = "creek"
name = "Creek box"
number = "0491 570 110"
  [[controllers.rules]]
  text = "STATION WELL *"
  means = "alive"
"""
ASKED = "Looks like Ridge box, from 0491 570 159. Reply ADOPT {} if it is. It sent: {}"


class Adopting(Days):
    """The household, where each step is in the site with every number that counts by then."""

    def at(self, now, work, *, trusted=True):
        """As the daemon makes its units of work."""
        with self.store.read() as reader:
            self.site = site_with_adopted(reader, self.site)
        return super().at(now, work, trusted=trusted)

    def code(self, now, text="LINE 1 MADE 0717", number=STRANGER):
        """A stranger's text, and the code that it makes."""
        return re.search(r"ADOPT (\d{4})", self.says(now, text, number)[0][1])[1]


@pytest.fixture
def home(tmp_path):
    """A household with these lines in its file; closed at the end."""
    made = []

    def make(rest=FINCHES, robin='about = ["tanks", "controllers"]', **parts):
        made.append(Adopting(tmp_path, rest=rest, robin=robin, **parts))
        return made[-1]

    yield make
    for days in made:
        days.store.close()


def test_a_box_from_a_new_number(home):
    """Asked of whom controllers concern, nothing moves before ADOPT; then all hear of it, and what came meanwhile counts in its order."""
    days = home()
    assert days.says(NOON - MIN, "Is this the water?", STRANGER) == []
    asked = days.says(NOON, "LINE 1 MADE 0717", STRANGER)
    code = re.search(r"ADOPT (\d{4})", asked[0][1])[1]
    assert asked == [(WREN, ASKED.format(code, "LINE 1 MADE 0717")), (ROBIN, ASKED.format(code, "LINE 1 MADE 0717"))]
    assert days.says(NOON + MIN, "LINE 2 MADE 0718", STRANGER) == []
    assert (
        days.events("low", "alive") == ()
        and [text.state for text in days.texts() if text.way == "in"] == ["stranger"] * 3
    )
    left = days.says(NOON + H, f"adopt {code}", ROBIN)
    assert left[0] == (ROBIN, "Kept: 0491 570 159 is Ridge box. It counts from now on.") or left[0][1].startswith(
        "House tank"
    )
    told = "Robin says that 0491 570 159 is Ridge box. It counts from now on."
    assert {number for number, text in left if text == told} == {WREN, FINCH}
    assert [(event.tank, event.at) for event in days.events("low")] == [("house", NOON), ("spring", NOON + MIN)]
    assert any("House tank" in text and number == WREN for number, text in left)
    assert [text.state for text in days.texts() if text.way == "in" and text.number == STRANGER] == [
        "stranger",
        "read",
        "read",
    ]
    (adopted,) = days.events("adopted")
    assert (adopted.controller, adopted.detail["number"], adopted.text) == ("ridge", STRANGER, f"adopt {code}")
    days.says(NOON + 2 * H, "LINE 1 BROKE 0917", STRANGER)
    days.says(NOON + 3 * H, "LINE 2 BROKE 1017", RIDGE)
    assert [event.tank for event in days.events("low-over")] == ["house", "spring"]
    with days.store.read() as reader:
        box = site_with_adopted(reader, days.site).controllers["ridge"]
    assert texted_number(box) == STRANGER and RIDGE in box.number


@pytest.mark.parametrize(
    "text", ["Please call back", "OK", "TANKS", "ADOPT", "ADOPT 4821", "LINE 7 MADE 0717", "ADOPT heron"]
)
def test_what_fits_no_box_and_names_nobody_is_kept_and_no_more(home, text):
    """As every stranger's text: also one of an input on which nothing is."""
    days = home()
    assert days.says(NOON, text, STRANGER) == [] and days.events("adopt-asked") == ()


@pytest.mark.parametrize(
    ("number", "says", "after", "late"),
    [
        (WREN, "ADOPT {other}", MIN, 0 * MIN),
        (WREN, "ADOPT", MIN, 0 * MIN),
        (WREN, "ADOPT {code} please", MIN, 0 * MIN),
        (WREN, "ADOPT {code}", DAY, 0 * MIN),
        (WREN, "ADOPT {code}", 2 * MIN, 3 * MIN),
        (FINCH, "ADOPT {code}", MIN, 0 * MIN),
        (STRANGER, "ADOPT {code}", MIN, 0 * MIN),
        (RIDGE, "ADOPT {code}", MIN, 0 * MIN),
    ],
)
def test_what_adopts_nothing(home, number, says, after, late):
    """Another code, after a day, written before it was asked, by one who may not, by the stranger itself."""
    days = home()
    code = days.code(NOON)
    other = f"{(int(code) + 1) % 10000:04d}"
    days.says(NOON + after, says.format(code=code, other=other), number, at=NOON + after - late)
    with days.store.read() as reader:
        assert reader.states(AdoptedNumber) == {}
    assert days.events("adopted", "low") == ()


@pytest.mark.parametrize("sender", ["WATERCO", '"0491570006"', "25500"])
@pytest.mark.parametrize("text", ["LINE 1 MADE 0717", "ADOPT robin"])
def test_a_name_and_a_short_code_are_nobodys_number(home, sender, text):
    """Anybody can buy a sender's name."""
    assert home().says(NOON, text, sender) == []


@pytest.mark.parametrize(("key", "told"), [("", False), ('[limits]\nunknown_senders = "forward"\n', True)])
def test_a_strangers_words_are_passed_on_where_the_household_wants_that(home, key, told):
    """Word for word, with the number."""
    left = home(rest=key).says(NOON, "Please call back", STRANGER)
    assert bool(left) is told
    assert all("Please call back" in text and STRANGER in text for _, text in left)


def test_the_code_is_good_once(home):
    """The same text a second time changes nothing, and a number of the household cannot be asked about."""
    days = home()
    code = days.code(NOON)
    days.says(NOON + MIN, f"ADOPT {code}")
    assert days.says(NOON + 2 * MIN, f"ADOPT  {code}") == [
        (WREN, "No such code now: each is good once, for a day. Nothing was changed.")
    ]
    assert len(days.events("adopted")) == 1 and len(days.events("low")) == 1


def test_yes_with_the_code_means_it_too(home):
    """As ADOPT, and once; of any other code it is an errand's, and wrong."""
    days = home()
    code = days.code(NOON)
    other = "0000" if code != "0000" else "0001"
    (wrong,) = days.says(NOON + MIN, f"YES {other}")
    assert wrong[1].endswith("Nothing was sent.") and not days.events("adopted")
    days.says(NOON + 2 * MIN, f"YES {code}")
    assert len(days.events("adopted")) == 1
    assert days.says(NOON + 3 * MIN, f"YES {code}") == [(WREN, wrong[1])]


def test_strangers_do_not_ring_the_household_all_day(home):
    """Each number once while its code holds, and three numbers a day."""
    days = home()
    numbers = [f"+614915701{place:02d}" for place in (10, 11, 12, 13)]
    asked = [bool(days.says(NOON + place * MIN, "STATION WELL 1", number)) for place, number in enumerate(numbers)]
    assert asked == [True, True, True, False]
    assert days.says(NOON + H, "STATION WELL 2", numbers[0]) == []
    assert days.says(NOON + DAY + H, "STATION WELL 3", numbers[0]) != []


def test_the_silent_box_is_the_one_that_is_meant(home):
    """Of two whose rules fit; and the silence says that a new number may be the cause."""
    days = home(rest=CREEK, controller='silence_after = "10d"')
    days.comes(NOON, "STATION WELL 1", number="+61491570110")
    days.judge(NOON)
    days.leaves(NOON)
    assert "Looks like Ridge box" in days.says(NOON + H, "STATION WELL 2", STRANGER)[0][1]
    later = NOON + 27 * H
    days.judge(later)
    days.leaves(later)
    (silent,) = days.events("silent")
    assert silent.controller == "creek"
    assert "Looks like Creek box" in days.says(later, "STATION WELL 3", FINCH)[0][1]


def test_a_silence_names_the_new_number(home):
    """Only where its like was heard since it was heard itself."""
    days = home()
    days.comes(NOON, "STATION WELL 1")
    days.judge(NOON)
    days.says(NOON + H, "STATION WELL 2", STRANGER)
    days.judge(NOON + 27 * H)
    (silent,) = days.events("silent")
    assert silent.detail["cause"] == "new-number"
    assert any("Perhaps it texts from a new number." in text for _, text in days.leaves(NOON + 27 * H))
    days.comes(NOON + 28 * H, "STATION WELL 3")
    days.judge(NOON + 60 * H)
    assert "cause" not in days.events("silent")[1].detail


@pytest.mark.parametrize(("text", "urgent"), [("LINE 1 MADE 0717", True), ("STATION WELL 1", False)])
def test_what_may_be_a_low_tank_wakes_people(home, text, urgent):
    """At night too; a sign of life waits for the morning."""
    days = home(wren='quiet = "22:00-06:30"')
    left = days.says(NOON + 12 * H, text, STRANGER)
    assert (WREN in {number for number, _ in left}) is urgent


def test_a_persons_new_number(home):
    """Their new phone names them; somebody else says so, never their own old number; then it is theirs and the old one nobody's."""
    days = home()
    asked = days.says(NOON, "ADOPT Robin", STRANGER)
    code = re.search(r"ADOPT (\d{4})", asked[0][1])[1]
    assert asked == [(WREN, f"0491 570 159 says that it is the new number of Robin. Reply ADOPT {code} if it is.")]
    assert days.says(NOON + MIN, f"ADOPT {code}", ROBIN) == [(ROBIN, "Somebody else must say so of your own number.")]
    days.says(NOON + 2 * MIN, f"ADOPT {code}")
    assert [number for number, _ in days.says(NOON + H, "TANKS", STRANGER)] == [STRANGER]
    assert days.says(NOON + H, "TANKS", ROBIN) == []
    assert STRANGER in {number for number, _ in days.says(NOON + 2 * H, "LINE 1 MADE 0717", RIDGE)}


def test_the_file_has_the_last_word(home):
    """A number that the file gives to somebody is theirs, and one that was changed there since is not replaced."""
    days = home()
    days.says(NOON, f"ADOPT {days.code(NOON, 'ADOPT robin')}")
    days.configure(rest=FINCHES.replace("0491 570 158", "0491 570 159"))
    days.at(NOON + H, lambda unit: None)
    assert days.site.contact_by_number[STRANGER].id == "finch" and days.site.contacts["robin"].number == ROBIN
    days.configure(rest=FINCHES)
    file = days.folder / "gateway.toml"
    file.write_text(file.read_text().replace("0491 570 157", "0491 570 110"))
    from gateway.settings.load import load
    from gateway.site import compile_site

    days.site = compile_site(load(str(file)).settings)
    days.at(NOON + H, lambda unit: None)
    assert days.site.contacts["robin"].number == "+61491570110"


def test_an_adopted_number_is_no_change_of_the_configuration(home):
    """What stands in the file is compared with what stood in it."""
    days = home()
    days.at(NOON, record_configuration)
    days.says(NOON, f"ADOPT {days.code(NOON)}")
    days.at(NOON + H, record_configuration)
    assert days.events("configuration-changed") == ()


def test_check_shows_the_line_for_the_file(home, capsys):
    """One note for each number that the file has not; none once it has it, and none where there is no record."""
    days = home()
    days.says(NOON, f"ADOPT {days.code(NOON)}")
    days.says(NOON + MIN, f"ADOPT {days.code(NOON + MIN, 'ADOPT robin', FINCH.replace('58', '10'))}")
    file = days.folder / "gateway.toml"
    assert main(["check", "--config", str(file)]) == 0
    notes = [line for line in capsys.readouterr().err.splitlines() if "adopted by" in line]
    assert len(notes) == 2 and all("note: " in note and re.search(r"gateway.toml:\d+:", note) for note in notes)
    assert notes[0].endswith(
        'controllers[0].number: 0491 570 159 counts as Ridge box too, adopted by Wren on 2026-11-25; number = ["0491 570 006", "0491 570 159"]'
    )
    assert notes[1].endswith('number = "0491 570 110"')
    file.write_text(
        file.read_text()
        .replace('"0491 570 006"', '["0491 570 006", "0491 570 159"]')
        .replace("0491 570 157", "0491 570 110")
    )
    assert main(["check", "--config", str(file)]) == 0
    assert "adopted by" not in capsys.readouterr().err
    (days.folder / "gateway.db").rename(days.folder / "away.db")
    assert main(["check", "--config", str(file)]) == 0 and not (days.folder / "gateway.db").exists()


def test_a_command_texts_a_person_where_they_are_now(home, capsys):
    """`watch`, and `doctor --text`: the old number is not theirs any more."""
    days = home()
    config = ["--config", str(days.folder / "gateway.toml")]
    code = re.search(r"ADOPT (\d{4})", days.says(NOON, "ADOPT Robin", STRANGER)[0][1])[1]
    days.says(NOON + MIN, f"ADOPT {code}")
    before = len(days.outbox())
    assert main(["watch", "robin", *config]) == 0
    main(["doctor", "--text", "robin", *config])
    capsys.readouterr()
    assert [number for number, _ in days.outbox()[before:]] == [STRANGER, STRANGER]


def test_the_commands_know_it_too(home, capsys):
    """`explain` reads a text from it by the box's rules; `import` takes an old one as the box's."""
    days = home()
    config = ["--config", str(days.folder / "gateway.toml")]
    days.says(NOON, f"ADOPT {days.code(NOON)}")
    assert main(["explain", "LINE 1 BROKE 0717", "--from", "0491 570 159", "--json", *config]) == 0
    assert '"controller": "ridge"' in capsys.readouterr().out
    old = days.folder / "old.csv"
    old.write_text("received_at,sender,text\n2026-11-01T01:00:00+11:00,0491 570 159,STATION WELL 9\n")
    assert main(["import", str(old), *config]) == 0
    assert [text.state for text in days.texts() if text.text == "STATION WELL 9"] == ["read"]
