"""`modem` and `serve --trace`: a modem looked at from afar, with nothing of anybody's in what is written."""

import json
import os
from datetime import UTC, datetime

import pytest

from gateway.__main__ import main
from gateway.modem.trace import Masker, Trace
from gateway.simulator import SimulatedModem
from gateway.simulator.makes import MAKES
from tests.household import RIDGE, WREN, at_home, write_config

STAMP = datetime(2026, 11, 26, 9, 0, tzinfo=UTC)


def run(config, capsys, *more):
    code = main(["modem", "--config", str(config), *more])
    out, err = capsys.readouterr()
    return code, out, err


def test_step_by_step(tmp_path, capsys):
    """Each question with its answer, and what the gateway would use; nothing is kept."""
    config = write_config(tmp_path)
    report = tmp_path / "report.txt"
    code, out, _ = run(config, capsys, "--json", "--report", str(report))
    document = json.loads(out)
    assert code == 0 and document["usable"] and document["memories"] == ["SM", "ME"] and document["registered"]
    said = {step["command"]: step for step in document["steps"]}
    assert said["AT+CGMM"]["said"] == ["QR-21"] and said["AT+CGREG?"]["result"] == "refused"
    assert said["AT+CSCA?"]["said"] == ['+CSCA: "...",145']
    lines = report.read_text("utf-8").splitlines()
    assert any(line.endswith("> AT+CPIN?") for line in lines) and any(line.endswith("< +CPIN: READY") for line in lines)
    assert datetime.fromisoformat(lines[0].split()[0]).tzinfo is not None
    assert report.stat().st_mode & 0o077 == 0 and not (tmp_path / "gateway.db").exists()


def test_what_the_gateway_would_use_is_said_in_words(tmp_path, capsys):
    """And what is none of its lines is shown with how often it came."""
    with SimulatedModem(habits=MAKES["says-figures"]) as modem:
        _, out, _ = run(write_config(tmp_path), capsys, "--device", modem.device)
    used = {line[:26].strip(): line[26:].strip() for line in out.partition("would use")[2].splitlines()}
    assert used["memories"] == "SM; ME" and used["announces texts"] == used["in a network"] == "yes"
    assert used["lines that are not known"] == "0 (1 time)"


@pytest.mark.parametrize("make", MAKES)
def test_every_make_is_usable(tmp_path, capsys, make):
    """And says nothing that the gateway does not know, but for the one result before it is told to say words."""
    with SimulatedModem(habits=MAKES[make]) as modem:
        config = write_config(tmp_path)
        config.write_text(config.read_text("utf-8").replace('"simulated"', f'"{modem.device}"'), "utf-8")
        code, out, err = run(config, capsys, "--json")
        document = json.loads(out)
        unknown = [{"shape": "0", "times": 1}] if make == "says-figures" else []
        assert (code, document["trouble"], document["unknown_lines"]) == (0, None, unknown), err
        assert document["registered"] is True
        assert not [
            command for command in modem.commands if command.startswith(("AT+CPIN=", "AT+CMGS", "AT+CMGD", "AT+CMGL"))
        ]


def test_a_sim_that_wants_its_pin(tmp_path, capsys):
    """Said, and no PIN is given."""
    pin = tmp_path / "pin"
    pin.write_text("2222")
    with SimulatedModem() as modem:
        modem.sim.want_pin("2222")
        config = write_config(tmp_path, pin=f'pin_file = "{pin}"')
        config.write_text(config.read_text("utf-8").replace('"simulated"', f'"{modem.device}"'), "utf-8")
        code, out, err = run(config, capsys, "--json")
        assert code == 1 and "PIN" in json.loads(out)["trouble"] and "PIN" in err
        assert modem.pin_tries == 0


def test_no_modem(tmp_path, capsys):
    """One line says so."""
    config = write_config(tmp_path)
    code, out, err = run(config, capsys, "--json", "--device", str(tmp_path / "nothing"))
    assert code == 1 and json.loads(out)["usable"] is False and "there is no modem" in err


def test_the_daemon_keeps_its_modem(tmp_path, capsys):
    """It is not touched."""
    with at_home(tmp_path) as home:
        told = len(home.modem.commands)
        code, _, err = run(tmp_path / "gateway.toml", capsys)
        assert code == 1 and "serve --trace" in err
        assert not [command for command in home.modem.commands[told:] if command == "AT+CGMI"]


