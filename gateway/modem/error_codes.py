"""+CMS and +CME error codes → what they mean for a message: never, later, our side; whether it may have left; and why, in words.

*never*: this message can never reach this number as things are; the contact is given up, on record. *later*: another try may help;
so is every number the standards leave open, and the makers' own from 512 on. *our side*: another try may help, and our own SIM,
modem or network is to blame, never the contact: such a refusal ends no message, however long it lasts (fault 15). Nobody outside
this room knows a code.

Source: 3GPP TS 27.005 3.2.5 (+CMS), TS 24.011 annex E-2 (causes 1..127), TS 23.040 9.2.3.22 (128..255), TS 27.007 9.2
(+CME). Which are for ever: TS 24.011 annex E's explanations, TS 23.040 3.3.2 (unknown subscriber P; busy, failing, full: T);
where both are silent (21, 127, which networks also say of an empty prepaid account), another try costs nothing.
"""

from collections.abc import Mapping, Sequence

from gateway.ports import SendEnded, Verdict

NEVER_CMS: Mapping[int, str] = {
    1: "the number is not assigned",
    8: "the operator bars it",
    10: "texts to this number are barred",
    28: "the subscriber is not known to the network",
    29: "the network cannot do this",
    30: "the number belongs to nobody",
    50: "the subscription does not include this",
    69: "the network does not offer this",
    95: "the network finds the message wrong",
    96: "the network misses something in the message",
    97: "the network does not know this kind of message",
    99: "the network does not know a part of the message",
    128: "the number takes no texts",
    129: "the number takes no texts of this kind",
    130: "the number takes no texts of this kind",
    143: "the network does not know this kind of text",
    144: "the alphabet is not supported",
    145: "the message class is not supported",
    159: "the network refuses this way of writing a text",
    176: "the network does not take such a text",
    195: "the number cannot be right",
    196: "texts to this number are barred",
    304: "the modem finds the message wrong",
}
LATER_CMS: Mapping[int, str] = {
    21: "the text was rejected, without a reason",
    22: "memory is full",
    27: "the receiver is out of service",
    81: "the network lost the thread",
    98: "the network lost the thread",
    111: "the network and the modem misunderstood each other",
    127: "something between the networks went wrong",
    160: "the command could not be carried out",
    161: "the command is not supported",
    175: "the command failed, without a reason",
    192: "the text centre is busy",
    194: "the text centre failed",
    198: "the text centre knows no such time limit",
    199: "the text centre knows no time limits",
    210: "the receiver's phone failed",
    211: "the receiver's memory is full",
    212: "the receiver's SIM is busy",
    213: "the receiver's SIM failed",
    255: "an error without a reason",
    340: "no acknowledgement was expected",
    500: "an error without a reason",
}
OUR_SIDE_CMS: Mapping[int, str] = {
    38: "the network is out of order",
    41: "the network failed for a moment",
    42: "the network is crowded",
    47: "the network has nothing free",
    193: "our SIM has no contract with the text centre",
    208: "our SIM is full",
    209: "our SIM cannot keep texts",
    300: "the modem failed",
    301: "the modem is busy with texts",
    302: "the modem may not do it now",
    303: "the modem cannot do it now",
    305: "the modem is in the wrong mode",
    310: "there is no SIM",
    311: "the SIM wants its PIN",
    312: "the modem wants a PIN for this SIM",
    313: "the SIM failed",
    314: "the SIM is busy",
    315: "the SIM is wrong",
    316: "the SIM wants its PUK",
    317: "the SIM wants its PIN2",
    318: "the SIM wants its PUK2",
    320: "the modem's memory failed",
    321: "the place in the modem's memory is wrong",
    322: "the modem's memory is full",
    330: "the number of the text centre is not known",
    331: "there is no network",
    332: "the network did not answer in time",
}
NEVER_CME: Mapping[int, str] = {
    26: "the number is too long",
    27: "the number has wrong characters",
    56: "our SIM may only send to fixed numbers",
}
OUR_SIDE_CME: Mapping[int, str] = {
    0: "the modem failed",
    1: "the modem has no connection",
    2: "the modem is reserved",
    3: "the modem may not do it now",
    4: "the modem cannot do it now",
    5: "the modem wants a PIN for this SIM",
    6: "the modem wants a PIN for its first SIM",
    7: "the modem wants a PUK for its first SIM",
    10: "there is no SIM",
    11: "the SIM wants its PIN",
    12: "the SIM wants its PUK",
    13: "the SIM failed",
    14: "the SIM is busy",
    15: "the SIM is wrong",
    16: "the PIN is wrong",
    17: "the SIM wants its PIN2",
    18: "the SIM wants its PUK2",
    20: "the modem's memory is full",
    21: "the place in the modem's memory is wrong",
    22: "the modem did not find it",
    23: "the modem's memory failed",
    24: "the text is too long for the modem",
    25: "the text has characters the modem does not take",
    30: "there is no network",
    31: "the network did not answer in time",
    32: "the network allows emergency calls only",
    40: "the modem is locked to a network and wants its PIN",
    41: "the modem is locked to a network and wants its PUK",
    42: "the modem is locked to a part of a network and wants its PIN",
    43: "the modem is locked to a part of a network and wants its PUK",
    44: "the modem is locked to a provider and wants its PIN",
    45: "the modem is locked to a provider and wants its PUK",
    46: "the modem is locked to a company and wants its PIN",
    47: "the modem is locked to a company and wants its PUK",
    48: "the modem wants a hidden key",
    49: "the SIM does not know this way of proving itself",
    50: "the modem finds the command wrong",
    51: "the modem has this switched off",
    52: "somebody broke it off",
    53: "the modem is kept from the network",
    54: "the modem is allowed emergency calls only",
    55: "the modem is kept from doing this",
    57: "the modem is doing something else",
    58: "the alphabet is not supported",
    59: "the modem did not expect that value",
    60: "the modem's system failed",
    61: "the modem misses something",
    62: "the service is barred",
    63: "the network did not take a setting",
    100: "an error without a reason",
    103: "the network does not accept our SIM",
    106: "the network does not accept our modem",
    107: "the network does not allow packet data",
    111: "this network is not allowed",
    112: "this area is not allowed",
    113: "roaming is not allowed in this area",
    132: "the network does not offer this",
    133: "the subscription does not include this",
    134: "the network is out of order for a while",
    148: "packet data failed, without a reason",
    149: "the network did not accept the password",
    150: "the modem is of the wrong class",
}
ALREADY_THERE_CMS: Mapping[int, str] = {197: "the network has this very message already"}
"""Its centre holds an equal text: the try before arrived there (TS 23.040 9.2.3.22). A repeat would be refused again, and a message that
counted as failed told the others of somebody who could not be told."""
FIRST_OF_THE_MAKERS = 512

