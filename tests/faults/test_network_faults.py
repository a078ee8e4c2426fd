"""Rows 15 to 19, 41 and 42 of the fault table: the network away, refusing, shuffling, repeating, flooding; one contact failing."""

import itertools
import random
from dataclasses import replace
from datetime import timedelta

import pytest

from gateway.modem.error_codes import refusal
from gateway.ports import SendEnded
from gateway.simulator.pdus import deliver_pdus
from gateway.status.gateway_troubles import troubles
from tests.fakes.fake_modem import SENT, UNSURE, refused
from tests.faults.board import REPEAT, UNLIMITED, Fresh, board, switch
from tests.household import RIDGE, ROBIN, WREN

WINDOW = timedelta(minutes=10)
NO_REPORTS = "delivery_reports = false"


def test_row_15_absent_for_two_days(tmp_path, seed, trials):
    """48 hours without a network: the outbox is kept, tries come 1 to 60 minutes apart, and all leave when it is back."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(50)):
        home = fresh.board(rest=UNLIMITED, controller='silence_after = "off"')
        home.start()
        code = rng.choice([38, 331, 332, 41])
        home.modem.usual = refused(code)
        home.hears(RIDGE, "LINE 1 MADE 0717")
        times = [home.clock.now()]
        for _ in range(48 * 4):
            tried = len(home.modem.jobs)
            home.pass_time(timedelta(minutes=15), at_least_s=900)
            if len(home.modem.jobs) > tried:
                times.append(home.clock.now())
        gaps = [after - before for before, after in itertools.pairwise(times)]
        assert all(timedelta(minutes=1) <= gap <= timedelta(minutes=85) for gap in gaps)
        kept = "unsure" if refusal(1, "cms", code).may_have_left else "waiting"
        assert all(text.state == kept for text in home.texts("out"))
        home.modem.usual = SENT
        home.pass_time(timedelta(minutes=70), at_least_s=300)
        assert {text.number for text in home.modem.arrived} == {WREN, ROBIN}
        assert all(text.state == "sent" for text in home.texts("out"))
        home.cut()


def test_row_16_every_code(tmp_path):
    """Each code of 27.005 and 27.007: permanent ends it on record and tells the others; passing ones come again."""
    with board(tmp_path, rest=UNLIMITED) as home:
        number = -1
        for family, code in itertools.product(("cms", "cme"), range(0, 550)):
            ended = refusal(1, family, code)
            if ended.outcome == "sent":
                continue
            never = ended.verdict == "never"
            if code % 7 and not never:
                continue
            number += 1
            home.modem.by_number = {WREN: refused(code, family)}
            home.hears(RIDGE, switch(number))
            mine = [
                text for text in home.texts("out") if text.contact == "wren" and "could not be told" not in text.text
            ][-1]
            passing = "unsure" if ended.may_have_left else "waiting"
            assert mine.state == ("failed" if never else passing), (family, code)
            with home.store.write() as tx:
                for message in tx.outbox():
                    tx.change_message(message.id, state="failed")
        given_up = [text for text in home.arrived(ROBIN) if "could not be told" in text]
        assert len(given_up) == len(home.events("given-up")) > 10


@pytest.mark.parametrize("left", [True, False])
def test_row_54_refused_after_the_text_was_taken(tmp_path, left, trials):
    """Every +CMS code there is, whether the text left or not: people get a text twice only with a mark, and nobody is told of a failure
    that is none."""
    codes = [code for code in range(1, 520) if refusal(1, "cms", code).verdict != "never"]
    codes = codes[:: max(1, len(codes) // trials(500))]
    with board(tmp_path, rest=UNLIMITED, controller='silence_after = "off"', line=NO_REPORTS) as home:
        for number, code in enumerate(codes):
            ended = refusal(1, "cms", code)
            may_have_left = ended.may_have_left or ended.outcome == "sent"
            home.modem.by_number = {WREN: replace(refused(code), arrives=left and may_have_left)}
            before = len(home.modem.arrived)
            home.hears(RIDGE, switch(number))
            home.modem.by_number = {}
            home.pass_time(timedelta(minutes=3))
            mine = [text for text in home.modem.arrived[before:] if text.number == WREN]
            unmarked = [message for message in mine if not message.text.startswith(REPEAT)]
            assert len(unmarked) == int(not may_have_left or left), (code, mine)
            assert all(text.state == "sent" for text in home.texts("out")), code
        assert not home.events("given-up")


def test_row_17_parts_shuffled_doubled_missing(tmp_path, seed, trials):
    """Joined in any order; where one never comes, what there is is shown after a time, with the gap marked."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED, controller='silence_after = "off"') as home:
        for number in range(trials(5000)):
            words = " ".join(f"{number}w{place}" for place in range(rng.randrange(20, 60)))
            pdus = list(deliver_pdus(RIDGE, words, home.clock.now().replace(microsecond=0), reference=number % 256))
            lost = len(pdus) > 1 and rng.random() < 0.2 and pdus.pop(rng.randrange(len(pdus)))
            pdus += rng.choices(pdus, k=rng.randrange(0, 3))
            rng.shuffle(pdus)
            for pdu in pdus:
                home.modem.deliver_pdus([pdu])
                if rng.random() < 0.5:
                    home.settle()
            home.settle()
            if lost:
                home.clock.advance(timedelta(hours=25))
                home.settle()
            got = [text.text for text in home.texts("in")]
            assert len(got) == number + 1, "one text"
            assert (got[-1] == words) is not bool(lost)
            assert f"{number}w" in got[-1] and not home.modem.slots


