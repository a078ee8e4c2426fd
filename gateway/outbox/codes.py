"""+CMS and +CME error codes → whether trying again can help, in words.

Source: 3GPP TS 27.005 3.2.5 (+CMS), TS 24.011 annex E (RP causes 1..127), TS 23.040 9.2.3.22 (128..255), TS 27.007 9.2
(+CME). Numbers above 511 are the maker's own: passing.
"""

from collections.abc import Mapping

PERMANENT_CMS: Mapping[int, str] = {
    1: "the number is not assigned",
    8: "the operator bars it",
    10: "the call is barred",
    21: "the message was rejected",
    28: "the subscriber is not known",
    29: "the facility was rejected",
    50: "the facility is not subscribed",
    69: "the facility is not offered",
    81: "the message reference is not valid",
    95: "the message is not valid",
    96: "mandatory information is not valid",
    97: "the message type is not known",
    99: "an information element is not known",
    127: "interworking",
    128: "interworking with telematics is not supported",
    130: "short messages of this type cannot be replaced",
    143: "the protocol identifier is not known",
    144: "the coding scheme is not supported",
    145: "the message class is not supported",
    176: "the message was not accepted",
    195: "the address of the service centre is not valid",
    197: "the validity period is not supported",
    208: "the SIM has no room for sent messages",
    302: "the operation is not allowed",
    304: "the PDU mode parameter is not valid",
    305: "the text mode parameter is not valid",
}
PASSING_CMS: Mapping[int, str] = {
    22: "memory is full",
    27: "the destination is out of service",
    30: "the subscriber is not known here",
    38: "the network is out of order",
    41: "a passing failure",
    42: "congestion",
    47: "resources are not available",
    98: "the message does not fit the protocol's state",
    111: "a protocol error",
    192: "the service centre is busy",
    193: "there is no service centre subscription",
    194: "the service centre's system failed",
    196: "the destination is barred by the service centre",
    211: "memory capacity is exceeded",
    300: "the modem failed",
    301: "the service is reserved",
    303: "the operation is not supported now",
    310: "there is no SIM",
    311: "the SIM wants its PIN",
    312: "the phone-to-SIM PIN is wanted",
    313: "the SIM failed",
    314: "the SIM is busy",
    315: "the SIM is wrong",
    316: "the SIM wants its PUK",
    317: "the SIM wants its PIN2",
    318: "the SIM wants its PUK2",
    320: "memory failed",
    321: "the memory index is not valid",
    322: "memory is full",
    330: "the service centre's address is not known",
    331: "there is no network",
    332: "the network did not answer in time",
    340: "no acknowledgement was expected",
    500: "an unknown error",
}


def permanent(family: str, code: int | None) -> bool:
    """Whether the same message to the same number can never leave."""
    return family == "cms" and code in PERMANENT_CMS


def meaning(family: str, code: int | None) -> str:
    """The code in words."""
    if code is None:
        return "the modem said no and gave no reason"
    if family == "cms":
        return PERMANENT_CMS.get(code) or PASSING_CMS.get(code) or f"error {code} of the network or modem"
    return f"error {code} of the modem"
