"""What the modem held: one PDU, what stood in it, and the whole text its parts make."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

InState = Literal["read", "unread", "ignored", "stranger", "repeat"]
TimeDoubt = Literal["no-stamp", "ahead", "too-old", "stands-still", "runs-back", "shifted", "late", "clock"]
"""What is doubtful about a text's time; `inbox/text_time.py` decides it."""
ReportOutcome = Literal["delivered", "trying", "failed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartOf:
    """Place of a part in a text of several: `number` of `total`, from 1 (3GPP TS 23.040 9.2.3.24.1)."""

    reference: int
    number: int
    total: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivered:
    """A decoded SMS-DELIVER. `sender` as the wire had it: '+digits', digits, or a name, in quotes where it could be read as a number.

    `coding` "data": the octets were no text by their own account; shown as Latin text where they can be, else in
    hexadecimal. `not_for_people`: what it is, where it is meant for the phone, its SIM or a program in it.
    """

    sender: str
    text: str
    stamp: datetime | None
    part: PartOf | None = None
    coding: Literal["text", "data"] = "text"
    not_for_people: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """A decoded SMS-STATUS-REPORT. `status`: the raw TP-ST octet; `stamp`: when the service centre took the segment; `discharged`: when this
    became of it. None where the network sent zeros."""

    reference: int
    number: str
    outcome: ReportOutcome
    status: int
    stamp: datetime | None = None
    discharged: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Undecodable:
    """A PDU nobody can read, and why."""

    reason: str


Content = Delivered | Report | Undecodable


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldPdu:
    """One PDU in the modem. `slot` is None for one that came unsolicited and was never stored (+CDS, +CMT)."""

    memory: str
    slot: int | None
    pdu: str
    content: Content


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One whole text as a person sees it.

    `number` is E.164 where it can be, else as it came. `at` is when it happened (the network's stamp when it is
    believable, else `heard_at`); `stamp` is the network's stamp as it came. `perhaps_repeat`: the same octets came before.
    `doubt`: what is doubtful about `at`; a `late` one was overtaken by newer texts of its sender.
    """

    number: str
    text: str
    at: datetime
    heard_at: datetime
    stamp: datetime | None = None
    segments: int = 1
    missing_parts: tuple[int, ...] = ()
    perhaps_repeat: bool = False
    doubt: TimeDoubt | None = None
