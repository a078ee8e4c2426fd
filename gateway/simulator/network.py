"""Texts from and to people ↔ the simulated modem: a network that can be told to delay, lose, refuse and repeat.

It decodes what the modem hands over and keeps it in `outgoing`; it brings what `deliver` is told to. What the modem has
no room or no readiness for waits here, as it would at a service centre. All of it is safe to call from any thread.
Source: 3GPP TS 23.040 9.2.3.15 (status), 27.005 3.2.5 (+CMS ERROR codes).
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from typing import Literal

from gateway.simulator.pdus import ZERO_STAMP, Handed, deliver_pdus, handed_over, report_pdu

STATUS = {"delivered": 0x00, "trying": 0x20, "failed": 0x46}
"""TP-ST: received; congestion, still trying; validity period expired."""
HOME, ROAMING = 1, 5
"""+CREG: registered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """What becomes of a segment to one number.

    `refuse`: +CMS ERROR code; `refuse_cme`: +CME ERROR code. `lose`: accepted, never arrives, no report. `report`: what
    the status report says, None: none comes. `hold_answer`: the text is taken, the modem is never told.
    """

    refuse: int | None = None
    refuse_cme: int | None = None
    lose: bool = False
    report: Literal["delivered", "failed", "trying"] | None = "delivered"
    report_status: int | None = None
    answer_after_s: float = 0.0
    report_after_s: float = 0.0
    hold_answer: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One whole text that was handed over: `references` TP-MR and `pdus` of its segments; `reference` joins its parts."""

    number: str
    text: str
    at: datetime
    pdu: str
    pdus: tuple[str, ...]
    references: tuple[int, ...]
    reference: int | None
    arrived: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The network's answer to one segment."""

    family: Literal["CMS", "CME", ""] = ""
    code: int = 0
    reference: int = 0
    after_s: float = 0.0
    held: bool = False


@dataclass(slots=True)
class _Half:
    at: datetime
    segments: dict[int, tuple[str, str, int]] = field(default_factory=dict)


