"""A PDU as the modem lists it → Delivered, Report or Undecodable. Never raises.

How it is built (in hexadecimal digits, two an octet):

    length, type, digits        the service centre's address, which is not part of the message (27.005 3.1); length 0: none
    first octet                 TP-MTI, the two low bits: which kind of message follows; TP-UDHI: the text begins with a header
    SMS-DELIVER                 sender · protocol · coding (TP-DCS) · time stamp · length · user data
    SMS-STATUS-REPORT           reference (TP-MR) · recipient · time stamp · discharge time · status (TP-ST)

An address is its length in half-octets, its type, then digits with each pair swapped, or a name in seven-bit letters. The length of
the user data counts septets in the seven-bit alphabet and octets else. A text of several parts carries in each part's header a
reference, how many there are and which this is; in seven-bit coding the letters behind the header begin at the next septet boundary,
fill bits in between. What is cut short, or contradicts itself, is never guessed at: it is Undecodable, in words, and passed on.

Source: 3GPP TS 23.040 9.2.2.1 (SMS-DELIVER), 9.2.2.3 (SMS-STATUS-REPORT), 9.2.3.24 (user data and its header);
3GPP TS 23.038 4 (data coding scheme). Reserved codings are read as the 7-bit default alphabet, as 23.038 asks.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from gateway.facts import Content, Delivered, PartOf, Report, ReportOutcome, Undecodable
from gateway.gsm.alphabet import fill_bits_behind, from_septets, unpack_octets
from gateway.modem.pdu.octets import Malformed, Octets

SUBMIT, STATUS_REPORT = 0b01, 0b10
"""TP-MTI: the two low bits of the first octet (9.2.3.1); 0b00 and the reserved 0b11 are read as SMS-DELIVER."""
HAS_HEADER = 0x40
"""TP-UDHI (9.2.3.23)."""
JOIN_8_BIT, JOIN_16_BIT = 0x00, 0x08
"""Information elements that say which part of which text this is (9.2.3.24.1, 9.2.3.24.8)."""

SINGLE_SHIFT, LOCKING_SHIFT = 0x24, 0x25
"""Information elements that name the language of the letters (9.2.3.24.15, 9.2.3.24.16)."""

PORTS_8_BIT, PORTS_16_BIT = 0x04, 0x05
"""Information elements that name a program of the phone, where the data are none for people (9.2.3.24.3, 9.2.3.24.4): a WAP push has one."""
NOT_FOR_PEOPLE: Mapping[int, str] = {
    0x40: "a test whether this number is on, short message type 0",
    0x7C: "data for the phone, ANSI-136",
    0x7D: "data for the phone",
    0x7E: "an order to unlock the phone",
    0x7F: "data for the SIM",
}
"""TP-PID → what such a message is (9.2.3.9). Those from 0x41 to 0x47 (replace a text before) and 0x5F (call back) are read as texts."""

Coding = Literal["gsm7", "data", "ucs2", "compressed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _UserData:
    """User data behind its header: `header_octets` counts the header's length octet too, 0 where there is none."""

    text: str
    data: bool
    part: PartOf | None
    program: str | None


def decode(pdu_hex: str) -> Content:
    """What stands in it, or why nobody can read it."""
    try:
        return _decoded(Octets(_octets(pdu_hex)))
    except Malformed as malformed:
        return Undecodable(reason=str(malformed))


def is_whole(pdu_hex: str) -> bool:
    """Whether the octets are as many as the message itself says, not one more or less: then none was lost on the wire."""
    try:
        octets = Octets(_octets(pdu_hex))
        content = _decoded(octets)
    except Malformed:
        return False
    return isinstance(content, Delivered | Report) and not octets.remaining()


def coding_of(scheme: int) -> Coding:
    """TP-DCS → how the user data is coded (23.038 4)."""
    group = scheme >> 4
    if group < 0b1000:
        if scheme & 0x20:
            return "compressed"
        return _ALPHABETS[scheme >> 2 & 0b11]
    if group == 0b1110:
        return "ucs2"
    if group == 0b1111 and scheme & 0x04:
        return "data"
    return "gsm7"


def outcome_of(status: int) -> ReportOutcome:
    """TP-ST → what became of the segment (9.2.3.15).

    0x01, forwarded without the service centre being able to confirm it, is no delivery; values reserved within a class count as the class.
    """
    if status == 0x01:
        return "trying"
    if status < 0x20:
        return "delivered"
    # 0x80 and above are reserved, and say nothing
    return "failed" if 0x40 <= status < 0x80 else "trying"


_ALPHABETS: tuple[Coding, ...] = ("gsm7", "data", "ucs2", "gsm7")


def _octets(pdu_hex: str) -> bytes:
    try:
        return bytes.fromhex(pdu_hex.strip())
    except ValueError:
        raise Malformed("this is no whole number of hexadecimal octets") from None