@pytest.mark.parametrize("place", ["link", "folder", "none/file"])
def test_a_report_is_written_over_nothing_else(tmp_path, capsys, place):
    """A link, a folder, a folder that is not there."""
    config = write_config(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "kept").write_text("kept")
    (tmp_path / "link").symlink_to(tmp_path / "kept")
    code, _, err = run(config, capsys, "--report", str(tmp_path / place))
    assert code == 2 and err and (tmp_path / "kept").read_text() == "kept"


@pytest.mark.parametrize("words", [("modem", "--report"), ("serve", "--trace")])
@pytest.mark.parametrize("name", ["letter.txt", "gateway.toml"])
def test_a_report_replaces_only_a_report(tmp_path, capsys, words, name):
    """A mistyped name would cost a letter, or the configuration itself."""
    config = write_config(tmp_path)
    (tmp_path / "letter.txt").write_text("Dear Wren")
    kept = (tmp_path / name).read_text()
    assert main([*words, str(tmp_path / name), "--config", str(config)]) == 1
    assert "give another name" in capsys.readouterr().err and (tmp_path / name).read_text() == kept


def test_a_trace_at_work(tmp_path):
    """Texts, messages, numbers and the PIN pass through it, and none of them is in it."""
    pin, trace = tmp_path / "pin", tmp_path / "trace.txt"
    pin.write_text("48151623")
    with SimulatedModem() as modem:
        modem.sim.want_pin("48151623")
        with at_home(tmp_path, modem=modem, pin=f'pin_file = "{pin}"', trace=trace) as home:
            modem.network.deliver(RIDGE, "LINE 1 MADE 0717")
            home.came("low")
            home.sent(1)
            home.until(lambda: not modem.slots, "the slot is free")
    text = trace.read_text("utf-8")
    assert "> AT+CMGS=" in text and "octets)" in text and 'AT+CPIN="****"' in text
    digits = [number[-9:] for number in (RIDGE, WREN)]
    swapped = [
        "".join(number[place + 1] + number[place] for place in range(0, 10, 2)) for number in (RIDGE[1:], WREN[1:])
    ]
    assert not [secret for secret in ("48151623", *digits, *swapped, "LINE", "House") if secret in text]


def test_a_trace_is_bounded(tmp_path):
    """The newer half stays."""
    trace = Trace(tmp_path / "trace.txt", lambda: STAMP, most_octets=2000)
    for _ in range(500):
        trace.said(b"AT+CSQ\r")
        trace.heard(b"\r\n+CSQ: 17,99\r\n\r\nOK\r\n")
    assert sum(file.stat().st_size for file in tmp_path.iterdir()) < 4200
    assert sorted(os.listdir(tmp_path)) == ["trace.txt", "trace.txt.old"]  # noqa: PTH208  # names alone


@pytest.mark.parametrize(
    ("line", "shown"),
    [
        ('AT+CPIN="1234"', 'AT+CPIN="****"'),
        ('+CUSD: 0,"Credit 12.34 AUD",15', '+CUSD: 0,"...",15'),
        ('+CMT: "+61491570006",,"26/11/26,12:00:00+40"', '+CMT: "...",,"..."'),
        ("ZONE 1 OPEN 0717", "(16 characters)"),
        ("House: low, 0491570156", "(22 characters)"),
        ('+CREG: 2,1,"00C3","0083F7CD"', '+CREG: 2,1,"...","..."'),
        ("+CREG: 1,1,84CD,00D30173", "+CREG: 1,1,####,####"),
        ('+CLIP: "+61491570156",145', '+CLIP: "...",145'),
        ("+CNUM: 61491570156", "+CNUM: ####"),
        ("07911326040000F0040B911346610089F6", "(17 octets)"),
        ('+CPMS: "SM",3,30', '+CPMS: "SM",3,30'),
        ('AT+CPMS="SM","SM","SM"', 'AT+CPMS="SM","SM","SM"'),
        ('AT+CUSD=1,"*100#",15', 'AT+CUSD=1,"...",15'),
        ("AT+CNMI=2,1,0,1,0", "AT+CNMI=2,1,0,1,0"),
        ("ATQ0V1", "ATQ0V1"),
        ("AT NIGHT", "(8 characters)"),
        ("+CMS ERROR: 500", "+CMS ERROR: 500"),
    ],
)
def test_what_is_masked(line, shown):
    """Words, numbers, places and PDUs; what tells of the modem stays."""
    assert Masker().masked(line) == shown


def test_its_make_is_shown_and_its_serial_number_is_not():
    """Behind the question for either."""
    masker = Masker()
    masker.masked("AT+CGMM")
    assert masker.masked("QR-21") == "QR-21"
    masker.masked("AT+CGSN")
    assert masker.masked("004999010640000") == "(15 characters)"