MAY_HAVE_LEFT = {"cms": frozenset({38, 41, 81, 127, 255, 300, 313, 332, 500}), "cme": frozenset({0, 13, 31, 100})}
"""Said after the text was taken, these exclude nothing: the network that timed out may hold it (TS 24.011 timer TR1M; TS 23.040 clause 10
answers 38 for a centre that did not), and a modem that fails may fail after it was sent."""

_VERDICTS: tuple[tuple[Verdict, Mapping[str, Mapping[int, str]]], ...] = (
    ("never", {"cms": NEVER_CMS, "cme": NEVER_CME}),
    ("our side", {"cms": OUR_SIDE_CMS, "cme": OUR_SIDE_CME}),
    ("later", {"cms": LATER_CMS}),
)


def refusal(
    job: int,
    family: str,
    code: int | None,
    *,
    handed_over: bool = True,
    said: str = "",
    references: Sequence[int] = (),
) -> SendEnded:
    """How a job ended that the modem or network refused. `family`: "cms", "cme" or "" (a plain ERROR); `references` of what left before."""
    already = ALREADY_THERE_CMS.get(code or 0) if family == "cms" and handed_over else None
    if already is not None:
        return SendEnded(job=job, outcome="sent", why=already, said=said, references=tuple(references))
    verdict, why = _judged(family, code)
    return SendEnded(
        job=job,
        outcome="refused",
        verdict=verdict,
        why=why,
        may_have_left=handed_over and _may_have_left(family, code),
        said=said,
        references=tuple(references),
    )


def _judged(family: str, code: int | None) -> tuple[Verdict, str]:
    if code is None:
        return "later", "the modem said no and gave no reason"
    for verdict, tables in _VERDICTS:
        words = tables.get(family, {}).get(code)
        if words is not None:
            return verdict, words
    if code >= FIRST_OF_THE_MAKERS:
        return "later", f"the modem's own error {code}"
    return "later", f"error {code} of the network or modem"


def _may_have_left(family: str, code: int | None) -> bool:
    return code is None or code >= FIRST_OF_THE_MAKERS or code in MAY_HAVE_LEFT.get(family, ())
