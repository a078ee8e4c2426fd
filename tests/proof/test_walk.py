"""The walk after fitting: each wrong wiring is found, nobody but the tester hears of it, it teaches nothing, and a real alarm is told as one."""

from dataclasses import dataclass
from datetime import timedelta

import pytest

from gateway.facts.states.controllers_and_tanks import FloatMemory
from gateway.facts.states.errands_and_tests import WalkUnderWay
from gateway.handlers.walk import begin_walk, interrupt_walk
from gateway.proof import current, motion_of
from tests.errands.field_days import FINCH, NOON, FieldDays
from tests.household import RIDGE, ROBIN, STRANGER, WREN

MIN, SEC = timedelta(minutes=1), timedelta(seconds=1)


@dataclass
class Box:
    """How it is wired: which input a hand reaches, what it says there, from where, after how long."""

    crossed: bool = False
    reversed: bool = False
    silent_when: tuple[bool, ...] = ()
    dead: bool = False
    number: str = RIDGE
    slow: timedelta = timedelta(0)
    elsewhere: bool = False

    def text(self, input, lifted):
        """What it sends when the hand lifts or lowers that input's low float; None: nothing."""
        active = lifted if self.reversed else not lifted
        if self.dead or active in self.silent_when:
            return None
        wired = {"1": "2", "2": "1"}[input] if self.crossed else "7" if self.elsewhere else input
        return f"LINE {wired} {'MADE' if active else 'BROKE'} 1200"


class Fitter:
    """Somebody on a ladder who does what the walk says, a minute after it is said."""

    def __init__(self, days, box=None):
        self.days, self.box, self.now = days, box or Box(), NOON

    @property
    def walk(self):
        """As it stands in the store."""
        with self.days.store.read() as reader:
            return reader.state(WalkUnderWay)

    def begins(self, tank=None, wait=10 * MIN, by_text=False):
        """At the terminal, to Wren."""
        chosen = self.days.site.tanks[tank] if tank else None
        wren = self.days.site.contacts["wren"]
        return self.days.at(self.now, lambda unit: begin_walk(unit, chosen, wren, wait, by_text=by_text))

    def obeys(self):
        """One step: the hand moves the float, its text comes or does not, the message arrives."""
        tried, step = current(self.walk), self.walk.step
        self.now += MIN
        lifted = motion_of(tried, step) == "lift"
        text = self.box.text(tried.key.partition(":")[2], lifted)
        if text is None:
            self.now += 10 * MIN
        else:
            stamp = self.now
            self.now += self.box.slow
            self.days.comes(self.now, text, number=self.box.number, at=stamp)
        self.days.due(self.now)
        self.arrives()

    def arrives(self):
        """What the tester got, reported by the network."""
        left = self.days.leaves(self.now)
        for number in {number for number, _ in left}:
            self.days.reported(self.now + SEC, number)
        self.days.due(self.now + SEC)
        return left

    def lets_go(self, key):
        """The water holds the float up again."""
        self.now += SEC
        self.days.comes(self.now, f"LINE {key.partition(':')[2]} BROKE 1200")

    def walks(self, lets_go=True, **how):
        """All of it; the document that comes of it."""
        self.begins(**how)
        self.arrives()
        for _ in range(20):
            if self.walk is None or self.walk.ended or self.walk.interrupted:
                break
            if current(self.walk) is None:
                self.now += 10 * MIN
                self.days.due(self.now)
            else:
                tried, step = current(self.walk), self.walk.step
                self.obeys()
                if lets_go and step == 1 and self.box == Box():
                    self.lets_go(tried.key)
        return self.days.events("walk-passed", "walk-failed")[-1]


@pytest.fixture
def days(tmp_path):
    """A box that was heard, two tanks of which nothing is known."""
    return FieldDays(tmp_path)


def test_a_walk_that_is_passed(days):
    """Both floats, each lifted and lowered: legs in seconds from the stamp, and a dated record."""
    ended = Fitter(days).walks()
    assert ended.kind == "walk-passed" and ended.detail["passed"]
    for tried in ended.detail["floats"]:
        assert (tried["result"], tried["why"]) == ("passed", None)
        legs = {key: tried["active"][key] for key in ("heard_after_s", "sent_after_s", "delivered_after_s")}
        assert legs == {"heard_after_s": 0, "sent_after_s": 0, "delivered_after_s": 1}


