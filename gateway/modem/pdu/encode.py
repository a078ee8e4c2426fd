"""A number and a text → the PDUs of its segments, for +CMGS.

Each is an SMS-SUBMIT: first octet (kind, validity, report wanted, header there) · reference (0: the modem counts) · recipient ·
protocol · coding (TP-DCS) · validity · length · user data; of several segments each begins with the header that joins them. One text
has one coding: a single letter outside the seven-bit alphabet makes all of it UCS-2, at less than half as many letters a segment.

Out: hexadecimal digits with an empty service centre address (the SIM's own is used), and the length +CMGS wants: the
TPDU's octets without that address (3GPP TS 27.005 3.5.1, 4.3).
Source: 3GPP TS 23.040 9.2.2.2 (SMS-SUBMIT), 9.2.3.24.1 (joining with an 8-bit reference).
"""

import re
from dataclasses import dataclass

from gateway.errors import ModemTrouble
from gateway.gsm.alphabet import fill_bits_behind, pack_septets, to_septets
from gateway.gsm.segments import split_into_segments

SUBMIT, RELATIVE_VALIDITY, WANTS_REPORT, HAS_HEADER = 0x01, 0x10, 0x20, 0x40
"""Bits of the first octet: TP-MTI, TP-VPF, TP-SRR, TP-UDHI (9.2.2.2)."""
ONE_DAY = 0xA7
"""TP-VP, relative: 12 h and (value - 143) half hours (9.2.3.12.1). An older alarm misleads more than it helps."""
INTERNATIONAL, UNKNOWN = 0x91, 0x81
"""Type of address: numbering plan E.164, with and without a country code (9.1.2.5)."""
DEFAULT_ALPHABET, UCS2 = 0x00, 0x08
"""TP-DCS (3GPP TS 23.038 4)."""
JOIN_HEADER_OCTETS = 6
MOST_SEGMENTS = 255
"""The header counts them in one octet."""

_DIALLED = re.compile(r"\+?[0-9]{1,20}")


@dataclass(frozen=True, slots=True, kw_only=True)
class SubmitPdu:
    """`pdu` for behind the prompt, `length` (octets) for AT+CMGS=."""

    pdu: str
    length: int


def encode_submit(number: str, text: str, reference: int, want_report: bool) -> tuple[SubmitPdu, ...]:
    """One PDU a segment, in order. `reference` (modulo 256) joins them.

    Raises ModemTrouble where `number` is not '+' and digits, or the text needs more than 255 segments.
    """
    if not _DIALLED.fullmatch(number):
        raise ModemTrouble(f"cannot send to {number!r}: a number of 1 to 20 digits was expected", raw=number)
    parts = split_into_segments(text)
    if len(parts) > MOST_SEGMENTS:
        raise ModemTrouble(f"cannot send {len(parts)} segments: {MOST_SEGMENTS} is the most one text can have")
    headers = (
        [b""] if len(parts) == 1 else [_header(reference, len(parts), place) for place in range(1, len(parts) + 1)]
    )
    as_septets = to_septets(text) is not None
    first = SUBMIT | RELATIVE_VALIDITY | (WANTS_REPORT if want_report else 0) | (HAS_HEADER if headers[0] else 0)
    fixed = bytes([first, 0]) + _address(number) + bytes([0, DEFAULT_ALPHABET if as_septets else UCS2, ONE_DAY])
    bodies = (_user_data(header, part, as_septets) for header, part in zip(headers, parts, strict=True))
    return tuple(_submit(fixed + body) for body in bodies)


def _header(reference: int, total: int, number: int) -> bytes:
    return bytes([JOIN_HEADER_OCTETS - 1, 0x00, 3, reference % 256, total, number])


def _address(number: str) -> bytes:
    digits = number.removeprefix("+")
    swapped = "".join(
        second + first for first, second in zip(*[iter(digits + "F" * (len(digits) % 2))] * 2, strict=True)
    )
    kind = INTERNATIONAL if number.startswith("+") else UNKNOWN
    return bytes([len(digits), kind]) + bytes.fromhex(swapped)


def _user_data(header: bytes, part: str, as_septets: bool) -> bytes:
    if not as_septets:
        body = header + part.encode("utf-16-be", "replace")
        return bytes([len(body)]) + body
    septets = to_septets(part) or b""
    fill_bits = fill_bits_behind(len(header))
    header_septets = (8 * len(header) + fill_bits) // 7
    return bytes([header_septets + len(septets)]) + header + pack_septets(septets, fill_bits=fill_bits)


def _submit(tpdu: bytes) -> SubmitPdu:
    return SubmitPdu(pdu=f"00{tpdu.hex()}".upper(), length=len(tpdu))
