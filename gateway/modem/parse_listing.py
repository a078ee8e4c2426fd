"""A memory's listing (+CMGL), or one slot of it (+CMGR), in PDU mode → what stands there.

Each entry is a header and its PDU in the next line. The header's <stat> tells the mode and whose text it is, its <length> whether the
PDU came over the wire whole. A broadcast of the cell is no text to anybody: it stands there without a service centre's address, in 88
octets. Source: 3GPP TS 27.005 3.1, 3.4.2 (+CMGL), 3.4.3 (+CMGR); TS 23.041 9.4.1 (a page of a broadcast).
"""

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from gateway.facts import HeldPdu
from gateway.modem.pdu import decode
from gateway.modem.unasked_lines import tpdu_octets_in

ARRIVED = ("0", "1")
"""<stat>: unread, read. 2 and 3 are drafts and sent messages of whoever had the SIM before: they came from nobody (27.005 3.1)."""
HEADER = re.compile(r'^\+CMG(?:L:\s*(?P<slot>\d+)\s*,|R:)\s*(?P<quote>"?)(?P<stat>\d)(?P=quote)\s*,(?P<behind>.*)$')
"""PDU mode (27.005 3.4.2, 3.4.3): `+CMGL: <index>,<stat>,[<alpha>],<length>`, `+CMGR: <stat>,[<alpha>],<length>`. <alpha> is a name of the
SIM's phone book: with commas, in quotes or not, empty quotes, nothing, or left out with its comma. It tells nothing of the mode."""
LENGTH = re.compile(r'(?:^|,)\s*"?(\d+)"?\s*;?$')
BROADCAST_OCTETS = 88
HEADER_IN_TEXT_MODE = re.compile(r"^\+CMG(?:L:\s*\d+\s*,|R:)\s*\"?[A-Z]{2}")
"""There <stat> is a word. Once any quote in the line was taken for that, and a modem that shows names was never heard again."""
SLOT = re.compile(r"^\+CMGL:\s*(\d+)\s*,")
PDU = re.compile(r"^(?:[0-9A-Fa-f]{2})+$")
IN_TEXT_MODE = "the modem is in text mode again: it was reset"


class ResetSeen(Exception):
    """The modem lost its settings: initialise again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoryListing:
    """What stands in one memory: `held` came; `own` counts drafts, sent messages and broadcasts; `doubted` PDUs may be hurt by the wire."""

    held: tuple[HeldPdu, ...]
    own: int
    doubted: frozenset[str]


def listed_in(memory: str, lines: Sequence[str], *, doubted: Collection[str]) -> MemoryListing:
    """The answer to +CMGL → what stands in the memory. Raises ResetSeen for an answer in text mode.

    A header of no known form, or octets that are not as many as it says, were hurt on the wire: they are left for the next sweep.
    What the last one `doubted` and this one says again is believed, for such a modem counts in its own way.
    """
    _refuse_text_mode(lines)
    lines = [line.strip('"') for line in lines]
    held, doubtful, own = [], set(), 0
    entries = list(_entries(lines))
    # a header whose PDU lost a digit, or did not come at all: of what stands there nothing is known yet
    doubtful |= {line for line in lines if HEADER.match(line)} - {header for header, _ in entries} - set(doubted)
    alone = {line for line in lines if PDU.match(line)} - {pdu for _, pdu in entries}
    # its header lost its beginning: once it went unseen, and the memory counted as listed whole without it
    doubtful |= alone - set(doubted)
    for header, pdu in entries:
        form, slot = HEADER.match(header), SLOT.match(header)
        if form is not None and (form["stat"] not in ARRIVED or _is_broadcast(pdu, form["behind"])):
            own += 1
        elif pdu not in doubted and not (form is not None and _as_long_as_said(pdu, form["behind"])):
            doubtful.add(pdu)
        elif slot is not None:
            held.append(HeldPdu(memory=memory, slot=int(slot[1]), pdu=pdu, content=decode(pdu)))
    return MemoryListing(held=tuple(held), own=own, doubted=frozenset(doubtful))


def arrival_in(lines: Sequence[str]) -> str | None:
    """The answer to +CMGR → the PDU where it is one that came. Raises ResetSeen for an answer in text mode."""
    _refuse_text_mode(lines)
    forms = [form for form in map(HEADER.match, lines) if form is not None]
    if any(form["stat"] not in ARRIVED for form in forms):
        return None
    return next((line for line in (line.strip('"') for line in lines) if PDU.match(line)), None)


def _refuse_text_mode(lines: Sequence[str]) -> None:
    if any(HEADER_IN_TEXT_MODE.match(line) for line in lines):
        raise ResetSeen(IN_TEXT_MODE)


def _entries(lines: Sequence[str]) -> Iterator[tuple[str, str]]:
    """Each header with its PDU; one that stands alone lost the other on the wire."""
    header: str | None = None
    for line in lines:
        if line.startswith("+CMGL"):
            header = line
        elif header is not None and PDU.match(line):
            yield header, line
            header = None


def _as_long_as_said(pdu: str, behind_stat: str) -> bool:
    """Whether the TPDU behind the service centre's address has so many octets (27.005 3.1, <length>)."""
    length = LENGTH.search(behind_stat)
    return length is not None and tpdu_octets_in(pdu) == int(length[1])


def _is_broadcast(pdu: str, behind_stat: str) -> bool:
    """Whether it is a page of a broadcast: all of its octets are counted, since no service centre's address stands in front."""
    length = LENGTH.search(behind_stat)
    return length is not None and len(pdu) // 2 == int(length[1]) == BROADCAST_OCTETS
