"""What a modem shows in text mode, unasked → what came: nothing is lost while it has lost its settings.

The gateway speaks PDU mode only. But a modem that fell back to its profile may show a text at once (+CMT) and keep it nowhere, in words:

    +CMT: <oa>,[<alpha>],<scts>[,<tooa>,<fo>,<pid>,<dcs>,<sca>,<tosca>,<length>]        and the words in the next lines
    +CDS: <fo>,<mr>,[<ra>],[<tora>],<scts>,<dt>,<st>                                    a delivery report

Source: 3GPP TS 27.005 3.1 (parameters), 3.4.1 (+CMT, +CDS).
"""

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone

from gateway.facts import Content, Delivered, HeldPdu, Report, Undecodable
from gateway.modem.grammar import Field, name_and_fields
from gateway.modem.pdu.decode import outcome_of
from gateway.phone_numbers import as_name

STAMP = re.compile(r"(\d\d)/(\d\d)/(\d\d),(\d\d):(\d\d):(\d\d)(?:([+-])(\d\d))?")
NUMBER = re.compile(r"\+?[0-9*#]+")
ALPHANUMERIC = 0x50
"""Type of number 5 in the type of an address (23.040 9.1.2.5)."""
REPORT_FIELDS = 7


def arrival_in_text_mode(line: str, words: str) -> HeldPdu:
    """The header and its words, kept as they came."""
    name, fields = name_and_fields(line)
    content = _report(fields) if name == "+CDS" else _text(fields, words)
    return HeldPdu(memory="--", slot=None, pdu="\n".join(filter(None, (line, words))), content=content)


def _text(fields: Sequence[Field], words: str) -> Content:
    sender = _spelled(fields[0].value) if fields else ""
    if not sender:
        return Undecodable(reason="a text in text mode without a sender")
    stamp = next((stamp for stamp in map(stamp_in, (field.value for field in fields[1:])) if stamp), None)
    is_name = len(fields) > 3 and fields[3].value.isdecimal() and int(fields[3].value) & 0x70 == ALPHANUMERIC
    shown = as_name(sender) if is_name or not NUMBER.fullmatch(sender) else sender
    return Delivered(sender=shown, text=_spelled(words), stamp=stamp)


def _report(fields: Sequence[Field]) -> Content:
    figures = [field.value for field in fields]
    if len(figures) < REPORT_FIELDS or not (figures[1].isdecimal() and figures[-1].isdecimal()):
        return Undecodable(reason="a delivery report of no known form")
    status = int(figures[-1])
    return Report(
        reference=int(figures[1]),
        number=_spelled(figures[2]),
        outcome=outcome_of(status),
        status=status,
        stamp=stamp_in(figures[-3]),
        discharged=stamp_in(figures[-2]),
    )


def stamp_in(written: str) -> datetime | None:
    """`26/11/26,12:00:00+40` (quarters of an hour east) → UTC; None where it is no time."""
    parts = STAMP.fullmatch(written.strip())
    if parts is None:
        return None
    year, month, day, hour, minute, second = (int(parts[place]) for place in range(1, 7))
    quarters = int(parts[8] or 0) * (-1 if parts[7] == "-" else 1)
    try:
        zone = timezone(timedelta(minutes=15 * quarters))
        return datetime(2000 + year, month, day, hour, minute, second, tzinfo=zone).astimezone(UTC)
    except ValueError:
        return None


def _spelled(shown: str) -> str:
    """Words as the modem shows them; in UCS2 (+CSCS="UCS2") they are hexadecimal digits, four a letter."""
    if len(shown) < 8 or len(shown) % 4 or not re.fullmatch(r"(?:0[0-9A-Fa-f]{3})+", shown):
        return shown
    return bytes.fromhex(shown).decode("utf-16-be", "replace")
