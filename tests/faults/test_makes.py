"""Rows 49 to 60 of the fault table: modems as they are, each form of the grammar by chance; a daemon, or the real dialogue, on each."""

import itertools
import random
import threading

import pytest

from gateway.clock import SystemClock
from gateway.modem import Pin, Times, open_modem
from gateway.modem.condition import REGISTERED, REGISTRATIONS, Gauges
from gateway.modem.parse_listing import listed_in
from gateway.modem.pdu_mode import PduMode
from gateway.modem.sending import Sender
from gateway.modem.sim import PatientCommands, SimLock
from gateway.modem.ussd import answer_in
from gateway.ports import Listed, ModemLost, SendJob
from gateway.settings.models import ModemTable
from gateway.simulator import CALL_RESULTS, Faults, Habits, SimulatedModem
from gateway.simulator.makes import MAKES
from gateway.simulator.pdus import deliver_pdus, tpdu_octets
from tests.fakes.benches import Bench
from tests.fakes.fake_modem import NETWORK_TIME
from tests.household import RIDGE, at_home
from tests.modem.test_dialogue import OK, talk

QUICK = Times(command_s=1.0, prompt_s=1.0, result_s=5.0, wake_s=4.0, list_s=2.0, settle_s=0.05, condition_every_s=1.0)
PDUS = [deliver_pdus(RIDGE, f"STATION WELL {number}", NETWORK_TIME)[0] for number in range(4)]
ALPHAS = ("", '""', '"Ridge"', '"Ridge, box 2"', '"+61491570006"', '"1,2"', "006900640067", None)


def heard(home, number):
    home.until(lambda: [text.text for text in home.texts("in")].count(f"STATION WELL {number}") == 1, f"text {number}")


def spaced(rng, *pieces):
    """Pieces with commas, and spaces wherever a make may set them."""
    return ",".join(f"{rng.choice(('', ' '))}{piece}{rng.choice(('', ' '))}" for piece in pieces)


@pytest.mark.parametrize("make", MAKES)
def test_row_49_every_make_is_heard(tmp_path, make):
    """A daemon on it: texts that waited and texts that come, each once; a message leaves."""
    with SimulatedModem(habits=MAKES[make]) as modem:
        modem.network.deliver(RIDGE, "STATION WELL 0")
        with at_home(tmp_path, modem=modem, times=QUICK) as home:
            heard(home, 0)
            modem.network.deliver(RIDGE, "STATION WELL 1")
            heard(home, 1)
            modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
            home.came("low")
            home.sent(2)
            assert not home.events("modem-lost", "sim-trouble", "unread", "signal-lost")


@pytest.mark.parametrize("make", ["says-figures", "says-no-results"])
def test_row_93_results_as_figures_or_not_at_all(tmp_path, make, trials):
    """A modem whose own profile says 0 for OK, or nothing, and which falls back to that without a word: woken within a doctor's patience."""
    with (
        SimulatedModem(habits=MAKES[make]) as modem,
        at_home(tmp_path, modem=modem, times=QUICK, line='sweep_every = "1s"') as home,
    ):
        for number in range(trials(20) + 1):
            modem.network.deliver(RIDGE, f"STATION WELL {number}")
            heard(home, number)
            modem.reset()


def test_row_49_every_form_of_a_listing(seed, trials):
    """Names and numbers as alpha, or none; spaces or none: every text is read, under every make's habits."""
    rng = random.Random(seed)
    for _ in range(trials(7 * 200)):
        lines, wanted = [], []
        for slot, pdu in enumerate(rng.sample(PDUS, rng.randrange(1, 5))):
            alpha = rng.choice(ALPHAS)
            fields = [str(slot), rng.choice("01"), *([] if alpha is None else [alpha]), str(tpdu_octets(pdu))]
            lines += [f"+CMGL:{spaced(rng, *fields)}", pdu]
            wanted.append((slot, pdu))
        assert [(held.slot, held.pdu) for held in listed_in("SM", lines, doubted=()).held] == wanted


