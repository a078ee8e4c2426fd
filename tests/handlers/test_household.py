"""Talking with the household: who has it, what a word does, what is held, what is joined."""

import pytest

from tests.household import RIDGE, ROBIN, STRANGER, WREN, at_home


def test_ok_takes_it_and_the_others_learn_who(tmp_path):
    """`OK` takes the call-out; the asker is answered and the other told."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.modem.network.deliver(ROBIN, "ok.")
        later = dict(home.sent(4)[2:])
        assert "Robin sees to it" in later[WREN] and "House tank" in later[ROBIN]
        assert home.events("taken")[0].detail["contact"] == "robin"


def test_turns_pass_when_nobody_takes_it(tmp_path):
    """With `take_within` the second turn is told only after it; then it goes unanswered."""
    tables = '[call_out]\ntake_within = "1s"\n'
    with at_home(tmp_path, robin="turn = 2", rest=tables) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        assert [number for number, _ in home.sent(1)] == [WREN]
        second = home.sent(2)[1]
        assert second[0] == ROBIN and "Nobody has it yet." in second[1]
        home.came("unanswered")


def test_the_next_turn_starts_at_once_when_the_first_cannot_be_told(tmp_path):
    """A message the network refused counts as not told."""
    from gateway.simulator import Policy

    tables = '[call_out]\ntake_within = "10m"\n'
    with at_home(tmp_path, robin="turn = 2", rest=tables) as home:
        home.modem.network.policy(WREN, Policy(refuse=1))
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.until(lambda: any(message.number == ROBIN for message in home.modem.network.outgoing), "Robin is told")


def test_reminders_until_somebody_takes_it(tmp_path):
    """`remind_every` repeats it while it lasts; `OK` ends that."""
    tables = '[call_out]\nremind_every = "1s"\n'
    with at_home(tmp_path, rest=tables) as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        reminded = home.sent(4)
        assert all("Still open, nobody has it." in text for _, text in reminded[2:4])
        home.modem.network.deliver(WREN, "OK")
        home.came("taken")


@pytest.mark.parametrize(
    ("order", "answer"),
    [
        ("TANKS", "House tank unknown"),
        ("tankz", "House tank unknown"),
        ("Week", "7 days:"),
        ("WORDS", "OK=I see to it, TANKS=how all stands, DRY="),
        ("NOTE cleaned the intake", "Kept as a note"),
        ("DRY", "Kept: the taps are dry"),
        ("WORK House tank 4h", "Work on House tank until"),
        ("WORK spring 30 minutes", "Work on Spring tank until"),
        ("WORK", "Send WORK, the tank and how long"),
        ("OK", "No alarm waits now"),
        ("what now", "Not understood"),
        ("Ok thanks", "If you mean OK, send just that"),
        ("drye", "If you mean DRY, send just that"),
    ],
)
def test_every_word_has_its_answer(tmp_path, order, answer):
    """Each word does what the contract says, and says so to who asked."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(WREN, order)
        home.until(lambda: any(to == WREN and answer in text for to, text in home.sent(1)), answer)


def test_dry_is_stored_on_the_tank_that_feeds_the_house(tmp_path):
    """`DRY` is a `ran-dry` of the house tank, and the others hear of it."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(WREN, "dry")
        assert home.came("ran-dry")[0].tank == "house"


def test_unknown_words_are_answered_once_an_hour(tmp_path):
    """An automatic reply starts no loop."""
    with at_home(tmp_path) as home:
        for number in range(5):
            home.modem.network.deliver(WREN, f"I am driving and will answer later ({number})")
        home.until(lambda: len(home.texts("in")) == 5, "five texts in")
        home.until(lambda: all(text.state == "delivered" for text in home.texts("out")), "all out")
        assert len(home.texts("out")) == 1


def test_who_may_not_ask_gets_no_answer(tmp_path):
    """Only contacts with `may_ask` are obeyed."""
    with at_home(tmp_path, robin="may_ask = false") as home:
        home.modem.network.deliver(ROBIN, "TANKS")
        home.modem.network.deliver(STRANGER, "TANKS")
        home.modem.network.deliver(RIDGE, "STATION WELL 1")
        home.came("alive")
        assert not home.texts("out")


def test_work_holds_messages_and_its_end_tells_a_low_tank(tmp_path):
    """While somebody works on a tank its events are kept and nobody is called; a tank that is low at the end is told."""
    with at_home(tmp_path) as home:
        home.modem.network.deliver(WREN, "WORK house 2s")
        home.came("paused")
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.came("low")
        home.came("pause-over")
        home.until(
            lambda: any(to == ROBIN and "House tank LOW" in text for to, text in home.sent(1)),
            "Robin is told at the end",
        )


def test_quiet_hours_hold_what_is_not_urgent(tmp_path):
    """Urgent breaks quiet hours; the rest waits as held."""
    with at_home(tmp_path, robin='quiet = "00:00-23:59"', rest="") as home:
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.sent(2)
        home.modem.network.deliver(RIDGE, "LINE 1 BROKE 0917")
        home.until(lambda: any(text.state == "held" for text in home.texts("out")), "one is held")
        held = [text for text in home.texts("out") if text.state == "held"]
        assert [text.contact for text in held] == ["robin"] and "no longer low" in held[0].text


def test_chatter_becomes_one_message(tmp_path):
    """A float that switches to and fro is told once and then kept quiet about."""
    with at_home(tmp_path, robin="about = []") as home:
        for number in range(8):
            home.modem.network.deliver(RIDGE, f"LINE 1 {'MADE' if number % 2 == 0 else 'BROKE'} {number}")
        home.until(lambda: len(home.events("low", "low-over")) == 8, "all changes are stored")
        assert len(home.events("float-fault")) == 1
        home.until(lambda: all(text.state == "delivered" for text in home.texts("out")), "all out")
        assert len(home.texts("out")) <= 3


def test_two_hundred_texts_become_a_digest(tmp_path):
    """A flood at the start: every text is stored, and nobody gets more than ten messages in ten minutes (fault 19, 41)."""
    from gateway.simulator import Habits, SimulatedModem

    with SimulatedModem(habits=Habits(capacity={"SM": 255, "ME": 100})) as modem:
        for number in range(200):
            modem.network.deliver(RIDGE, f"odd text number {number}")
        with at_home(tmp_path, modem=modem) as home:
            home.until(lambda: len(home.texts("in")) == 200, "all 200 stored")
            home.until(lambda: not home.built.daemon.sending and len(home.modem.network.outgoing) >= 10, "told")
            assert len(home.modem.network.outgoing) == 10
            # where sending was as quick as reading, ten left one by one, and the rest waits for the digest
            waiting = [text for text in home.texts("out") if text.state in ("waiting", "held")]
            assert home.modem.network.outgoing[-1].text.startswith("19") or len(waiting) == 190


def test_the_days_limit_keeps_the_rest_and_says_so_once(tmp_path):
    """Beyond `texts_per_day` only urgent messages leave."""
    with at_home(tmp_path, robin="about = []", rest="[limits]\ntexts_per_day = 1\n") as home:
        home.modem.network.deliver(RIDGE, "odd one")
        home.modem.network.deliver(RIDGE, "odd two")
        home.modem.network.deliver(RIDGE, "odd three")
        home.until(lambda: any("Used up for today: 1 text." in text for _, text in home.sent(1)), "the limit is said")
        home.modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        home.until(lambda: any("LOW" in text for _, text in home.sent(1)), "urgent still leaves")
        assert sum("used up" in text for _, text in home.sent(1)) <= 2
