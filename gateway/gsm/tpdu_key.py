"""A PDU as the modem gave it → the key that knows it again.

In: hexadecimal digits as in +CMGL, +CMGR, +CMT, +CDS: the service centre's address (one length octet and so many
octets), then the TPDU (3GPP TS 27.005 3.1, `<pdu>`). Out: sha256 of the TPDU, 64 hexadecimal digits. Never raises.
"""

from hashlib import sha256


def tpdu_key(pdu_hex: str) -> str:
    """The same for the same TPDU through whichever service centre; what is no hexadecimal is hashed as it stands."""
    bare = pdu_hex.strip().upper()
    try:
        octets = bytes.fromhex(bare)
    except ValueError:
        return sha256(bare.encode("utf-8", "surrogatepass")).hexdigest()
    return sha256(octets[1 + octets[0] :] if octets and octets[0] < len(octets) - 1 else octets).hexdigest()
