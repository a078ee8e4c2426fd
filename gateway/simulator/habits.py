"""What differs from modem to modem, and what is wrong with this one today, as values.

`Habits` are fixed for a modem's life; `Faults` may be switched at any time, while it runs.
Source: 3GPP TS 27.007, 27.005 for the codes; the variety is what was met with real modems.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

LineStyle = Literal["both", "after", "doubled", "cr", "lf", "spaced"]
Prompt = Literal["normal", "late", "none"]
Gaps = Literal["colon", "none", "all"]
Results = Literal["words", "figures", "none"]
CALL_RESULTS = ("RING", "NO CARRIER", "BUSY", "NO ANSWER")
"""What a modem says by itself of a call that nobody here made (ITU-T V.250 6.3.1)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How this make of modem behaves.

    `new_texts_in` "chosen": the third memory of +CPMS; "SM", "ME": always there; "both": by turns. `reports`: which of
    +CDS and +CDSI it can do. `own_lines` are said every `own_every_s` (0: never). `baud` 0: as fast as it goes.
    `text_mode`, `echo`: what they are after power-up and reset. `always_echoes`: ATE0 changes nothing. `empty_slot` "error": +CMS ERROR: 321.
    `alpha`: what stands between status and length where texts are listed in PDU mode, quotes and all; None: not even its comma
    (27.005 3.4.2, <alpha>). `gaps`: a space behind the colon, behind no sign, or behind the colon and each comma.
    `answers`: the whole answer to a command, result and all, in place of its own. `slow_s`: how long the commands of a name take. `no_ok`: of
    these names the result is left out. `prompt`: the octets that ask for a text. `inline_pdu`: a PDU stands behind its header in one line.
    `reference_form`: what a sent message is answered with. `registration`: under which name it is registered. `store_after_s`: so long
    after power-up whatever needs the store of texts is answered with `not_ready`. `boot_lines` are said then. `reads`: which memories can
    be chosen for reading (None: all). `buffers`: which <bfr> of +CNMI. `phase_2`: +CSMS stays 1, and what is shown waits for +CNMA.
    `results`: how it says OK and ERROR after power-up and reset (V.250 6.2.5, 6.2.6): some are delivered with a profile that says figures, or
    nothing. `constant_reference`: every message gets this one. `small_letters`: names and results are written so. `flow_control`: XOFF and XON
    stand around what is said.
    """

    maker: str = "Quandong Radio"
    model: str = "QR-21"
    serial: str = "004999010640000"
    memories: tuple[str, ...] = ("SM", "ME")
    capacity: Mapping[str, int] = field(default_factory=lambda: {"SM": 30, "ME": 100})
    first_slot: int = 1
    new_texts_in: Literal["chosen", "SM", "ME", "both"] = "chosen"
    reports: Literal["CDS", "CDSI", "none"] = "CDS"
    knows_clac: bool = True
    grants_cnmi: bool = True
    wake_seconds: float = 0.0
    echo: bool = True
    always_echoes: bool = False
    text_mode: bool = True
    line_style: LineStyle = "both"
    own_lines: tuple[str, ...] = ("^RSSI: 17", '+QIND: "csq",17,99')
    own_every_s: float = 0.0
    boot_line: str = ""
    baud: int = 0
    send_seconds: float = 0.0
    empty_slot: Literal["error", "nothing"] = "error"
    alpha: str | None = ""
    gaps: Gaps = "colon"
    answers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    slow_s: Mapping[str, float] = field(default_factory=dict)
    no_ok: frozenset[str] = frozenset()
    prompt: bytes = b"\r\n> "
    inline_pdu: bool = False
    reference_form: str = "+CMGS: {}"
    registration: str = "+CREG"
    store_after_s: float = 0.0
    not_ready: str = "+CMS ERROR: 314"
    boot_lines: tuple[str, ...] = ()
    reads: tuple[str, ...] | None = None
    buffers: tuple[int, ...] = (0, 1)
    modes: tuple[int, ...] = (0, 1, 2)
    phase_2: bool = False
    constant_reference: int | None = None
    small_letters: bool = False
    results: Results = "words"
    flow_control: bool = False

    @property
    def before_length(self) -> str:
        """What stands in front of a length: `<alpha>` and its comma (27.005 3.4.1, 3.4.2)."""
        return "" if self.alpha is None else f"{self.alpha},"

    def spaced(self, line: str) -> str:
        """The line with spaces and small letters where this make has them; what stands in quotes is left as it is."""
        if self.small_letters:
            line = re.sub(r"^(\+[A-Z]+(?: ERROR)?(?=:)|OK$|ERROR$)", lambda name: name[0].lower(), line)
        if self.gaps == "colon" or not line.startswith("+"):
            return line
        head, colon, fields = line.partition(":")
        if self.gaps == "none":
            return head + colon + fields.lstrip()
        quoted = fields.split('"')
        quoted[::2] = [re.sub(r",\s*", ", ", outside) for outside in quoted[::2]]
        return head + colon + '"'.join(quoted)


@dataclass(slots=True, kw_only=True)
class Faults:
    """What is wrong now. Rates are 0..1.

    `loss_out`, `loss_in`: each byte. `noise`: before each line, up to eight random bytes. `strewn`: an unsolicited line
    before each line of an answer. `lost_announcements`: each +CMTI, +CDSI, +CDS. `lost_answers`: so many next sends get
    no answer after the text was taken (None: all). `replace_after_list`, `replace_after_read`: this PDU takes the slot
    just shown, once. `busy`: this error to everything that needs the SIM. `mute`: reads, answers nothing;
    `mute_until_reset`: the same, until +CFUN=1,1. `only_text_mode`: AT+CMGF=0 changes nothing. `delete_error`:
    +CMS ERROR for each +CMGD. `hurt_pdus`: so many next PDUs of a listing lose their last octet on the wire.
    """

    byte_at_a_time: bool = False
    loss_out: float = 0.0
    loss_in: float = 0.0
    noise: float = 0.0
    strewn: float = 0.0
    lost_announcements: float = 0.0
    prompt: Prompt = "normal"
    prompt_delay_s: float = 0.0
    lost_answers: int | None = 0
    delete_error: int | None = None
    list_error: int | None = None
    hurt_pdus: int = 0
    busy: int | None = None
    zero_discharge: bool = False
    mute: bool = False
    only_text_mode: bool = False
    mute_until_reset: bool = False
    replace_after_list: str | None = None
    replace_after_read: str | None = None