@pytest.mark.parametrize(
    ("box", "why"),
    [
        (Box(crossed=True), "The float of Spring tank answered: the two inputs are swapped."),
        (Box(silent_when=(False,)), "It never said that it is over: does the box send that text?"),
        (Box(silent_when=(True,)), "It never said that it switched: look at the float and its wires."),
        (Box(reversed=True), "It said the opposite of what the hand did: change means, or active and idle."),
        (Box(number=STRANGER), "The text came from +61491570159, which is not the box's number here."),
        (
            Box(dead=True),
            "Nothing came: look at the wires, the box's power and signal, and the gateway's number in it.",
        ),
        (Box(elsewhere=True), "Input 7 answered, on which no float is."),
        (Box(slow=5 * MIN), "Its texts take longer than two minutes: look at the box's signal."),
    ],
)
def test_each_wrong_wiring_is_found(days, box, why):
    """By name, in words that say what to mend; exit 1 with it."""
    ended = Fitter(days, box).walks(tank="house")
    (tried,) = ended.detail["floats"]
    assert (ended.kind, tried["result"]) == ("walk-failed", "failed")
    assert tried["why"].startswith(why), tried["why"]


@pytest.mark.parametrize("by_text", [False, True])
def test_what_is_wrong_is_said_up_on_the_ladder(days, by_text):
    """At once, as a test; where texts lead the walk, with what is to be done next."""
    fitter = Fitter(days)
    fitter.begins(tank="house", by_text=by_text)
    days.leaves(NOON)
    days.comes(NOON + MIN, "LINE 2 BROKE 1")
    ((number, text),) = days.leaves(NOON + MIN)
    assert number == WREN
    assert text.startswith("TEST: The float of Spring tank answered: the two inputs are swapped.")
    assert text.endswith("Now let the float of House tank hang down (1/1).") is by_text


def test_a_message_that_does_not_arrive(days):
    """The float is well, the phone is not."""
    fitter = Fitter(days)
    fitter.begins(tank="house")
    for text in ("LINE 1 BROKE 1", "LINE 1 MADE 2"):
        fitter.now += MIN
        days.comes(fitter.now, text)
        days.leaves(fitter.now)
    fitter.now += 10 * MIN
    days.due(fitter.now)
    (tried,) = days.events("walk-failed")[0].detail["floats"]
    assert (
        tried["why"] == "The message did not arrive at the tester's phone."
        and tried["active"]["delivered_after_s"] is None
    )


def test_only_the_tester_hears_of_it_and_as_of_a_test(days):
    """Nobody else, also where he walks at the terminal; the sentence is the one that an alarm would make."""
    fitter = Fitter(days)
    fitter.begins(tank="house")
    days.comes(NOON + MIN, "LINE 1 BROKE 1")
    days.comes(NOON + 2 * MIN, "LINE 1 MADE 2")
    left = days.leaves(NOON + 2 * MIN)
    assert {number for number, _ in left} == {WREN}
    assert [text.split(".")[0] for _, text in left] == [
        "TEST: House tank is no longer low, 12:01",
        "TEST: House tank LOW since 12:02",
    ]


def test_nothing_learns_from_it(days):
    """No low, no spell: afterwards it is known how the floats stand, and no more."""
    Fitter(days).walks()
    assert not days.events("low", "high", "high-over", "float-fault")
    assert all(event.detail["first"] and "lasted_s" not in event.detail for event in days.events("low-over"))
    assert len(days.events("walked")) == 6


def test_a_real_alarm_meanwhile_is_told_as_one(days):
    """The spring falls while the house's float is in somebody's hand: everybody hears it, and the walk goes on."""
    fitter = Fitter(days)
    fitter.begins(tank="house")
    days.comes(NOON + MIN, "LINE 2 MADE 1201")
    left = days.leaves(NOON + MIN)
    assert {number for number, text in left if text.startswith("Spring tank LOW")} >= {WREN, ROBIN}
    fitter.now = NOON + MIN
    fitter.obeys()
    fitter.obeys()
    assert days.events("walk-passed")


def test_what_a_float_says_after_it_was_tried_counts_again(days):
    """Still hanging two minutes later: the tank is low, and everybody is told. Let go in time: nobody is."""
    fitter = Fitter(days)
    fitter.walks(tank="house", lets_go=False)
    days.due(fitter.now + 3 * MIN)
    assert [event.tank for event in days.events("low")] == ["house"]
    with days.store.read() as reader:
        assert reader.state(WalkUnderWay) is None and reader.state(FloatMemory, "ridge:1").state == "active"


def test_let_go_in_time_it_is_no_alarm(days):
    """It floats up again within the two minutes."""
    fitter = Fitter(days)
    fitter.walks(tank="house", lets_go=False)
    days.comes(fitter.now + MIN, "LINE 1 BROKE 3")
    days.due(fitter.now + 4 * MIN)
    assert not days.events("low")


