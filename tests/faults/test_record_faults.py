"""Rows 62, 72, 74, 76, 83, 84: what the record says of repeats, of what is unknown, of what left, of old octets, of a sweep refused."""

import random
from datetime import timedelta

import pytest

from gateway.site import compile_site
from gateway.status.snapshot import take_snapshot
from tests.faults.board import UNLIMITED, Fresh, board
from tests.household import RIDGE, STRANGER, WREN

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def test_row_62_what_is_taken_for_a_repeat_has_a_line(tmp_path, seed, trials):
    """Of a box, of a contact, of a stranger, of a part: each time it came there is a line, which moves nothing and is no sign of life."""
    rng = random.Random(seed)
    with board(tmp_path, rest=UNLIMITED, controller='silence_after = "2h"\nask = { before_silence = "0s" }') as home:
        repeats = 0
        for number in range(trials(250)):
            home.clock.advance(timedelta(minutes=11))
            words = "long " * 40 if number % 5 == 0 else "short"
            pdus = home.hears((RIDGE, WREN, STRANGER)[number % 3], f"NOTE {words} {number}")
            kept = len(home.events("alive", "unread", "note"))
            for _ in range(rng.randrange(1, 3)):
                home.clock.advance(timedelta(minutes=rng.uniform(0, 4)))
                home.modem.deliver_pdus(pdus)
                home.settle()
                repeats += len(pdus)
            assert len(home.repeats()) == repeats and len(home.texts("in")) == number + 1
            assert len(home.events("alive", "unread", "note")) == kept
        (pdu,) = home.hears(RIDGE, "STATION WELL 1")
        for _ in range(3):
            home.clock.advance(timedelta(minutes=3))
            home.modem.deliver_pdus([pdu])
            home.settle()
        before = len(home.events("silent"))
        home.pass_time(2 * HOUR - timedelta(minutes=8), at_least_s=60)
        assert len(home.events("silent")) == before + 1, "a repeat is no sign of life"


def test_row_72_nothing_known_is_unknown(tmp_path, seed, trials):
    """The end of work, of chatter and of a silence: never "ok" of a tank of which nobody knows."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(500)):
        home = fresh.board(rest="", controller='silence_after = "2h"\nask = { before_silence = "0s" }')
        home.start()
        heard = rng.random() < 0.5
        if heard:
            home.hears(RIDGE, "LINE 1 BROKE 0001")
        for silence in rng.choice([(1, 0), (3, 0), (0, 1), (0, 3)]):
            if silence:
                home.pass_time(silence * HOUR, at_least_s=1800)
            else:
                home.hears(WREN, "WORK house 90m")
        home.modem.arrived.clear()
        home.pass_time(2 * HOUR, at_least_s=1200)
        known = _house(home)
        for over in home.events("pause-over"):
            silent = any(event.at <= over.at for event in home.events("silent"))
            assert over.detail["state"] == ("ok" if heard and not silent else "unknown")
        assert known == "unknown", "the box is silent by now"
        said = " ".join(home.arrived(WREN))
        assert heard or "ok now" not in said
        home.hears(RIDGE, "STATION WELL 1")
        assert (_house(home) == "ok") is heard, "heard again, and of the float nothing new"
        home.cut()


def _house(home):
    with home.store.read() as reader:
        return take_snapshot(reader, compile_site(home.settings), home.clock.now()).tank("house").state


def test_row_76_old_octets_are_in_no_backup(tmp_path, trials):
    """Raw PDUs of more than four hundred days ago: gone from file, log, and the next backup; the words stay."""
    fresh = Fresh(tmp_path)
    for number in range(trials(5)):
        home = fresh.board(rest=UNLIMITED, controller='silence_after = "off"')
        home.start()
        (old,) = home.hears(RIDGE, "STATION WELL 0001")
        for month in range(15):
            home.pass_time(30 * DAY, at_least_s=86_400)
            (new,) = home.hears(RIDGE, f"STATION WELL 1{month:03}")
        backup = home.folder / f"backup-{number}.db"
        home.store.backup(str(backup))
        there = [file.read_bytes() for file in (*home.folder.glob("gateway.db*"), backup)]
        assert not any(old.encode() in octets for octets in there)
        assert sum(new.encode() in octets for octets in there) >= 2 and "STATION WELL 0001" in home.texts("in")[0].text
        home.cut()


def test_row_83_the_first_listing_is_refused(tmp_path, seed, trials):
    """Down over a deadline, and the memory cannot be read at first: no verdict on silence from that; what lies there is heard before."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(50)):
        home = fresh.board(controller='silence_after = "26h"\nask = { before_silence = "0s" }')
        home.start()
        home.hears(RIDGE, "STATION WELL 1")
        home.cut()
        home.clock.advance(30 * HOUR)
        heard = rng.random() < 0.5
        if heard:
            home.modem.deliver(RIDGE, "STATION WELL 2", stamp=(home.clock.now() - HOUR).replace(microsecond=0))
        there, home.modem.slots = home.modem.slots, {}
        home.modem.incomplete = True
        home.start()
        for _ in range(rng.randrange(1, 5)):
            home.pass_time(timedelta(minutes=3), at_least_s=30)
            home.modem.sweep()
            home.settle()
            assert not home.events("silent"), "nothing is known of what lies there"
        home.modem.incomplete, home.modem.slots = False, there
        home.modem.sweep()
        home.settle()
        home.pass_time(timedelta(minutes=1), at_least_s=30)
        assert len(home.events("silent")) == (not heard)
        home.cut()