class Network:
    """`take` brings a text to the modem and says whether it has it; `report` brings a status report."""

    def __init__(
        self,
        lock: threading.RLock,
        now: Callable[[], datetime],
        after: Callable[[float, Callable[[], None]], None],
    ) -> None:
        self._changed = threading.Condition(lock)
        self.now, self._after = now, after
        self.take: Callable[[str], bool] = lambda pdu: False
        self.report: Callable[[str], None] = lambda pdu: None
        self.zero_discharge: Callable[[], bool] = lambda: False
        self.usual = Policy()
        self.signal, self.operator = 17, "Quandong Mobile"
        self.absent_code = 331
        self.constant_reference: int | None = None
        self.ussd: dict[str, str | None] = {"*100#": "Credit 12.40 AUD"}
        self.ussd_after_s = 0.0
        self.outgoing: list[Sent] = []
        self.refused: list[Handed] = []
        self.waiting: list[str] = []
        self.hearers: list[Callable[[Sent], None]] = []
        self._registered = HOME
        self._policies: dict[str, Policy] = {}
        self._once: dict[str, list[Policy]] = {}
        self._halves: dict[tuple[str, int, int], _Half] = {}
        self._next_reference, self._next_join = 0, 0

    # --- how it behaves ---

    @property
    def registered(self) -> int:
        """+CREG's state: 0 off, 1 home, 2 searching, 3 denied, 5 roaming."""
        return self._registered

    @registered.setter
    def registered(self, state: int) -> None:
        with self._changed:
            self._registered = state
        self.bring_waiting()

    @property
    def is_there(self) -> bool:
        """Whether the modem is registered."""
        return self._registered in (HOME, ROAMING)

    def policy(self, number: str, policy: Policy, *, times: int | None = None) -> None:
        """For every text to that number, or only for so many of the next segments."""
        with self._changed:
            if times is None:
                self._policies[number] = policy
            else:
                self._once.setdefault(number, []).extend([policy] * times)

    # --- towards the modem ---

    def deliver(
        self,
        sender: str,
        text: str,
        *,
        stamp: datetime | None = None,
        zone_quarters: int = 40,
        after_s: float = 0.0,
        parts_order: Sequence[int] | None = None,
        reference: int | None = None,
        wide_reference: bool = False,
        ucs2: bool | None = None,
        repeat: int = 0,
    ) -> tuple[str, ...]:
        """Brings a text; the PDUs brought. `parts_order` counts from 1 and may leave parts out or double them.

        `stamp` None: now. `repeat`: so many times the very same PDUs again.
        """
        with self._changed:
            self._next_join = self._next_join % 255 + 1
            pdus = deliver_pdus(
                sender,
                text,
                stamp or self.now(),
                zone_quarters=zone_quarters,
                reference=self._next_join if reference is None else reference,
                wide_reference=wide_reference,
                ucs2=ucs2,
            )
            order = parts_order if parts_order is not None else range(1, len(pdus) + 1)
            brought = [pdus[place - 1] for place in order] * (1 + repeat)
            for pdu in brought:
                self.deliver_pdu(pdu, after_s=after_s)
            return tuple(brought)

    def deliver_pdu(self, pdu: str, *, after_s: float = 0.0) -> None:
        """Brings these octets, whatever they are."""
        if after_s > 0:
            self._after(after_s, lambda: self.deliver_pdu(pdu))
            return
        with self._changed:
            self.waiting.append(pdu)
        self.bring_waiting()

    def bring_waiting(self) -> None:
        """Whatever waits is brought, in order, until the modem takes no more."""
        with self._changed:
            while self.is_there and self.waiting and self.take(self.waiting[0]):
                self.waiting.pop(0)

    # --- from the modem ---

    def hand_over(self, pdu: str) -> Verdict:
        """One segment. Raises ValueError where the PDU cannot be read."""
        handed = handed_over(pdu)
        with self._changed:
            policy = self._policy_for(handed.number)
            verdict = self._verdict(handed, policy)
            if not verdict.family:
                self._keep(handed, pdu, verdict.reference, arrived=not policy.lose)
                if handed.wants_report:
                    self._plan_report(handed.number, policy, verdict)
            return verdict

    def hand_over_text(self, number: str, text: str) -> Verdict:
        """The same in text mode."""
        with self._changed:
            policy = self._policy_for(number)
            handed = Handed(number=number, text=text, part=None, wants_report=False)
            verdict = self._verdict(handed, policy)
            if not verdict.family:
                self._keep(handed, "", verdict.reference, arrived=not policy.lose)
            return verdict

    def wait_for_outgoing(self, count: int, timeout: float = 5.0) -> tuple[Sent, ...]:
        """All that was handed over, once there are so many. Raises TimeoutError."""
        with self._changed:
            if not self._changed.wait_for(lambda: len(self.outgoing) >= count, timeout):
                raise TimeoutError(f"{len(self.outgoing)} of {count} texts left within {timeout} s")
            return tuple(self.outgoing)

    def _policy_for(self, number: str) -> Policy:
        once = self._once.get(number)
        return once.pop(0) if once else self._policies.get(number, self.usual)

    def _verdict(self, handed: Handed, policy: Policy) -> Verdict:
        if not self.is_there:
            return self._refusal(handed, "CMS", self.absent_code, policy)
        if policy.refuse is not None:
            return self._refusal(handed, "CMS", policy.refuse, policy)
        if policy.refuse_cme is not None:
            return self._refusal(handed, "CME", policy.refuse_cme, policy)
        self._next_reference = (self._next_reference + 1) % 256
        reference = self._next_reference if self.constant_reference is None else self.constant_reference
        return Verdict(reference=reference, after_s=policy.answer_after_s, held=policy.hold_answer)

    def _refusal(self, handed: Handed, family: Literal["CMS", "CME"], code: int, policy: Policy) -> Verdict:
        self.refused.append(handed)
        return Verdict(family=family, code=code, after_s=policy.answer_after_s)

    def _keep(self, handed: Handed, pdu: str, reference: int, *, arrived: bool) -> None:
        join, total, place = handed.part or (-1, 1, 1)
        half = self._halves.setdefault((handed.number, join, total), _Half(self.now()))
        half.segments[place] = (handed.text, pdu, reference)
        if len(half.segments) < total:
            return
        del self._halves[handed.number, join, total]
        texts, pdus, references = zip(*(half.segments[number] for number in sorted(half.segments)), strict=True)
        sent = Sent(
            number=handed.number,
            text="".join(texts),
            at=half.at,
            pdu=pdus[0],
            pdus=pdus,
            references=references,
            reference=None if handed.part is None else join,
            arrived=arrived,
        )
        self.outgoing.append(sent)
        if arrived:
            for hears in self.hearers:
                self._after(0.0, partial(hears, sent))
        self._changed.notify_all()

    def _plan_report(self, number: str, policy: Policy, verdict: Verdict) -> None:
        if policy.lose or (policy.report is None and policy.report_status is None):
            return
        status = policy.report_status if policy.report_status is not None else STATUS[policy.report or "delivered"]
        zero = ZERO_STAMP if self.zero_discharge() else None
        pdu = report_pdu(number, verdict.reference, status, self.now(), zero)
        self._after(policy.answer_after_s + policy.report_after_s, lambda: self.report(pdu))