def test_row_18_network_repeats(tmp_path, seed, trials):
    """The same PDU again within ten minutes, in another slot, at once or after a restart: one text, one event, each slot freed."""
    rng = random.Random(seed)
    home = Fresh(tmp_path).board(line="delivery_reports = false", rest=UNLIMITED)
    home.start()
    starts = len(home.events())
    for number in range(trials(1000)):
        home.clock.advance(timedelta(minutes=3))
        pdus = home.modem.deliver(RIDGE, switch(number))
        home.settle()
        for _ in range(rng.randrange(1, 4)):
            home.clock.advance(timedelta(minutes=rng.uniform(0, 3)))
            if rng.random() < 0.05:
                home.cut()
                home.start()
                starts += 1
            home.modem.deliver_pdus(pdus)
            home.settle()
        assert len(home.texts("in")) == number + 1 and not home.modem.slots
    assert len(home.events()) == trials(1000) + starts
    home.cut()


@pytest.mark.parametrize("stamps", ["whole minutes", "stuck"])
def test_row_62_stamps_that_tell_nothing_apart(tmp_path, seed, trials, stamps):
    """To and fro with the same octets each time: every switch is an event and told, and the box is not silent meanwhile."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED, controller='silence_after = "2h"\nask = { before_silence = "0s" }') as home:
        first = home.clock.now().replace(second=0, microsecond=0)
        for number in range(trials(1000)):
            seconds = rng.uniform(1, 25) if stamps == "whole minutes" else rng.uniform(1, 5400)
            home.pass_time(timedelta(seconds=seconds), at_least_s=600)
            stamp = first if stamps == "stuck" else home.clock.now().replace(second=0, microsecond=0)
            home.hears(RIDGE, ("LINE 1 MADE", "LINE 1 BROKE")[number % 2], stamp=stamp)
            assert len(home.texts("in")) == number + 1 and not home.modem.slots
        assert [event.kind for event in home.events("low", "low-over")] == ["low", "low-over"] * (trials(1000) // 2)
        assert sum("LOW" in text for text in home.arrived(WREN)) >= trials(1000) // 2
        assert not home.events("silent")


def test_row_62_the_same_octets_after_ten_minutes_are_news(tmp_path):
    """Nothing came between, but it is too late for a repeat: a new text, marked, at the time at which it came."""
    with board(tmp_path, rest=UNLIMITED) as home:
        stamp = home.clock.now().replace(microsecond=0)
        for minutes in (0, 5, 4, 2):
            home.clock.advance(timedelta(minutes=minutes))
            home.hears(RIDGE, "STATION WELL 1", stamp=stamp)
        first, second = home.events("alive")
        assert "perhaps_repeat" not in first.detail
        assert second.detail["perhaps_repeat"] is True and second.at == home.clock.now()


def test_row_62_a_repeat_whose_slot_cannot_be_freed_stays_one(tmp_path):
    """Its delete fails for an hour: listed again and again it is known by its slot."""
    with board(tmp_path, rest=UNLIMITED) as home:
        pdus = home.hears(RIDGE, "LINE 1 MADE 0001")
        home.modem.delete_fails = True
        home.modem.deliver_pdus(pdus)
        home.settle()
        for _ in range(6):
            home.clock.advance(timedelta(minutes=10))
            home.modem.sweep()
            home.settle()
        assert home.modem.slots, "the slot is still there"
        assert len(home.texts("in")) == 1 and len(home.events("low")) == 1


def test_row_62_parts_of_one_text_are_not_others_between(tmp_path):
    """Each part of a text of three again, in any order: nothing new. The whole text again after another one: news."""
    with board(tmp_path, rest=UNLIMITED) as home:
        words = " ".join(f"word{place}" for place in range(60))
        pdus = home.hears(RIDGE, words)
        assert len(pdus) == 3
        for order in itertools.permutations(pdus):
            home.modem.deliver_pdus(order)
            home.settle()
        home.pass_time(timedelta(minutes=20), at_least_s=60)
        assert [text.text for text in home.texts("in")] == [words]
        pdus = home.hears(RIDGE, words)
        home.hears(RIDGE, "STATION WELL 1")
        home.modem.deliver_pdus(pdus)
        home.settle()
        assert [text.text for text in home.texts("in")] == [words, words, "STATION WELL 1", words]


def test_row_19_two_hundred_waiting_at_start(tmp_path, trials):
    """All stored; each contact gets ten messages at most, the last of them a digest."""
    fresh = Fresh(tmp_path)
    for _ in range(trials(20)):
        home = fresh.board(rest="[limits]\nchatter = false\n")
        for number in range(200):
            stamp = home.clock.now().replace(microsecond=0) - timedelta(minutes=3 * (200 - number))
            home.modem.deliver(RIDGE, switch(number), stamp=stamp)
        home.start()
        home.settle()
        assert len(home.texts("in")) == 200 and len(home.events("low", "low-over")) == 200
        for number in (WREN, ROBIN):
            assert len(home.arrived(number)) <= 10
        home.cut()


def test_row_41_flood(tmp_path, request, trials):
    """A thousand texts within an hour: never more than ten messages to a contact in any ten minutes; nothing is lost."""
    count = 1000 if request.config.getoption("--soak") else 200
    fresh = Fresh(tmp_path)
    for _ in range(trials(20)):
        home = fresh.board(rest="[limits]\nchatter = false\n")
        home.start()
        for number in range(count):
            home.modem.deliver(RIDGE, switch(number))
            home.pass_time(timedelta(seconds=3600 / count), at_least_s=10)
        home.pass_time(timedelta(minutes=30), at_least_s=30)
        for number in (WREN, ROBIN):
            mine = [at for at, to in home.modem.sent_at if to == number]
            assert mine and all(sum(at <= other < at + WINDOW for other in mine) <= 10 for at in mine)
        assert len(home.texts("in")) == count
        assert not [text for text in home.texts("out") if text.state == "waiting"]
        home.cut()


def test_row_42_one_contact_always_fails(tmp_path, seed, trials):
    """The others get theirs at once, the failing one is given up on record, and the rest is told."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(100)):
        home = fresh.board(rest=UNLIMITED, controller='silence_after = "off"')
        home.start()
        code = rng.choice([1, 8, 28])
        home.modem.by_number = {ROBIN: refused(code)}
        home.hears(RIDGE, "LINE 1 MADE 0717")
        assert len(home.arrived(WREN)) >= 1, "not delayed"
        home.pass_time(timedelta(hours=1), at_least_s=600)
        assert [event.detail["contact"] for event in home.events("given-up")] == ["robin"]
        assert any("could not be told" in text for text in home.arrived(WREN))
        home.cut()


