"""PDU ↔ values: what the modem lists is decoded, what is sent is encoded."""

from gateway.modem.pdu.decode import decode, is_whole
from gateway.modem.pdu.encode import SubmitPdu, encode_submit

__all__ = ["SubmitPdu", "decode", "encode_submit", "is_whole"]
