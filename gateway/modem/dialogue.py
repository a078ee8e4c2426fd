"""AT commands → their answers, with whatever the modem says unasked kept apart.

How it works. A modem answers one command at a time: lines of the answer, each beginning with the command's prefix (`AT+CMGL` →
`+CMGL:`) or following such a line as its content (a PDU), and one result: OK, ERROR, +CME ERROR, +CMS ERROR. Nothing in the
protocol says which command a result belongs to. In between, before, behind and in the same read it may say anything of its own:
a text came, a report with its PDU in the next line, somebody rings, the signal. So each line is sorted:

    the command itself          echo: dropped, and noted, since an echo that was switched off and is back tells of a reset
    another command's answer    that command was given up, and its answer is late: its result will be no answer to ours
    a result                    ends the answer, unless it belongs to such a late one
    begins with the prefix      the answer, unless its form is that of news (`grammar.py`)
    news, known or a maker's    told to `unasked`, wherever it stands; +CDS and +CMT with the PDU, or in text mode the words, in the next line
    anything else               content of the answer, where one has begun (or the command's answer has no prefix); else noise

What fits no form is counted (`unknown`), and changes nothing. An answer that is whole, and a modem that answers AT, need no OK: some
makes leave it out.

A message is handed over in two steps: the modem asks for it with a prompt (`>`), and until the PDU was written nothing has left;
from then on, silence means that its fate is unknown. A command that was given up may be answered later, so after each silence
the dialogue is resynchronised: nothing is asked before the modem answers AT once, and only once.

Source: 3GPP TS 27.007 4 and 27.005; ITU-T V.250.
"""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf
from typing import Protocol

from gateway.errors import ModemRefused, ModemSilent
from gateway.modem.error_words import code_in
from gateway.modem.grammar import FORMS, is_answer, limit_s
from gateway.modem.lines import FINAL_ERROR, Lines, is_news, is_result
from gateway.modem.unasked_lines import ANSWERS_ONLY, HEX_LINE, Unasked, UnaskedLines