def test_row_51_what_ends_a_call_ends_nothing_else(seed, trials):
    """A call that nobody made, between any two lines of a listing and of a message's hand-over."""
    rng = random.Random(seed)
    listing = ["+CMGL: 3,0,,29", "0791", "+CMGL: 4,1,,29", "0791"]
    for _ in range(trials(500)):
        answer = list(listing)
        for _ in range(rng.randrange(1, 4)):
            answer.insert(rng.randrange(len(answer) + 1), rng.choice(CALL_RESULTS))
        dialogue, _, heard_lines = talk([*((0.01, line) for line in answer), OK])
        assert dialogue.command("AT+CMGL=4") == listing and heard_lines
        call = (0.01, rng.choice(CALL_RESULTS))
        dialogue, wire, _ = talk([(0.01, "+CMGF: 0"), OK], [call, (0.01, ">")], [call, (0.01, "+CMGS: 7"), call, OK])
        ended = Sender(dialogue, PduMode(dialogue, within_s=1.0, monotonic=lambda wire=wire: wire.now), Times()).send(
            SendJob(id=1, number="+61491570156", text="House tank is low", reference=0)
        )
        assert (ended.outcome, ended.references) == ("sent", (7,))


def registration_line(rng, name, stat, *, asked):
    """Some form of it: with or without an area, in quotes or bare, with spaces or none."""
    quote = rng.choice(('"{}"', "{}"))
    area = [quote.format(rng.choice(("00C3", "84CD", "0001"))), quote.format(rng.choice(("0083F7CD", "00D30173")))]
    shown = rng.choice((str(stat), f"{stat:03}"))
    fields = [*([rng.choice("012")] if asked else []), shown, *(area if rng.random() < 0.5 else [])]
    if len(fields) > 2 and rng.random() < 0.5:
        fields.append("7")
    return f"{name}:{spaced(rng, *fields)}"


def test_row_52_registration_in_every_form(seed, trials):
    """Asked and unasked, of every kind of network, mixed: the last word of each kind counts."""
    rng = random.Random(seed)
    ready, signal = [(0.01, "+CPIN: READY"), OK], [(0.01, "+CSQ: 17,99"), OK]
    for _ in range(trials(1000)):
        stats = {name: rng.randrange(0, 11) for name in REGISTRATIONS}
        answers = []
        for name in REGISTRATIONS:
            news = [
                (0.01, registration_line(rng, name, rng.randrange(0, 11), asked=False))
                for _ in range(rng.randrange(0, 3))
            ]
            answers.append([*news, (0.01, registration_line(rng, name, stats[name], asked=True)), OK])
            if stats[name] in REGISTERED:
                break
        dialogue, _, unasked = talk(signal, *answers, [(0.01, "+COPS: 0"), OK], ready)
        gauges = Gauges(dialogue, sim_on(dialogue), Times())
        condition = gauges.read()
        assert condition.registered is any(stat in REGISTERED for stat in stats.values()), stats
        last = rng.randrange(0, 11)
        for name in REGISTRATIONS:
            gauges.hear(registration_line(rng, name, last, asked=False))
        assert {gauges._stats[name] for name in REGISTRATIONS} == {last}
        assert all(news.line.startswith(REGISTRATIONS) for news in unasked)


def sim_on(dialogue):
    pin = Pin(pin=None, tried=lambda: False, mark_tried=lambda: None)
    return SimLock(dialogue, PatientCommands(dialogue, within_s=5.0, pause=lambda seconds: None), pin)


def test_row_53_the_result_of_a_send_is_waited_for(seed, trials):
    """After 1 to 180 s: sent; what comes later is unsure, and never refused. What comes meanwhile is heard."""
    rng = random.Random(seed)
    for after_s in [63.0, 180.0, 200.0, *(rng.uniform(1, 600) for _ in range(trials(50)))]:
        dialogue, wire, unasked = talk(
            [(0.01, "+CMGF: 0"), OK],
            [(0.01, ">")],
            [(0.5, '+CMTI: "SM",3'), (after_s - 0.5, "+CMGS: 7"), OK],
            *[[OK]] * 9,
        )
        ended = Sender(dialogue, PduMode(dialogue, within_s=1.0, monotonic=lambda wire=wire: wire.now), Times()).send(
            SendJob(id=1, number="+61491570156", text="House tank is low", reference=0)
        )
        assert ended.outcome == ("sent" if after_s <= 189 else "unsure"), after_s
        assert '+CMTI: "SM",3' in [news.line for news in unasked]


