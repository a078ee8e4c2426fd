"""Lines of an answer → values: what a memory holds, a reference, signal, registration.

Source: 3GPP TS 27.005 3.4 (+CMGL, +CMGS), TS 27.007 7.2, 8.5 (+CREG, +CSQ).
"""

import re

from gateway.facts import HeldPdu
from gateway.modem.pdu import decode

LISTED = re.compile(r"^\+CMGL:\s*(\d+)\s*,")
PDU = re.compile(r"^(?:[0-9A-Fa-f]{2})+$")
TEXT_MODE = re.compile(r'^\+CMG[LR]:.*"')


class ResetSeen(Exception):
    """The modem lost its settings: initialise again."""


def held_in(memory: str, lines: list[str]) -> list[HeldPdu]:
    """The answer to +CMGL → what stands in the memory. Raises ResetSeen for an answer in text mode."""
    held = []
    slot: int | None = None
    for line in lines:
        if TEXT_MODE.match(line):
            raise ResetSeen("the modem is in text mode again: it was reset")
        found = LISTED.match(line)
        if found:
            slot = int(found[1])
        elif slot is not None and PDU.match(line):
            held.append(HeldPdu(memory=memory, slot=slot, pdu=line, content=decode(line)))
            slot = None
    return held


def reference_in(lines: list[str]) -> int:
    """The answer to +CMGS → TP-MR; -1 where it has none."""
    found = re.search(r"\+CMGS:\s*(\d+)", lines[-1]) if lines else None
    return int(found[1]) if found else -1


def signal_percent(figures: list[int]) -> float | None:
    """+CSQ 0..31 → percent; 99 is unknown (3GPP TS 27.007 8.5)."""
    return None if not figures or figures[0] > 31 else round(figures[0] / 31 * 100)


def registered(figures: list[int]) -> bool | None:
    """+CREG: 1 home, 5 roaming (3GPP TS 27.007 7.2)."""
    return None if len(figures) < 2 else figures[1] in (1, 5)
