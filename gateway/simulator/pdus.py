"""A sender, a text and a time → the SMS-DELIVER PDUs a network would bring; a handed-over PDU → what stands in it.

Independent of `gateway.modem.pdu` on purpose. PDUs are upper-case hexadecimal with the service centre's address in front.
Source: 3GPP TS 23.040 9.2.2 (the PDUs), 9.1.2.5 (addresses), 9.2.3.11 (time stamp), 9.2.3.24.1 and .8 (parts).
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from gateway.simulator.septets import read_out, septets_for, spelled, spread, squeezed

CENTRE = "+61491570110"
"""The invented service centre."""
LONGEST_NAME = 11
"""Characters an alphanumeric sender has room for (9.1.2.5)."""
MOST_PARTS = 255
OCTETS_PER_PDU = 140
ZERO_STAMP = bytes(7)


@dataclass(frozen=True, slots=True, kw_only=True)
class Handed:
    """A decoded SMS-SUBMIT: `part` is (reference, total, number) or None."""

    number: str
    text: str
    part: tuple[int, int, int] | None
    wants_report: bool


def deliver_pdus(
    sender: str,
    text: str,
    stamp: datetime,
    *,
    zone_quarters: int = 40,
    reference: int = 1,
    wide_reference: bool = False,
    ucs2: bool | None = None,
) -> list[str]:
    """One PDU a part, in order. `stamp` is aware; `ucs2` None: only where the text needs it.

    Raises ValueError where the text needs more parts than can be counted.
    """
    wide = spelled(text) is None if ucs2 is None else ucs2
    alone = pieces(text, wide, OCTETS_PER_PDU)
    if len(alone) == 1:
        return [_deliver(sender, alone[0], wide, b"", stamp, zone_quarters)]
    parts = pieces(text, wide, OCTETS_PER_PDU - (7 if wide_reference else 6))
    if len(parts) > MOST_PARTS:
        raise ValueError(f"the text needs {len(parts)} parts; {MOST_PARTS} is the most")
    headers = [_header(reference, len(parts), place + 1, wide_reference) for place in range(len(parts))]
    return [_deliver(sender, part, wide, head, stamp, zone_quarters) for head, part in zip(headers, parts, strict=True)]


def report_pdu(number: str, reference: int, status: int, stamp: datetime, discharged: bytes | None = None) -> str:
    """An SMS-STATUS-REPORT on segment `reference`; `discharged` None: at `stamp`."""
    sent = stamp_octets(stamp, 40)
    body = bytes([0x06, reference]) + address(number) + sent + (sent if discharged is None else discharged)
    return _with_centre(body + bytes([status]))


def pieces(text: str, wide: bool, octets: int) -> list[str]:
    """The text cut so that each piece fits; no pair of septets or of surrogates is torn."""
    room = octets // 2 if wide else octets * 8 // 7
    out, used = [""], 0
    for char in text:
        size = len(char.encode("utf-16-be", "surrogatepass")) // 2 if wide else len(septets_for(char) or (0,))
        if used + size > room:
            out.append("")
            used = 0
        out[-1] += char
        used += size
    return out


def stamp_octets(stamp: datetime, zone_quarters: int) -> bytes:
    """Seven octets of local time; `zone_quarters` east of UTC in quarters of an hour."""
    local = stamp + timedelta(minutes=15 * zone_quarters) - (stamp.utcoffset() or timedelta(0))
    fields = (local.year % 100, local.month, local.day, local.hour, local.minute, local.second)
    tens, ones = divmod(abs(zone_quarters), 10)
    sign = 8 if zone_quarters < 0 else 0
    return bytes([*(value % 10 << 4 | value // 10 for value in fields), ones << 4 | tens | sign])


def address(number: str) -> bytes:
    """Length in semi-octets, type, semi-octets; a name is packed septets. A name of digits is given in quotes."""
    bare = number.replace(" ", "")
    digits = bare.removeprefix("+")
    if digits.isascii() and digits.isdigit():
        padded = digits + "F" * (len(digits) % 2)
        octets = bytes(int(padded[at + 1] + padded[at], 16) for at in range(0, len(padded), 2))
        return bytes([len(digits), 0x91 if bare.startswith("+") else 0x81]) + octets
    name = number[1:-1] if number[:1] == number[-1:] == '"' else number
    septets = spelled(name[:LONGEST_NAME]) or []
    return bytes([(7 * len(septets) + 3) // 4, 0xD0]) + squeezed(septets)


def handed_over(pdu: str) -> Handed:
    """What stands in an SMS-SUBMIT. Raises ValueError where it is none."""
    octets = bytes.fromhex(pdu)
    try:
        return _handed(octets[1 + octets[0] :])
    except IndexError:
        raise ValueError("the PDU is cut short") from None


def tpdu_octets(pdu: str) -> int:
    """Octets behind the service centre's address: the length +CMGL, +CMGR, +CDS and +CMGS speak of."""
    octets = bytes.fromhex(pdu)
    return len(octets) - 1 - octets[0] if octets else 0