CTRL_Z, ESC = b"\x1a", b"\x1b"
READS_PDUS = ("+CMGL:", "+CMGR:")
SETTLE_S = 0.15
"""A result that was left over follows this soon on another."""
RESYNCHRONISE_TRIES, RESYNCHRONISE_WITHIN_S = 5, 2.5
LEARNT_END_S = 1.0
"""Of a command whose OK was left out before: its answer is whole when so long nothing followed."""
LISTED_WITHOUT_OK = 2
"""So often in a row a listing must have come without it: where it was lost on the wire once, a slow memory's next listing was cut short and
counted as whole."""
LONGEST_READ_S = 1.0
"""So often it is looked whether the gateway stops meanwhile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """How long the modem may take, in seconds."""

    prompt_s: float = 10.0
    result_s: float = 190.0
    """Makers state up to 180 s for +CMGS; at 60 a message whose answer took 63 was sent three times, and said not to have been told."""
    command_s: float = 5.0
    """Of an ordinary command; `grammar.py` has those that may take longer."""
    wake_s: float = 40.0
    list_s: float = 60.0
    ussd_s: float = 180.0
    settle_s: float = SETTLE_S
    condition_every_s: float = 60.0


class Wire(Protocol):
    """What the dialogue needs of a link."""

    def read(self, timeout_s: float, *, wakeable: bool = False) -> bytes: ...
    def write(self, data: bytes) -> None: ...


@dataclass(slots=True)
class _Awaited:
    """The answer that is awaited, as far as it came; `bare`: its lines have no prefix (+CGMM)."""

    command: str
    bare: bool = False
    lines: list[str] = field(default_factory=list)
    last_line_s: float = 0.0
    name: str = field(init=False)
    prefix: str = field(init=False)

    def __post_init__(self) -> None:
        named = re.match(r"^AT([+^][A-Z0-9]+)", self.command)
        self.name = named[1] if named else ""
        self.prefix = f"{self.name}:" if self.name else ""


class Dialogue:
    """One owner of the whole exchange on a wire."""

    def __init__(
        self,
        wire: Wire,
        monotonic: Callable[[], float],
        unasked: Callable[[Unasked], None],
        unknown: Callable[[str], None] = lambda line: None,
        gives_up_by: Callable[[], float] = lambda: inf,
    ) -> None:
        self._wire = wire
        self._monotonic = monotonic
        self._unknown = unknown
        self._news = UnaskedLines(unasked, unknown)
        self._gives_up_by = gives_up_by
        self._lines = Lines()
        self._result_is_late = False
        self._without_ok: Counter[str] = Counter()
        self.echo_seen = False

    def command(self, command: str, *, within_s: float = 5.0, bare: bool = False) -> list[str]:
        """The lines of the answer before OK. `bare`: the answer has no prefix (+CGMM). Raises ModemRefused, ModemSilent.

        `within_s`: what an ordinary command may take; those of which makers state more have more, in proportion.
        """
        awaited = _Awaited(command, bare)
        self._begin(command.encode("ascii") + b"\r")
        limit = limit_s(command, within_s)
        if self._answered(awaited, self._monotonic() + limit):
            return awaited.lines
        raise ModemSilent(f"no answer to {command} within {limit:g} s", raw=" / ".join(awaited.lines))

    def prompt(self, command: str, *, within_s: float) -> None:
        """Sends a command that asks for text and waits for the modem's `>`. Nothing is handed over yet."""
        awaited = _Awaited(command)
        self._begin(command.encode("ascii") + b"\r")
        ends_s = self._monotonic() + within_s
        while (line := self._next_line(ends_s, prompt=True)) is not None:
            if line.startswith(">"):
                self._put_back_behind_prompt(line)
                return
            if self._ends(awaited, line):
                raise ModemRefused(f"{command} was answered without a prompt", raw=line)
        raise ModemSilent(f"no prompt after {command} within {within_s:g} s")

    def hand_over(self, pdu: str, command: str, *, within_s: float) -> list[str]:
        """Hands the PDU over and waits for its result. A ModemSilent from here means: its fate is unknown."""
        awaited = _Awaited(command)
        self._begin(pdu.encode("ascii") + CTRL_Z)
        # some makes echo the PDU at the prompt even with ATE0: no content of the answer, and no sign of a reset
        if self._answered(awaited, self._monotonic() + within_s, echoed=pdu.upper()):
            return awaited.lines
        raise ModemSilent(f"no result after the text within {within_s:g} s")

    def resynchronise(self, *, within_s: float = RESYNCHRONISE_WITHIN_S, settle_s: float = SETTLE_S) -> bool:
        """ESC out of any prompt, then AT until it is answered once and no more, twice in a row; whatever was left over is let go.

        A command that was given up may be answered yet: its result would be taken for the next one's, and so on for ever. In a soak of
        half an hour texts went missing at its end, most likely by this.
        """
        self._result_is_late = False
        self._wire.write(ESC)
        in_a_row = 0
        for _ in range(RESYNCHRONISE_TRIES):
            in_a_row = in_a_row + 1 if self.answers_once(within_s=within_s, settle_s=settle_s) else 0
            if in_a_row == 2:
                return True
        return False

    def answers_once(self, *, within_s: float, settle_s: float = SETTLE_S, command: str = "AT") -> bool:
        """Whether AT (or that command, which has no lines of its own) brings one result, and no other follows at once."""
        self._begin(command.encode("ascii") + b"\r")
        results, ends_s = 0, self._monotonic() + within_s
        while (line := self._next_line(ends_s)) is not None:
            if self._news.takes(line):
                continue
            if is_result(line):
                results, ends_s = results + 1, self._monotonic() + settle_s
            elif self._news.awaits_pdu or is_news(line):
                self._news.tell(line)
        return results == 1

    def listen(self, timeout_s: float) -> None:
        """Waits for something unasked, or for a wake-up."""
        if not self._lines:
            self._lines.feed(self._wire.read(timeout_s, wakeable=True))
        self.tell_waiting_lines()
        self._news.end_words()

    def tell_waiting_lines(self) -> None:
        """What came behind an answer in the same read (a delivery report, say)."""
        while self._lines:
            self._news.tell(self._lines.pop())

    def _begin(self, octets: bytes) -> None:
        """What was said before this command is no answer to it."""
        self.tell_waiting_lines()
        self._wire.write(octets)

    def _answered(self, awaited: _Awaited, ends_s: float, *, echoed: str | None = None) -> bool:
        """Takes what comes until the answer is whole; False where nothing ends it in time. `echoed`: a line that is no answer."""
        while (line := self._next_line(self._answer_ends_s(awaited, ends_s))) is not None:
            if echoed is not None and line.strip("> \x1a").upper() == echoed:
                continue
            before = len(awaited.lines)
            if self._ends(awaited, line):
                self._without_ok.pop(awaited.name, None)
                return True
            if len(awaited.lines) > before:
                awaited.last_line_s = self._monotonic()
        if not awaited.lines or not self.resynchronise():
            return False
        # its answer is there, and the modem is in step: this make leaves out OK
        self._without_ok[awaited.name] += 1
        return True

    def _answer_ends_s(self, awaited: _Awaited, ends_s: float) -> float:
        """By when nothing more of an answer comes; sooner once it began, where its OK may be left out."""
        forms = FORMS.get(awaited.name)
        learnt = self._without_ok[awaited.name] >= (LISTED_WITHOUT_OK if awaited.prefix in READS_PDUS else 1)
        after_s = LEARNT_END_S if learnt else forms.answer_ends if forms else None
        return min(ends_s, awaited.last_line_s + after_s) if awaited.lines and after_s is not None else ends_s

    def _next_line(self, ends_s: float, *, prompt: bool = False) -> str | None:
        """The next line; `>` at a prompt that is waited for; None once the time is over."""
        while not self._lines:
            if prompt and self._lines.take_prompt():
                return ">"
            self._news.end_words()
            left_s = min(ends_s, self._gives_up_by()) - self._monotonic()
            if left_s <= 0:
                return None
            self._lines.feed(self._wire.read(min(left_s, LONGEST_READ_S)))
        return self._lines.pop()

    def _put_back_behind_prompt(self, line: str) -> None:
        """What news shared the prompt's line is the next line."""
        behind = line[1:].strip()
        if behind:
            self._lines.put_back(behind)

    def _ends(self, awaited: _Awaited, line: str) -> bool:
        """Sorts one line; True at the end of the answer. Raises ModemRefused where that is a refusal."""
        if self._news.takes(line):
            return False
        line = _without_noise(line, awaited.prefix)
        if line == awaited.command:
            # ATE0 itself is echoed by every modem; any later echo tells of a reset (see pdu_mode.py)
            self.echo_seen = self.echo_seen or not awaited.command.startswith("ATE")
            return False
        if line.startswith(ANSWERS_ONLY) and not line.startswith(awaited.prefix or "\0"):
            self._result_is_late = True
            self._news.tell(line)
            return False
        if self._result_is_late and is_result(line):
            # the late answer's own result: ours is still to come
            self._result_is_late = False
            return False
        if is_result(line):
            _raise_refusal(awaited.command, line)
            return True
        self._sort(awaited, line)
        return False

    def _sort(self, awaited: _Awaited, line: str) -> None:
        """A line that is no result: the answer's, unasked, or noise."""
        if self._news.awaits_pdu and HEX_LINE.match(line):
            # before the answer's own content: a report may come between a +CMGL header and its PDU
            self._news.tell(line)
        elif is_answer(awaited.name, line):
            awaited.lines.append(line)
        elif is_news(line):
            self._news.tell(line)
        elif awaited.bare or awaited.lines or (awaited.prefix in READS_PDUS and HEX_LINE.match(line)):
            # a PDU whose header was lost: unseen, its memory would count as listed whole
            awaited.lines.append(line)
        else:
            self._unknown(line)


def _without_noise(line: str, prefix: str) -> str:
    """The answer in a line that noise came before; the line as it is where that is no noise."""
    at = line.find(prefix) if prefix else 0
    return line[at:] if at > 0 and not is_news(line) else line


def _raise_refusal(command: str, result: str) -> None:
    """Raises ModemRefused for every result but OK."""
    if result in ("OK", "ok"):
        return
    error = FINAL_ERROR.match(result)
    if error is None:
        raise ModemRefused(f"{command} was refused", raw=result)
    family, reason = error[1].lower(), error[2].strip()
    raise ModemRefused(f"{command} was refused: {result}", family=family, code=code_in(family, reason), raw=reason)