def test_row_84_each_calendar_job_once_for_each_due_time(tmp_path, request, seed, trials):
    """Three years (in the ordinary suite a quarter of one) with a clock that is set to and fro: a week's message each Sunday, a backup each
    day, and no more; the loop rests in between."""
    fresh, rng = Fresh(tmp_path), random.Random(seed)
    for _ in range(trials(20)):
        home = fresh.board(rest='[digest]\nday = "sunday"\ncontacts = ["wren"]\n', controller='silence_after = "off"')
        folder = home.folder / "backups"
        folder.mkdir()
        text = home.config.read_text().replace("[[controllers]]", f'backup_folder = "{folder}"\n[[controllers]]', 1)
        home.config.write_text(text)
        home.reload_settings()
        home.start()
        home.hears(RIDGE, "STATION WELL 1")
        weeks = 3 * 52 if request.config.getoption("--soak") else 13
        for week in range(weeks):
            off = rng.choice([timedelta(0), timedelta(0), HOUR, -HOUR, timedelta(hours=30), timedelta(hours=-30)])
            home.clock.step(off)
            home.pass_time(2 * DAY, at_least_s=21_600)
            home.clock.step(-off)
            home.pass_time(5 * DAY, at_least_s=21_600)
            if week % 26 == 5:
                home.cut()
                home.start()
        sundays = [text for text in home.arrived(WREN) if "seven days" in text or "These seven" in text]
        assert weeks - 1 <= len(sundays) <= weeks + 1, len(sundays)
        backups = home.events("backup-made")
        assert 7 * weeks * 0.9 <= len(backups) <= 7 * weeks * 1.1, len(backups)
        assert home.wake_ups <= 7 * weeks * 6, "it rests in between"
        home.cut()


LEAVES = {
    "a tank": ('[[tanks]]\nid = "spring"', '[[tanks]]\nid = "house"', "low:spring"),
    "a tank whose alarm is folded in another": ('[[tanks]]\nid = "house"', "[demand]", "low:house"),
}


@pytest.mark.parametrize("what", LEAVES)
@pytest.mark.parametrize("at_work", [False, True], ids=["after a start", "by a reload"])
def test_row_74_what_leaves_the_configuration_takes_its_alarm_along(tmp_path, what, at_work):
    """The alarm is over, on record and said once with the change; what stays keeps its own, and nobody can take what is gone."""
    begins, ends, key = LEAVES[what]
    with board(tmp_path, rest=UNLIMITED, controller='silence_after = "off"') as home:
        home.hears(RIDGE, "LINE 1 MADE 0001")
        home.hears(RIDGE, "LINE 2 MADE 0001")
        text = home.config.read_text()
        whole = text.index(begins), text.index(ends)
        home.config.write_text((text[: whole[0]] + text[whole[1] :]).replace('fed_by = ["spring"]', ""))
        home.reload_settings()
        if at_work:
            home.daemon.tell("reload")
            home.settle()
        else:
            home.cut()
            home.start()
        for _ in range(2):
            with home.store.read() as reader:
                standing = {alarm.key: alarm.state for alarm in reader.alarms()}
            assert standing == {({"low:spring", "low:house"} - {key}).pop(): "open"}
            assert [event.detail.get("alarms_ended") for event in home.events("configuration-changed")] == [[key]]
            said = [text for text in home.arrived(WREN) if "taken out of the gateway's settings" in text]
            assert len(said) == 1 and said[0].startswith(
                {"low:spring": "Spring", "low:house": "House"}[key] + " tank was"
            )
            home.cut()
            home.start()
        home.hears(WREN, "OK")
        assert key.partition(":")[2] not in home.arrived(WREN)[-1].lower()