def _deliver(sender: str, text: str, wide: bool, header: bytes, stamp: datetime, quarters: int) -> str:
    first = 0x04 | (0x40 if header else 0)
    front = bytes([first]) + address(sender) + bytes([0, 8 if wide else 0]) + stamp_octets(stamp, quarters)
    return _with_centre(front + _user_data(text, wide, header))


def _user_data(text: str, wide: bool, header: bytes) -> bytes:
    if wide:
        body = header + text.encode("utf-16-be", "surrogatepass")
        return bytes([len(body)]) + body
    septets = spelled(text) or []
    header_septets = -(-8 * len(header) // 7)
    body = header + squeezed(septets, 7 * header_septets - 8 * len(header))
    return bytes([header_septets + len(septets)]) + body


def _header(reference: int, total: int, number: int, wide_reference: bool) -> bytes:
    if wide_reference:
        return bytes([6, 8, 4, reference >> 8 & 0xFF, reference & 0xFF, total, number])
    return bytes([5, 0, 3, reference & 0xFF, total, number])


def _with_centre(tpdu: bytes) -> str:
    centre = address(CENTRE)[1:]
    return (bytes([len(centre)]) + centre + tpdu).hex().upper()


def _handed(tpdu: bytes) -> Handed:
    first, digits, kind = tpdu[0], tpdu[2], tpdu[3]
    if first & 3 != 1:
        raise ValueError("no SMS-SUBMIT")
    after = 4 + (digits + 1) // 2
    semi = "".join(f"{octet & 15:X}{octet >> 4:X}" for octet in tpdu[4:after])[:digits]
    if not semi.isdigit():
        raise ValueError(f"the number {semi!r} is no number")
    coding = tpdu[after + 1]
    at = after + 2 + {0: 0, 0x10: 1}.get(first & 0x18, 7)
    text, part = _read_user_data(tpdu[at + 1 :], tpdu[at], coding & 0x0C == 8, bool(first & 0x40))
    number = f"+{semi}" if kind & 0x70 == 0x10 else semi
    return Handed(number=number, text=text, part=part, wants_report=bool(first & 0x20))


def _read_user_data(body: bytes, length: int, wide: bool, headed: bool) -> tuple[str, tuple[int, int, int] | None]:
    if len(body) != (length if wide else -(-7 * length // 8)):
        raise ValueError(f"{len(body)} octets of user data do not fit the length {length}")
    header = body[: 1 + body[0]] if headed else b""
    part = _read_part(header[1:]) if headed else None
    if wide:
        return body[len(header) :].decode("utf-16-be", "surrogatepass"), part
    skipped = -(-8 * len(header) // 7)
    return read_out(spread(body, length)[skipped:]), part


def _read_part(elements: bytes) -> tuple[int, int, int] | None:
    while len(elements) > 1:
        kind, size = elements[0], elements[1]
        value = elements[2 : 2 + size]
        if kind in (0, 8) and len(value) == {0: 3, 8: 4}[kind]:
            return int.from_bytes(value[:-2], "big"), value[-2], value[-1]
        elements = elements[2 + size :]
    return None