WORDS = ("STATION WELL {}", "OK", "ERROR", "+CMGL: 1,0,,29", "RING", "AT+CMGF=0", "a\nb {}", "007A006F006E0065")


def test_row_55_a_text_in_text_mode_is_kept(tmp_path, seed, trials):
    """Shown at once and kept nowhere, since the settings were lost: kept word for word, acknowledged, and the settings are back."""
    rng = random.Random(seed)
    with at_home(tmp_path, times=QUICK) as home:
        home.until(lambda: "AT+CSQ" in home.modem.commands, "at work")
        for number in range(trials(100)):
            words = WORDS[number % len(WORDS)].format(number)
            modes = home.modem.commands.count("AT+CMGF=0")
            stamp = f"26/11/26,{rng.randrange(24):02}:{number % 60:02}:{rng.randrange(60):02}+40"
            with home.modem.at_once():
                home.modem.say(f'+CMT: "{RIDGE}",,"{stamp}"')
                for line in words.split("\n"):
                    home.modem.say(line)
            shown = bytes.fromhex(words).decode("utf-16-be") if words.startswith("007A") else words
            kept = number // len(WORDS) * ("{" not in WORDS[number % len(WORDS)]) + 1
            home.until(
                lambda shown=shown, kept=kept: [text.text for text in home.texts("in")].count(shown) == kept,
                f"kept: {words}",
            )
            home.until(lambda modes=modes: home.modem.commands.count("AT+CMGF=0") > modes, "set up again")
        assert "AT+CNMA" in home.modem.commands
        home.modem.network.deliver(RIDGE, "STATION WELL last")
        heard(home, "last")


MEMORIES = [
    Habits(memories=memories, reads=reads, first_slot=first, capacity=capacity, new_texts_in=where)
    for (memories, reads, where), first, capacity in itertools.product(
        [
            (("SM", "ME"), None, "both"),
            (("SM",), None, "chosen"),
            (("ME",), None, "ME"),
            (("MT",), None, "chosen"),
            (("SM", "ME"), ("SM",), "SM"),
        ],
        (0, 1),
        ({"SM": 8, "ME": 8, "MT": 8}, {"SM": 60, "ME": 60, "MT": 120}),
    )
]
OFFERS = (None, "+CPMS: (),(),()", '+CPMS: "SM","ME","MT"', '+CPMS: (("SM","ME","MT","SR"),("SM"))', "+CPMS: ERROR")


def test_row_58_every_kind_of_memories(tmp_path, seed, trials):
    """Offered in every form, slots from 0 or 1, small and large, after each reset another: every text is found."""
    rng = random.Random(seed)
    for number in range(trials(200)):
        habits = MEMORIES[number % len(MEMORIES)]
        offer = rng.choice(OFFERS)
        if offer is not None:
            habits = Habits(
                **{
                    name: getattr(habits, name)
                    for name in ("memories", "reads", "first_slot", "capacity", "new_texts_in")
                },
                answers={"AT+CPMS=?": ("ERROR",) if "ERROR" in offer else (offer, "OK")},
            )
        if habits.memories == ("MT",) and offer in OFFERS[1:2] + OFFERS[4:]:
            continue  # nothing says that there is such a memory
        folder = tmp_path / str(number)
        folder.mkdir()
        with SimulatedModem(habits=habits, seed=number) as modem:
            modem.network.deliver(RIDGE, "STATION WELL 0")
            with at_home(folder, modem=modem, times=QUICK, line='sweep_every = "1s"') as home:
                heard(home, 0)
                modem.reset()
                modem.network.deliver(RIDGE, "STATION WELL 1")
                heard(home, 1)
                home.until(lambda modem=modem: not modem.slots, f"free: {habits}")


