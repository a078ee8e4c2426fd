"""Lines of an answer → values: what a memory holds, a reference, signal, registration.

Source: 3GPP TS 27.005 3.4 (+CMGL, +CMGS), TS 27.007 7.2, 8.5 (+CREG, +CSQ).
"""

import re
from collections.abc import Collection

from gateway.facts import HeldPdu
from gateway.modem.pdu import decode

LISTED = re.compile(r"^\+CMGL:\s*(\d+)\s*,(?:.*,\s*(\d+)\s*$)?")
PDU = re.compile(r"^(?:[0-9A-Fa-f]{2})+$")
IN_TEXT_MODE = "the modem is in text mode again: it was reset"
SMALLEST_SIM = 10
TEXT_MODE = re.compile(r'^\+CMG[LR]:.*"')


class ResetSeen(Exception):
    """The modem lost its settings: initialise again."""


def held_in(memory: str, lines: list[str], *, doubted: Collection[str]) -> tuple[list[HeldPdu], set[str]]:
    """The answer to +CMGL → what stands in the memory, and what is doubted. Raises ResetSeen for an answer in text mode.

    Octets that are not as many as the modem said were hurt on the wire: they are left for the next sweep. What the last one
    `doubted` and this one says again is believed, for such a modem counts in its own way.
    """
    held, doubtful = [], set()
    slot: int | None = None
    length: int | None = None
    for line in lines:
        if TEXT_MODE.match(line):
            raise ResetSeen(IN_TEXT_MODE)
        found = LISTED.match(line)
        if found:
            slot = int(found[1])
            length = int(found[2]) if found[2] else None
        elif slot is not None and PDU.match(line):
            if not _as_long_as_said(line, length) and line not in doubted:
                doubtful.add(line)
            else:
                held.append(HeldPdu(memory=memory, slot=slot, pdu=line, content=decode(line)))
            slot = None
    return held, doubtful


def _as_long_as_said(pdu: str, length: int | None) -> bool:
    """Whether the TPDU behind the service centre's address has so many octets (27.005 3.1, <length>)."""
    return length is None or len(pdu) // 2 - 1 - int(pdu[:2], 16) == length


def memory_in(line: str) -> str:
    """`+CMTI: "SM",3` → SM; empty where it names none."""
    found = re.search(r'"([A-Z]{2})"', line)
    return found[1] if found else ""


def capacity_in(lines: list[str]) -> int:
    """The answer to +CPMS → how many texts its first memory holds; that of the smallest SIMs where it does not say (27.005 3.2.2)."""
    figures = re.findall(r"\d+", lines[0]) if lines else []
    return int(figures[1]) if len(figures) > 1 else SMALLEST_SIM


def reference_in(lines: list[str]) -> int | None:
    """The answer to +CMGS → TP-MR; None where it has none: then it is no answer to that (27.005 3.5.1)."""
    found = (re.search(r"\+CMGS:\s*(\d+)", line) for line in lines)
    return next((int(one[1]) for one in found if one), None)


def signal_percent(figures: list[int]) -> float | None:
    """+CSQ 0..31 → percent; 99 is unknown (3GPP TS 27.007 8.5)."""
    return None if not figures or figures[0] > 31 else round(figures[0] / 31 * 100)


def registered(figures: list[int]) -> bool | None:
    """+CREG: 1 home, 5 roaming (3GPP TS 27.007 7.2)."""
    return None if len(figures) < 2 else figures[1] in (1, 5)
