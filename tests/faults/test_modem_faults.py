"""Rows 1 to 14 of the fault table: modem and SIM, injected into the simulated modem under a daemon at work."""

import hashlib
import json
import os
import random
import threading
from dataclasses import replace

import pytest

from gateway.__main__ import main
from gateway.errors import StoreFull
from gateway.modem import Times
from gateway.modem.pdu import encode_submit
from gateway.simulator import Faults, Habits, SimulatedModem
from tests.faults.board import UNLIMITED
from tests.household import RIDGE, WREN, at_home

QUICK = Times(command_s=0.5, prompt_s=0.5, result_s=0.5, wake_s=2.0, list_s=1.0, settle_s=0.05)


def heard(home, number):
    """The text of this trial was stored once."""
    home.until(lambda: [text.text for text in home.texts("in")].count(f"STATION WELL {number}") == 1, f"text {number}")


def test_row_01_unplugged_at_any_time(tmp_path, seed, trials):
    """Unplugged and plugged again, over and over: it goes on, nothing is lost or doubled, all on record."""
    rng = random.Random(seed)
    with at_home(tmp_path, times=QUICK) as home:
        for number in range(trials(100)):
            home.modem.network.deliver(RIDGE, f"STATION WELL {number}")
            if rng.random() < 0.5:
                heard(home, number)
            home.modem.unplug()
            home.modem.plug()
            heard(home, number)
        home.until(lambda: len(home.events("modem-back")) == len(home.events("modem-lost")), "back as often as lost")


def test_row_02_comes_back_as_another_tty(tmp_path, trials):
    """A new pty behind the same stable link is found."""
    link = tmp_path / "modem"
    with SimulatedModem(str(link)) as modem, at_home(tmp_path, modem=modem, times=QUICK) as home:
        modem.network.deliver(RIDGE, "STATION WELL first")
        heard(home, "first")
        for number in range(trials(50)):
            before = link.readlink()
            modem.unplug()
            home.came("modem-lost", number + 1)
            taken = [os.openpty()]
            while os.ttyname(taken[-1][1]) != str(before) and len(taken) < 500:
                taken.append(os.openpty())
            # only the freed one is held on to: hundreds of descriptors are more than `select` of the simulated modem can watch
            for descriptor in (descriptor for pair in taken[:-1] for descriptor in pair):
                os.close(descriptor)
            modem.plug()
            for descriptor in taken[-1]:
                os.close(descriptor)
            assert link.readlink() != before, "another tty, by the same stable name"
            modem.network.deliver(RIDGE, f"STATION WELL {number}")
            heard(home, number)


def test_row_03_answers_nothing(tmp_path, trials):
    """A mute modem is flagged; when it answers again the gateway goes on."""
    with at_home(tmp_path, times=QUICK, line='sweep_every = "1s"') as home:
        for number in range(trials(50)):
            home.modem.network.deliver(RIDGE, f"STATION WELL {number}")
            heard(home, number)
            home.modem.faults.mute = True
            home.came("modem-lost", number + 1)
            home.modem.faults.mute = False
            home.came("modem-back", number + 1)


