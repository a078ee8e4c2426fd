"""The floor: announced texts → stored and told to two contacts, by a script that is safe from nothing.

pyserial, decode, one commit a text, send. It sees no lost answer, no repeat, no part, no report, and keeps no outbox. With a third
argument it commits once a message too: what that one promise costs, that after a kill no more than one message is in doubt.
"""

import re
import sqlite3
import sys

import serial

from gateway.modem.pdu import decode, encode_submit

CONTACTS = ("+61491570156", "+61491570157")
TABLES = ("CREATE TABLE texts (sender, at, text)", "CREATE TABLE sent (contact, text)")
PDU = re.compile(rb"\n([0-9A-F]{20,})\r")


def main(device: str, file: str, a_message_too: str = "") -> None:
    """Works until it is killed."""
    line = serial.Serial(device, 115200, timeout=None)
    store = sqlite3.connect(file, isolation_level=None)
    for said in ("PRAGMA journal_mode=WAL", "PRAGMA synchronous=FULL", *TABLES):
        store.execute(said)
    for command in (b"ATE0", b"AT+CMGF=0", b'AT+CPMS="SM","SM","SM"', b"AT+CNMI=2,1"):
        ask(line, command)
    print("ready", flush=True)
    while True:
        heard(line, b"+CMTI")
        while pass_on(line, store, bool(a_message_too)):
            pass


def pass_on(line: serial.Serial, store: sqlite3.Connection, a_message_too: bool) -> bool:
    """Everything the modem holds; whether there was anything."""
    listed = ask(line, b"AT+CMGL=4")
    slots = re.findall(rb"\+CMGL: (\d+)", listed)
    for slot, pdu in zip(slots, PDU.findall(listed), strict=True):
        text = decode(pdu.decode())
        store.execute("INSERT INTO texts VALUES (?, ?, ?)", (text.sender, str(text.stamp), text.text))
        ask(line, b"AT+CMGD=" + slot)
        for contact in CONTACTS:
            if a_message_too:
                store.execute("INSERT INTO sent VALUES (?, ?)", (contact, text.text))
            for out in encode_submit(contact, f"House tank: {text.text}", 0, False):
                ask(line, b"AT+CMGS=%d" % out.length, b"> ")
                ask(line, out.pdu.encode() + b"\x1a", end=b"\r")
    return bool(slots)


def ask(line: serial.Serial, command: bytes, until: bytes = b"OK\r\n", end: bytes = b"\r") -> bytes:
    """The answer."""
    line.write(command + (b"" if command.endswith(b"\x1a") else end))
    return heard(line, until)


def heard(line: serial.Serial, until: bytes) -> bytes:
    """What comes until that has come."""
    said = b""
    while until not in said:
        said += line.read(max(1, line.in_waiting))
    return said


if __name__ == "__main__":
    main(*sys.argv[1:])