def test_a_float_that_stands_up_is_lowered_first(days):
    """Of a tank that is known to be full lifting would say nothing."""
    days.comes(NOON, "LINE 1 BROKE 1200")
    fitter = Fitter(days)
    walk = fitter.begins(tank="house")
    assert motion_of(current(walk), 0) == "lower"
    assert Fitter(days).walks(tank="house").kind == "walk-passed"


def test_interrupted_and_gone_on_with(days):
    """What passed is not walked again; a restart in between changes nothing."""
    fitter = Fitter(days)
    fitter.begins()
    fitter.obeys()
    fitter.obeys()
    days.at(fitter.now, interrupt_walk)
    days.starts_again()
    days.comes(fitter.now + MIN, "LINE 1 MADE 1230")
    assert days.events("low"), "while nobody walks an alarm is one"
    days.comes(fitter.now + 2 * MIN, "LINE 1 BROKE 1231")
    fitter.now += 30 * MIN
    ended = fitter.walks()
    assert [tried["result"] for tried in ended.detail["floats"]] == ["passed", "passed"]
    assert len(days.events("walked")) == 5, "two of each float, and that the second was let go"


def test_nobody_is_there_any_more(tmp_path):
    """Nothing at all of two floats in a row, with a third to come: it waits, and says so."""
    third = """
[[tanks]]
id = "trough"
name = "Trough"
  [[tanks.floats]]
  controller = "ridge"
  input = 3
  means = "high"
"""
    days = FieldDays(tmp_path, rest=FINCH + third)
    fitter = Fitter(days, Box(dead=True))
    fitter.begins(by_text=True)
    for _ in range(4):
        fitter.obeys()
    assert fitter.walk.interrupted
    with days.store.read() as reader:
        texts = [text.text for text in reader.texts() if text.way == "out"]
    assert "Nobody there? The test waits: WALK goes on with it." in texts


def test_by_text(days):
    """`WALK house`: the instruction, what came with the next one, and the end, each in one message."""
    fitter = Fitter(days)
    days.texts(NOON, "WALK house")
    assert [text for _, text in fitter.arrives()] == ["Lift the float of House tank now (1/1)."]
    fitter.now += MIN
    days.comes(fitter.now, "LINE 1 BROKE 1")
    said = "TEST: House tank is no longer low, 12:01. Now let the float of House tank hang down (1/1)."
    assert [text for _, text in fitter.arrives()] == [said]
    fitter.now += MIN
    days.comes(fitter.now, "LINE 1 MADE 2")
    fitter.arrives()
    assert days.told(NOON + 3 * MIN) == ["Test passed: 1 of 1 floats. It is on record."]
    days.texts(NOON + 3 * MIN, "WALK barn")
    assert days.told(NOON + 3 * MIN)[-1].startswith("No such tank")


def test_the_same_text_twice_is_no_wrong_meaning(days):
    """The box repeats itself, or the network does."""
    fitter = Fitter(days)
    fitter.begins(tank="house")
    days.comes(NOON + MIN, "LINE 1 BROKE 1")
    days.comes(NOON + 2 * MIN, "LINE 1 BROKE 1 AGAIN")
    days.comes(NOON + 3 * MIN, "LINE 1 MADE 3")
    fitter.now = NOON + 3 * MIN
    fitter.arrives()
    assert days.events("walk-passed")


def test_a_walk_of_many_floats_is_held_back_by_no_limit(tmp_path):
    """Fourteen messages within seven minutes: each leaves when it is made, and an alarm after them does too."""
    floats = "".join(
        f'[[tanks]]\nid = "t{n}"\nname = "Trough {n}"\n[[tanks.floats]]\ncontroller = "ridge"\ninput = {n}\n'
        for n in range(3, 8)
    )
    days = FieldDays(tmp_path, rest=f"{FINCH}\n{floats}")
    fitter = Fitter(days)
    fitter.begins()
    for n, _ in enumerate(fitter.walk.floats):
        input = fitter.walk.floats[n].key.partition(":")[2]
        for says in ("BROKE", "MADE"):
            fitter.now += 30 * SEC
            days.comes(fitter.now, f"LINE {input} {says} 1200")
            assert len([text for _, text in days.leaves(fitter.now) if text.startswith("TEST")]) == 1, (input, says)
    days.comes(fitter.now + SEC, "MAINS GONE")
    assert any("without power since" in text for number, text in days.leaves(fitter.now + SEC) if number == WREN)