REFUSABLE = (
    *("AT+CSMS=0", "AT+CMEE=1", "AT+CGMM", "AT+CNMI=?", "AT+CPMS=?", 'AT+CPMS="SM","SM","SM"', "AT+CSQ", "AT+COPS?"),
    *(
        "AT+CNMI=2,1,0,2,0",
        "AT+CNMI=2,1,0,1,0",
        "AT+CNMI=1,1,0,2,0",
        "AT+CNMI=1,1,0,1,0",
        "AT+CNMI=2,1,0,0,0",
        "AT+CREG?",
    ),
)
REFUSALS = ("ERROR", "+CMS ERROR: 303", "+CME ERROR: 4", "COMMAND NOT SUPPORT", "+CME ERROR: operation not supported")


def test_row_59_partly_refused(tmp_path, seed, trials):
    """Any of its settings may be refused, in any words: it works with what is granted."""
    rng = random.Random(seed)
    for number in range(trials(500)):
        refused = rng.sample(REFUSABLE, rng.randrange(1, 8))
        habits = Habits(answers={command: (rng.choice(REFUSALS),) for command in refused})
        folder = tmp_path / str(number)
        folder.mkdir()
        with SimulatedModem(habits=habits) as modem:
            modem.network.deliver(RIDGE, "STATION WELL 0")
            with at_home(folder, modem=modem, times=QUICK, line='sweep_every = "1s"') as home:
                heard(home, 0)
                modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
                home.came("low")
                home.sent(2)
                assert not home.events("sim-trouble", "modem-lost"), refused


CREDIT = "Credit 12.34 AUD"
USSD = {
    "plain": (f'+CUSD: 0,"{CREDIT}",15', CREDIT),
    "without a coding": (f'+CUSD: 0,"{CREDIT}"', CREDIT),
    "with spaces": (f'+CUSD: 0 , "{CREDIT}" , 15', CREDIT),
    "in UCS2": (f'+CUSD: 0,"{CREDIT.encode("utf-16-be").hex().upper()}",72', CREDIT),
    "in UCS2 under another coding": (f'+CUSD: 0,"{CREDIT.encode("utf-16-be").hex().upper()}",15', CREDIT),
    "over several lines": ('+CUSD: 2,"Credit 12.34 AUD\nThank you",15', "Credit 12.34 AUD\nThank you"),
    "a menu": ('+CUSD: 1,"Credit 12.34 AUD\n1 More",15', "Credit 12.34 AUD\n1 More"),
    "ended": ("+CUSD: 2", None),
    "not known": ("+CUSD: 4", None),
    "garbled": ("+CUSD: x", None),
}


@pytest.mark.parametrize("form", USSD)
def test_row_60_answers_of_the_network(form):
    """Read, or said why not."""
    line, wanted = USSD[form]
    text, why, _ = answer_in(line)
    assert text == wanted and bool(why) is (wanted is None)


class Skipping(SystemClock):
    """A clock on which pauses pass at once; `paused`: after how many seconds of pauses each of them began."""

    def __init__(self) -> None:
        super().__init__()
        self.paused: list[float] = [0.0]
        self.count = lambda: 0
        self.commands: list[int] = [0]

    def pause(self, stopping, seconds):
        """At once."""
        self.paused.append(self.paused[-1] + seconds)
        self.commands.append(self.count())
        super().pause(stopping, min(seconds, 0.01))


def test_row_50_a_reset_seen_again_and_again(tmp_path, trials):
    """The modem lists in text mode whatever it is told: at most 5 commands a second over any minute of pauses; said, and read when it can be."""
    resets = max(20, trials(200))
    clock = Skipping()
    with SimulatedModem(str(tmp_path / "modem"), faults=Faults(only_text_mode=True)) as simulated:
        simulated.network.deliver(RIDGE, "STATION WELL 0")
        clock.count = lambda: len(simulated.commands)
        modem = open_modem(ModemTable(device=simulated.device), None, clock, times=QUICK)
        bench = Bench(modem)
        bench.start()
        try:
            assert "text mode" in bench.until(ModemLost).why
            while len(clock.paused) < resets:
                threading.Event().wait(0.05)
            history = list(zip(clock.paused, clock.commands, strict=False))
            for (began, before), (ended, after) in itertools.combinations(history[3:], 2):
                if 60 <= ended - began <= 65:
                    assert after - before <= 5 * 65, (began, ended)
            simulated.faults.only_text_mode = False
            assert bench.until(Listed, lambda news: bool(news.held)).held
        finally:
            bench.close()