def test_row_04_noise_that_is_no_text(tmp_path, seed, trials):
    """Random bytes, with and without line ends: the reader lives, and reads the next text."""
    rng = random.Random(seed)
    with at_home(tmp_path, times=QUICK) as home:
        for number in range(max(5, trials(10_000) // 100)):
            for _ in range(100):
                home.modem.say_bytes(rng.randbytes(rng.randrange(1, 60)) + rng.choice([b"", b"\r\n"]))
            home.modem.network.deliver(RIDGE, f"STATION WELL {number}")
            heard(home, number)
        assert not home.events("unread")


def test_row_05_unasked_lines_inside_answers(tmp_path, seed, trials):
    """Unsolicited lines before any line of any answer, several in one write: the answer and the news are both understood."""
    faults = Faults(noise=0.1, strewn=0.5)
    with SimulatedModem(faults=faults, seed=seed) as modem, at_home(tmp_path, modem=modem, times=QUICK) as home:
        for first in range(0, trials(2000), 20):
            for number in range(first, first + 20):
                modem.network.deliver(RIDGE, f"STATION WELL {number}")
            for number in range(first, first + 20):
                heard(home, number)


def test_row_06_announcements_lost(tmp_path, trials):
    """Nothing is announced: the sweep finds every text."""
    with at_home(tmp_path, line='sweep_every = "1s"') as home:
        home.modem.network.deliver(RIDGE, "STATION WELL 0")
        heard(home, 0)
        home.modem.faults.lost_announcements = 1.0
        for first in range(1, trials(200) + 1, 5):
            for number in range(first, first + 5):
                home.modem.network.deliver(RIDGE, f"STATION WELL {number}")
            for number in range(first, first + 5):
                heard(home, number)


def test_row_07_silent_reset(tmp_path, trials):
    """Echo and text mode are back: noticed, initialised again, nothing stranded."""
    with at_home(tmp_path, times=QUICK, line='sweep_every = "1s"') as home:
        for number in range(trials(100)):
            home.modem.reset()
            home.modem.network.deliver(RIDGE, f"STATION WELL {number}")
            heard(home, number)


def test_row_10_wrong_pin_is_tried_once_ever(tmp_path, trials):
    """A wrong PIN costs one try, over restarts too, and is said."""
    pin = tmp_path / "pin"
    pin.write_text("1111")
    with SimulatedModem() as modem:
        modem.sim.want_pin("2222")
        for _ in range(max(3, trials(20))):
            with at_home(tmp_path, modem=modem, times=QUICK, pin=f'pin_file = "{pin}"') as home:
                home.came("sim-trouble")
        assert modem.pin_tries == 1
        pin.write_text("2222")
        with at_home(tmp_path, modem=modem, times=QUICK, pin=f'pin_file = "{pin}"') as home:
            home.modem.network.deliver(RIDGE, "STATION WELL 0")
            heard(home, 0)
        assert modem.pin_tries == 2


def test_row_10_no_try_that_cannot_be_kept(tmp_path):
    """The store fails when the SIM wants its PIN: it is said and not tried; once the try can be kept it is made, and texts come."""
    pin = tmp_path / "pin"
    pin.write_text("2222")
    with (
        SimulatedModem(str(tmp_path / "modem")) as modem,
        at_home(tmp_path, modem=modem, times=QUICK, pin=f'pin_file = "{pin}"') as home,
    ):
        home.until(lambda: "AT+CSQ" in modem.commands, "at work")
        write, full = home.built.store.write, threading.Event()
        full.set()

        def by_turns():
            if full.is_set() and threading.current_thread().name == "modem":
                raise StoreFull("there is no room left")
            return write()

        home.built.store.write = by_turns
        modem.unplug()
        modem.sim.want_pin("2222")
        modem.plug()
        assert "no room left" in home.came("sim-trouble")[0].detail["why"] and modem.pin_tries == 0
        full.clear()
        modem.network.deliver(RIDGE, "STATION WELL 0")
        heard(home, 0)
        assert modem.pin_tries == 1


def test_row_10_the_right_pin_is_given_after_each_power_up(tmp_path):
    """The SIM took it, so that it is no wrong one: the modem loses its power again and again, and goes on each time."""
    pin = tmp_path / "pin"
    pin.write_text("2222")
    with SimulatedModem(str(tmp_path / "modem")) as modem:
        modem.sim.want_pin("2222")
        with at_home(tmp_path, modem=modem, times=QUICK, pin=f'pin_file = "{pin}"') as home:
            for number in range(3):
                modem.network.deliver(RIDGE, f"STATION WELL {number}")
                heard(home, number)
                modem.unplug()
                modem.plug()
            modem.network.deliver(RIDGE, "STATION WELL 3")
            heard(home, 3)
            assert not home.events("sim-trouble")
        assert modem.sim.tries_left == 3


def test_row_75_nothing_tells_the_pin(tmp_path):
    """A wrong PIN was tried and is on record: no file of the store tells it, plain or as a hash of the usual sorts, salted with names or not."""
    pin, wrong = tmp_path / "pin", "4711"
    pin.write_text(wrong)
    with SimulatedModem() as modem:
        modem.sim.want_pin("2222")
        with at_home(tmp_path, modem=modem, times=QUICK, pin=f'pin_file = "{pin}"') as home:
            home.came("sim-trouble")
            home.built.store.backup(str(tmp_path / "copy.db"))
    hashes = [
        hashlib.new(name, f"{salt}{wrong}".encode()).hexdigest()[:16]
        for name in ("sha256", "sha1", "md5", "sha512", "blake2b")
        for salt in ("", "tank-gateway:", "Quandong Ridge", "Quandong Ridge:")
    ]
    kept = b"".join(file.read_bytes() for file in tmp_path.iterdir() if file.is_file() and file != pin)
    assert b"pin-mark" in kept
    assert not [told for told in (wrong, *hashes) if told.encode() in kept]


def test_row_10_a_puk_is_never_answered(tmp_path):
    """PUK wanted: said; no PIN goes to it."""
    pin = tmp_path / "pin"
    pin.write_text("1111")
    with SimulatedModem() as modem:
        modem.sim.want_pin("2222", tries_left=0)
        with at_home(tmp_path, modem=modem, times=QUICK, pin=f'pin_file = "{pin}"') as home:
            assert "PUK" in home.came("sim-trouble")[0].detail["why"]
        assert not [command for command in modem.commands if command.startswith("AT+CPIN=")]


def test_row_11_sim_gone_and_back(tmp_path, trials):
    """The SIM falls out: flagged; put back: it goes on."""
    with SimulatedModem(str(tmp_path / "modem")) as modem:
        modem.sim.remove()
        with at_home(tmp_path, modem=modem, times=QUICK) as home:
            for number in range(max(1, trials(50) // 2)):
                home.came("sim-trouble", number + 1)
                modem.sim.insert()
                modem.network.deliver(RIDGE, f"STATION WELL {number}")
                heard(home, number)
                home.came("sim-back", number + 1)
                if number + 1 < trials(50) // 2:
                    modem.sim.remove()
                    modem.unplug()
                    modem.plug()


def test_row_12_full_store_is_drained_first(tmp_path, trials):
    """A full SIM: drained before anything is sent, and what waits outside comes in."""
    with SimulatedModem(habits=Habits(memories=("SM",), capacity={"SM": 5})) as modem:
        for trial in range(trials(100)):
            numbers = range(9 * trial, 9 * trial + 9)
            for number in numbers:
                modem.network.deliver(RIDGE, f"STATION WELL {number}")
            with at_home(tmp_path, modem=modem) as home:
                for number in numbers:
                    heard(home, number)
                home.until(lambda: not modem.slots, "all slots freed")


def test_row_12_and_only_then_is_anything_sent(tmp_path, trials):
    """Alarms on a full SIM: each of its slots is freed before the first message leaves."""
    with SimulatedModem(habits=Habits(memories=("SM",), capacity={"SM": 5})) as modem:
        for trial in range(trials(100)):
            for number in range(5):
                modem.network.deliver(RIDGE, f"LINE 1 {('MADE', 'BROKE')[(trial + number) % 2]} {trial:02}{number:02}")
            told, sent = len(modem.commands), len(modem.network.outgoing)
            with at_home(tmp_path, modem=modem, rest=UNLIMITED):
                modem.network.wait_for_outgoing(sent + 1, 30.0)
            said = [command.partition("=")[0] for command in modem.commands[told:]]
            assert said[: said.index("AT+CMGS")].count("AT+CMGD") == 5


def test_row_13_delete_fails(tmp_path):
    """The slot cannot be freed: one event, also after a restart; freed once the modem obeys again."""
    with SimulatedModem() as modem:
        modem.faults.delete_error = 500
        modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
        for _ in range(3):
            with at_home(tmp_path, modem=modem) as home:
                assert len(home.came("low")) == 1
                home.until(lambda: "AT+CMGD=1" in modem.commands, "it was tried")
        modem.faults.delete_error = None
        with at_home(tmp_path, modem=modem) as home:
            home.until(lambda: not modem.slots, "the slot is free")
            assert len(home.events("low")) == len(home.texts("in")) == 1


LOOKS_OFTEN = replace(QUICK, condition_every_s=0.2)
SMALL_SIM = Habits(memories=("SM",), capacity={"SM": 10})


def test_row_57_a_sim_full_of_drafts_is_told(tmp_path, trials, capsys):
    """Drafts and sent messages stay where they are, are texted to nobody, and are said before nothing more fits in."""
    for number in range(trials(100)):
        folder = tmp_path / str(number)
        folder.mkdir()
        with SimulatedModem(habits=SMALL_SIM) as modem:
            for place in range(8):
                modem.put("SM", encode_submit(WREN, f"Back on Sunday {place}", 1, False)[0].pdu, stat=2 + place % 2)
            kept = modem.slots
            with at_home(folder, modem=modem, times=LOOKS_OFTEN) as home:
                assert home.came("memory-full")[0].detail["count"] == "2"
                modem.network.deliver(RIDGE, "STATION WELL 0")
                heard(home, 0)
                home.until(
                    lambda modem=modem, kept=kept: modem.slots == kept,
                    "the text's slot is free, the others are as they were",
                )
                assert main(["doctor", "--config", str(folder / "gateway.toml"), "--json"]) == 1
                findings = {finding["what"]: finding for finding in json.loads(capsys.readouterr().out)["findings"]}
                assert findings["memory SM"]["right"] is False and "8 drafts" in findings["memory SM"]["said"]
            assert not [message for message in modem.network.outgoing if "Sunday" in message.text]


def test_row_77_slots_that_can_never_be_freed(tmp_path, trials):
    """The modem deletes nothing: each text is told once, and that room runs out is said while there is some."""
    for number in range(trials(50)):
        folder = tmp_path / str(number)
        folder.mkdir()
        with SimulatedModem(habits=SMALL_SIM) as modem:
            modem.faults.delete_error = (500, 302, 320)[number % 3]
            with at_home(folder, modem=modem, times=LOOKS_OFTEN, line='sweep_every = "1s"') as home:
                texts = SMALL_SIM.capacity["SM"] - 2
                for text in range(texts):
                    modem.network.deliver(RIDGE, f"STATION WELL {text}")
                    heard(home, text)
                home.came("memory-full")
                assert [len(home.texts("in")), len(home.events("alive"))] == [texts, texts]
                modem.faults.delete_error = None
                home.built.daemon._modem.sweep()
                home.came("memory-free")


@pytest.mark.parametrize("error", [500, 302, 320])
def test_row_83_a_listing_that_is_refused_is_no_sweep(tmp_path, error):
    """Texts stand in a memory that cannot be listed: said, nobody is called silent, and they are read once it can."""
    with SimulatedModem(habits=SMALL_SIM) as modem:
        modem.faults.list_error = error
        modem.network.deliver(RIDGE, "STATION WELL 0")
        with at_home(tmp_path, modem=modem, times=LOOKS_OFTEN, controller='silence_after = "1s"') as home:
            assert home.came("memory-unread")
            assert not home.events("silent")
            modem.faults.list_error = None
            heard(home, 0)
            home.came("memory-read")


@pytest.mark.parametrize(
    "pdu", ["00", "07911326040000F0", "FFFFFFFFFFFF", "0791448720003023240C9144775810065000009160"]
)
def test_row_14_undecodable_pdus(tmp_path, pdu):
    """What nobody can decode is kept raw, reported, and its slot freed."""
    with at_home(tmp_path) as home:
        home.modem.put("SM", pdu)
        home.built.daemon._modem.sweep()
        unread = home.came("unread")
        assert unread[0].text == pdu
        home.until(lambda: not home.modem.slots, "the slot is free")
