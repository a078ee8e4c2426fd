"""PDU ↔ text per second, beside three published libraries, and how many of some awkward ones each has right."""

import time
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import smsutil
from gsmmodem.pdu import decodeSmsPdu, encodeSmsSubmitPdu
from smspdudecoder.easy import read_incoming_sms

from gateway.gsm.alphabet import from_septets, to_septets
from gateway.modem.pdu import decode, encode_submit
from gateway.simulator.pdus import deliver_pdus
from tests.bench.figure import Figure, Run

AT = datetime(2026, 11, 25, 7, 17, tzinfo=UTC)
WREN = "+61491570156"
USUAL = "LINE 1 MADE, SUPPLY 12.6 V, STATION WELL AND ALL QUIET ON THE RIDGE"
AWKWARD = {
    "the extension table": "level {1} [low] ~ 5 € ^ | \\",
    "an at sign at the end of eight": "ABCDEFG@",
    "letters of the table's far end": "ÄÖÑÜ§¿äöñüà ΔΦΓΛΩΠΨΣΘΞ ÆæßÉ",
    "another script": "Резервуар низький",
    "a picture": "tank low 💧",
    "a lone currency sign": "¤ and ¡",
}
SENDERS = (WREN, "RIDGE BOX", "12345")


def measure(run: Run) -> list[Figure]:
    """The usual text both ways, against the fastest other library that has it right at all."""
    rounds = 100 if run.short else 3000
    pdu = deliver_pdus(WREN, USUAL, AT)[0]
    septets = to_septets(USUAL) or b""
    decoders: dict[str, Callable[[], Any]] = {
        "gsmmodem": lambda: decodeSmsPdu(pdu),
        "smspdudecoder": lambda: read_incoming_sms(pdu),
    }
    encoders: dict[str, Callable[[], Any]] = {"gsmmodem": lambda: encodeSmsSubmitPdu(WREN, USUAL, reference=0)}
    alphabets: dict[str, Callable[[], Any]] = {"smsutil": lambda: smsutil.decode(smsutil.encode(USUAL))}
    right = {name: f"{_right(read)} of {len(AWKWARD) * len(SENDERS)}" for name, read in READERS.items()}
    run.notes.append(
        "codec: awkward texts (extension table, padding, other scripts, pictures) from a number, a name and a short code read right: "
        + ", ".join(f"{name} {count}" for name, count in right.items())
        + f"; alphabet of smsutil: {_spelled()} of {len(AWKWARD)} to and fro."
    )
    return [
        _figure("decode", lambda: decode(pdu), decoders, rounds),
        _figure("encode", lambda: encode_submit(WREN, USUAL, 0, False), encoders, rounds),
        _figure("alphabet to and fro", lambda: from_septets(to_septets(USUAL) or septets), alphabets, rounds),
    ]


def _figure(what: str, ours: Callable[[], Any], others: dict[str, Callable[[], Any]], rounds: int) -> Figure:
    rates = {name: _rate(call, rounds) for name, call in others.items()}
    fastest = max(rates, key=lambda name: rates[name])
    said = ", ".join(f"{name} {rate:.0f}/s" for name, rate in rates.items())
    rate = _rate(ours, rounds)
    return Figure(what=what, ours=rate, floor=rates[fastest], unit="/s", least=1.0, floor_is=f"the fastest of {said}")


def _rate(call: Callable[[], Any], rounds: int) -> float:
    call()
    best = 0.0
    for _ in range(3):
        began = time.perf_counter()
        for _ in range(rounds):
            call()
        best = max(best, rounds / (time.perf_counter() - began))
    return best


READERS: dict[str, Callable[[str], tuple[str, str]]] = {
    "ours": lambda pdu: (decode(pdu).sender, decode(pdu).text),  # type: ignore[union-attr]
    "gsmmodem": lambda pdu: (decodeSmsPdu(pdu)["number"], decodeSmsPdu(pdu)["text"]),
    "smspdudecoder": lambda pdu: (read_incoming_sms(pdu)["sender"], read_incoming_sms(pdu)["content"]),
}


def _right(read: Callable[[str], tuple[str, str]]) -> int:
    return sum(
        _reads(read, deliver_pdus(sender, text, AT)[0], (sender, text))
        for sender in SENDERS
        for text in AWKWARD.values()
    )


def _reads(read: Callable[[str], tuple[str, str]], pdu: str, wanted: tuple[str, str]) -> bool:
    try:
        sender, text = read(pdu)
    except Exception:  # whatever a library raises on a lawful PDU, it has not read it
        return False
    return text == wanted[1] and sender.lstrip("+") == wanted[0].lstrip("+")


def _spelled() -> int:
    count = 0
    for text in AWKWARD.values():
        try:
            count += smsutil.decode(smsutil.encode(text)) == text
        except Exception:  # as above
            continue
    return count
