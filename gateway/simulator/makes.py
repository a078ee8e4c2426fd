"""Makes of modem as they are met, each by its habits: the rehearsal, the suite and the soak meet them in turn.

None is a product: each gathers what manuals of a family, the grammar and experience say (from memory, unless a file of `tests/corpus/modems`
names its source).
"""

from collections.abc import Mapping

from gateway.simulator.habits import CALL_RESULTS, Habits

MAKES: Mapping[str, Habits] = {
    "plain": Habits(),
    "names and empty quotes": Habits(alpha='""', gaps="none", first_slot=0, reports="CDSI"),
    "phone-book names, spaces": Habits(alpha='"Ridge, box 2"', gaps="all", line_style="doubled"),
    "nothing between status and length": Habits(alpha=None, inline_pdu=True, prompt=b"\r\n>\r\n"),
    "an LTE stick that chatters": Habits(
        registration="+CEREG",
        alpha='""',
        own_lines=("^RSSI: 18", '^HCSQ:"LTE",30,19,66,0', "^MODE: 5,4", "^DSFLOWRPT:0000240E,00000000,00000000"),
        own_every_s=0.2,
        reference_form="+CMGS:{}",
        boot_lines=("^BOOT:20952548,0,0,0,88", "^SIMST: 1", "^SRVST: 2"),
    ),
    "slow to start": Habits(
        store_after_s=3.0, not_ready="ERROR", boot_lines=("RDY", "+CFUN: 1", "+CPIN: READY", "Call Ready", "SMS Ready")
    ),
    "one store for both, buffers of its own": Habits(
        memories=("MT",), capacity={"MT": 60}, buffers=(1,), modes=(0, 1), reports="CDSI", line_style="cr"
    ),
    "no OK behind a PIN, calls": Habits(
        no_ok=frozenset({"+CPIN"}),
        own_lines=(*CALL_RESULTS, "+CRING: VOICE", "+CIEV: 7,1"),
        own_every_s=0.3,
        line_style="lf",
    ),
    "phase 2, one reference for all": Habits(
        phase_2=True, constant_reference=7, reference_form='+CMGS: {},"26/11/26,12:00:00+40"', line_style="spaced"
    ),
}
