"""What an error says in words (+CMEE=2, and makes that know no other way) → its code.

Source: 3GPP TS 27.007 9.2 (+CME), TS 27.005 3.2.5 (+CMS). Some makes answer +CMS ERROR with the words of +CME: they count as the +CMS code
of the same meaning.
"""

from collections.abc import Mapping

CME_WORDS: Mapping[str, int] = {
    "phone failure": 0,
    "no connection to phone": 1,
    "phone-adaptor link reserved": 2,
    "operation not allowed": 3,
    "operation not supported": 4,
    "ph-sim pin required": 5,
    "sim not inserted": 10,
    "sim pin required": 11,
    "sim puk required": 12,
    "sim failure": 13,
    "sim busy": 14,
    "sim wrong": 15,
    "incorrect password": 16,
    "sim pin2 required": 17,
    "sim puk2 required": 18,
    "memory full": 20,
    "invalid index": 21,
    "not found": 22,
    "memory failure": 23,
    "text string too long": 24,
    "invalid characters in text string": 25,
    "dial string too long": 26,
    "invalid characters in dial string": 27,
    "no network service": 30,
    "network timeout": 31,
    "network not allowed - emergency calls only": 32,
    "network not allowed, emergency calls only": 32,
    "unknown": 100,
    "unknown error": 100,
}
CMS_WORDS: Mapping[str, int] = {
    "unassigned (unallocated) number": 1,
    "operator determined barring": 8,
    "call barred": 10,
    "short message transfer rejected": 21,
    "destination out of service": 27,
    "unidentified subscriber": 28,
    "facility rejected": 29,
    "unknown subscriber": 30,
    "network out of order": 38,
    "temporary failure": 41,
    "congestion": 42,
    "resources unavailable, unspecified": 47,
    "requested facility not subscribed": 50,
    "requested facility not implemented": 69,
    "interworking, unspecified": 127,
    "me failure": 300,
    "phone failure": 300,
    "sms service of me reserved": 301,
    "operation not allowed": 302,
    "operation not supported": 303,
    "invalid pdu mode parameter": 304,
    "invalid text mode parameter": 305,
    "sim not inserted": 310,
    "(u)sim not inserted": 310,
    "sim pin required": 311,
    "sim pin necessary": 311,
    "ph-sim pin required": 312,
    "ph-sim pin necessary": 312,
    "sim failure": 313,
    "sim busy": 314,
    "(u)sim busy": 314,
    "sim wrong": 315,
    "sim puk required": 316,
    "sim pin2 required": 317,
    "sim puk2 required": 318,
    "memory failure": 320,
    "invalid memory index": 321,
    "invalid index": 321,
    "memory full": 322,
    "smsc address unknown": 330,
    "no network service": 331,
    "no network": 331,
    "network timeout": 332,
    "no +cnma acknowledgement expected": 340,
    "unknown": 500,
    "unknown error": 500,
}


def code_in(family: str, reason: str) -> int | None:
    """The code that a reason gives in figures or words; None where it gives none that is known."""
    if reason.isdecimal():
        return int(reason)
    words = CMS_WORDS if family == "cms" else CME_WORDS
    return words.get(" ".join(reason.lower().strip(' ".').split()))
