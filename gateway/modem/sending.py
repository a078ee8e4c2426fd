"""A message → its segments, each handed over behind a prompt, and how that ended.

Until a segment's PDU was written nothing has left: what goes wrong before is *not-sent*, or the modem's refusal. From then on only the
modem's own word counts: `+CMGS: <mr>` and OK is *sent*; silence, or OK without a reference, is *unsure*, since the text may have left
(27.005 3.5.1, 4.3). A message whose first segments left and whose next one met silence is unsure as a whole.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from gateway.errors import ModemRefused, ModemSilent, ModemTrouble
from gateway.modem.dialogue import Dialogue, Times
from gateway.modem.error_codes import refusal
from gateway.modem.pdu import SubmitPdu, encode_submit
from gateway.modem.pdu_mode import PduMode
from gateway.ports import SendEnded, SendJob

INVALID_MANDATORY_INFORMATION = 96
"""+CMS ERROR that a network would give for a message that cannot be encoded (TS 24.011 annex E-2)."""


class Sender:
    """`handed_over`: whether anything of the message in flight may have left.

    An answer that comes after a message was given up as unsure settles it, where its last segment alone was open (`settle_late`).
    """

    def __init__(self, dialogue: Dialogue, pdu_mode: PduMode, times: Times) -> None:
        self._dialogue, self._pdu_mode, self._times = dialogue, pdu_mode, times
        self.handed_over = False
        self._open: SendEnded | None = None
        self._settled: SendEnded | None = None

    def send(self, job: SendJob) -> SendEnded:
        """Every segment, each with its prompt; how it ended. Raises ResetSeen."""
        self.handed_over, self._open = False, None
        try:
            segments = encode_submit(job.number, job.text, job.reference, job.want_report)
        except ModemTrouble as trouble:
            return refusal(job.id, "cms", INVALID_MANDATORY_INFORMATION, handed_over=False, said=trouble.said)
        references: list[int] = []
        for segment in segments:
            is_last = segment is segments[-1]
            ended = self._ask_for_prompt(job, segment, references) or self._hand_over(
                job, segment, references, is_last=is_last
            )
            if ended is not None:
                return ended
        return SendEnded(job=job.id, outcome="sent", references=tuple(references))

    def _ask_for_prompt(self, job: SendJob, segment: SubmitPdu, references: Sequence[int]) -> SendEnded | None:
        try:
            self._pdu_mode.make_sure()
            self._dialogue.prompt(_command(segment), within_s=self._times.prompt_s)
            self._pdu_mode.make_sure_at_prompt()
        except ModemRefused as refused:
            self._resynchronise()
            return refusal(
                job.id, refused.family, refused.code, handed_over=False, said=refused.said, references=references
            )
        except ModemSilent as silent:
            self._resynchronise()
            outcome: Literal["unsure", "not-sent"] = "unsure" if references else "not-sent"
            return SendEnded(job=job.id, outcome=outcome, said=silent.said, references=tuple(references))
        return None

    def settle_late(self, line: str) -> SendEnded | None:
        """A late `+CMGS: <mr>` → the end of the message whose answer it is; None where none is open."""
        reference, unsure = reference_in([line]), self._open
        if reference is None or unsure is None:
            return None
        self._open = None
        references = (*unsure.references, reference)
        self._settled = SendEnded(job=unsure.job, outcome="sent", references=references, late=True)
        return self._settled

    def _hand_over(self, job: SendJob, segment: SubmitPdu, references: list[int], *, is_last: bool) -> SendEnded | None:
        self.handed_over = True
        try:
            lines = self._dialogue.hand_over(segment.pdu, _command(segment), within_s=self._times.result_s)
        except ModemRefused as refused:
            return refusal(job.id, refused.family, refused.code, said=refused.said, references=references)
        except ModemSilent as silent:
            ended = SendEnded(job=job.id, outcome="unsure", said=silent.said, references=tuple(references))
            self._open, self._settled = ended if is_last else None, None
            self._resynchronise()
            # its answer may have come while the dialogue was brought back into step
            return replace(self._settled, late=False) if self._settled is not None else ended
        reference = reference_in(lines)
        if reference is None:
            # ESC at a prompt is answered with OK too, and so is the late answer to another command: OK alone tells of nothing sent
            self._resynchronise()
            said = "OK without a reference"
            return SendEnded(job=job.id, outcome="unsure", said=said, references=tuple(references))
        references.append(reference)
        self._pdu_mode.was_shown()
        return None

    def _resynchronise(self) -> None:
        self._dialogue.resynchronise(settle_s=self._times.settle_s)


def reference_in(lines: Sequence[str]) -> int | None:
    """The answer to +CMGS → TP-MR; None where it has none: then it is no answer to that (27.005 3.5.1)."""
    answers = (re.search(r'\+CMGS:\s*"?(\d+)', line) for line in lines)
    return next((int(answer[1]) for answer in answers if answer), None)


def _command(segment: SubmitPdu) -> str:
    return f"AT+CMGS={segment.length}"