@pytest.mark.parametrize("reports", ["none", "failed for now", "failed for good"])
def test_row_78_the_network_takes_everything_and_delivers_nothing(tmp_path, seed, trials, reports):
    """Two days long: it is said, once, the week's message and doctor have it, each next turn is told; and when one arrives it is over."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    turns = {"wren": "turn = 1", "robin": "turn = 2"}
    for _ in range(trials(17)):
        home = fresh.board(rest=UNLIMITED + '[call_out]\ntake_within = "30m"\ndelivered_within = "10m"\n', **turns)
        home.start()
        for number in range(48):
            before = len(home.modem.arrived)
            home.pass_time(timedelta(minutes=rng.uniform(30, 60)), at_least_s=300)
            home.hears(RIDGE, switch(number))
            home.pass_time(timedelta(minutes=11), at_least_s=60)
            if number % 2 == 0:
                assert {ROBIN} <= {job.number for job in home.modem.arrived[before:]}, "the next turn is told"
            for place, job in enumerate(home.modem.arrived[before:], start=before + 1):
                if reports != "none":
                    home.modem.report(job.number, place % 256, status=0x20 if reports == "failed for now" else 0x46)
            home.settle()
        assert len(home.events("nothing-delivered")) == 1
        assert any("reported delivered" in text for text in home.arrived(WREN))
        with home.store.read() as reader:
            assert "nothing-delivered" in troubles(reader)
        home.hears(RIDGE, switch(48))
        home.modem.report(home.modem.arrived[-1].number, len(home.modem.arrived) % 256)
        home.pass_time(timedelta(minutes=5), at_least_s=60)
        assert len(home.events("delivered-again")) == 1
        home.cut()


def test_row_78_a_phone_that_is_off_is_no_network_that_delivers_nothing(tmp_path):
    """Others get theirs: nothing is said."""
    with board(tmp_path, rest=UNLIMITED) as home:
        for number in range(10):
            home.pass_time(timedelta(minutes=50), at_least_s=600)
            before = len(home.modem.arrived)
            home.hears(RIDGE, switch(number))
            for place, job in enumerate(home.modem.arrived[before:], start=before + 1):
                if job.number == WREN:
                    home.modem.report(job.number, place % 256)
            home.settle()
        home.pass_time(timedelta(hours=3), at_least_s=600)
        assert not home.events("nothing-delivered")


def test_row_53_a_late_answer_settles_what_was_unsure(tmp_path, trials):
    """The modem says after minutes that it was sent: no repeat leaves, and nobody is told of a failure."""
    with board(tmp_path, rest=UNLIMITED, controller='silence_after = "off"', line=NO_REPORTS) as home:
        for number in range(trials(50)):
            home.modem.outcomes.extend([UNSURE] * 2)
            before = len(home.modem.arrived)
            home.hears(RIDGE, switch(number))
            for job in home.modem.jobs[-2:]:
                home.modem._say(SendEnded(job=job.id, outcome="sent", references=(7,), late=True))
            home.settle()
            home.pass_time(timedelta(minutes=10))
            assert len(home.modem.arrived) == before + 2
            assert {text.state for text in home.texts("out")[-2:]} == {"sent"}
        assert not home.events("given-up")