def _decoded(octets: Octets) -> Content:
    octets.several(octets.octet("the service centre's length"), "the service centre's address")
    first = octets.octet("the first octet of the message")
    kind = first & 0b11
    if kind == SUBMIT:
        return Undecodable(reason="a message to be sent, not one that came (SMS-SUBMIT)")
    if kind == STATUS_REPORT:
        return _report(octets)
    return _delivered(octets, has_header=bool(first & HAS_HEADER))


def _report(octets: Octets) -> Report:
    reference = octets.octet("the message reference")
    number = octets.address("the recipient")
    taken = octets.stamp("the service centre's time stamp")
    discharged = octets.stamp("the discharge time")
    status = octets.octet("the status")
    return Report(
        reference=reference,
        number=number,
        outcome=outcome_of(status),
        status=status,
        stamp=taken,
        discharged=discharged,
    )


def _delivered(octets: Octets, *, has_header: bool) -> Delivered:
    sender = octets.address("the sender")
    protocol = octets.octet("the protocol identifier")
    coding = coding_of(octets.octet("the data coding scheme"))
    stamp = octets.stamp("the service centre's time stamp")
    length = octets.octet("the user data's length")
    needed = (7 * length + 7) // 8 if coding == "gsm7" else length
    user_data = _user_data(octets.at_most(needed), length, coding, has_header=has_header)
    return Delivered(
        sender=sender,
        text=user_data.text,
        stamp=stamp,
        part=user_data.part,
        coding="data" if user_data.data else "text",
        not_for_people=NOT_FOR_PEOPLE.get(protocol) or user_data.program,
    )


def _user_data(octets: bytes, length: int, coding: Coding, *, has_header: bool) -> _UserData:
    needed = (7 * length + 7) // 8 if coding == "gsm7" else length
    header_octets = 1 + octets[0] if has_header and octets else 0
    if header_octets > min(needed, len(octets)):
        raise Malformed(f"the user data's header claims {header_octets} octets, {min(needed, len(octets))} are there")
    elements = dict(_elements(octets[1:header_octets]))
    text = _text(octets[:needed], length, header_octets, coding, elements)
    if len(octets) < needed:
        raise Malformed(f"cut short: {length} units of text were promised; what is there reads: {text}")
    part = _part(octets[1:header_octets])
    data = coding in ("data", "compressed")
    return _UserData(text=text, data=data, part=part, program=_program(elements) if data else None)


def _text(octets: bytes, length: int, header_octets: int, coding: Coding, elements: Mapping[int, bytes]) -> str:
    if coding == "gsm7":
        fill_bits = fill_bits_behind(header_octets)
        header_septets = (8 * header_octets + fill_bits) // 7
        septets = unpack_octets(octets[header_octets:], max(0, length - header_septets), fill_bits=fill_bits)
        locking, single = (elements.get(kind, b"\0")[:1] or b"\0" for kind in (LOCKING_SHIFT, SINGLE_SHIFT))
        return from_septets(septets, locking=locking[0], single=single[0])
    body = octets[header_octets:]
    if coding == "ucs2":
        return body.decode("utf-16-be", "replace")
    latin = body.decode("latin-1")
    if coding == "data" and latin.replace("\r", "").replace("\n", "").isprintable():
        return latin
    return f"({coding if coding == 'compressed' else '8-bit'} data) {body.hex(' ').upper()}"


def _program(elements: Mapping[int, bytes]) -> str | None:
    """Which program the data are for; None where the header names none."""
    for kind, octets in ((PORTS_16_BIT, 2), (PORTS_8_BIT, 1)):
        if len(elements.get(kind, b"")) == 2 * octets:
            return f"data for a program of the phone, port {int.from_bytes(elements[kind][:octets], 'big')}"
    return None


def _part(elements: bytes) -> PartOf | None:
    """The last joining element counts (9.2.3.24); one that contradicts itself is passed over (9.2.3.24.1)."""
    part = None
    for kind, value in _elements(elements):
        part = _joining(kind, value) or part
    return part


def _elements(octets: bytes) -> Iterator[tuple[int, bytes]]:
    """Each information element of a header: which it is, and its value; none of one that does not come out even (9.2.3.24)."""
    found, at = [], 0
    while at + 2 <= len(octets):
        found.append((octets[at], octets[at + 2 : at + 2 + octets[at + 1]]))
        at += 2 + octets[at + 1]
    return iter(found if at == len(octets) else ())


def _joining(kind: int, value: bytes) -> PartOf | None:
    reference_octets = {JOIN_8_BIT: 1, JOIN_16_BIT: 2}.get(kind)
    if reference_octets is None or len(value) != reference_octets + 2:
        return None
    total, number = value[-2:]
    if not 1 <= number <= total:
        return None
    return PartOf(reference=int.from_bytes(value[:-2], "big"), number=number, total=total)
