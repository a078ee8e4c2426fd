"""What an episode is about → how it looks and what it is called."""

from collections.abc import Mapping

from gateway.page import Tone

TONES: Mapping[str, Tone] = {
    "low": "low",
    "dry": "dry",
    "high": "high",
    "silence": "silent",
    "power": "power",
    "battery": "power",
    "note": "note",
}
SAID: Mapping[str, str] = {
    "low": "low",
    "dry": "taps ran dry",
    "high": "high",
    "silence": "silent",
    "power": "without power",
    "battery": "battery low",
    "note": "note",
    "off": "gateway off",
    "modem": "no modem",
    "sim": "SIM refused",
    "signal": "no signal",
    "store": "could not store",
}


def tone_of(family: str) -> Tone:
    """How it looks; the gateway's own troubles look alike."""
    return TONES.get(family, "off")
