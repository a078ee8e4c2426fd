"""Makes of modem as they are met, each by its habits: the rehearsal, the suite and the soak meet them in turn.

None is a product: each gathers what manuals of a family, the grammar and experience say (from memory, unless a file of `tests/corpus/modems`
names its source).
"""

from collections.abc import Mapping
from dataclasses import replace

from gateway.errors import UsageWrong
from gateway.simulator.habits import CALL_RESULTS, Habits

MAKES: Mapping[str, Habits] = {
    "plain": Habits(),
    "empty-quotes": Habits(alpha='""', gaps="none", first_slot=0, reports="CDSI", small_letters=True),
    "phone-book-names": Habits(alpha='"Ridge, box 2"', gaps="all", line_style="doubled"),
    "bare-headers": Habits(alpha=None, inline_pdu=True, prompt=b"\r\n>\r\n", flow_control=True),
    "chatters": Habits(
        registration="+CEREG",
        alpha='""',
        own_lines=("^RSSI: 18", '^HCSQ:"LTE",30,19,66,0', "^MODE: 5,4", "^DSFLOWRPT:0000240E,00000000,00000000"),
        own_every_s=0.2,
        reference_form="+CMGS:{}",
        boot_lines=("^BOOT:20952548,0,0,0,88", "^SIMST: 1", "^SRVST: 2"),
    ),
    "slow-start": Habits(
        store_after_s=3.0, not_ready="ERROR", boot_lines=("RDY", "+CFUN: 1", "+CPIN: READY", "Call Ready", "SMS Ready")
    ),
    "one-store": Habits(
        memories=("MT",), capacity={"MT": 60}, buffers=(1,), modes=(0, 1), reports="CDSI", line_style="cr"
    ),
    "calls-without-ok": Habits(
        no_ok=frozenset({"+CPIN"}),
        own_lines=(*CALL_RESULTS, "+CRING: VOICE", "+CIEV: 7,1"),
        own_every_s=0.3,
        line_style="lf",
    ),
    "says-figures": Habits(results="figures", wake_seconds=0.3),
    "says-no-results": Habits(results="none", echo=False),
    "phase-2": Habits(
        phase_2=True, constant_reference=7, reference_form='+CMGS: {},"26/11/26,12:00:00+40"', line_style="spaced"
    ),
}

CHATTERS_EVERY_S = 600.0
"""On a clock that runs ahead: each word would be a wait of its own."""


def habits_of(make: str, *, on_a_fast_clock: bool = False) -> Habits:
    """The make of that name. Raises UsageWrong."""
    if make not in MAKES:
        raise UsageWrong(f"--modem {make}: no such make; there are {', '.join(MAKES)}")
    habits = MAKES[make]
    return replace(habits, own_every_s=CHATTERS_EVERY_S) if on_a_fast_clock and habits.own_every_s else habits
